//! `plan`: from a scenario file to a plan, in words or as a document.

use std::io::Write;
use std::path::Path;

use sashwright_solver::deadline::StopSignal;

use crate::arguments::Format;
use crate::command::{Exit, counted, fail, say, say_faults, write_result};
use crate::files::{self, Target};
use crate::solve::{Planner, Refusal, on_large_stack, plan_as_json, plan_document};
use crate::text;

/// Plans the scenario file and writes the plan to `file`, or to `out` where there is none.
pub(super) fn run(
    path: &Path,
    format: Format,
    file: Option<&Path>,
    planner: &Planner,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Exit {
    let target = match file.map(Target::new).transpose() {
        Ok(target) => target,
        Err(reason) => return fail(err, &reason),
    };
    let document = match files::read(path) {
        Ok(document) => document,
        Err(reason) => return fail(err, &reason),
    };
    let planner = planner.clone();
    let solved = on_large_stack(move || plan_document(&document, &planner, StopSignal::new()));
    let (scenario, plan) = match solved.map(std::thread::JoinHandle::join) {
        Ok(Ok(Ok(solved))) => solved,
        Ok(Ok(Err(refusal))) => return refuse(&files::name(path), &refusal, err),
        Ok(Err(_)) => return fail(err, "This program failed while it made the plan."),
        Err(error) => return fail(err, &format!("Cannot start the solve: {error}.")),
    };
    let bytes = match format {
        Format::Text => text::render(&scenario, &plan).into_bytes(),
        Format::Json => match plan_as_json(&plan) {
            Ok(bytes) => bytes,
            Err(error) => return fail(err, &format!("Cannot write the plan: {error}.")),
        },
    };
    match target {
        None => write_result(&bytes, out, err),
        Some(target) => match target.write(&bytes) {
            Ok(()) => Exit::Done,
            Err(reason) => fail(err, &reason),
        },
    }
}

/// Says why there is no plan.
fn refuse(name: &str, refusal: &Refusal, err: &mut dyn Write) -> Exit {
    match refusal {
        Refusal::Faulty(faults) => {
            let count = counted(faults.len(), "fault");
            say_faults(err, &format!("The scenario in {name} has {count}:"), faults);
            Exit::Faulty
        }
        Refusal::CannotBeStitched(faults) => {
            let count = counted(faults.len(), "strip");
            say_faults(
                err,
                &format!("There is no plan: {count} cannot be stitched."),
                faults,
            );
            Exit::CannotBeStitched
        }
        Refusal::Stopped => fail(err, "The solve was stopped before it had a plan."),
        Refusal::Broken(violations) => {
            say(
                err,
                "This program made a plan that breaks its own rules, so it is not given out. Please report this:",
            );
            for violation in violations {
                say(
                    err,
                    &format!(
                        "  {}: {} [{}]",
                        violation.pointer, violation.message, violation.rule
                    ),
                );
            }
            Exit::Failed
        }
    }
}
