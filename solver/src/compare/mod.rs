//! Which hoop? The same quilt planned for one set of hoops after the other.
//!
//! `sets.rs` says which sets, `rows.rs` plans them, `share.rs` when one plan settles several sets, `parts.rs` when it is
//! the better one for a larger set, `larger.rs` what bounds of a larger set prove of a smaller, `verdict.rs` what follows.

mod document;
mod larger;
mod parts;
mod rows;
mod sets;
mod share;
pub(crate) mod verdict;
pub(crate) mod words;

pub use document::{
    Comparison, ComparisonRow, Difference, Fewest, Reason, Refused, Saving, UnplannedSet, Verdict,
    comparison_schema,
};
pub use sets::MOST_FOR_EVERY_SET;

use crate::deadline::Deadline;
use crate::plan::Status;
use crate::planner::NoPlan;
use crate::scenario::Scenario;
use rows::Bench;

/// Compares sets of the owned hoops and of the candidates; with `every_set` all of them, where they are at most
/// [`MOST_FOR_EVERY_SET`]: of more the verdict says so. Strips that a set cannot take are told in its row, and the others planned all the same.
///
/// # Errors
/// The solve was told to stop, a plan broke a rule, or the time was over before all owned hoops had a covering of some strip. A set that can take no
/// strip at all is a row like any other; one that there was no time for is told as such.
pub fn compare(
    scenario: &Scenario,
    every_set: bool,
    deadline: &Deadline,
) -> Result<Comparison, NoPlan> {
    let mut bench = Bench::new(scenario, &deadline.at_most(deadline.left() / 4));
    let asked = sets::asked(scenario, every_set);
    // A part of the time is left for the fewest hoops.
    bench.plan(
        asked.iter().map(|(_, set)| set),
        &deadline.at_most(deadline.left().mul_f64(0.8)),
    )?;
    let fewest = verdict::fewest(&mut bench, deadline)?;
    let mut wanted = asked;
    if let Some(fewest) = &fewest {
        let row = (Reason::Fewest, fewest.sets[0].clone());
        if wanted.iter().all(|(_, set)| *set != row.1) {
            wanted.push(row);
        }
    }
    // Sets that the search for the fewest looked at by the first term alone are planned whole before they are shown.
    bench.plan(wanted.iter().map(|(_, set)| set), deadline)?;
    let mut rows: Vec<ComparisonRow> = Vec::with_capacity(wanted.len());
    let mut unplanned = Vec::new();
    for (reason, set) in &wanted {
        match bench.row(*reason, set) {
            Some(row) => rows.push(row),
            None => unplanned.push(UnplannedSet {
                reason: *reason,
                hoops: bench.ids(set),
            }),
        }
    }
    let mut verdict = verdict::of(&bench, &rows, fewest);
    if !unplanned.is_empty() {
        verdict.sentences.push(words::no_time_for(unplanned.len()));
    }
    let hoops = sets::all_hoops(scenario).count();
    if every_set && hoops > MOST_FOR_EVERY_SET {
        verdict.sentences.push(words::too_many_hoops(hoops));
    }
    let proven = unplanned.is_empty()
        && rows.iter().all(|row| row.status == Status::Optimal)
        && verdict.fewest.as_ref().is_none_or(|fewest| fewest.proven);
    Ok(Comparison {
        format: 1,
        scenario: scenario.name.clone(),
        unit: scenario.unit,
        status: if proven {
            Status::Optimal
        } else {
            Status::Feasible
        },
        rows,
        verdict,
        unplanned,
    })
}
