//! The least length of roll that all pieces of stabilizer are cut from, worked out anew: straight across into levels, each level into
//! pieces side by side.

use std::collections::HashMap;

use crate::cutting::Lay;
use crate::plan::Plan;
use crate::scenario::{Scenario, Term};

/// With more choices of what is left to cut than this the least length is not worked out, only what it lies between.
const MOST_LEFT: usize = 30_000;

/// What is known of the least length, in nanometres.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum RollLength {
    /// It is this.
    Exactly(i128),
    /// It lies between these.
    Between(i128, i128),
}

/// The least length for a plan's hoopings; `None` where the goal does not count it, or a hooping's hoop is unknown.
pub(super) fn roll_length(scenario: &Scenario, plan: &Plan) -> Option<RollLength> {
    if !scenario.goal.counts(Term::RollLength) {
        return None;
    }
    let stocks = &scenario.materials.stabilizer_stocks;
    let width = stocks.bolts.first()?.width.nanometres();
    let margin = scenario.materials.stabilizer.margin.nanometres();
    // Each piece with its ways to lie: along, across.
    let mut pieces: Vec<(Vec<[i64; 2]>, u32)> = Vec::new();
    for hooping in &plan.hoopings {
        let hoop = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop)?;
        let [first, second] = hoop.frame.map(|side| side.nanometres() + 2 * margin);
        let mut ways = match stocks.lay {
            Lay::Either => vec![[first, second], [second, first]],
            Lay::Lengthwise => vec![[first, second]],
            Lay::Crosswise => vec![[second, first]],
        };
        ways.retain(|[_, across]| *across <= width);
        ways.sort_unstable();
        match pieces.iter_mut().find(|(known, _)| *known == ways) {
            Some((_, count)) => *count += 1,
            None => pieces.push((ways, 1)),
        }
    }
    let (ways, counts): (Vec<_>, Vec<_>) = pieces.into_iter().unzip();
    let mut cutter = Cutter {
        ways: &ways,
        width,
        known: HashMap::new(),
    };
    Some(match cutter.least(&counts) {
        Some(least) => RollLength::Exactly(least),
        None => between(&ways, &counts, width),
    })
}

/// By area, and by levels of one kind of piece each.
fn between(ways: &[Vec<[i64; 2]>], counts: &[u32], width: i64) -> RollLength {
    let (mut area, mut alone) = (0, 0);
    for (ways, count) in ways.iter().zip(counts) {
        let count = i128::from(*count);
        let each = ways.first().map_or(0, |[along, across]| {
            i128::from(*along) * i128::from(*across)
        });
        area += each * count;
        let levels = ways.iter().map(|[along, across]| {
            let beside = i128::from(width / (*across).max(1)).max(1);
            (count + beside - 1) / beside * i128::from(*along)
        });
        alone += levels.min().unwrap_or(0);
    }
    let width = i128::from(width).max(1);
    RollLength::Between((area + width - 1) / width, alone)
}

struct Cutter<'a> {
    ways: &'a [Vec<[i64; 2]>],
    width: i64,
    known: HashMap<Vec<u32>, i128>,
}

impl Cutter<'_> {
    /// The least length for what is left; `None` where there is too much to try.
    fn least(&mut self, left: &[u32]) -> Option<i128> {
        let Some(first) = left.iter().position(|count| *count > 0) else {
            return Some(0);
        };
        if let Some(known) = self.known.get(left) {
            return Some(*known);
        }
        if self.known.len() >= MOST_LEFT {
            return None;
        }
        // The first piece lies in some level; it may as well be the next one.
        let mut lengths: Vec<i64> = self.ways.iter().flatten().map(|way| way[0]).collect();
        lengths.sort_unstable();
        lengths.dedup();
        let mut best: Option<i128> = None;
        for length in lengths {
            let across: Vec<Option<i64>> = self
                .ways
                .iter()
                .map(|ways| {
                    let short = ways.iter().filter(|way| way[0] <= length);
                    short.map(|way| way[1]).min()
                })
                .collect();
            if across[first].is_none() {
                continue;
            }
            let mut fills = Vec::new();
            fill(&across, left, 0, self.width, &mut left.to_vec(), &mut fills);
            for after in fills {
                if after[first] < left[first] {
                    let rest = self.least(&after)?;
                    let whole = rest + i128::from(length);
                    best = Some(best.map_or(whole, |best| best.min(whole)));
                }
            }
        }
        let best = best?;
        self.known.insert(left.to_vec(), best);
        Some(best)
    }
}

/// What can be left after a level to which nothing that is left can be added.
fn fill(
    across: &[Option<i64>],
    left: &[u32],
    piece: usize,
    room: i64,
    after: &mut Vec<u32>,
    found: &mut Vec<Vec<u32>>,
) {
    if piece == across.len() {
        let more = |(across, count): (&Option<i64>, &u32)| {
            *count > 0 && across.is_some_and(|across| across <= room)
        };
        if !across.iter().zip(after.iter()).any(more) {
            found.push(after.clone());
        }
        return;
    }
    let most = across[piece].map_or(0, |across| room / across.max(1));
    let most = u32::try_from(most).unwrap_or(u32::MAX).min(left[piece]);
    for count in 0..=most {
        after[piece] = left[piece] - count;
        let taken = across[piece].unwrap_or(0) * i64::from(count);
        fill(across, left, piece + 1, room - taken, after, found);
    }
    after[piece] = left[piece];
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 20-in roll; pieces of 10 × 15 and 6 × 8, either way: three large and a small one take 30 (15 for two of the large ones, and 15
    /// for a large one beside a small one), by hand.
    #[test]
    fn levels_are_tried_one_after_the_other() {
        let ways = [vec![[10, 15], [15, 10]], vec![[6, 8], [8, 6]]];
        let least = |left: &[u32]| {
            let mut cutter = Cutter {
                ways: &ways,
                width: 20,
                known: HashMap::new(),
            };
            cutter.least(left)
        };
        assert_eq!(
            [least(&[3, 1]), least(&[0, 5]), least(&[1, 0])],
            [Some(30), Some(14), Some(10)]
        );
        // 4 pieces: 3 · 150 + 48 = 498 square inches, a bit less than 25 in of 20; alone 2 · 15 or 3 · 10, and 6.
        assert_eq!(between(&ways, &[3, 1], 20), RollLength::Between(25, 36));
    }
}
