//! A drawing as an SVG 1.1 document.

use std::fmt::Write;

use svg::node::element::{
    Circle, Definitions, Description, Element, Group, Line, Path, Pattern, Rectangle, Text, Title,
};
use svg::{Document, Node};

use super::{Anchor, Colour, Fill, Hatching, INK, LETTERS, Look, Pen, Point, Shape};
use crate::content::Picture;
use crate::pictures::plain;

/// The whole picture: a document with a title and a description for those who do not see it. Its name begins the ids of what is in
/// it, so that several pictures may stand in one page.
pub(crate) fn svg(picture: &Picture) -> String {
    let [width, height] = picture.size.map(number);
    let mut hatchings = Hatchings {
        name: &picture.name,
        known: Vec::new(),
    };
    let mut group = Group::new()
        .set("font-family", "sans-serif")
        .set("font-size", number(LETTERS))
        .set("fill", colour(INK))
        .set("stroke-linejoin", "round");
    for shape in &picture.drawing.0 {
        group.append(node(shape, &mut hatchings));
    }
    let [title_id, alt_id] = ["title", "desc"].map(|part| format!("{}-{part}", picture.name));
    let mut document = Document::new()
        .set("version", "1.1")
        .set("viewBox", format!("0 0 {width} {height}"))
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .set("role", "img")
        .set("aria-labelledby", format!("{title_id} {alt_id}"))
        .add(Title::new(plain(&picture.title)).set("id", title_id))
        .add(
            Description::new()
                .set("id", alt_id)
                .add(svg::node::Text::new(plain(&picture.alt))),
        );
    if !hatchings.known.is_empty() {
        document = document.add(hatchings.definitions());
    }
    document.add(group).to_string()
}

/// The element of a shape.
fn node(shape: &Shape, hatchings: &mut Hatchings<'_>) -> Box<dyn Node> {
    match shape {
        Shape::Line { from, to, pen } => {
            let mut line = Line::new()
                .set("x1", number(from[0]))
                .set("y1", number(from[1]))
                .set("x2", number(to[0]))
                .set("y2", number(to[1]));
            stroke(&mut line, *pen);
            line.into()
        }
        Shape::Bent { points, pen } => {
            let mut path = Path::new().set("d", trace(points)).set("fill", "none");
            stroke(&mut path, *pen);
            path.into()
        }
        Shape::Outlines { outlines, look } => {
            let closed = outlines.iter().map(|points| trace(points) + "z");
            let mut path = Path::new().set("d", closed.collect::<String>());
            dress(&mut path, look, hatchings);
            path.into()
        }
        Shape::Rectangle {
            at,
            size,
            radius,
            look,
        } => {
            let mut rectangle = Rectangle::new()
                .set("x", number(at[0]))
                .set("y", number(at[1]))
                .set("width", number(size[0]))
                .set("height", number(size[1]));
            if *radius > 0.0 {
                rectangle = rectangle.set("rx", number(*radius));
            }
            dress(&mut rectangle, look, hatchings);
            rectangle.into()
        }
        Shape::Circle { at, radius, look } => {
            let mut circle = Circle::new()
                .set("cx", number(at[0]))
                .set("cy", number(at[1]))
                .set("r", number(*radius));
            dress(&mut circle, look, hatchings);
            circle.into()
        }
        Shape::Text {
            at,
            anchor,
            words,
            bold,
            upward,
        } => text(*at, *anchor, words, *bold, *upward).into(),
    }
}

fn text(at: Point, anchor: Anchor, words: &str, bold: bool, upward: bool) -> Text {
    let [x, y] = at.map(number);
    let mut text = Text::new(plain(words));
    if upward {
        text = text.set("transform", format!("rotate(-90 {x} {y})"));
    }
    text = text.set("x", x).set("y", y);
    match anchor {
        Anchor::Start => {}
        Anchor::Middle => text = text.set("text-anchor", "middle"),
        Anchor::End => text = text.set("text-anchor", "end"),
    }
    if bold {
        text = text.set("font-weight", "bold");
    }
    text
}

fn dress(node: &mut impl Node, look: &Look, hatchings: &mut Hatchings<'_>) {
    let fill = match look.fill {
        Fill::None => "none".to_string(),
        Fill::Plain(plain) => colour(plain),
        Fill::Hatched(hatching) => format!("url(#{})", hatchings.id(hatching)),
    };
    node.assign("fill", fill);
    if let Some(pen) = look.pen {
        stroke(node, pen);
    }
}

fn stroke(node: &mut impl Node, pen: Pen) {
    node.assign("stroke", colour(pen.colour));
    node.assign("stroke-width", number(pen.width));
    if !pen.dashes.is_empty() {
        let dashes: Vec<String> = pen.dashes.iter().copied().map(number).collect();
        node.assign("stroke-dasharray", dashes.join(" "));
    }
}

/// The hatchings of a picture, each defined once.
struct Hatchings<'a> {
    name: &'a str,
    known: Vec<Hatching>,
}

impl Hatchings<'_> {
    fn id(&mut self, hatching: Hatching) -> String {
        let known = self.known.iter().position(|known| *known == hatching);
        let index = known.unwrap_or_else(|| {
            self.known.push(hatching);
            self.known.len() - 1
        });
        self.id_at(index)
    }

    fn id_at(&self, index: usize) -> String {
        format!("{}-hatching-{}", self.name, index + 1)
    }

    fn definitions(&self) -> Definitions {
        let mut definitions = Definitions::new();
        for (index, hatching) in self.known.iter().enumerate() {
            definitions.append(pattern(hatching, self.id_at(index)));
        }
        definitions
    }
}

fn pattern(hatching: &Hatching, id: String) -> Element {
    let side = number(Hatching::SIDE);
    let mut pattern = Pattern::new()
        .set("id", id)
        .set("width", side.as_str())
        .set("height", side.as_str())
        .set("patternUnits", "userSpaceOnUse");
    pattern.append(
        Rectangle::new()
            .set("width", side.as_str())
            .set("height", side.as_str())
            .set("fill", colour(hatching.ground)),
    );
    let lines = hatching.lines.iter().map(|line| trace(line));
    pattern.append(
        Path::new()
            .set("d", lines.collect::<String>())
            .set("fill", "none")
            .set("stroke", colour(hatching.ink))
            .set("stroke-width", number(Hatching::THICK)),
    );
    pattern.into()
}

fn colour(colour: Colour) -> String {
    format!("#{:06x}", colour.0)
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
fn number(value: f64) -> String {
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
    fn colours_have_six_digits() {
        assert_eq!(colour(Colour(0xab)), "#0000ab");
        assert_eq!(Colour(0x01_02ff).parts(), [1, 2, 255]);
    }
}
