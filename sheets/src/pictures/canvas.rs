//! What pictures are drawn on: a page in millimetres as printed, from which an SVG 1.1 document is written.

use std::fmt::Write;

use svg::node::element::{
    Circle, Definitions, Description, Element, Group, Line, Path, Rectangle, Text, Title,
};
use svg::{Document, Node};

use super::text::{SIZE, plain};

/// The ink of lines and letters.
pub(super) const INK: &str = "#1b1b1f";
/// Lines that help the eye only.
pub(super) const FAINT: &str = "#77777d";
/// Cloth and blocks that nothing is stitched on.
pub(super) const BARE: &str = "#f4f3f0";

/// A point or a size, in millimetres: to the right, down.
pub(super) type Point = [f64; 2];

/// A rectangle: its upper left corner, and its width and height.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Area {
    pub(super) at: Point,
    pub(super) size: Point,
}

impl Area {
    pub(super) fn new(x: f64, y: f64, width: f64, height: f64) -> Area {
        Area {
            at: [x, y],
            size: [width, height],
        }
    }

    /// Its right and lower edges.
    pub(super) fn end(self) -> Point {
        [self.at[0] + self.size[0], self.at[1] + self.size[1]]
    }

    pub(super) fn centre(self) -> Point {
        [0, 1].map(|axis| self.at[axis] + self.size[axis] / 2.0)
    }

    /// Whether the other one lies within it.
    pub(super) fn holds(self, other: Area) -> bool {
        let (end, other_end) = (self.end(), other.end());
        (0..2).all(|axis| self.at[axis] <= other.at[axis] && other_end[axis] <= end[axis])
    }

    /// It with so much more on each side.
    pub(super) fn grown(self, by: f64) -> Area {
        let [x, y] = self.at;
        let [width, height] = self.size;
        Area::new(x - by, y - by, width + 2.0 * by, height + 2.0 * by)
    }

