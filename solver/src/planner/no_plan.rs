//! Why there is no plan, and how that is told.

use std::collections::BTreeMap;

use crate::check::Violation;
use crate::cover::{Miss, Sure};
use crate::fault::{Fault, FaultCode, FaultList};
use crate::plan::named;
use crate::strips::QuiltTop;
use crate::wishes::Contradiction;

/// So many strips that cannot be stitched for one reason are told by name.
const MOST_NAMED: usize = 12;

/// Why there is no plan.
#[derive(Debug, thiserror::Error)]
pub enum NoPlan {
    /// Strips that no covering and no hoop can take, each with the closest miss, or of which that was not known in time.
    #[error("there is no plan for all strips")]
    CannotBeStitched(Vec<Fault>),
    /// The solve was told to stop.
    #[error("the solve was told to stop")]
    Stopped,
    /// The plan that was found broke a rule: an error of this program, never an answer.
    #[error("the plan that was found broke {} rules", .0.len())]
    Broken(Vec<Violation>),
}

/// Why there is no plan, for the questions that go on from there.
pub(crate) enum Unsolved {
    /// By strip (index into those of the quilt top) why it cannot be stitched.
    Missed(BTreeMap<usize, Miss>),
    /// Wishes that contradict each other.
    Contradiction(Contradiction),
    Stopped,
    Broken(Vec<Violation>),
}

/// Why there is no plan for the strips of a quilt top.
pub(crate) fn no_plan(top: &QuiltTop, unsolved: Unsolved) -> NoPlan {
    match unsolved {
        Unsolved::Missed(misses) => NoPlan::CannotBeStitched(faults(top, misses)),
        Unsolved::Contradiction(contradiction) => NoPlan::CannotBeStitched(contradiction.faults()),
        Unsolved::Stopped => NoPlan::Stopped,
        Unsolved::Broken(violations) => NoPlan::Broken(violations),
    }
}

/// A fault for each entry with strips that cannot be stitched, and each reason.
fn faults(top: &QuiltTop, misses: BTreeMap<usize, Miss>) -> Vec<Fault> {
    let mut alike: Vec<(&str, Miss, Vec<&str>)> = Vec::new();
    for (strip, miss) in misses {
        let strip = &top.strips[strip];
        match alike.last_mut() {
            Some((pointer, of_last, ids)) if *pointer == strip.pointer && *of_last == miss => {
                ids.push(&strip.id);
            }
            _ => alike.push((&strip.pointer, miss, vec![&strip.id])),
        }
    }
    let mut faults = FaultList::default();
    for (pointer, miss, ids) in alike {
        let what = match (miss.sure, ids.len()) {
            (Sure::Yes, _) => "cannot be stitched",
            (_, 1) => "is not planned",
            (_, _) => "are not planned",
        };
        let strips = if ids.len() == 1 { "strip" } else { "strips" };
        let named = named(&ids, MOST_NAMED);
        faults.add(
            pointer,
            FaultCode::CannotBeStitched,
            format!("The {strips} {named} {what}. {}", miss.reason),
            miss.mend,
        );
    }
    faults.into_faults()
}
