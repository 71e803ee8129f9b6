//! A few covers of a class instead of all, where all of them are too many for a good plan to be found among them.

use std::collections::BTreeSet;

use crate::cover::{Cover, CoverSpace, Prices};
use crate::deadline::Deadline;
use crate::scenario::Scenario;

/// The most covers of one sum among which some are chosen, and the most steps that listing them may take.
const MOST_LISTED: usize = 2_000;
const MOST_STEPS: usize = 200_000;

impl CoverSpace<'_> {
    /// The space of so many covers, listed: those with the fewest runs of each sum, taken from their list at even distances; where sums are
    /// more than that, or the time is over, of some sums; and with them those that are `known`, so that what is made of these can be told
    /// there. Bounds over it say nothing of other covers.
    pub fn of_few(
        &self,
        scenario: &Scenario,
        most: usize,
        known: &BTreeSet<&Cover>,
        deadline: &Deadline,
    ) -> Self {
        let mut singles = self.listed.clone();
        singles.sort_by_key(Cover::count);
        let groups = self.totals.len() + usize::from(!singles.is_empty());
        let each = most / groups.max(1);
        let mut listed = evenly(singles, each.max(1));
        let mut steps = MOST_STEPS;
        let apart = self.totals.len().div_ceil(most.max(1)).max(1);
        for total in self.totals.iter().step_by(apart) {
            if deadline.over() {
                break;
            }
            let prices = Prices::of_joints(total);
            let Some(fewest) = self.cheapest(total, &prices) else {
                continue;
            };
            let (found, _) = self.up_to(
                total,
                &prices,
                fewest.cost,
                usize::MAX,
                MOST_LISTED,
                &mut steps,
            );
            let covers = found.into_iter().map(|priced| priced.cover);
            let valid = covers.filter(|cover| self.is_valid(scenario, cover));
            listed.extend(evenly(valid.collect(), each.max(1)));
        }
        let is_new = |cover: &&&Cover| !listed.contains(**cover);
        let known: Vec<Cover> = known.iter().filter(is_new).copied().cloned().collect();
        listed.extend(known);
        self.with_listed(listed)
    }
}

/// So many of a list, at even distances.
fn evenly(list: Vec<Cover>, most: usize) -> Vec<Cover> {
    let step = list.len().div_ceil(most.max(1)).max(1);
    list.into_iter().step_by(step).collect()
}