    /// Its outline as a path.
    pub(super) fn outline(self) -> String {
        let ([x, y], [width, height]) = (self.at, self.size);
        let [x, y, width, height] = [x, y, width, height].map(number);
        format!("M{x} {y}h{width}v{height}h-{width}z")
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pen {
    pub(super) colour: &'static str,
    /// In millimetres.
    pub(super) width: f64,
    /// Lengths of dashes and of the gaps between them; none for a line without gaps.
    pub(super) dashes: &'static str,
}

impl Pen {
    pub(super) const fn new(colour: &'static str, width: f64) -> Pen {
        Pen {
            colour,
            width,
            dashes: "",
        }
    }

    pub(super) const fn dashed(self, dashes: &'static str) -> Pen {
        Pen { dashes, ..self }
    }

    fn on(self, node: &mut impl Node) {
        node.assign("stroke", self.colour);
        node.assign("stroke-width", number(self.width));
        if !self.dashes.is_empty() {
            node.assign("stroke-dasharray", self.dashes);
        }
    }
}

/// Where a text stands from its point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A picture while it is drawn.
pub(super) struct Canvas {
    name: String,
    definitions: Vec<Element>,
    nodes: Vec<Box<dyn Node>>,
}

impl Canvas {
    /// An empty page. The name begins the ids of what is in it, so that several pictures may stand in one document.
    pub(super) fn new(name: &str) -> Canvas {
        Canvas {
            name: name.to_string(),
            definitions: Vec::new(),
            nodes: Vec::new(),
        }
    }

    /// An id within this picture.
    pub(super) fn id(&self, part: &str) -> String {
        format!("{}-{part}", self.name)
    }

    pub(super) fn define(&mut self, element: Element) {
        self.definitions.push(element);
    }

    pub(super) fn line(&mut self, from: Point, to: Point, pen: Pen) {
        let mut line = Line::new()
            .set("x1", number(from[0]))
            .set("y1", number(from[1]))
            .set("x2", number(to[0]))
            .set("y2", number(to[1]));
        pen.on(&mut line);
        self.nodes.push(line.into());
    }

    /// A line with bends.
    pub(super) fn bent(&mut self, points: &[Point], pen: Pen) {
        self.path(trace(points), "none", Some(pen));
    }

    pub(super) fn path(&mut self, data: String, fill: &str, pen: Option<Pen>) {
        let mut path = Path::new().set("d", data).set("fill", fill);
        if let Some(pen) = pen {
            pen.on(&mut path);
        }
        self.nodes.push(path.into());
    }

    /// A shape with straight sides.
    pub(super) fn polygon(&mut self, points: &[Point], fill: &str, pen: Option<Pen>) {
        self.path(outline(points), fill, pen);
    }

    pub(super) fn area(&mut self, area: Area, fill: &str, pen: Option<Pen>) {
        self.rounded(area, 0.0, fill, pen);
    }

    pub(super) fn rounded(&mut self, area: Area, radius: f64, fill: &str, pen: Option<Pen>) {
        let mut rectangle = Rectangle::new()
            .set("x", number(area.at[0]))
            .set("y", number(area.at[1]))
            .set("width", number(area.size[0]))
            .set("height", number(area.size[1]))
            .set("fill", fill);
        if radius > 0.0 {
            rectangle = rectangle.set("rx", number(radius));
        }
        if let Some(pen) = pen {
            pen.on(&mut rectangle);
        }
        self.nodes.push(rectangle.into());
    }

    pub(super) fn circle(&mut self, at: Point, radius: f64, fill: &str, pen: Option<Pen>) {
        let mut circle = Circle::new()
            .set("cx", number(at[0]))
            .set("cy", number(at[1]))
            .set("r", number(radius))
            .set("fill", fill);
        if let Some(pen) = pen {
            pen.on(&mut circle);
        }
        self.nodes.push(circle.into());
    }

    /// A text whose height is centred on its point.
    pub(super) fn text(&mut self, at: Point, anchor: Anchor, words: &str) {
        self.write(at, anchor, words, false, false);
    }

    /// The same in bold.
    pub(super) fn bold(&mut self, at: Point, anchor: Anchor, words: &str) {
        self.write(at, anchor, words, true, false);
    }

    /// A text that reads from below upward.
    pub(super) fn upward(&mut self, at: Point, anchor: Anchor, words: &str, bold: bool) {
        self.write(at, anchor, words, bold, true);
    }

    fn write(&mut self, at: Point, anchor: Anchor, words: &str, bold: bool, upward: bool) {
        // Letters reach from the base line up by about 0.72 of their size: half of it centres them.
        let drop = 0.36 * SIZE;
        let [x, y] = if upward {
            [at[0] + drop, at[1]]
        } else {
            [at[0], at[1] + drop]
        };
        let mut text = Text::new(plain(words))
            .set("x", number(x))
            .set("y", number(y));
        match anchor {
            Anchor::Start => {}
            Anchor::Middle => text = text.set("text-anchor", "middle"),
            Anchor::End => text = text.set("text-anchor", "end"),
        }
        if bold {
            text = text.set("font-weight", "bold");
        }
        if upward {
            text = text.set(
                "transform",
                format!("rotate(-90 {} {})", number(x), number(y)),
            );
        }
        self.nodes.push(text.into());
    }

    /// The whole picture: a document with a title and a description for those who do not see it.
    pub(super) fn finish(self, size: Point, title: &str, alt: &str) -> String {
        let [width, height] = size.map(number);
        let (title_id, alt_id) = (self.id("title"), self.id("desc"));
        let mut group = Group::new()
            .set("font-family", "sans-serif")
            .set("font-size", number(SIZE))
            .set("fill", INK)
            .set("stroke-linejoin", "round");
        for node in self.nodes {
            group.append(node);
        }
        let mut document = Document::new()
            .set("version", "1.1")
            .set("viewBox", format!("0 0 {width} {height}"))
            .set("width", format!("{width}mm"))
            .set("height", format!("{height}mm"))
            .set("role", "img")
            .set("aria-labelledby", format!("{title_id} {alt_id}"))
            .add(Title::new(plain(title)).set("id", title_id))
            .add(
                Description::new()
                    .set("id", alt_id)
                    .add(svg::node::Text::new(plain(alt))),
            );
        if !self.definitions.is_empty() {
            let mut definitions = Definitions::new();
            for element in self.definitions {
                definitions.append(element);
            }
            document = document.add(definitions);
        }
        document.add(group).to_string()
    }
}

/// A closed outline as a path.
pub(super) fn outline(points: &[Point]) -> String {
    trace(points) + "z"
}

/// A line from point to point as a path.
fn trace(points: &[Point]) -> String {
    let mut data = String::new();
    for (index, [x, y]) in points.iter().enumerate() {
        let letter = if index == 0 { 'M' } else { 'L' };
        let _ = write!(data, "{letter}{} {}", number(*x), number(*y));
    }
    data
}

/// A coordinate to hundredths of a millimetre: finer than any printer.
pub(super) fn number(value: f64) -> String {
    let hundredths = (value * 100.0).round();
    // Neither -0 nor what is beyond all numbers is written.
    let hundredths = if hundredths.is_finite() && hundredths != 0.0 {
        hundredths
    } else {
        0.0
    };
    format!("{}", hundredths / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coordinates_are_short() {
        let written = [1.0, 0.125, -0.001, 1e300 * 1e300, 12.345_678].map(number);
        assert_eq!(written, ["1", "0.13", "0", "0", "12.35"]);
    }

    #[test]
    fn an_area_holds_what_reaches_its_edges() {
        let one = Area::new(0.0, 0.0, 2.0, 2.0);
        assert!(one.holds(Area::new(0.5, 0.5, 1.5, 1.0)) && !one.holds(one.grown(0.1)));
    }
}
