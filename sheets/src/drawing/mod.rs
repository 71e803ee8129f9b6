//! What a picture is made of, whatever it is written as: a few kinds of shapes, in millimetres as printed.

mod svg;

pub(crate) use svg::svg;

/// A point or a size, in millimetres: to the right, down.
pub(crate) type Point = [f64; 2];

/// The size of all letters, in millimetres as printed: 3.2 mm are 9.07 points of 25.4/72 mm.
pub(crate) const LETTERS: f64 = 3.2;
/// Nine points, the least that is read with ease; a point is 1/72 in (CSS Values and Units, level 3).
const _: () = assert!(LETTERS >= 9.0 * 25.4 / 72.0);

/// A colour: red, green and blue in one number, as `0xrrggbb` (sRGB).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Colour(pub(crate) u32);

impl Colour {
    /// Red, green and blue.
    pub(crate) fn parts(self) -> [u8; 3] {
        let [_, red, green, blue] = self.0.to_be_bytes();
        [red, green, blue]
    }
}

/// The paper.
pub(crate) const WHITE: Colour = Colour(0xff_ffff);
/// The ink of lines and letters.
pub(crate) const INK: Colour = Colour(0x1b_1b1f);
/// Lines that help the eye only.
pub(crate) const FAINT: Colour = Colour(0x77_777d);
/// Cloth and blocks that nothing is stitched on.
pub(crate) const BARE: Colour = Colour(0xf4_f3f0);

/// What is within a shape.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Fill {
    /// What lies below is seen.
    None,
    /// One colour.
    Plain(Colour),
    /// Lines on a ground.
    Hatched(Hatching),
}

impl From<Colour> for Fill {
    fn from(colour: Colour) -> Fill {
        Fill::Plain(colour)
    }
}

/// Thin lines on a ground, repeated in squares that begin at the picture's corner.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Hatching {
    pub(crate) ground: Colour,
    pub(crate) ink: Colour,
    /// The lines of a square; what reaches past its sides is cut off.
    pub(crate) lines: &'static [[Point; 2]],
}

impl Hatching {
    /// Side of a square.
    pub(crate) const SIDE: f64 = 3.0;
    /// How thick its lines are.
    pub(crate) const THICK: f64 = 0.25;
}

/// How a line is drawn.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Pen {
    pub(crate) colour: Colour,
    /// In millimetres.
    pub(crate) width: f64,
    /// Lengths of dashes and of the gaps between them; none for a line without gaps.
    pub(crate) dashes: &'static [f64],
}

impl Pen {
    pub(crate) const fn new(colour: Colour, width: f64) -> Pen {
        Pen {
            colour,
            width,
            dashes: &[],
        }
    }

    pub(crate) const fn dashed(self, dashes: &'static [f64]) -> Pen {
        Pen { dashes, ..self }
    }
}

/// Where a text stands from its point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a shape looks.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Look {
    pub(crate) fill: Fill,
    pub(crate) pen: Option<Pen>,
}

/// One shape; later ones cover earlier ones.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum Shape {
    Line {
        from: Point,
        to: Point,
        pen: Pen,
    },
    /// A line with bends.
    Bent {
        points: Vec<Point>,
        pen: Pen,
    },
    /// Shapes with straight sides that look alike.
    Outlines {
        outlines: Vec<Vec<Point>>,
        look: Look,
    },
    /// A rectangle: its upper left corner, its width and height, and how far its corners are rounded.
    Rectangle {
        at: Point,
        size: Point,
        radius: f64,
        look: Look,
    },
    Circle {
        at: Point,
        radius: f64,
        look: Look,
    },
    Text {
        /// On its base line.
        at: Point,
        anchor: Anchor,
        words: String,
        bold: bool,
        /// Whether it reads from below upward.
        upward: bool,
    },
}

/// A picture's shapes, the lowest first.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Drawing(pub(crate) Vec<Shape>);
