//! Strips that are listed on their own: in rows, those of one entry together under its name.

use sashwright_solver::length::Length;
use sashwright_solver::scenario::StripEntry;

use super::numbers::{Ground, Taken};
use super::pieces::Pieces;
use super::shapes::Shape;
use crate::pictures::canvas::{Anchor, Area, Canvas};
use crate::pictures::scale::Scale;
use crate::pictures::text::{LINE, shortened};

/// The most strips of one entry, and of all, that are drawn; rulers tell of all of them.
const MOST_COPIES: usize = 24;
const MOST_STRIPS: usize = 150;
/// Between two strips side by side, and between two rows.
const BETWEEN: f64 = 3.0;
const BETWEEN_ROWS: f64 = 2.4;
/// Strips that are lower than this have their numbers below them.
const NARROW: f64 = 3.2;
/// Left of all strips, so that no edge is cut off.
const LEFT: f64 = 0.5;

/// Where listed strips lie in the picture.
pub(crate) struct Loose {
    /// A name and its height.
    names: Vec<(String, f64)>,
    /// Ids and places.
    strips: Vec<(String, Area)>,
    /// Down to where they reach.
    pub(crate) bottom: f64,
    /// How many strips are not drawn.
    pub(crate) left_out: usize,
}

/// The longest strip of those listed.
pub(crate) fn longest(strips: &[StripEntry]) -> Length {
    let lengths = strips.iter().map(|entry| entry.length);
    lengths.fold(Length::ZERO, Length::max)
}

/// Lays them out from `top` on, within that width.
pub(crate) fn lay(strips: &[StripEntry], scale: Scale, top: f64, width: f64) -> Loose {
    let mut loose = Loose {
        names: Vec::new(),
        strips: Vec::new(),
        bottom: top,
        left_out: 0,
    };
    for entry in strips {
        let room = MOST_STRIPS.saturating_sub(loose.strips.len());
        let drawn = entry.count.min(MOST_COPIES).min(room);
        loose.left_out += entry.count - drawn;
        if drawn == 0 {
            continue;
        }
        let name = match (entry.count, drawn) {
            (1, _) => entry.id.clone(),
            (all, drawn) if all == drawn => format!("{}-1 to {}-{all}", entry.id, entry.id),
            (all, drawn) => format!(
                "{}-1 to {}-{drawn}, and {} more like them",
                entry.id,
                entry.id,
                all - drawn
            ),
        };
        loose.names.push((name, loose.bottom + LINE / 2.0));
        loose.bottom += LINE + 0.8;
        let size = [scale.of(entry.length), scale.of(entry.width)];
        // Numbers that do not fit into their strips stand below them.
        let below = if size[1] < NARROW { LINE } else { 0.0 };
        let mut x = LEFT;
        for copy in 1..=drawn {
            if x > LEFT && x + size[0] > width {
                x = LEFT;
                loose.bottom += size[1] + below + BETWEEN_ROWS;
            }
            let id = match entry.count {
                1 => entry.id.clone(),
                _ => format!("{}-{copy}", entry.id),
            };
            loose.strips.push((
                id,
                Area {
                    at: [x, loose.bottom],
                    size,
                },
            ));
            x += size[0] + BETWEEN;
        }
        loose.bottom += size[1] + below + 2.0 * BETWEEN_ROWS;
    }
    loose
}

impl Loose {
    /// Adds the strips to the pieces, and writes their names.
    pub(crate) fn add(
        &self,
        canvas: &mut Canvas,
        pieces: &mut Pieces<'_>,
        ground: &mut Ground,
        width: f64,
    ) {
        for (name, height) in &self.names {
            let line = Area::new(0.0, height - LINE / 2.0, width, LINE);
            ground.take(line, Taken::Letters);
            if let Some(name) = shortened(name, width) {
                canvas.text([LEFT, *height], Anchor::Start, &name);
            }
        }
        for (id, area) in &self.strips {
            let shape = Shape {
                area: *area,
                upright: false,
                mitred: None,
            };
            ground.take(*area, Taken::Strip);
            pieces.add(id, &shape);
        }
    }
}
