//! The work on one question of a batch.

use sashwright_solver::deadline::{Deadline, StopSignal};

use super::outcome::{Ending, Outcome};
use crate::question::{Planning, Question};
use crate::solve::Planner;
use crate::store::Ended;

/// What became of the work.
pub enum Planned {
    /// It ended.
    Ended(Ended),
    /// It was told to stop before.
    Stopped,
}

/// What is stored where a solve failed.
pub fn failed() -> Ended {
    let outcome = Outcome::without_plan(Ending::Failed, Vec::new());
    Ended {
        // Words and numbers alone always become JSON.
        outcome: serde_json::to_string(&outcome).unwrap_or_default(),
        plan: None,
    }
}

/// Plans a scenario document of a batch. `watch` is told of the deadline's progress, where somebody looks on.
pub fn plan_question(
    planner: &Planner,
    scenario: &str,
    stop: &StopSignal,
    watch: impl FnOnce(Deadline) -> Deadline,
) -> Planned {
    let question = Planning {
        planner: planner.clone(),
        explain: false,
        materials: false,
        steps: false,
    };
    let planned = question
        .read(scenario.as_bytes())
        .map_err(crate::solve::Refusal::Faulty)
        .and_then(|asked| {
            let deadline = Deadline::after(question.limit(&asked), stop.clone());
            question.answer(&asked, &watch(deadline))
        });
    let (outcome, plan) = match planned {
        // What was cut short because nobody waits any more is no answer.
        Ok(_) if stop.given() => return Planned::Stopped,
        Ok(plan) => (Outcome::of(&plan), serde_json::to_string(&plan).ok()),
        Err(refusal) => match Outcome::refused(refusal) {
            Some(outcome) => (outcome, None),
            None => return Planned::Stopped,
        },
    };
    let outcome = match plan.is_some() || !outcome.status.has_plan() {
        true => outcome,
        // A plan that cannot be written is no plan.
        false => Outcome::without_plan(Ending::Failed, Vec::new()),
    };
    let Ok(outcome) = serde_json::to_string(&outcome) else {
        return Planned::Stopped;
    };
    Planned::Ended(Ended { outcome, plan })
}
