//! Covers that are not listed: proves that no plan better than a known one can use them.
//!
//! Long strips have more covers than can be listed; those with the fewest runs are. For the others the multipliers of a
//! bound tell what any of them would add to it: the price of the places for its runs, less that of covering a strip. The
//! least of that over all unlisted covers is a shortest path over the sums of their runs.

use std::collections::BTreeMap;

use crate::cover::Settled;
use crate::deadline::Deadline;
use crate::hooping::kind::{Kinds, Openness};
use crate::length::Length;
use crate::master::Master;
use crate::program::{Linear, Sense, bound};
use crate::task::Task;

/// Adds the kinds of all runs that unlisted covers can have, so that the patterns have places for them.
pub(super) fn add_kinds(task: &Task<'_>, kinds: &mut Kinds) {
    for (class, of_class) in task.covers.iter().enumerate() {
        for settled in of_class.possible.iter().flatten() {
            for piece in 0..of_class.pieces.len() {
                for openness in [Openness::Outer, Openness::Inner] {
                    kinds.number(task.kind(class, settled, piece, openness));
                }
            }
        }
    }
}

impl Master {
    /// Whether every plan with an unlisted cover has a value of at least `least` in `objective`, among plans for which
    /// the forms in `held` are at most so much. None of the forms may have a coefficient on covers.
    pub fn unlisted_reach(
        &self,
        task: &Task<'_>,
        held: &[(&Linear, i128)],
        objective: &Linear,
        least: i128,
        deadline: &Deadline,
    ) -> bool {
        // The corners are left out: unlisted covers may show patterns there that have no column.
        let mut program = self.program.clone();
        program.rows.drain(self.corner_rows.clone());
        for (form, most) in held {
            let Ok(most) = i64::try_from(*most) else {
                continue;
            };
            program.row(form.terms.iter().copied(), Sense::AtMost, most);
        }
        let Some(bound) = bound(&program, objective, deadline) else {
            return false;
        };
        let mut total = bound.total;
        let mut costs = Vec::new();
        for (class, of_class) in task.covers.iter().enumerate() {
            let Some(runs) = of_class.complete_to else {
                continue;
            };
            let Some(possible) = &of_class.possible else {
                return false;
            };
            let places = possible.iter().filter_map(|settled| {
                self.least_places(task, class, settled, runs + 1, &bound.multipliers)
            });
            // Without any unlisted cover there is nothing to show.
            if let Some(places) = places.min() {
                let cost = places - bound.multipliers[self.cover_rows[class]];
                total += cost.min(0) * task.members(class) as i128;
                costs.push(cost.max(0));
            }
        }
        let below = bound.parts_of(least - i128::from(objective.divisor()));
        costs.iter().all(|cost| total + cost > below)
    }

    /// The least price of places for the runs of a cover with the given sum and scale and at least so many runs.
    fn least_places(
        &self,
        task: &Task<'_>,
        class: usize,
        settled: &Settled,
        runs: usize,
        multipliers: &[i128],
    ) -> Option<i128> {
        let pieces = &task.covers[class].pieces;
        let price = |piece: usize, openness: Openness| {
            let kind = task.kind(class, settled, piece, openness);
            let number = self.kinds.known(&kind)?;
            // A kind without a row has no place in any hooping.
            Some((pieces[piece].sum, multipliers[self.kind_rows[number]?]))
        };
        let priced = |openness| {
            (0..pieces.len())
                .filter_map(|piece| price(piece, openness))
                .collect::<Vec<_>>()
        };
        let (outer, inner) = (priced(Openness::Outer), priced(Openness::Inner));
        // By sum and number of runs (counted up to `runs`): the least price so far.
        let mut states: BTreeMap<(Length, usize), i128> = BTreeMap::new();
        for (first, of_first) in &outer {
            for (second, of_second) in &outer {
                lower(
                    &mut states,
                    (*first + *second, 2.min(runs)),
                    of_first + of_second,
                );
            }
        }
        while let Some(((sum, count), price)) = states.pop_first() {
            if sum > settled.sum {
                return None;
            }
            if sum == settled.sum {
                if count == runs {
                    return Some(price);
                }
                continue;
            }
            for (longer, of_inner) in &inner {
                lower(
                    &mut states,
                    (sum + *longer, (count + 1).min(runs)),
                    price + of_inner,
                );
            }
        }
        None
    }
}

fn lower(states: &mut BTreeMap<(Length, usize), i128>, key: (Length, usize), price: i128) {
    let least = states.entry(key).or_insert(price);
    *least = price.min(*least);
}
