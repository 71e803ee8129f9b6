//! What pictures are drawn on: a page in millimetres as printed.

pub(super) use crate::drawing::{Anchor, BARE, Colour, FAINT, Fill, INK, Pen, Point, WHITE};
use crate::drawing::{Drawing, LETTERS, Look, Shape};

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

    /// Its corners, one after the other.
    pub(super) fn outline(self) -> Vec<Point> {
        let ([x, y], [right, bottom]) = (self.at, self.end());
        vec![[x, y], [right, y], [right, bottom], [x, bottom]]
    }
}

/// A picture while it is drawn.
#[derive(Default)]
pub(super) struct Canvas {
    shapes: Vec<Shape>,
}

impl Canvas {
    pub(super) fn line(&mut self, from: Point, to: Point, pen: Pen) {
        self.shapes.push(Shape::Line { from, to, pen });
    }

    /// A line with bends.
    pub(super) fn bent(&mut self, points: &[Point], pen: Pen) {
        let points = points.to_vec();
        self.shapes.push(Shape::Bent { points, pen });
    }

    /// Shapes with straight sides that look alike; nothing where there are none.
    pub(super) fn outlines(
        &mut self,
        outlines: Vec<Vec<Point>>,
        fill: impl Into<Fill>,
        pen: Option<Pen>,
    ) {
        let look = look(fill, pen);
        if !outlines.is_empty() {
            self.shapes.push(Shape::Outlines { outlines, look });
        }
    }

    /// A shape with straight sides.
    pub(super) fn polygon(&mut self, points: &[Point], fill: impl Into<Fill>, pen: Option<Pen>) {
        self.outlines(vec![points.to_vec()], fill, pen);
    }

    pub(super) fn area(&mut self, area: Area, fill: impl Into<Fill>, pen: Option<Pen>) {
        self.rounded(area, 0.0, fill, pen);
    }

    pub(super) fn rounded(
        &mut self,
        area: Area,
        radius: f64,
        fill: impl Into<Fill>,
        pen: Option<Pen>,
    ) {
        let Area { at, size } = area;
        let look = look(fill, pen);
        self.shapes.push(Shape::Rectangle {
            at,
            size,
            radius,
            look,
        });
    }

    pub(super) fn circle(
        &mut self,
        at: Point,
        radius: f64,
        fill: impl Into<Fill>,
        pen: Option<Pen>,
    ) {
        let look = look(fill, pen);
        self.shapes.push(Shape::Circle { at, radius, look });
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
        let drop = 0.36 * LETTERS;
        let at = if upward {
            [at[0] + drop, at[1]]
        } else {
            [at[0], at[1] + drop]
        };
        self.shapes.push(Shape::Text {
            at,
            anchor,
            words: words.to_string(),
            bold,
            upward,
        });
    }

    /// All that was drawn.
    pub(super) fn finish(self) -> Drawing {
        Drawing(self.shapes)
    }
}

fn look(fill: impl Into<Fill>, pen: Option<Pen>) -> Look {
    let fill = fill.into();
    Look { fill, pen }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_area_holds_what_reaches_its_edges() {
        let one = Area::new(0.0, 0.0, 2.0, 2.0);
        assert!(one.holds(Area::new(0.5, 0.5, 1.5, 1.0)) && !one.holds(one.grown(0.1)));
    }
}
