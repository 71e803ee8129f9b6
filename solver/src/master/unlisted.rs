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
use crate::program::{Linear, Program, Sense, bound};
use crate::task::Task;

/// Rounds of adding covers as columns; each solves a linear program.
const MOST_ROUNDS: usize = 12;

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
        if !self.unlisted_kinds {
            return false;
        }
        // The corners are left out: unlisted covers may show patterns there that have no column.
        let mut program = self.program.clone();
        program.rows.drain(self.corner_rows.clone());
        for (form, most) in held {
            let Ok(most) = i64::try_from(*most) else {
                continue;
            };
            program.row(form.terms.iter().copied(), Sense::AtMost, most);
        }
        for _ in 0..MOST_ROUNDS {
            let Some(bound) = bound(&program, objective, deadline) else {
                return false;
            };
            let Some(cheapest) = self.cheapest(task, &bound.multipliers) else {
                return false;
            };
            let priced = cheapest.iter().map(|(class, cover)| {
                (
                    *class,
                    cover.price - bound.multipliers[self.cover_rows[*class]],
                )
            });
            let below_zero = priced
                .clone()
                .map(|(class, cost)| cost.min(0) * task.members(class) as i128);
            let total = bound.total + below_zero.sum::<i128>();
            let below = bound.parts_of(least - i128::from(objective.divisor()));
            if priced.clone().all(|(_, cost)| total + cost.max(0) > below) {
                return true;
            }
            // Covers that the multipliers make too cheap become columns, and the next multipliers mind them.
            let cheap: Vec<usize> = priced
                .filter(|(_, cost)| *cost < 0)
                .map(|(class, _)| class)
                .collect();
            for (class, cover) in cheapest.iter().filter(|(class, _)| cheap.contains(class)) {
                self.add_column(task, &mut program, *class, cover);
            }
            if cheap.is_empty() {
                break;
            }
        }
        false
    }

    /// For each class with unlisted covers the one whose places cost least; `None` where that cannot be told.
    fn cheapest(&self, task: &Task<'_>, multipliers: &[i128]) -> Option<Vec<(usize, Unlisted)>> {
        let mut cheapest = Vec::new();
        for (class, of_class) in task.covers.iter().enumerate() {
            let Some(runs) = of_class.complete_to else {
                continue;
            };
            let covers = of_class.possible.as_ref()?.iter();
            let covers = covers.filter_map(|settled| {
                self.least_places(task, class, settled, runs + 1, multipliers)
            });
            cheapest.extend(covers.min().map(|cover| (class, cover)));
        }
        Some(cheapest)
    }

    fn add_column(&self, task: &Task<'_>, program: &mut Program, class: usize, cover: &Unlisted) {
        let members = i64::try_from(task.members(class)).unwrap_or(i64::MAX);
        let column = program.whole(0, members);
        let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
        for row in cover.kinds.iter().filter_map(|kind| self.kind_rows[*kind]) {
            *counts.entry(row).or_default() -= 1;
        }
        counts.insert(self.cover_rows[class], 1);
        for (row, coefficient) in counts {
            program.rows[row].form.terms.push((column, coefficient));
        }
    }

    /// The cover with the given sum and scale and at least so many runs whose places cost least.
    fn least_places(
        &self,
        task: &Task<'_>,
        class: usize,
        settled: &Settled,
        runs: usize,
        multipliers: &[i128],
    ) -> Option<Unlisted> {
        let pieces = &task.covers[class].pieces;
        let price = |piece: usize, openness: Openness| {
            let kind = self
                .kinds
                .known(&task.kind(class, settled, piece, openness))?;
            // A kind without a row has no place in any hooping.
            Some((pieces[piece].sum, kind, multipliers[self.kind_rows[kind]?]))
        };
        let priced = |openness| {
            (0..pieces.len())
                .filter_map(|piece| price(piece, openness))
                .collect::<Vec<_>>()
        };
        let (outer, inner) = (priced(Openness::Outer), priced(Openness::Inner));
        // By sum and number of runs (counted up to `runs`): the cheapest so far.
        let mut states: BTreeMap<(Length, usize), Unlisted> = BTreeMap::new();
        for (first, first_kind, of_first) in &outer {
            for (second, second_kind, of_second) in &outer {
                let price = of_first + of_second;
                let kinds = vec![*first_kind, *second_kind];
                lower(
                    &mut states,
                    (*first + *second, 2.min(runs)),
                    Unlisted { price, kinds },
                );
            }
        }
        while let Some(((sum, count), cover)) = states.pop_first() {
            if sum > settled.sum {
                return None;
            }
            if sum == settled.sum {
                if count == runs {
                    return Some(cover);
                }
                continue;
            }
            for (longer, kind, of_inner) in &inner {
                let price = cover.price + of_inner;
                let kinds = [cover.kinds.as_slice(), &[*kind]].concat();
                lower(
                    &mut states,
                    (sum + *longer, (count + 1).min(runs)),
                    Unlisted { price, kinds },
                );
            }
        }
        None
    }
}

/// An unlisted cover: the kinds of its runs and what their places cost.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Unlisted {
    price: i128,
    kinds: Vec<usize>,
}

fn lower(states: &mut BTreeMap<(Length, usize), Unlisted>, key: (Length, usize), cover: Unlisted) {
    match states.get_mut(&key) {
        Some(known) if known.price <= cover.price => {}
        Some(known) => *known = cover,
        None => {
            states.insert(key, cover);
        }
    }
}
