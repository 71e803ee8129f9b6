//! `check`: any plan against its scenario, whoever made it; or a scenario alone.

use std::io::Write;
use std::path::Path;

use sashwright_solver::check::{self, Violation};
use sashwright_solver::fault::Fault;
use sashwright_solver::json;
use sashwright_solver::plan::Plan;
use sashwright_solver::{scenario, strips};

use crate::command::document;
use crate::command::{Exit, counted, fail, printable, say, say_faults, write_result};
use crate::files;
use crate::solve::on_large_stack;

/// What came of reading and checking.
enum Finding {
    FaultyScenario(Vec<Fault>),
    UnreadablePlan(String),
    Checked(Box<Plan>, Vec<Violation>),
}

/// Says on `out` that a scenario has no fault, and how much it asks for; or lists its faults on `err`.
pub(super) fn run_alone(scenario: &Path, out: &mut dyn Write, err: &mut dyn Write) -> Exit {
    let bytes = match document::read(scenario, "scenario") {
        Ok(bytes) => bytes,
        Err(reason) => return fail(err, &reason),
    };
    match scenario::read(&bytes) {
        Ok(read) => {
            let strips = counted(strips::of(&read).strips.len(), "strip");
            let line = format!("The scenario has no fault: {strips} to stitch.\n");
            write_result(line.as_bytes(), out, err)
        }
        Err(faults) => faulty(scenario, &faults, err),
    }
}

/// Lists the faults of a scenario.
fn faulty(scenario: &Path, faults: &[Fault], err: &mut dyn Write) -> Exit {
    let (name, count) = (files::name(scenario), counted(faults.len(), "fault"));
    say_faults(err, &format!("The scenario in {name} has {count}:"), faults);
    Exit::Faulty
}

/// Checks the plan file against the scenario file and lists every violation on `out`.
pub(super) fn run(scenario: &Path, plan: &Path, out: &mut dyn Write, err: &mut dyn Write) -> Exit {
    if files::is_standard_input(scenario) && files::is_standard_input(plan) {
        return fail(
            err,
            "Standard input can be the scenario or the plan, not both.",
        );
    }
    let (scenario_bytes, plan_bytes) = match (
        document::read(scenario, "scenario"),
        document::read(plan, "plan"),
    ) {
        (Ok(scenario), Ok(plan)) => (scenario, plan),
        (Err(reason), _) | (_, Err(reason)) => return fail(err, &reason),
    };
    let checked = on_large_stack(move || find(&scenario_bytes, &plan_bytes));
    let finding = match checked.map(std::thread::JoinHandle::join) {
        Ok(Ok(finding)) => finding,
        Ok(Err(_)) => return fail(err, "This program failed while it checked the plan."),
        Err(error) => return fail(err, &format!("Cannot start the check: {error}.")),
    };
    match finding {
        Finding::FaultyScenario(faults) => faulty(scenario, &faults, err),
        Finding::UnreadablePlan(reason) => {
            say(err, &format!("{} {reason}", files::name(plan)));
            Exit::Faulty
        }
        Finding::Checked(plan, violations) => {
            let text = report(&plan, &violations);
            match write_result(text.as_bytes(), out, err) {
                Exit::Done if !violations.is_empty() => Exit::Faulty,
                exit => exit,
            }
        }
    }
}

fn find(scenario: &[u8], plan: &[u8]) -> Finding {
    let scenario = match scenario::read(scenario) {
        Ok(scenario) => scenario,
        Err(faults) => return Finding::FaultyScenario(faults),
    };
    match json::by_name::<Plan>(plan) {
        Ok(plan) => {
            let violations = check::check(&scenario, &plan);
            Finding::Checked(Box::new(plan), violations)
        }
        Err(error) => Finding::UnreadablePlan(unreadable(plan, &error)),
    }
}

/// What is wrong with a file that holds no plan; the reader's own words end with line and column.
fn unreadable(plan: &[u8], error: &serde_json::Error) -> String {
    let said = json::in_words(error);
    if json::is_json(plan) {
        format!("holds no plan document: {said}. `sashwright schema plan` tells its fields.")
    } else {
        format!("is not a JSON document: {said}. Mend the text at that place.")
    }
}

/// The violations, one a line, or the plain word that there is none.
fn report(plan: &Plan, violations: &[Violation]) -> String {
    if violations.is_empty() {
        return format!(
            "The plan is valid: {} in {}, and no rule is broken.\n",
            counted(plan.strips.len(), "strip"),
            counted(plan.hoopings.len(), "hooping"),
        );
    }
    let count = counted(violations.len(), "place");
    let mut text = format!("The plan is not valid. It breaks the rules in {count}:\n");
    for violation in violations {
        let place = match violation.pointer.as_str() {
            "" => "the plan",
            pointer => pointer,
        };
        let line = format!("{place}: {} [{}]", violation.message, violation.rule);
        text.push_str(&format!("  {}\n", printable(&line)));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_violation_is_listed_with_place_and_rule_on_one_line() {
        let plan = crate::text::tests::plan();
        let violations = [Violation {
            pointer: "/hoopings/0".into(),
            rule: "fits-along",
            message: "The lane needs 11 in\nof 10.".into(),
        }];
        let text = report(&plan, &violations);
        assert!(text.starts_with("The plan is not valid. It breaks the rules in 1 place:"));
        assert!(text.contains("  /hoopings/0: The lane needs 11 in\\nof 10. [fits-along]\n"));
        assert!(report(&plan, &[]).contains("valid: 2 strips in 2 hoopings"));
    }

    #[test]
    fn a_plan_that_cannot_be_read_is_told_with_its_place() {
        let said = |plan: &str| {
            let error = json::by_name::<Plan>(plan.as_bytes()).expect_err("no plan");
            unreadable(plan.as_bytes(), &error)
        };
        let cases = [
            ("{\n  oops", ["is not a JSON document", "line 2"]),
            (
                "{\"format\": 1,\n \"colour\": 2}",
                ["no plan document", "colour"],
            ),
            ("{\"format\": \"1\"}", ["expected a whole number", "line 1"]),
            (
                "{\"corners\": [[1, 2]]}",
                ["a list, expected an object", "line 1"],
            ),
            (
                "[1, \"quilt\", \"in\"]",
                ["no plan document", "a list, expected an object"],
            ),
        ];
        for (plan, parts) in cases {
            let text = said(plan);
            assert!(parts.iter().all(|part| text.contains(part)), "{text}");
        }
    }
}
