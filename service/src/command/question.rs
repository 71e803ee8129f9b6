//! The commands that ask a question about files: `plan`, `compare`, `explain`, `cope`, `replan`. The answer comes in words or as a document.

use std::io::Write;
use std::path::Path;

use sashwright_solver::deadline::StopSignal;
use sashwright_solver::fault::{Fault, FaultCode};
use sashwright_solver::json;

use crate::arguments::Output;
use crate::command::document;
use crate::command::written::{Place, Written};
use crate::command::{Exit, counted, fail, say, say_faults};
use crate::files;
use crate::question::{Question, ask};
use crate::solve::{Refusal, on_large_stack};

/// Answers the question about the document in a file, to the file that is asked for, or to `out` where there is none.
pub(super) fn run<Q: Question>(
    path: &Path,
    output: &Output,
    question: Q,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Exit {
    run_on(&[path], output, question, out, err)
}

/// The same for a question about several documents, each in a file, in the question's order.
pub(super) fn run_on<Q: Question>(
    paths: &[&Path],
    output: &Output,
    question: Q,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Exit {
    let place = match Place::of(output) {
        Ok(place) => place,
        Err(reason) => return fail(err, &reason),
    };
    let names = question.documents();
    let read = if let ([name], [path]) = (names, paths) {
        document::read(path, name).map_err(Unread::Failed)
    } else {
        joined(names, paths)
    };
    let document = match read {
        Ok(document) => document,
        Err(Unread::Failed(reason)) => return fail(err, &reason),
        Err(Unread::Faulty(faults)) => return refuse(names, paths, &Refusal::Faulty(faults), err),
    };
    let form = output.clone();
    let solved = on_large_stack(move || {
        let (asked, answer) = ask(&question, &document, StopSignal::new())?;
        Ok(Written::of(&question, &asked, &answer, &form))
    });
    let written = match solved.map(std::thread::JoinHandle::join) {
        Ok(Ok(Ok(written))) => written,
        Ok(Ok(Err(refusal))) => return refuse(names, paths, &refusal, err),
        Ok(Err(_)) => return fail(err, "This program failed while it made the answer."),
        Err(error) => return fail(err, &format!("Cannot start the solve: {error}.")),
    };
    match written {
        Ok(written) => place.put(&written, out, err),
        Err(error) => fail(err, &format!("Cannot write the answer: {error}.")),
    }
}

/// Why there is no document to ask about.
enum Unread {
    /// A file cannot be read.
    Failed(String),
    /// A file holds no JSON.
    Faulty(Vec<Fault>),
}

/// Several documents as the fields of one.
fn joined(names: &[&str], paths: &[&Path]) -> Result<Vec<u8>, Unread> {
    if paths
        .iter()
        .filter(|path| files::is_standard_input(path))
        .count()
        > 1
    {
        let reason = "Standard input can be one of the documents, not several.";
        return Err(Unread::Failed(reason.into()));
    }
    let (mut fields, mut faults) = (serde_json::Map::new(), Vec::new());
    for (name, path) in names.iter().zip(paths) {
        let document = document::read(path, name).map_err(Unread::Failed)?;
        match json::read(&document) {
            Ok(value) => {
                fields.insert(name.to_string(), value);
            }
            Err(error) => faults.push(Fault {
                pointer: format!("/{name}"),
                code: FaultCode::JsonSyntax,
                message: format!("This is not a JSON document: {error}."),
                mend: "Mend the text at that place.".into(),
            }),
        }
    }
    if faults.is_empty() {
        Ok(serde_json::Value::Object(fields).to_string().into_bytes())
    } else {
        Err(Unread::Faulty(faults))
    }
}

/// Lists the faults of each document, with their places in its file.
fn say_by_document(names: &[&str], paths: &[&Path], faults: &[Fault], err: &mut dyn Write) {
    for (name, path) in names.iter().zip(paths) {
        let start = format!("/{name}");
        let own = faults.iter().filter_map(|fault| {
            let place = fault.pointer.strip_prefix(&start)?;
            (place.is_empty() || place.starts_with('/')).then(|| Fault {
                pointer: place.to_string(),
                ..fault.clone()
            })
        });
        let own: Vec<Fault> = own.collect();
        if !own.is_empty() {
            let (file, count) = (files::name(path), counted(own.len(), "fault"));
            say_faults(err, &format!("The {name} in {file} has {count}:"), &own);
        }
    }
}

/// That there is no plan, in a sentence: strips cannot be stitched, or wishes cannot be kept.
fn no_plan(faults: &[Fault]) -> String {
    let of_wishes = |fault: &&Fault| fault.code == FaultCode::ContradictingWishes;
    match (faults.iter().filter(of_wishes).count(), faults.len()) {
        (0, _) => "There is no plan for all strips:".into(),
        (1, 1) => "There is no plan: a wish cannot be kept.".into(),
        (wishes, _) => format!("There is no plan: {wishes} wishes cannot be kept together."),
    }
}

/// Says why there is no answer.
fn refuse(names: &[&str], paths: &[&Path], refusal: &Refusal, err: &mut dyn Write) -> Exit {
    match refusal {
        Refusal::Faulty(faults) => {
            if let ([name], [path]) = (names, paths) {
                let (file, count) = (files::name(path), counted(faults.len(), "fault"));
                say_faults(err, &format!("The {name} in {file} has {count}:"), faults);
            } else {
                say_by_document(names, paths, faults, err);
            }
            Exit::Faulty
        }
        Refusal::CannotBeStitched(faults) => {
            say_faults(err, &no_plan(faults), faults);
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

#[cfg(test)]
mod tests {
    use std::io;
    use std::sync::Arc;

    use super::*;
    use crate::arguments::Format;
    use crate::command::write_result;
    use crate::question::Planning;
    use crate::solve::Planner;
    use crate::text;
    use crate::text::tests::{plan, scenario, scenario_json};
    use sashwright_solver::NoPlan;
    use sashwright_solver::check::Violation;

    /// Runs `plan` on a scenario without fault and returns exit, standard output and standard error.
    fn outcome(
        name: &str,
        answer: fn() -> Result<sashwright_solver::plan::Plan, NoPlan>,
        format: Format,
    ) -> (Exit, String, String) {
        let file = format!("sashwright-plan-{name}-{}.json", std::process::id());
        let path = std::env::temp_dir().join(file);
        std::fs::write(&path, scenario_json().to_string()).expect("written");
        let planner: Planner = Arc::new(move |_, _| answer());
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let output = Output {
            format,
            out: None,
            paper: None,
        };
        let planning = Planning {
            planner,
            explain: false,
            materials: false,
            steps: false,
        };
        let exit = run(&path, &output, planning, &mut out, &mut err);
        std::fs::remove_file(&path).expect("cleared");
        let text = |bytes| String::from_utf8(bytes).expect("text");
        (exit, text(out), text(err))
    }

    #[test]
    fn a_plan_is_written_in_either_format_and_nothing_else() {
        let (exit, out, err) = outcome("text", || Ok(plan()), Format::Text);
        assert_eq!((exit, err.as_str()), (Exit::Done, ""));
        assert_eq!(out, text::render(&scenario(), &plan()));
        let (exit, out, err) = outcome("json", || Ok(plan()), Format::Json);
        assert_eq!((exit, err.as_str()), (Exit::Done, ""));
        let read: sashwright_solver::plan::Plan = serde_json::from_str(&out).expect("a plan");
        assert_eq!(read, plan());
    }

    #[test]
    fn strips_that_cannot_be_stitched_are_told_one_by_one() {
        let answer = || {
            let fault = |strip: &str| Fault {
                pointer: "/quilt/borders/0".into(),
                code: FaultCode::CannotBeStitched,
                message: format!("The strip {strip} is too long."),
                mend: "Add a size.".into(),
            };
            let faults = vec![fault("border-1-left"), fault("border-1-top")];
            Err(NoPlan::CannotBeStitched(faults))
        };
        let (exit, out, err) = outcome("impossible", answer, Format::Text);
        assert_eq!((exit, out.as_str()), (Exit::CannotBeStitched, ""));
        assert!(err.contains("There is no plan for all strips:"), "{err}");
        assert!(
            err.contains("border-1-left is too long. Add a size."),
            "{err}"
        );
        assert!(err.contains("border-1-top is too long."), "{err}");
    }

    #[test]
    fn a_broken_plan_and_a_panic_are_failures_of_the_program() {
        let answer = || {
            Err(NoPlan::Broken(vec![Violation {
                pointer: "/hoopings/0".into(),
                rule: "fits-along",
                message: "The lane is too long.".into(),
            }]))
        };
        let (exit, out, err) = outcome("broken", answer, Format::Json);
        assert_eq!((exit, out.as_str()), (Exit::Failed, ""));
        assert!(
            err.contains("/hoopings/0: The lane is too long. [fits-along]"),
            "{err}"
        );
        let (exit, out, _) = outcome("panic", || panic!("on purpose"), Format::Json);
        assert_eq!((exit, out.as_str()), (Exit::Failed, ""));
    }

    /// Standard output that fails with one kind of error.
    struct Closed(io::ErrorKind);

    impl Write for Closed {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Err(self.0.into())
        }
    }

    #[test]
    fn a_reader_that_has_gone_is_no_failure_but_a_full_disk_is() {
        let mut err = Vec::new();
        let exit = write_result(b"text", &mut Closed(io::ErrorKind::BrokenPipe), &mut err);
        assert_eq!((exit, err.len()), (Exit::Done, 0));
        let exit = write_result(b"text", &mut Closed(io::ErrorKind::StorageFull), &mut err);
        assert_eq!(exit, Exit::Failed);
        assert!(!err.is_empty());
    }
}
