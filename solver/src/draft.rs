//! A draft: everything that a plan decides, before it is written out, and the values of its terms.

use crate::deal::Dealt;
use crate::master::{stabilizer_area, weight};
use crate::scenario::{Goal, Term};
use crate::strips::End;
use crate::task::Task;
use crate::time::Time;

/// Covers and hoopings in order.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Draft {
    /// For each strip of the quilt top its class and cover; `None` for a strip that is not planned.
    pub covers: Vec<Option<(usize, usize)>>,
    /// The hoopings in the order of the work. Runs are numbered as in the cover: 0 the start run, the last the end run.
    pub hoopings: Vec<Dealt>,
}

impl Draft {
    /// The value of a term: a count, nanometres, square nanometres, or parts of a minute. The corner mismatch is counted where the goal
    /// looks at it, and 0 otherwise.
    pub fn term(&self, task: &Task<'_>, term: Term) -> i128 {
        let covers = || {
            self.covers
                .iter()
                .flatten()
                .map(|choice| task.cover(*choice))
        };
        match term {
            Term::Hoopings => self.hoopings.len() as i128,
            Term::Joints => covers().map(|cover| cover.joints() as i128).sum(),
            Term::CornerMismatch => self.corner_mismatch(task),
            Term::Stabilizer => self
                .hoopings
                .iter()
                .map(|hooping| stabilizer_area(task.scenario, hooping.hoop))
                .sum(),
            Term::RollLength => {
                let mut counts = vec![0; task.scenario.hoops.len()];
                for hooping in &self.hoopings {
                    counts[hooping.hoop] += 1;
                }
                let roll = task.roll.map(|roll| roll.length(&counts));
                roll.map_or(0, |length| i128::from(length.nanometres()))
            }
            Term::Overhang => covers()
                .map(|cover| i128::from(cover.settled.overhang().nanometres()))
                .sum(),
            Term::HoopChanges => self
                .hoopings
                .windows(2)
                .filter(|pair| pair[0].hoop != pair[1].hoop)
                .count() as i128,
            Term::Minutes => {
                let rates = task.scenario.rates;
                let of = |each: Time, count: i128| i128::from(each.parts()) * count;
                let chosen = self.covers.iter().flatten();
                let runs: i128 = chosen.map(|choice| task.time(*choice)).sum();
                of(rates.hooping, self.term(task, Term::Hoopings))
                    + of(rates.hoop_change, self.term(task, Term::HoopChanges))
                    + runs
            }
        }
    }

    fn corner_mismatch(&self, task: &Task<'_>) -> i128 {
        let phase = |(strip, end): (usize, End)| {
            let ends = task.cover(self.covers[strip]?).ends?;
            Some(ends.phases[usize::from(end == End::End)])
        };
        let mismatch = |corner: &crate::strips::Corner| {
            Some(
                phase(corner.ends[0])?
                    .mismatch(&phase(corner.ends[1])?)
                    .nanometres(),
            )
        };
        task.top
            .corners
            .iter()
            .filter_map(mismatch)
            .map(i128::from)
            .sum()
    }

    /// What counts, in order: the terms of the goal, or the cost in parts.
    pub fn values(&self, task: &Task<'_>) -> Vec<i128> {
        match &task.scenario.goal {
            Goal::Priorities(terms) => terms.iter().map(|term| self.term(task, *term)).collect(),
            Goal::Prices(prices) => {
                let nanometres = task.scenario.unit.nanometres();
                let cost = prices.iter().map(|price| {
                    weight(price.term, price.each, nanometres) * self.term(task, price.term)
                });
                vec![cost.sum()]
            }
        }
    }
}
