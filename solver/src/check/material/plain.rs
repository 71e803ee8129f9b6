//! Every piece of the quilt top that is cut anew, as if none were stitched: strips, plain borders and sashes, and cornerstones, with
//! their trimmed sizes.

use std::collections::{HashMap, HashSet};

use super::wanted::Top;
use crate::check::geometry::copies;
use crate::length::Length;
use crate::scenario::{Border, BorderCorner, Centre, First, Quilt, Sashing, Scenario, Side};

/// Of a top with more pieces than this nothing is cut.
const MOST_PIECES: i64 = 100_000;

/// Whether the top has too many pieces to be cut: strips, and squares at crossings and in corners.
pub(super) fn are_too_many(scenario: &Scenario) -> bool {
    let listed = scenario.strips.iter().map(|entry| entry.count);
    let mut count = i64::try_from(listed.sum::<usize>()).unwrap_or(i64::MAX / 4);
    if let Some(quilt) = &scenario.quilt {
        count = count.saturating_add(pieces_of(quilt));
    }
    for entry in &scenario.quilts {
        let copies = i64::try_from(entry.count).unwrap_or(i64::MAX);
        count = count.saturating_add(pieces_of(&entry.quilt).saturating_mul(copies));
    }
    count > MOST_PIECES
}

/// How many pieces a quilt top has beside its blocks.
fn pieces_of(quilt: &Quilt) -> i64 {
    // Four strips of each border, and four squares or corners without any.
    let mut count = 8 * i64::try_from(quilt.borders.len()).unwrap_or(0);
    if let Centre::Blocks {
        columns,
        rows,
        sashing: Some(sashing),
        ..
    } = &quilt.centre
    {
        let more = if sashing.outer { 1 } else { -1 };
        let (upright, lying) = (columns + more, rows + more);
        count += rows * upright;
        count += if sashing.cornerstones {
            columns * lying + upright * lying
        } else {
            lying
        };
    }
    count
}

/// The pieces that are gathered, without seam allowances.
#[derive(Default)]
struct Pieces {
    strips: Vec<(Called, [Length; 2])>,
    /// Name of the fabric's kind, what it is for, its sides.
    squares: Vec<(Called, String, [Length; 2])>,
}

/// What a piece is called: within its quilt, and with the name of the quilt in front where that is one of several.
struct Called {
    whole: String,
    within: Option<String>,
}

impl Called {
    fn plainly(name: String) -> Called {
        Called {
            whole: name,
            within: None,
        }
    }

    /// The same piece of a quilt of that name.
    fn of(&self, quilt: &str) -> Called {
        Called {
            whole: format!("{quilt}-{}", self.whole),
            within: Some(self.whole.clone()),
        }
    }
}

/// All pieces of the top but those of strips that carry stitching already.
pub(super) fn tops(scenario: &Scenario) -> Vec<Top> {
    let mut pieces = Pieces::default();
    if let Some(quilt) = &scenario.quilt {
        pieces.quilt(quilt);
    }
    for entry in &scenario.quilts {
        let mut one = Pieces::default();
        one.quilt(&entry.quilt);
        if one.strips.is_empty() && one.squares.is_empty() {
            continue;
        }
        for name in copies(&entry.id, entry.count) {
            pieces.take_in(&one, &name);
        }
    }
    for entry in &scenario.strips {
        let sides = [entry.length, entry.width];
        let copies = copies(&entry.id, entry.count);
        let copies = copies.map(|id| (Called::plainly(id), sides));
        pieces.strips.extend(copies);
    }
    let measured: HashMap<&str, Length> = scenario
        .measured
        .iter()
        .map(|measured| (measured.strip.as_str(), measured.length))
        .collect();
    let begun: HashSet<&str> = scenario
        .begun
        .iter()
        .map(|begun| begun.strip.as_str())
        .collect();
    let seam = scenario.allowances.seam;
    let trimmed = |sides: [Length; 2]| sides.map(|side| seam + side + seam);
    let strips = pieces.strips.into_iter();
    let fresh = strips.filter(|(called, _)| !begun.contains(called.whole.as_str()));
    let strips = fresh.map(|(called, [length, width])| Top {
        name: called.whole.clone(),
        sides: trimmed([
            *measured.get(called.whole.as_str()).unwrap_or(&length),
            width,
        ]),
        id: called.whole,
        within: called.within,
    });
    let squares = pieces.squares.into_iter();
    let squares = squares.map(|(called, name, sides)| Top {
        id: called.whole,
        within: called.within,
        name,
        sides: trimmed(sides),
    });
    strips.chain(squares).collect()
}

