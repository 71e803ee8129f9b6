//! Plans sets of hoops, several at once, and shares what one plan tells of others.

use std::collections::BTreeMap;
use std::time::Duration;

use crate::compare::larger::raise_bounds;
use crate::compare::parts::{is_better, with_plan_of};
use crate::compare::sets::{HoopSet, all_hoops};
use crate::compare::share::Alone;
use crate::compare::{ComparisonRow, Reason, Refused};
use crate::cover::Sure;
use crate::deadline::Deadline;
use crate::plan::{ObjectiveEntry, Plan, Status, WorkEntry};
use crate::planner::{self, NoPlan, Unsolved};
use crate::scenario::{Hoop, Scenario};
use crate::several::solve_each;
use crate::strips::{self, QuiltTop};

/// How late a set is still begun: even with next to no time there are rows to compare where they take moments.
const LATEST: Duration = Duration::from_secs(1);

/// Ids that are told of the strips that a set cannot take for one reason.
const MOST_TOLD: usize = 20;

/// What is known of a set of hoops.
#[derive(Clone, Debug)]
pub struct Known {
    /// The terms of the goal; empty where nothing can be stitched.
    pub objective: Vec<ObjectiveEntry>,
    /// The hoops that the plan makes use of.
    pub used: HoopSet,
    /// How long the plan's work takes.
    pub work: Option<WorkEntry>,
    /// Strips that the set cannot take, by reason.
    pub refused: Vec<Refused>,
    /// Whether it cannot keep the wishes, so that there is no plan.
    pub wishes_fail: bool,
}

impl Known {
    /// How many strips are left out.
    pub fn left_out(&self) -> usize {
        self.refused.iter().map(|refused| refused.count).sum()
    }

    /// Whether there is a plan, and of every strip.
    pub fn takes_all(&self) -> bool {
        self.refused.is_empty() && !self.objective.is_empty()
    }

    /// Whether every term is proven.
    pub fn proven(&self) -> bool {
        self.objective.iter().all(|entry| entry.proven)
    }
}

/// Where sets are planned.
pub struct Bench<'s> {
    /// The scenario with the owned hoops.
    pub scenario: &'s Scenario,
    top: QuiltTop,
    hoops: Vec<&'s Hoop>,
    alone: Alone,
    known: BTreeMap<HoopSet, Known>,
}

impl<'s> Bench<'s> {
    /// A bench for a scenario's hoops and candidates.
    pub fn new(scenario: &'s Scenario, deadline: &Deadline) -> Bench<'s> {
        let top = strips::of(scenario);
        Bench {
            alone: Alone::of(scenario, &top, deadline),
            top,
            hoops: all_hoops(scenario).collect(),
            scenario,
            known: BTreeMap::new(),
        }
    }

    /// What is known of a set.
    pub fn known(&self, set: &HoopSet) -> Option<&Known> {
        self.known.get(set)
    }

    /// The ids of a set.
    pub fn ids(&self, set: &HoopSet) -> Vec<String> {
        set.iter()
            .map(|hoop| self.hoops[*hoop].id.clone())
            .collect()
    }

    /// The area of all fields of a set, in square nanometres.
    pub fn fields(&self, set: &HoopSet) -> i128 {
        let area = |hoop: &usize| -> i128 {
            let sides = self.hoops[*hoop].field;
            sides
                .map(|side| i128::from(side.nanometres()))
                .iter()
                .product()
        };
        set.iter().map(area).sum()
    }

    /// The row of a set that has been planned.
    pub fn row(&self, reason: Reason, set: &HoopSet) -> Option<ComparisonRow> {
        let known = self.known(set)?;
        let whole = known.proven();
        Some(ComparisonRow {
            reason,
            hoops: self.ids(set),
            used: self.ids(&known.used),
            status: if whole {
                Status::Optimal
            } else {
                Status::Feasible
            },
            objective: known.objective.clone(),
            work: known.work.clone(),
            refused: known.refused.clone(),
            wishes_fail: known.wishes_fail,
        })
    }

    /// Plans the sets that are not known yet: the largest first, since their plans may settle smaller ones. Those that there was no time for
    /// stay unknown, but for all owned hoops.
    ///
    /// # Errors
    /// The solve was told to stop, or a plan broke a rule; or the time was over before all owned hoops had a covering of some strip.
    pub fn plan<'a>(
        &mut self,
        sets: impl Iterator<Item = &'a HoopSet>,
        deadline: &Deadline,
    ) -> Result<(), NoPlan> {
        let mut waiting: Vec<&HoopSet> =
            sets.filter(|set| !self.known.contains_key(*set)).collect();
        waiting.sort_by_key(|set| (std::cmp::Reverse(set.len()), set.to_vec()));
        waiting.dedup();
        while let Some(first) = waiting.first() {
            let size = first.len();
            let (level, rest) = waiting.split_at(waiting.partition_point(|set| set.len() == size));
            let mut open: Vec<HoopSet> = Vec::new();
            for set in level {
                match self.shared(set) {
                    Some(known) => {
                        self.known.insert((*set).clone(), known);
                    }
                    None => open.push((*set).clone()),
                }
            }
            // Those of later levels are likely to need as much time each.
            let to_come = rest.len();
            let planned = solve_each(&open, to_come, deadline, |set, share| {
                if deadline.long_over(LATEST) && !self.is_needed(set) {
                    return Ok(None);
                }
                self.plan_one(set, share)
            })?;
            let planned = open.into_iter().zip(planned);
            let known = planned.filter_map(|(set, known)| Some((set, known?)));
            self.known.extend(known);
            waiting = rest.to_vec();
        }
        self.take_over();
        self.hand_down();
        Ok(())
    }

