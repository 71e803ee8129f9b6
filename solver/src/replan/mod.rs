//! What now? What is stitched stays; the rest is an ordinary scenario and an ordinary plan.
//!
//! `progress.rs` reads what was done, `done.rs` lays it beside the plan, `doubts.rs` says what cannot be so, `stretch.rs` says where the stitching of each strip
//! lies and what is left, `rest.rs` writes the scenario of the rest (`wishes.rs` its wishes), `keep.rs` what is left of the old plan, from which the
//! search begins, `restore.rs` writes the same in the same way, `changes.rs` says what changes,
//! `warnings.rs` what does not come out, and `next.rs` the next step.

mod changes;
mod document;
mod done;
mod doubts;
mod keep;
mod next;
mod progress;
mod rest;
mod restore;
mod stretch;
mod warnings;
mod wishes;
mod words;

pub use document::{Change, NextRun, NextStep, Replan, Warning, What, replan_schema};
pub use progress::{Progress, progress_schema};

use serde_json::Value;

use crate::check::check;
use crate::deadline::Deadline;
use crate::fault::{Fault, FaultCode};
use crate::json;
use crate::length::Unit;
use crate::plan::Plan;
use crate::planner::{NoPlan, Unsolved, no_plan, solve_from};
use crate::scenario::{self, Scenario};
use crate::strips;
use done::Work;
use keep::{Remains, remains};
use rest::{Rest, rest};
use restore::restore;
use stretch::{Fate, fates};

/// A scenario, its plan, and how far the work has come.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The scenario as a document.
    document: Value,
    /// The same, read.
    pub scenario: Scenario,
    /// The plan that is worked by.
    pub plan: Plan,
    /// How far the work has come.
    pub progress: Progress,
}

/// The names of the three documents; the places of their faults begin with them.
pub const DOCUMENTS: [&str; 3] = ["scenario", "plan", "progress"];

/// The most broken rules of a plan that are told.
const MOST_TOLD: usize = 20;

impl Asked {
    /// Reads the three documents, in the order of [`DOCUMENTS`], and sees whether they belong together.
    ///
    /// # Errors
    /// Every fault of them, at least one. Its place begins with the name of its document.
    pub fn read(documents: [&[u8]; 3]) -> Result<Asked, Vec<Fault>> {
        let mut faults = Vec::new();
        let [scenario, plan, progress] = documents;
        let read = scenario::read(scenario);
        let unit = read.as_ref().map_or(Unit::Inch, |scenario| scenario.unit);
        let scenario_read = read.map_err(|found| faults.extend(placed(0, found)));
        let plan_read = read_plan(plan).map_err(|fault| faults.extend(placed(1, vec![fault])));
        let progress_read =
            progress::read(progress, unit).map_err(|found| faults.extend(placed(2, found)));
        let (Ok(read), Ok(plan), Ok(progress)) = (scenario_read, plan_read, progress_read) else {
            return Err(faults);
        };
        let asked = Asked {
            document: serde_json::from_slice(json::text(scenario)).unwrap_or_default(),
            scenario: read,
            plan,
            progress,
        };
        let broken = check(&asked.scenario, &asked.plan)
            .into_iter()
            .take(MOST_TOLD);
        let broken: Vec<Fault> = broken
            .map(|violation| Fault {
                pointer: format!("/plan{}", violation.pointer),
                code: FaultCode::BrokenPlan,
                message: violation.message,
                mend: "Give the plan that belongs to this scenario.".into(),
            })
            .collect();
        if !broken.is_empty() {
            return Err(broken);
        }
        asked.prepare()?;
        Ok(asked)
    }

    /// What the progress comes to, and the scenario of the rest.
    fn prepare(&self) -> Result<Prepared, Vec<Fault>> {
        let work = Work::of(self).map_err(|found| placed(2, found))?;
        let fates = fates(self, &work);
        let rest = rest(self, &fates).map_err(|found| placed(0, found))?;
        Ok(Prepared {
            fates,
            remains: remains(self, &work),
            rest,
            doubts: work.doubts,
        })
    }
}

/// What the progress comes to.
struct Prepared {
    fates: Vec<Fate>,
    remains: Remains,
    rest: Rest,
    doubts: Vec<Warning>,
}

fn read_plan(document: &[u8]) -> Result<Plan, Fault> {
    json::by_name(document).map_err(|error| Fault {
        pointer: String::new(),
        code: if json::is_json(document) {
            FaultCode::WrongKind
        } else {
            FaultCode::JsonSyntax
        },
        message: format!("This is no plan document: {}.", json::in_words(&error)),
        mend: "Give a plan as `plan` writes it; `sashwright schema plan` tells its fields.".into(),
    })
}

/// Faults of one of the three documents.
fn placed(document: usize, faults: Vec<Fault>) -> Vec<Fault> {
    let place = |fault: Fault| Fault {
        pointer: format!("/{}{}", DOCUMENTS[document], fault.pointer),
        ..fault
    };
    faults.into_iter().map(place).collect()
}

/// What is left, and what changes; with `only_next` without the scenario and the plan of it.
///
/// # Errors
/// No strip that is left can be stitched, wishes contradict each other, the solve was told to stop, or a plan broke a rule.
pub fn replan(asked: &Asked, only_next: bool, deadline: &Deadline) -> Result<Replan, NoPlan> {
    let prepared = asked.prepare().map_err(NoPlan::CannotBeStitched)?;
    let Prepared {
        fates,
        remains,
        mut rest,
        doubts: mut warnings,
    } = prepared;
    let top = strips::of(&rest.scenario);
    let solve = |rest: &Rest| solve_from(&rest.scenario, &top, Some(&remains.kept), deadline);
    let mut solved = solve(&rest);
    if matches!(solved, Err(Unsolved::Missed(_))) && !rest.scenario.rules.allow_partial {
        rest = rest.partial();
        solved = solve(&rest);
    }
    let mut plan = solved.map_err(|unsolved| match unsolved {
        Unsolved::Contradiction(contradiction) => {
            no_plan(&top, Unsolved::Contradiction(rest.as_asked(contradiction)))
        }
        other => no_plan(&top, other),
    })?;
    restore(&rest.scenario, &remains, &mut plan);
    let same = remains.is_all_of(&plan);
    warnings.extend(warnings::warnings(
        asked,
        &fates,
        &remains,
        &rest.scenario,
        &plan,
    ));
    warnings.extend(rest.dropped.iter().map(|sentence| Warning {
        strip: None,
        by: None,
        sentence: sentence.clone(),
    }));
    Ok(Replan {
        format: 1,
        name: asked.scenario.name.clone(),
        unit: asked.scenario.unit,
        same,
        changes: changes::changes(asked, &fates, &remains, &plan),
        warnings,
        next: next::next(&rest.scenario, &plan),
        hoopings_left: plan.hoopings.len() as u64,
        scenario: (!only_next).then_some(rest.document),
        plan: (!only_next).then(|| Box::new(plan)),
    })
}
