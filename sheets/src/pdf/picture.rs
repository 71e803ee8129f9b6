//! Pictures drawn as vectors.

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point as At, Rect, Transform};
use krilla::paint::{Fill, LineJoin, Paint, Pattern, Stroke, StrokeDash};
use krilla::surface::Surface;

use super::curves;
use super::fonts::{Family, Weight};
use super::lines::Line;
use super::text::{self, Style};
use crate::content::Picture;
use crate::drawing::{self, Anchor, Colour, Hatching, INK, LETTERS, Look, Pen, Point, Shape};
use crate::pictures::plain;

/// Points in a millimetre: an inch is 72 points and 25.4 mm.
pub(super) const POINTS_IN_MM: f32 = 72.0 / 25.4;

/// A picture's width and height in points as told, before any scaling; none where it is not that of something printed.
pub(super) fn natural_size(picture: &Picture) -> Option<[f32; 2]> {
    let is_size = |length: &f64| length.is_finite() && *length > 0.0;
    // Nothing printed is longer than a kilometre; the bound keeps the sums below finite.
    let points = |length: f64| length.min(1e6) as f32 * POINTS_IN_MM;
    picture
        .size
        .iter()
        .all(is_size)
        .then(|| picture.size.map(points))
}

/// The least side of a hatching's squares in a picture that is drawn at all, in points.
const LEAST_SQUARE: f32 = 0.1;

/// Draws pictures, one after the other. Hatchings are made once for the whole document.
pub(super) struct Artist<'a> {
    family: &'a Family,
    /// The patterns of hatchings, each with the scale that it was made for.
    hatchings: Vec<(Hatching, f32, Fill)>,
}

impl<'a> Artist<'a> {
    pub(super) fn new(family: &'a Family) -> Self {
        let hatchings = Vec::new();
        Self { family, hatchings }
    }

    /// Draws a picture whose upper left corner is here, so many times its size.
    pub(super) fn draw(
        &mut self,
        picture: &Picture,
        corner: [f32; 2],
        times: f32,
        surface: &mut Surface,
    ) {
        let place = Place {
            corner,
            scale: times * POINTS_IN_MM,
        };
        // What is smaller than this is not seen, and a pattern whose squares have no size cannot be written.
        if place.length(Hatching::SIDE) >= LEAST_SQUARE {
            for shape in &picture.drawing.0 {
                self.shape(shape, place, surface);
            }
        }
    }

    fn shape(&mut self, shape: &Shape, place: Place, surface: &mut Surface) {
        match shape {
            Shape::Line { from, to, pen } => {
                let path = place.traced(&[*from, *to]);
                self.path(path, &line_look(*pen), place, surface);
            }
            Shape::Bent { points, pen } => {
                self.path(place.traced(points), &line_look(*pen), place, surface);
            }
            Shape::Outlines { outlines, look } => {
                let mut path = PathBuilder::new();
                for points in outlines {
                    place.trace(&mut path, points);
                    path.close();
                }
                self.path(path.finish(), look, place, surface);
            }
            Shape::Rectangle {
                at,
                size,
                radius,
                look,
            } => {
                let size = size.map(|side| place.length(side));
                let path = rectangle(place.point(*at), size, place.length(*radius));
                self.path(path, look, place, surface);
            }
            Shape::Circle { at, radius, look } => {
                let (radius, [x, y]) = (place.length(*radius), place.point(*at));
                let path = curves::rounded([x - radius, y - radius], [2.0 * radius; 2], radius);
                self.path(path, look, place, surface);
            }
            Shape::Text {
                at,
                anchor,
                words,
                bold,
                upward,
            } => {
                let style = Style {
                    weight: if *bold { Weight::Bold } else { Weight::Regular },
                    size: place.length(LETTERS),
                    leading: 0.0,
                    grey: 0,
                };
                let line = text::line(&plain(words), style, self.family);
                self.text(&line, place.point(*at), *anchor, *upward, surface);
            }
        }
    }