    /// Whether a set is needed in any case: all others are compared with all owned hoops.
    fn is_needed(&self, set: &HoopSet) -> bool {
        set.iter().copied().eq(0..self.scenario.hoops.len())
    }

    /// Gives each set without a proven best plan the plan of a part of its hoops, where that is better.
    fn take_over(&mut self) {
        let mut sets: Vec<HoopSet> = self.known.keys().cloned().collect();
        sets.sort_by_key(Vec::len);
        for set in sets {
            let Some(known) = self.known.get(&set).filter(|known| !known.proven()) else {
                continue;
            };
            let mut best = known;
            for (part, of_part) in &self.known {
                if is_part(part, &set)
                    && is_better(of_part, best)
                    && self.alone.allows_no_more(part, &set)
                {
                    best = of_part;
                }
            }
            if is_better(best, known) {
                let better = with_plan_of(best, known);
                self.known.insert(set, better);
            }
        }
    }

    /// Gives each set without a proven best plan the bounds of larger ones.
    fn hand_down(&mut self) {
        let mut sets: Vec<HoopSet> = self.known.keys().cloned().collect();
        sets.sort_by_key(|set| std::cmp::Reverse(set.len()));
        for set in sets {
            let Some(mut known) = self
                .known
                .get(&set)
                .filter(|known| !known.proven())
                .cloned()
            else {
                continue;
            };
            for (larger, of_larger) in &self.known {
                if is_part(&set, larger) && self.alone.allows_no_more(&set, larger) {
                    raise_bounds(&mut known, of_larger);
                }
            }
            self.known.insert(set, known);
        }
    }

    /// What a larger set's best plan tells of this one.
    fn shared(&self, set: &HoopSet) -> Option<Known> {
        let settles = |(larger, known): &(&HoopSet, &Known)| {
            known.proven()
                && known.takes_all()
                && is_part(set, larger)
                && is_within(&known.used, set)
                && self.alone.allows_no_more(set, larger)
        };
        self.known
            .iter()
            .find(settles)
            .map(|(_, known)| known.clone())
    }

