//! Plans the scenario with a change, and says what that brings.

use std::cmp::Ordering;

use crate::compare::Saving;
use crate::compare::verdict::less;
use crate::compare::words::{changes, joined, strips};
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::explain::changes::Tweak;
use crate::explain::{Change, Outcome};
use crate::plan::{ObjectiveEntry, Plan, Status};
use crate::planner::{self, NoPlan};
use crate::scenario::Scenario;

/// Tries a change: only what was planned is told of.
///
/// # Errors
/// The solve was told to stop, or the plan broke a rule.
pub fn try_out(
    scenario: &Scenario,
    plan: &Plan,
    tweak: &Tweak,
    deadline: &Deadline,
) -> Result<Change, NoPlan> {
    let mut change = Change {
        what: tweak.what.into(),
        of: tweak.of.clone(),
        set: tweak.set.clone(),
        outcome: Outcome::Open,
        objective: Vec::new(),
        saves: Vec::new(),
        strips: 0,
        sentence: format!("{}: not settled in the time.", tweak.words),
        caution: tweak.caution.into(),
    };
    if deadline.over() {
        return Ok(change);
    }
    let other = match planner::plan(&tweak.scenario, deadline) {
        Ok(other) => other,
        Err(NoPlan::CannotBeStitched(_)) => {
            change.outcome = Outcome::Worse;
            change.sentence = format!("{}: there would be no plan.", tweak.words);
            return Ok(change);
        }
        Err(error) => return Err(error),
    };
    change.objective = other.objective.clone();
    let more = other.strips.len().saturating_sub(plan.strips.len());
    if more > 0 {
        change.strips = more;
        change.outcome = Outcome::Better;
        change.sentence = format!("{}: {} more could be stitched.", tweak.words, strips(more));
        return Ok(change);
    }
    if other
        .unplanned
        .iter()
        .map(|entry| &entry.strip)
        .ne(plan.unplanned.iter().map(|entry| &entry.strip))
    {
        return Ok(change);
    }
    change.saves = savings(&plan.objective, &other.objective);
    let settled = other.status == Status::Optimal;
    change.outcome = match compared(&change.saves) {
        Ordering::Greater => Outcome::Better,
        Ordering::Equal if settled => Outcome::Same,
        Ordering::Less if settled => Outcome::Worse,
        _ => Outcome::Open,
    };
    let amounts = changes(&change.saves, scenario.unit);
    change.sentence = match change.outcome {
        Outcome::Better => {
            let mark = if settled { "" } else { " (best found)" };
            format!(
                "{}: {}{mark}.",
                tweak.words,
                joined(&amounts, "less", "more")
            )
        }
        Outcome::Same => format!("{}: nothing changes.", tweak.words),
        Outcome::Worse => format!("{}: {}.", tweak.words, joined(&amounts, "less", "more")),
        Outcome::Open => format!("{}: nothing better was found in the time.", tweak.words),
    };
    Ok(change)
}

fn savings(now: &[ObjectiveEntry], then: &[ObjectiveEntry]) -> Vec<Saving> {
    let pairs = now.iter().zip(then);
    let saving = |(now, then): (&ObjectiveEntry, &ObjectiveEntry)| {
        Some(Saving {
            term: now.term.clone(),
            less: less(now.value.exact().ok()?, then.value.exact().ok()?)?,
        })
    };
    pairs.filter_map(saving).collect()
}

/// Whether the first difference is a saving.
fn compared(saves: &[Saving]) -> Ordering {
    let exact = saves.iter().filter_map(|saving| saving.less.exact().ok());
    let differing = exact.map(|less| less.cmp(&Exact::ZERO));
    differing
        .into_iter()
        .find(|order| order.is_ne())
        .unwrap_or(Ordering::Equal)
}

/// The changes, the best first: more strips, then what saves most by the goal, then what changes nothing.
pub fn in_order(mut changes: Vec<Change>) -> Vec<Change> {
    let better = |one: &Change, other: &Change| {
        let saves = |change: &Change| -> Vec<Exact> {
            let each = change.saves.iter();
            each.filter_map(|saving| saving.less.exact().ok()).collect()
        };
        one.outcome
            .cmp(&other.outcome)
            .then(other.strips.cmp(&one.strips))
            .then_with(|| saves(other).cmp(&saves(one)))
    };
    changes.sort_by(better);
    changes
}
