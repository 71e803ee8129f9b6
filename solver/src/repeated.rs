//! A plan for several quilts without a search for all of them: each different one is planned by itself, and its plan is repeated for all of
//! its copies. Where the clock ends the search, the plan is no worse than that.

use crate::deadline::Deadline;
use crate::kept::Kept;
use crate::plan::Plan;
use crate::planner::{Unsolved, solve};
use crate::scenario::{Quilt, Scenario};
use crate::strips;

/// The most different quilts that are planned by themselves: each takes some milliseconds at least.
const MOST_PARTS: usize = 500;
/// The part of the time left that all of them may take together.
const SHARE: f64 = 0.5;

/// A quilt, or what else the scenario lists, by itself.
struct Part {
    alone: Scenario,
    /// What stands in front of the strips' ids, copy by copy.
    before: Vec<String>,
}

/// The plan, as far as it was found; `None` where there are not several quilts, or where what is said of single strips makes copies differ.
pub(crate) fn repeated(scenario: &Scenario, deadline: &Deadline) -> Option<Kept> {
    let differ =
        !scenario.measured.is_empty() || !scenario.begun.is_empty() || !scenario.wishes.is_empty();
    if differ || scenario.quilts.is_empty() {
        return None;
    }
    let parts = parts(scenario)?;
    let copies: usize = parts.iter().map(|part| part.before.len()).sum();
    if copies < 2 {
        return None;
    }
    let end = deadline.at_most(deadline.left().mul_f64(SHARE)).unheard();
    let mut kept = Kept {
        strips: Vec::new(),
        hoopings: Vec::new(),
        firmly: false,
    };
    for (done, part) in parts.iter().enumerate() {
        let to_come = u32::try_from(parts.len() - done).unwrap_or(u32::MAX);
        let share = end.at_most(end.left() / to_come);
        match solve(&part.alone, &strips::of(&part.alone), &share) {
            Ok(plan) => repeat(&plan, &part.before, &mut kept),
            // None of its strips can be stitched: they are left out.
            Err(Unsolved::Missed(_)) => {}
            Err(_) => return None,
        }
    }
    Some(kept)
}

/// The different quilts, each with the names of its copies, and what the scenario has beside them; `None` where they are too many.
fn parts(scenario: &Scenario) -> Option<Vec<Part>> {
    let mut lean = scenario.clone();
    lean.quilts.clear();
    lean.candidates.clear();
    let mut parts = Vec::new();
    if lean.quilt.is_some() || !lean.strips.is_empty() {
        parts.push(Part {
            alone: lean.clone(),
            before: vec![String::new()],
        });
    }
    lean.strips.clear();
    let mut known: Vec<(&Quilt, usize)> = Vec::new();
    for entry in &scenario.quilts {
        let names = (1..=entry.count).map(|copy| format!("{}-", entry.name(copy)));
        if let Some((_, place)) = known.iter().find(|(quilt, _)| **quilt == entry.quilt) {
            parts[*place].before.extend(names);
            continue;
        }
        let mut alone = lean.clone();
        alone.quilt = Some(entry.quilt.clone());
        // Copies without strips are not gone through: there may be any number of them.
        if strips::count(&alone) == 0 {
            continue;
        }
        if parts.len() == MOST_PARTS {
            return None;
        }
        known.push((&entry.quilt, parts.len()));
        parts.push(Part {
            alone,
            before: names.collect(),
        });
    }
    Some(parts)
}

/// Adds a plan for each copy. The first hooping of all copies comes first, then the second, so that hoops change as rarely as for one.
fn repeat(plan: &Plan, before: &[String], kept: &mut Kept) {
    for name in before {
        let renamed = plan.strips.iter().map(|entry| {
            let mut entry = entry.clone();
            entry.id.insert_str(0, name);
            entry
        });
        kept.strips.extend(renamed);
    }
    for hooping in &plan.hoopings {
        let renamed = before.iter().map(|name| {
            let mut hooping = hooping.clone();
            for placement in &mut hooping.placements {
                placement.strip.insert_str(0, name);
            }
            hooping
        });
        kept.hoopings.extend(renamed);
    }
}