    /// What a plan tells of a set; none where the time was over before there was one.
    fn plan_one(&self, set: &HoopSet, deadline: &Deadline) -> Result<Option<Known>, NoPlan> {
        let mut scenario = self.scenario.clone();
        scenario.hoops = set.iter().map(|hoop| self.hoops[*hoop].clone()).collect();
        scenario.candidates.clear();
        scenario.rules.allow_partial = true;
        match planner::solve(&scenario, &self.top, deadline) {
            Ok(plan) => Ok(Some(self.known_of(set, &plan))),
            // Nothing is known of what there was no time for: not that these hoops cannot take it either.
            Err(Unsolved::Missed(misses))
                if misses.values().any(|miss| miss.sure == Sure::OutOfTime) =>
            {
                match self.is_needed(set) {
                    true => Err(planner::no_plan(&self.top, Unsolved::Missed(misses))),
                    false => Ok(None),
                }
            }
            Err(Unsolved::Missed(misses)) => {
                let strips = misses.into_iter().map(|(strip, miss)| {
                    let id = self.top.strips[strip].id.as_str();
                    (id, format!("{} {}", miss.reason, miss.mend))
                });
                Ok(Some(Known {
                    objective: Vec::new(),
                    used: HoopSet::new(),
                    work: None,
                    refused: by_reason(strips),
                    wishes_fail: false,
                }))
            }
            Err(Unsolved::Contradiction(contradiction)) => Ok(Some(Known {
                objective: Vec::new(),
                used: HoopSet::new(),
                work: None,
                refused: vec![Refused {
                    count: contradiction.strips.len(),
                    strips: contradiction
                        .strips
                        .iter()
                        .take(MOST_TOLD)
                        .cloned()
                        .collect(),
                    reason: format!(
                        "With these hoops wishes cannot be kept. {}",
                        contradiction.reason
                    ),
                }],
                wishes_fail: true,
            })),
            Err(Unsolved::Stopped) => Err(NoPlan::Stopped),
            Err(Unsolved::Broken(violations)) => Err(NoPlan::Broken(violations)),
        }
    }

    fn known_of(&self, set: &HoopSet, plan: &Plan) -> Known {
        let is_used = |hoop: &usize| {
            let id = &self.hoops[*hoop].id;
            plan.hoopings.iter().any(|hooping| hooping.hoop == *id)
        };
        let left_out = plan.unplanned.iter();
        Known {
            objective: plan.objective.clone(),
            used: set.iter().copied().filter(is_used).collect(),
            work: plan.work.clone(),
            refused: by_reason(left_out.map(|entry| (entry.strip.as_str(), entry.reason.clone()))),
            wishes_fail: false,
        }
    }
}

fn is_within(part: &HoopSet, whole: &HoopSet) -> bool {
    part.iter().all(|hoop| whole.contains(hoop))
}

/// Whether a set is a part of another, and not all of it.
fn is_part(part: &HoopSet, whole: &HoopSet) -> bool {
    part.len() < whole.len() && is_within(part, whole)
}

/// Gathers strips that are left out for one reason, in the order in which the reasons come up.
fn by_reason<'a>(strips: impl Iterator<Item = (&'a str, String)>) -> Vec<Refused> {
    let mut found: Vec<Refused> = Vec::new();
    for (strip, reason) in strips {
        let place = found.iter().position(|refused| refused.reason == reason);
        let place = place.unwrap_or_else(|| {
            found.push(Refused {
                count: 0,
                strips: Vec::new(),
                reason,
            });
            found.len() - 1
        });
        let refused = &mut found[place];
        refused.count += 1;
        if refused.strips.len() < MOST_TOLD {
            refused.strips.push(strip.to_string());
        }
    }
    found
}

/// A plan with these values and bounds, which makes use of these hoops.
#[cfg(test)]
pub fn known(terms: &[(i64, i64)], used: &[usize]) -> Known {
    use crate::length::Measure;

    let entry = |(value, bound): &(i64, i64)| ObjectiveEntry {
        term: "joints".into(),
        value: Measure::whole(*value),
        bound: Measure::whole(*bound),
        proven: value == bound,
    };
    Known {
        objective: terms.iter().map(entry).collect(),
        used: used.to_vec(),
        work: None,
        refused: Vec::new(),
        wishes_fail: false,
    }
}
