//! Where everything lies in the quilt top.

use sashwright_solver::length::Length;
use sashwright_solver::scenario::{Border, BorderCorner, Centre, First, Quilt, Sashing, Side};
use sashwright_solver::strips;

/// A rectangle of the quilt top, measured from its upper left corner.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Patch {
    /// To the right, down.
    pub(crate) at: [Length; 2],
    /// Width and height.
    pub(crate) size: [Length; 2],
}

/// Where a strip lies.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Place {
    pub(crate) id: String,
    pub(crate) patch: Patch,
    /// Whether it runs from the top to the bottom.
    pub(crate) upright: bool,
    /// Of a mitred strip, the side of the quilt top that its long edge faces.
    pub(crate) mitred: Option<Side>,
}

/// The quilt top.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub(crate) struct Places {
    pub(crate) size: [Length; 2],
    /// Blocks, or the one centre.
    pub(crate) blocks: Vec<Patch>,
    /// Plain sashing and borders, and all cornerstones.
    pub(crate) plain: Vec<Patch>,
    /// The stitched strips.
    pub(crate) strips: Vec<Place>,
    /// For each border its inner and its outer edge.
    pub(crate) borders: Vec<[Patch; 2]>,
}

/// Beyond so many blocks they are drawn as one.
const MOST_BLOCKS: i64 = 10_000;

/// Lays out a quilt top. `name` is put in front of the ids of its strips, where it is one of several.
pub(crate) fn of(quilt: &Quilt, name: Option<&str>) -> Places {
    let mut ids = strips::of_quilt(quilt)
        .strips
        .into_iter()
        .map(|strip| match name {
            Some(name) => format!("{name}-{}", strip.id),
            None => strip.id,
        });
    let mut places = Places {
        size: quilt.size(),
        ..Places::default()
    };
    let widths = quilt.borders.iter().map(Border::widths);
    let inset = widths.fold([Length::ZERO; 2], |[x, y], [side, end]| [x + side, y + end]);
    let mut inner = Patch {
        at: inset,
        size: quilt.centre.size(),
    };
    places.add_centre(quilt, inset, &mut ids);
    for border in &quilt.borders {
        inner = places.add_border(border, inner, &mut ids);
    }
    places
}

impl Places {
    fn add_centre(
        &mut self,
        quilt: &Quilt,
        at: [Length; 2],
        ids: &mut impl Iterator<Item = String>,
    ) {
        let whole = Patch {
            at,
            size: quilt.centre.size(),
        };
        let (counts, size, sashing) = match &quilt.centre {
            Centre::Pieced(_) => return self.blocks.push(whole),
            Centre::Blocks {
                columns,
                rows,
                size,
                sashing,
            } => ([*columns, *rows], *size, sashing.as_ref()),
        };
        let sash = sashing.map_or(Length::ZERO, |of| of.width);
        let before = match sashing {
            Some(Sashing { outer: true, .. }) => sash,
            _ => Length::ZERO,
        };
        // Where the block lies that stands at that place along that axis, from 0.
        let block = |axis: usize, number: i64| at[axis] + before + (size[axis] + sash) * number;
        if counts[0] * counts[1] > MOST_BLOCKS {
            self.blocks.push(whole);
        } else {
            for row in 0..counts[1] {
                for column in 0..counts[0] {
                    self.blocks.push(Patch {
                        at: [block(0, column), block(1, row)],
                        size,
                    });
                }
            }
        }
        if let Some(sashing) = sashing {
            self.add_sashes(sashing, whole, counts, size, &block, ids);
        }
    }

    fn add_sashes(
        &mut self,
        sashing: &Sashing,
        whole: Patch,
        [columns, rows]: [i64; 2],
        [width, height]: [Length; 2],
        block: &dyn Fn(usize, i64) -> Length,
        ids: &mut impl Iterator<Item = String>,
    ) {
        let sash = sashing.width;
        if sashing.design.is_none() && columns * rows > MOST_BLOCKS {
            return;
        }
        let mut add = |places: &mut Places, patch: Patch, upright: bool| {
            if sashing.design.is_none() {
                places.plain.push(patch);
            } else if let Some(id) = ids.next() {
                places.strips.push(Place {
                    id,
                    patch,
                    upright,
                    mitred: None,
                });
            }
        };
        // Beside which block the first sash lies, to its right or below it.
        let first = if sashing.outer { -1 } else { 0 };
        let after = |axis: usize, side: Length, number: i64| block(axis, number) + side;
        for row in 0..rows {
            for column in 0..sashing.beside(columns) {
                let x = after(0, width, first + column);
                let patch = Patch {
                    at: [x, block(1, row)],
                    size: [sash, height],
                };
                add(self, patch, true);
            }
        }
        for level in 0..sashing.beside(rows) {
            let y = after(1, height, first + level);
            if !sashing.cornerstones {
                let patch = Patch {
                    at: [whole.at[0], y],
                    size: [whole.size[0], sash],
                };
                add(self, patch, false);
                continue;
            }
            for column in 0..columns {
                let patch = Patch {
                    at: [block(0, column), y],
                    size: [width, sash],
                };
                add(self, patch, false);
            }
            for column in 0..sashing.beside(columns) {
                self.plain.push(Patch {
                    at: [after(0, width, first + column), y],
                    size: [sash; 2],
                });
            }
        }
    }

    /// Adds a border around `inner` and returns what the quilt top grows to.
    fn add_border(
        &mut self,
        border: &Border,
        inner: Patch,
        ids: &mut impl Iterator<Item = String>,
    ) -> Patch {
        let [of_sides, of_ends] = border.widths();
        let outer = Patch {
            at: [inner.at[0] - of_sides, inner.at[1] - of_ends],
            size: border.around(inner.size),
        };
        self.borders.push([inner, outer]);
        // Which edge the sides run along from the top to the bottom, and the ends from left to right.
        let (upright, lying) = match border.corner {
            BorderCorner::Butted(First::Sides) => (inner, outer),
            BorderCorner::Butted(First::Ends) => (outer, inner),
            BorderCorner::Cornerstone => (inner, inner),
            BorderCorner::Mitred => (outer, outer),
        };
        let right = inner.at[0] + inner.size[0];
        let bottom = inner.at[1] + inner.size[1];
        for side in Side::ALL {
            let (x, y) = match side {
                Side::Left => (outer.at[0], upright.at[1]),
                Side::Right => (right, upright.at[1]),
                Side::Top => (lying.at[0], outer.at[1]),
                Side::Bottom => (lying.at[0], bottom),
            };
            let is_upright = matches!(side, Side::Left | Side::Right);
            let patch = Patch {
                at: [x, y],
                size: match is_upright {
                    true => [of_sides, upright.size[1]],
                    false => [lying.size[0], of_ends],
                },
            };
            if border.design.is_none() {
                self.plain.push(patch);
            } else if let Some(id) = ids.next() {
                self.strips.push(Place {
                    id,
                    patch,
                    upright: is_upright,
                    mitred: (border.corner == BorderCorner::Mitred).then_some(side),
                });
            }
        }
        if border.corner == BorderCorner::Cornerstone {
            for x in [outer.at[0], right] {
                for y in [outer.at[1], bottom] {
                    self.plain.push(Patch {
                        at: [x, y],
                        size: [of_sides, of_ends],
                    });
                }
            }
        }
        outer
    }
}
