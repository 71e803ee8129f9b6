//! The commands: each reads its input, calls one function of the solver, and writes what came of it.

mod batch;
mod check;
mod document;
mod key;
mod question;
mod schema;
mod serve;
mod written;

use std::io::{self, Write};
use std::process::ExitCode;

use sashwright_solver::fault::Fault;

use crate::arguments::{Arguments, Command, Format, Output};
use crate::question::{Comparing, Coping, Explaining, Planning, Replanning};
use crate::solve;

/// How a command ended; the program's exit status.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Exit {
    /// Done: 0.
    Done,
    /// A file, a stream, an address or this program failed: 1.
    Failed,
    /// The scenario or the plan is faulty: 2.
    Faulty,
    /// Strips cannot be stitched: 3.
    CannotBeStitched,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(match exit {
            Exit::Done => 0,
            Exit::Failed => 1,
            Exit::Faulty => 2,
            Exit::CannotBeStitched => 3,
        })
    }
}

/// Runs a command: results go to `out`, everything else that is to be said to `err`.
pub fn run(arguments: Arguments, out: &mut dyn Write, err: &mut dyn Write) -> Exit {
    match arguments.command {
        Command::Plan {
            scenario,
            explain,
            materials,
            steps,
            paper,
            output,
        } => {
            let sheets = matches!(
                output.format,
                Format::Html | Format::Pdf | Format::Svg | Format::Csv
            );
            let planning = Planning {
                planner: solve::planner(),
                explain,
                materials: materials || sheets,
                steps: steps || matches!(output.format, Format::Html | Format::Pdf),
            };
            let output = Output { paper, ..output };
            question::run(&scenario, &output, planning, out, err)
        }
        Command::Explain { scenario, output } => {
            question::run(&scenario, &output, Explaining, out, err)
        }
        Command::Compare {
            scenario,
            every_set,
            output,
        } => question::run(&scenario, &output, Comparing { every_set }, out, err),
        Command::Cope { scenario, output } => question::run(&scenario, &output, Coping, out, err),
        Command::Replan {
            scenario,
            plan,
            progress,
            next,
            output,
        } => {
            let question = Replanning { only_next: next };
            question::run_on(&[&scenario, &plan, &progress], &output, question, out, err)
        }
        Command::Batch {
            batch,
            into,
            format,
        } => batch::run(&batch, &into, format, out, err),
        Command::Check { scenario, plan } => match plan {
            Some(plan) => check::run(&scenario, &plan, out, err),
            None => check::run_alone(&scenario, out, err),
        },
        Command::Schema { document } => schema::run(document, out, err),
        Command::Key { name } => key::run(&name, out, err),
        Command::Serve(serving) => serve::run(&serving, err),
    }
}

/// Writes a result. A reader that has gone away, as `head` does, is no failure.
fn write_result(bytes: &[u8], out: &mut dyn Write, err: &mut dyn Write) -> Exit {
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Ok(()) => Exit::Done,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Exit::Done,
        Err(error) => fail(err, &format!("Cannot write the result: {error}.")),
    }
}

/// Says why a command failed.
fn fail(err: &mut dyn Write, reason: &str) -> Exit {
    say(err, reason);
    Exit::Failed
}

/// Says one line. Where nobody can be told, nothing more can be done, so a failure is passed over.
fn say(err: &mut dyn Write, line: &str) {
    let _ = writeln!(err, "{}", printable(line));
}

/// Lists faults under a heading, each with its place, what was seen, and what would mend it.
fn say_faults(err: &mut dyn Write, heading: &str, faults: &[Fault]) {
    say(err, heading);
    for fault in faults {
        say(err, &format!("  {fault} [{}]", fault.code.name()));
    }
}

/// The text without control characters, which a document could use to write over a terminal.
fn printable(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        if character.is_control() {
            shown.extend(character.escape_default());
        } else {
            shown.push(character);
        }
    }
    shown
}

/// `1 fault`, `2 faults`.
fn counted(count: usize, one: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        _ => format!("{count} {one}s"),
    }
}
