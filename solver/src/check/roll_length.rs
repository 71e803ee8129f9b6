//! The least length of roll that all pieces of stabilizer are cut from, worked out anew: straight across into levels, each level into
//! pieces side by side.

use crate::cutting::Lay;
use crate::plan::Plan;
use crate::scenario::{Scenario, Term};

/// With more choices of what is left to cut than this, more ways to fill levels, or more of the two together the least length is not
/// worked out, only what it lies between.
const MOST_LEFT: usize = 300_000;
const MOST_FILLS: usize = 100_000;
const MOST_WORK: usize = 20_000_000;

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
    of_hoops(scenario, plan.hoopings.iter().map(|of| of.hoop.as_str()))
}

/// The least length for hoopings in these hoops.
fn of_hoops<'h>(scenario: &Scenario, hoops: impl Iterator<Item = &'h str>) -> Option<RollLength> {
    let stocks = &scenario.materials.stabilizer_stocks;
    let width = stocks.bolts.first()?.width.nanometres();
    let margin = scenario.materials.stabilizer.margin.nanometres();
    // Each piece with its ways to lie: along, across.
    let mut pieces: Vec<(Vec<[i64; 2]>, u32)> = Vec::new();
    for id in hoops {
        let hoop = scenario.hoops.iter().find(|hoop| hoop.id == id)?;
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
    Some(match least(&ways, &counts, width) {
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

/// The least length; `None` where there is too much to try, or a piece fits in no way.
fn least(ways: &[Vec<[i64; 2]>], counts: &[u32], width: i64) -> Option<i128> {
    let mut all = 1_usize;
    for count in counts {
        let with_none = usize::try_from(*count).ok()?.checked_add(1)?;
        all = all.checked_mul(with_none).filter(|all| *all <= MOST_LEFT)?;
    }
    let mut lengths: Vec<i64> = ways.iter().flatten().map(|way| way[0]).collect();
    lengths.sort_unstable();
    lengths.dedup();
    // A level's length, and how many pieces of each kind lie in it.
    let mut levels: Vec<(i64, Vec<u32>)> = Vec::new();
    let mut tried = 0;
    for length in lengths {
        let across = ways.iter().map(|ways| {
            let short = ways.iter().filter(|way| way[0] <= length);
            short.map(|way| way[1]).min()
        });
        let mut level = Level {
            across: &across.collect::<Vec<Option<i64>>>(),
            counts,
            most: MOST_FILLS.min(MOST_WORK / all),
            tried,
            fills: Vec::new(),
        };
        level.fill(&mut Vec::new(), width)?;
        tried = level.tried;
        levels.extend(level.fills.into_iter().map(|fill| (length, fill)));
    }
    // What is left is numbered like a clock with a hand for each kind: whatever is less in one kind, and more in none, has a lower
    // number, and its least length is known already.
    let number_after = |left: &[u32], fill: &[u32]| -> usize {
        let kinds = left.iter().zip(fill).zip(counts).rev();
        kinds.fold(0, |number, ((left, fill), count)| {
            number * (*count as usize + 1) + left.saturating_sub(*fill) as usize
        })
    };
    let mut known: Vec<Option<i128>> = vec![Some(0)];
    for this in 1..all {
        let mut rest = this;
        let hands = counts.iter().map(|count| {
            let hand = rest % (*count as usize + 1);
            rest /= *count as usize + 1;
            hand as u32
        });
        let left: Vec<u32> = hands.collect();
        // The first piece that is left lies in some level; it may as well be the next one.
        let first = left.iter().position(|count| *count > 0)?;
        let with_first = levels.iter().filter(|(_, fill)| fill[first] > 0);
        let whole = with_first.filter_map(|(length, fill)| {
            Some(known[number_after(&left, fill)]? + i128::from(*length))
        });
        let best = whole.min();
        known.push(best);
    }
    known.last().copied().flatten()
}

/// A level that is filled with pieces side by side.
struct Level<'a> {
    /// What each kind takes across; `None` where it is longer than the level.
    across: &'a [Option<i64>],
    /// How many there are of each.
    counts: &'a [u32],
    /// How many ways to fill levels are tried at most, and were tried.
    most: usize,
    tried: usize,
    /// The ways to which no piece can be added.
    fills: Vec<Vec<u32>>,
}

impl Level<'_> {
    /// Tries every number of the next kind; `None` where there are too many ways.
    fn fill(&mut self, begun: &mut Vec<u32>, room: i64) -> Option<()> {
        let kind = begun.len();
        if kind == self.counts.len() {
            self.tried += 1;
            let kinds = self.across.iter().zip(self.counts).zip(begun.iter());
            let mut more = kinds.filter(|((across, count), number)| {
                number < count && across.is_some_and(|across| across <= room)
            });
            if more.next().is_none() {
                self.fills.push(begun.clone());
            }
            return (self.tried <= self.most).then_some(());
        }
        let across = self.across[kind];
        let most = across.map_or(0, |across| room / across.max(1));
        let most = u32::try_from(most).unwrap_or(u32::MAX);
        for number in 0..=most.min(self.counts[kind]) {
            begun.push(number);
            let taken = across.unwrap_or(0) * i64::from(number);
            let done = self.fill(begun, room - taken);
            begun.pop();
            done?;
        }
        Some(())
    }
}

#[cfg(test)]
mod tests;
