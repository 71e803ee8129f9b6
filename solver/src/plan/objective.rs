//! The goal's terms as the plan reports them.

use crate::length::Measure;
use crate::master::cost_parts;
use crate::plan::ObjectiveEntry;
use crate::scenario::{Goal, Term};
use crate::task::Task;
use crate::time::Time;

/// The entries of the objective, from exact values and bounds in counts, nanometres, square nanometres or parts of cost.
pub fn objective(task: &Task<'_>, values: &[i128], bounds: &[i128]) -> Vec<ObjectiveEntry> {
    let nanometres = task.scenario.unit.nanometres();
    let (names, parts): (Vec<&str>, Vec<i128>) = match &task.scenario.goal {
        Goal::Priorities(terms) => terms
            .iter()
            .map(|term| (term.name(), parts_of(*term, nanometres)))
            .unzip(),
        Goal::Prices(_) => (vec!["cost"], vec![cost_parts(nanometres)]),
    };
    let entries = names.into_iter().zip(parts).zip(values.iter().zip(bounds));
    entries
        .map(|((name, parts), (value, bound))| {
            let proven = value == bound;
            let printed = Measure::from_ratio(*value, parts);
            let lower = Measure::rounded_down(*bound, parts);
            ObjectiveEntry {
                term: name.into(),
                bound: match (proven, lower == printed) {
                    (true, _) => printed.clone(),
                    (false, false) => lower,
                    // Apart by less than the last decimal, but apart.
                    (false, true) => Measure::one_less(*bound, parts),
                },
                value: printed,
                proven,
            }
        })
        .collect()
}

/// How many of the exact parts make one of what the document counts in.
fn parts_of(term: Term, nanometres: i64) -> i128 {
    let nanometres = i128::from(nanometres);
    match term {
        Term::Hoopings | Term::Joints | Term::HoopChanges => 1,
        Term::CornerMismatch | Term::Overhang | Term::RollLength => nanometres,
        Term::Stabilizer => nanometres * nanometres,
        Term::Minutes => i128::from(Time::PARTS),
    }
}
