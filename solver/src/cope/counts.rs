//! Counts of repeats: without changing any width, which whole numbers of one repeat come nearest to a strip's length.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use crate::classes::{self, Class};
use crate::cope::{Count, Repeats};
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::{Length, Measure};
use crate::scenario::{Align, ScaleRange, Scenario, Size};
use crate::strips;
use crate::wishes::Wishes;

/// The most kinds of strips that are told of.
const MOST_KINDS: usize = 200;

/// For each kind of strip and each repeat that it can have, the counts that come nearest: of the first [`MOST_KINDS`] kinds, and
/// of fewer where the time is over.
pub fn of(scenario: &Scenario, deadline: &Deadline) -> Vec<Repeats> {
    let top = strips::of(scenario);
    let mut all = Vec::new();
    for class in classes::of(&top, &Wishes::default(), true)
        .iter()
        .take(MOST_KINDS)
    {
        let Some(first) = class.members.first() else {
            continue;
        };
        let mut by_repeat: BTreeMap<Length, Vec<&Size>> = BTreeMap::new();
        let sizes = scenario.designs[class.design].sizes.iter();
        for size in
            sizes.filter(|size| size.width == class.width && some_hoop_takes(scenario, size))
        {
            by_repeat.entry(size.repeat).or_default().push(size);
        }
        for (repeat, sizes) in by_repeat {
            if deadline.over() {
                return all;
            }
            all.push(Repeats {
                like: top.strips[*first].id.clone(),
                alike: class.members.len(),
                length: class.length.in_unit(scenario.unit),
                repeat: repeat.in_unit(scenario.unit),
                counts: counts(scenario, class, repeat, &sizes),
            });
        }
    }
    all
}

/// Whether some owned hoop takes the smallest stretch of a size, at its smallest scale.
fn some_hoop_takes(scenario: &Scenario, size: &Size) -> bool {
    let stretch = size.repeat * i64::from(step(size));
    let mut ways = scenario.hoops.iter().flat_map(|hoop| hoop.ways());
    ways.any(|(along, across, _)| {
        let room = i128::from((along - size.margin_along()).nanometres());
        let least = i128::from(stretch.nanometres()) * size.scale.least.numerator();
        least <= room * size.scale.least.denominator() && size.field[1] <= across
    })
}

/// By how many repeats a count can grow with a size.
fn step(size: &Size) -> u32 {
    if size.stop_early { 1 } else { size.repeats }
}

fn counts(scenario: &Scenario, class: &Class, repeat: Length, sizes: &[&Size]) -> Vec<Count> {
    let steps: Vec<u64> = sizes.iter().map(|size| u64::from(step(size))).collect();
    let reachable = Reachable::of(&steps);
    let (length, of_one) = (class.length.nanometres(), repeat.nanometres().max(1));
    // Each repeat may carry a nanometre of rounding, as everywhere.
    let nearest = (length + of_one / 2) / of_one;
    let is_whole = |count: i64| (count * of_one - length).abs() <= count;
    let has = |count: i64| u64::try_from(count).is_ok_and(|count| reachable.has(count));
    let found = if nearest > 0 && is_whole(nearest) && has(nearest) {
        vec![nearest]
    } else {
        let below = u64::try_from(length / of_one).unwrap_or(0);
        let ends = [reachable.at_most(below), reachable.at_least(below + 1)];
        let counts = ends.into_iter().flatten();
        counts
            .filter_map(|count| i64::try_from(count).ok())
            .filter(|count| *count > 0)
            .collect()
    };
    let count = |repeats: i64| {
        let sum = Length::from_nanometres(of_one.checked_mul(repeats)?);
        let whole = is_whole(repeats);
        let scale = if whole {
            Exact::ONE
        } else {
            Exact::new(i128::from(length), i128::from(sum.nanometres()))?
        };
        let longer = if whole {
            Length::ZERO
        } else {
            sum - class.length
        };
        let allows = |size: &&Size| {
            let range = if class.stage.is_unscaled() {
                ScaleRange::NONE
            } else {
                size.scale
            };
            (range.least..=range.most).contains(&scale)
        };
        let unscaled = class.cornered && longer >= Length::ZERO;
        Some(Count {
            repeats,
            scale: Measure::from_ratio(scale.numerator(), scale.denominator()),
            allowed: sizes.iter().all(allows),
            longer: longer.in_unit(scenario.unit),
            mismatch: unscaled.then(|| {
                let doubled = doubled_mismatch(scenario.rules.align, longer, repeat);
                Measure::from_ratio(doubled, 2 * i128::from(scenario.unit.nanometres()))
            }),
        })
    };
    found.into_iter().filter_map(count).collect()
}

