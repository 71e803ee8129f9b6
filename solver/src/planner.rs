//! From a scenario to a checked plan.

use std::collections::BTreeMap;

use crate::check::{Violation, check};
use crate::classes::{self, Class};
use crate::cover::{ClassCovers, covers_of};
use crate::deadline::Deadline;
use crate::fault::{Fault, FaultCode, FaultList};
use crate::first::first_plan;
use crate::optimise::optimise;
use crate::plan::{Plan, UnplannedEntry, objective, write};
use crate::scenario::{Scenario, Term};
use crate::strips;
use crate::task::Task;

/// Why there is no plan.
#[derive(Debug, thiserror::Error)]
pub enum NoPlan {
    /// Strips that no covering and no hoop can take, each with the closest miss.
    #[error("{} strips cannot be stitched", .0.len())]
    CannotBeStitched(Vec<Fault>),
    /// The solve was told to stop.
    #[error("the solve was told to stop")]
    Stopped,
    /// The plan that was found broke a rule: an error of this program, never an answer.
    #[error("the plan that was found broke {} rules", .0.len())]
    Broken(Vec<Violation>),
}

/// More split strips than this are not planned one by one: there would be too many patterns.
const MOST_APART: usize = 10;

/// Gives the few alike strips that are split into runs a class each.
fn apart<'a>(
    classes: Vec<Class>,
    covers: Vec<ClassCovers<'a>>,
) -> (Vec<Class>, Vec<ClassCovers<'a>>) {
    let split = |of_class: &ClassCovers<'_>| of_class.fewest_runs() > 1;
    let strips = classes
        .iter()
        .zip(&covers)
        .filter(|(_, of_class)| split(of_class));
    let strips: usize = strips.map(|(class, _)| class.members.len()).sum();
    let mut found = (Vec::new(), Vec::new());
    for (class, of_class) in classes.into_iter().zip(covers) {
        for class in class.apart_where(split(&of_class) && strips <= MOST_APART) {
            found.0.push(class);
            found.1.push(of_class.clone());
        }
    }
    found
}

/// Plans a scenario within the deadline. The plan has passed [`check`].
///
/// # Errors
/// See [`NoPlan`].
pub fn plan(scenario: &Scenario, deadline: &Deadline) -> Result<Plan, NoPlan> {
    let top = strips::of(scenario);
    let corners_count = scenario.goal.counts(Term::CornerMismatch);
    // Lists of covers that take longer are cut short, so that time is left for a plan.
    let listing = deadline.at_most(deadline.left() / 4);
    let all_classes = classes::of(&top, corners_count);
    let mut stitchable: Vec<Class> = Vec::new();
    let mut covers: Vec<ClassCovers<'_>> = Vec::new();
    let mut misses = BTreeMap::new();
    for class in all_classes {
        if deadline.stopped() {
            return Err(NoPlan::Stopped);
        }
        let of_class = covers_of(scenario, &class, &listing);
        if of_class.covers.is_empty() {
            let miss = of_class.miss(scenario, &class, deadline);
            misses.extend(class.members.iter().map(|strip| (*strip, miss.clone())));
        } else {
            stitchable.push(class);
            covers.push(of_class);
        }
    }
    let (stitchable, covers) = apart(stitchable, covers);
    if !misses.is_empty() && (!scenario.rules.allow_partial || stitchable.is_empty()) {
        let mut faults = FaultList::default();
        for (strip, miss) in misses {
            let strip = &top.strips[strip];
            let message = format!("The strip {} cannot be stitched. {}", strip.id, miss.reason);
            faults.add(
                strip.pointer.clone(),
                FaultCode::CannotBeStitched,
                message,
                miss.mend,
            );
        }
        return Err(NoPlan::CannotBeStitched(faults.into_faults()));
    }
    let unplanned = misses
        .into_iter()
        .map(|(strip, miss)| UnplannedEntry {
            strip: top.strips[strip].id.clone(),
            reason: format!("{} {}", miss.reason, miss.mend),
        })
        .collect();
    let task = Task {
        scenario,
        top: &top,
        classes: &stitchable,
        covers: &covers,
    };
    let first = first_plan(&task, deadline);
    let outlook = optimise(&task, first, deadline);
    if deadline.stopped() {
        return Err(NoPlan::Stopped);
    }
    let entries = objective(&task, &outlook.draft.values(&task), &outlook.bounds);
    let plan = write(&task, &outlook.draft, entries, unplanned);
    let violations = check(scenario, &plan);
    if violations.is_empty() {
        Ok(plan)
    } else {
        Err(NoPlan::Broken(violations))
    }
}