impl Pieces {
    fn quilt(&mut self, quilt: &Quilt) {
        let mut size = self.centre(&quilt.centre);
        for (number, border) in (1..).zip(&quilt.borders) {
            size = self.border(number, border, size);
        }
    }

    /// Adds what another one has, as a quilt of this name.
    fn take_in(&mut self, one: &Pieces, name: &str) {
        let strips = one.strips.iter();
        self.strips
            .extend(strips.map(|(called, sides)| (called.of(name), *sides)));
        let squares = one.squares.iter();
        self.squares.extend(
            squares.map(|(called, usage, sides)| {
                (called.of(name), format!("{usage} of {name}"), *sides)
            }),
        );
    }

    /// Adds the sashes and their cornerstones. Answers with the width and height of the centre.
    fn centre(&mut self, centre: &Centre) -> [Length; 2] {
        let (columns, rows, [block_width, block_height], sashing) = match centre {
            Centre::Pieced(size) => return *size,
            Centre::Blocks {
                columns,
                rows,
                size,
                sashing,
            } => (*columns, *rows, *size, sashing),
        };
        let Some(sashing) = sashing else {
            return [block_width * columns, block_height * rows];
        };
        let Sashing {
            width: sash, outer, ..
        } = *sashing;
        let between = |blocks: i64| blocks - 1 + 2 * i64::from(outer);
        let (upright, lying) = (between(columns), between(rows));
        let width = block_width * columns + sash * upright;
        let height = block_height * rows + sash * lying;
        for row in 1..=rows {
            for column in 1..=upright {
                let id = Called::plainly(format!("sash-v-{row}-{column}"));
                self.strips.push((id, [block_height, sash]));
            }
        }
        for row in 1..=lying {
            if sashing.cornerstones {
                for column in 1..=columns {
                    let id = Called::plainly(format!("sash-h-{row}-{column}"));
                    self.strips.push((id, [block_width, sash]));
                }
                for _ in 0..upright {
                    let name = "cornerstone of the sashing".into();
                    let called = Called::plainly("cornerstone-sash".into());
                    self.squares.push((called, name, [sash, sash]));
                }
            } else {
                let id = Called::plainly(format!("sash-row-{row}"));
                self.strips.push((id, [width, sash]));
            }
        }
        [width, height]
    }

    /// Adds a border around a top of this size. Answers with the size that it grows to.
    fn border(
        &mut self,
        number: usize,
        border: &Border,
        [width, height]: [Length; 2],
    ) -> [Length; 2] {
        let of_sides = border.width;
        let of_ends = border.width_of_ends.unwrap_or(border.width);
        let around = [width + of_sides * 2, height + of_ends * 2];
        for (side, measured) in Side::ALL.into_iter().zip(border.measured) {
            let stands = matches!(side, Side::Left | Side::Right);
            let runs_past = match border.corner {
                BorderCorner::Butted(First::Sides) => !stands,
                BorderCorner::Butted(First::Ends) => stands,
                BorderCorner::Cornerstone => false,
                BorderCorner::Mitred => true,
            };
            let [short, long, wide] = if stands {
                [height, around[1], of_sides]
            } else {
                [width, around[0], of_ends]
            };
            let length = measured.unwrap_or(if runs_past { long } else { short });
            let id = Called::plainly(format!("border-{number}-{}", side.name()));
            self.strips.push((id, [length, wide]));
        }
        if border.corner == BorderCorner::Cornerstone {
            for _ in 0..4 {
                self.squares.push((
                    Called::plainly(format!("cornerstone-border-{number}")),
                    format!("cornerstone of border {number}"),
                    [of_sides, of_ends],
                ));
            }
        }
        around
    }
}
