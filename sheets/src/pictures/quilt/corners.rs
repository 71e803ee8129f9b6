//! Corners of borders: whether the pattern meets there, and by how much it misses itself.

use sashwright_solver::length::Measure;
use sashwright_solver::plan::CornerEntry;

use super::places::Places;
use crate::measure::Ruler;
use crate::pictures::canvas::{Anchor, Canvas, INK, Pen, Point, WHITE};
use crate::pictures::scale::Scale;
use crate::pictures::text::LINE;

/// The most lines at one corner of the picture; the table of corners has them all.
const MOST_LINES: usize = 5;

/// What is written at one corner of the picture.
pub(crate) struct Corner {
    at_right: bool,
    at_bottom: bool,
    lines: Vec<String>,
}

/// What is written at the corners of the picture: of each border that misses itself there, by how much.
pub(crate) fn of(entries: &[&CornerEntry], ruler: Ruler) -> Vec<Corner> {
    let first = entries.first().map(|corner| corner.border);
    let several = entries.iter().any(|corner| Some(corner.border) != first);
    let names = ["top-left", "top-right", "bottom-left", "bottom-right"];
    let corner = |name: &str| {
        let here = entries.iter().filter(|corner| corner.corner == name);
        let missed = here.filter(|corner| !meets(corner));
        let mut lines: Vec<String> = missed
            .map(|corner| {
                let mismatch = ruler.short(&corner.mismatch);
                let unit = ruler.unit.symbol();
                match several {
                    true => format!("border {} misses by {mismatch} {unit}", corner.border),
                    false => format!("misses by {mismatch} {unit}"),
                }
            })
            .collect();
        if lines.len() > MOST_LINES {
            let more = lines.len() - (MOST_LINES - 1);
            lines.truncate(MOST_LINES - 1);
            lines.push(format!("and {more} more"));
        }
        Corner {
            at_right: name.ends_with("right"),
            at_bottom: name.starts_with("bottom"),
            lines,
        }
    };
    names.map(corner).into_iter().collect()
}

/// How much room the lines take up above and below the quilt.
pub(crate) fn heights(corners: &[Corner]) -> [f64; 2] {
    [false, true].map(|bottom| {
        let here = corners.iter().filter(|corner| corner.at_bottom == bottom);
        here.map(|corner| corner.lines.len()).max().unwrap_or(0) as f64 * LINE
    })
}

fn meets(corner: &CornerEntry) -> bool {
    corner.mismatch == Measure::whole(0)
}

/// Draws a mark at every counted corner: a dot where the pattern meets, a diamond where it misses itself; and the lines above and
/// below the quilt.
pub(crate) fn draw(
    canvas: &mut Canvas,
    entries: &[&CornerEntry],
    places: &Places,
    scale: Scale,
    origin: Point,
    corners: &[Corner],
) {
    for corner in entries {
        let number = usize::try_from(corner.border).unwrap_or(0).wrapping_sub(1);
        let Some([_, outer]) = places.borders.get(number) else {
            continue;
        };
        let part = |far: bool| if far { 1.0 } else { 0.0 };
        let far = [
            corner.corner.ends_with("right"),
            corner.corner.starts_with("bottom"),
        ];
        let at = [0, 1].map(|axis| {
            let size = scale.of(outer.size[axis]);
            origin[axis] + scale.of(outer.at[axis]) + part(far[axis]) * size
        });
        if meets(corner) {
            canvas.circle(at, 0.9, INK, None);
        } else {
            let [x, y] = at;
            let points = [[x, y - 2.0], [x + 2.0, y], [x, y + 2.0], [x - 2.0, y]];
            canvas.polygon(&points, WHITE, Some(Pen::new(INK, 0.6)));
        }
    }
    let size = places.size.map(|side| scale.of(side));
    for corner in corners {
        for (index, line) in corner.lines.iter().enumerate() {
            let row = index as f64 + 0.5;
            let y = if corner.at_bottom {
                origin[1] + size[1] + 3.0 + row * LINE
            } else {
                origin[1] - 3.0 - (corner.lines.len() as f64 - row) * LINE
            };
            let (x, anchor) = match corner.at_right {
                true => (origin[0] + size[0], Anchor::End),
                false => (origin[0], Anchor::Start),
            };
            canvas.text([x, y], anchor, line);
        }
    }
}
