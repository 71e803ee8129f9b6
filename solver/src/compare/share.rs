//! When the best plan for a set of hoops is the best for a smaller one too.
//!
//! A plan that makes use of hoops of the smaller set alone is a plan for that. It is the best one there, too, where the smaller set allows
//! nothing that the larger one does not: with fewer hoops there are fewer plans, but for one rule. Where short strips must not
//! be split, a strip that only a missing hoop takes in one run may be split; so each strip has to be taken in one run by
//! some hoop of the smaller set where one of the larger takes it so.

use crate::classes::{self, Class};
use crate::compare::sets::{HoopSet, all_hoops};
use crate::cover::{PieceStore, taken_in_one_run};
use crate::deadline::Deadline;
use crate::scenario::{Scenario, Term};
use crate::strips::QuiltTop;
use crate::wishes::{EVERY_HOOP, Wishes, leaves};

/// Which hoops take the strips of which class in one run.
pub struct Alone {
    /// By hoop and class; `None` where it is not known. No rows at all where strips may be split anyway.
    taken: Vec<Vec<Option<bool>>>,
}

impl Alone {
    /// Works it out for every hoop, as long as there is time.
    pub fn of(scenario: &Scenario, top: &QuiltTop, deadline: &Deadline) -> Alone {
        if scenario.rules.split_short {
            return Alone { taken: Vec::new() };
        }
        let mut with_all = scenario.clone();
        with_all.hoops = all_hoops(scenario).cloned().collect();
        let wishes = Wishes::of(&with_all, top);
        let classes = classes::of(top, &wishes, scenario.goal.counts(Term::CornerMismatch));
        let taken = all_hoops(scenario).enumerate().map(|(number, hoop)| {
            let mut with_one = scenario.clone();
            with_one.hoops = vec![hoop.clone()];
            let store = PieceStore::of(&with_one);
            let taken = |class: &Class| {
                let mut free = class.clone();
                free.wishes.hoops = EVERY_HOOP;
                let allowed = leaves(class.wishes.hoops, number);
                if deadline.over() {
                    None
                } else if allowed {
                    taken_in_one_run(&store, &free)
                } else {
                    Some(false)
                }
            };
            classes.iter().map(taken).collect()
        });
        Alone {
            taken: taken.collect(),
        }
    }

    /// Whether every plan for `smaller` is one for `larger`, of which it is a part.
    pub fn allows_no_more(&self, smaller: &HoopSet, larger: &HoopSet) -> bool {
        let classes = self.taken.first().map_or(0, Vec::len);
        (0..classes).all(|class| {
            let taken = |set: &HoopSet| {
                let mut each = set.iter().map(|hoop| self.taken[*hoop][class]);
                each.try_fold(false, |any, taken| Some(any || taken?))
            };
            match (taken(smaller), taken(larger)) {
                (Some(smaller), Some(larger)) => smaller == larger,
                _ => false,
            }
        })
    }
}