/// Twice what an overhang makes of mismatch at a corner, in nanometres, beside a strip that ends at its seam line: half of the
/// overhang or, where all of it is at one end, all of it there, the nearer way round the repeat.
fn doubled_mismatch(align: Align, overhang: Length, repeat: Length) -> i128 {
    let overhang = i128::from(overhang.nanometres());
    let turn = 2 * i128::from(repeat.nanometres());
    let doubled = match align {
        Align::Centred => overhang,
        Align::Start => 2 * overhang,
    } % turn;
    doubled.min(turn - doubled)
}

/// The whole numbers that sums of a few steps can be.
struct Reachable {
    /// For each remainder by the smallest step the least sum that has it; any sum beyond it with that remainder can be had too.
    least: Vec<Option<u64>>,
}

impl Reachable {
    /// Sums of these steps: a shortest path over the remainders by the smallest of them. Steps are 1 to 100 000.
    fn of(steps: &[u64]) -> Reachable {
        let smallest = steps.iter().copied().min().unwrap_or(1).max(1);
        let mut least = vec![None; usize::try_from(smallest).unwrap_or(1)];
        let mut steps = steps.to_vec();
        steps.sort_unstable();
        steps.dedup();
        let mut waiting = BinaryHeap::from([Reverse(0_u64)]);
        let place = |sum: u64| usize::try_from(sum % smallest).unwrap_or(0);
        while let Some(Reverse(sum)) = waiting.pop() {
            if least[place(sum)].is_some() {
                continue;
            }
            least[place(sum)] = Some(sum);
            let further = steps.iter().map(|step| sum + step);
            waiting.extend(
                further
                    .filter(|sum| least[place(*sum)].is_none())
                    .map(Reverse),
            );
        }
        Reachable { least }
    }

    fn has(&self, sum: u64) -> bool {
        let smallest = self.least.len() as u64;
        let least = usize::try_from(sum % smallest).map(|place| self.least[place]);
        least.ok().flatten().is_some_and(|least| least <= sum)
    }

    /// The largest that is at most `sum`: 0 can always be had.
    fn at_most(&self, sum: u64) -> Option<u64> {
        (0..=sum).rev().find(|sum| self.has(*sum))
    }

    /// The smallest that is at least `sum`.
    fn at_least(&self, sum: u64) -> Option<u64> {
        let smallest = self.least.len() as u64;
        let each = (0..smallest).zip(&self.least);
        let first = each.filter_map(|(remainder, least)| {
            let least = (*least)?.max(sum);
            // The next number from there with this remainder.
            Some(least + (remainder + smallest - least % smallest) % smallest)
        });
        first.min()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 and 5 make 0, 3, 5, 6 and everything from 8 on (Frobenius: 3 · 5 − 3 − 5 = 7 is the last that they do not); 4 and 6
    /// make the even numbers but 2.
    #[test]
    fn sums_of_steps() {
        let all = |steps: &[u64]| {
            let reachable = Reachable::of(steps);
            (0..12)
                .filter(|sum| reachable.has(*sum))
                .collect::<Vec<_>>()
        };
        assert_eq!(all(&[5, 3]), [0, 3, 5, 6, 8, 9, 10, 11]);
        assert_eq!(all(&[6, 4]), [0, 4, 6, 8, 10]);
        assert_eq!(all(&[1, 7]), (0..12).collect::<Vec<_>>());
        let reachable = Reachable::of(&[3, 5]);
        assert_eq!(
            (reachable.at_most(7), reachable.at_least(7)),
            (Some(6), Some(8))
        );
        assert_eq!(
            (reachable.at_most(2), reachable.at_least(1)),
            (Some(0), Some(3))
        );
        let even = Reachable::of(&[4, 6]);
        assert_eq!((even.at_most(11), even.at_least(11)), (Some(10), Some(12)));
    }

    /// Of a repeat of 40: 10 over at each end is 10; 30 over there is 10 the other way round; at one end alone twice as much.
    #[test]
    fn overhang_makes_mismatch_the_nearer_way_round() {
        let nm = Length::from_nanometres;
        let centred = |over: i64| doubled_mismatch(Align::Centred, nm(over), nm(40));
        assert_eq!([0, 20, 60, 80].map(centred), [0, 20, 20, 0]);
        assert_eq!(doubled_mismatch(Align::Start, nm(10), nm(40)), 20);
        assert_eq!(doubled_mismatch(Align::Start, nm(30), nm(40)), 20);
    }
}