    fn text(
        &self,
        line: &Line,
        [x, y]: [f32; 2],
        anchor: Anchor,
        upward: bool,
        surface: &mut Surface,
    ) {
        let start = x - match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => line.width / 2.0,
            Anchor::End => line.width,
        };
        surface.set_fill(Some(plain_fill(INK)));
        surface.set_stroke(None);
        if upward {
            surface.push_transform(&Transform::from_rotate_at(-90.0, x, y));
        }
        line.draw(At::from_xy(start, y), self.family, surface);
        if upward {
            surface.pop();
        }
    }

    fn path(&mut self, path: Option<Path>, look: &Look, place: Place, surface: &mut Surface) {
        let Some(path) = path else {
            return;
        };
        let fill = match look.fill {
            drawing::Fill::None => None,
            drawing::Fill::Plain(colour) => Some(plain_fill(colour)),
            drawing::Fill::Hatched(hatching) => self.hatched(hatching, place.scale, surface),
        };
        let stroke = look.pen.map(|pen| place.stroke(pen));
        if fill.is_some() || stroke.is_some() {
            surface.set_fill(fill);
            surface.set_stroke(stroke);
            surface.draw_path(&path);
        }
    }

    fn hatched(&mut self, hatching: Hatching, scale: f32, surface: &mut Surface) -> Option<Fill> {
        let known = |(one, at, _): &&(Hatching, f32, Fill)| *one == hatching && *at == scale;
        if let Some((_, _, fill)) = self.hatchings.iter().find(known) {
            return Some(fill.clone());
        }
        let fill = tiled(&hatching, scale, surface)?;
        self.hatchings.push((hatching, scale, fill.clone()));
        Some(fill)
    }
}

/// The pattern of a hatching. Its squares begin at the page's corner, so that it is the same wherever it is on a page.
fn tiled(hatching: &Hatching, scale: f32, surface: &mut Surface) -> Option<Fill> {
    let place = Place {
        corner: [0.0; 2],
        scale,
    };
    let side = place.length(Hatching::SIDE);
    let ground = rectangle([0.0; 2], [side; 2], 0.0)?;
    let mut lines = PathBuilder::new();
    for line in hatching.lines {
        place.trace(&mut lines, line);
    }
    let lines = lines.finish()?;
    let mut builder = surface.stream_builder();
    let mut tile = builder.surface();
    tile.set_fill(Some(plain_fill(hatching.ground)));
    tile.set_stroke(None);
    tile.draw_path(&ground);
    tile.set_fill(None);
    tile.set_stroke(Some(place.stroke(Pen::new(hatching.ink, Hatching::THICK))));
    tile.draw_path(&lines);
    tile.finish();
    let pattern = Pattern {
        stream: builder.finish(),
        transform: Transform::identity(),
        width: side,
        height: side,
    };
    Some(Fill {
        paint: pattern.into(),
        ..Fill::default()
    })
}

fn line_look(pen: Pen) -> Look {
    Look {
        fill: drawing::Fill::None,
        pen: Some(pen),
    }
}

fn paint(colour: Colour) -> Paint {
    let [red, green, blue] = colour.parts();
    rgb::Color::new(red, green, blue).into()
}

fn plain_fill(colour: Colour) -> Fill {
    Fill {
        paint: paint(colour),
        ..Fill::default()
    }
}

fn rectangle([x, y]: [f32; 2], [width, height]: [f32; 2], radius: f32) -> Option<Path> {
    if radius > 0.0 {
        return curves::rounded([x, y], [width, height], radius);
    }
    let mut path = PathBuilder::new();
    path.push_rect(Rect::from_xywh(x, y, width, height)?);
    path.finish()
}

/// From a picture's millimetres to a page's points.
#[derive(Clone, Copy)]
struct Place {
    /// Where the picture's upper left corner is, in points.
    corner: [f32; 2],
    /// Points in one of its millimetres.
    scale: f32,
}

impl Place {
    fn length(self, length: f64) -> f32 {
        short(length as f32 * self.scale)
    }

    fn point(self, point: Point) -> [f32; 2] {
        [0, 1].map(|axis| short(self.corner[axis] + point[axis] as f32 * self.scale))
    }

    fn traced(self, points: &[Point]) -> Option<Path> {
        let mut path = PathBuilder::new();
        self.trace(&mut path, points);
        path.finish()
    }

    fn trace(self, path: &mut PathBuilder, points: &[Point]) {
        for (index, point) in points.iter().enumerate() {
            let [x, y] = self.point(*point);
            match index {
                0 => path.move_to(x, y),
                _ => path.line_to(x, y),
            }
        }
    }

    fn stroke(self, pen: Pen) -> Stroke {
        let dashes = || pen.dashes.iter().map(|dash| self.length(*dash)).collect();
        Stroke {
            paint: paint(pen.colour),
            width: self.length(pen.width),
            line_join: LineJoin::Round,
            dash: (!pen.dashes.is_empty()).then(|| StrokeDash {
                array: dashes(),
                offset: 0.0,
            }),
            ..Stroke::default()
        }
    }
}

/// A coordinate to hundredths of a point, which is finer than any printer and keeps the document short; what is beyond all numbers
/// stands at 0.
fn short(value: f32) -> f32 {
    let hundredths = (value * 100.0).round();
    match hundredths.is_finite() {
        true => hundredths / 100.0,
        false => 0.0,
    }
}
