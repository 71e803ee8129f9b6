//! How far a batch is, on standard error: a bar on a terminal, otherwise a line now and then.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::{IsTerminal, stderr};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};
use sashwright_solver::plan::ObjectiveEntry;

use crate::batch::Outcome;
use crate::store::{BatchState, natural};

/// Where there is no terminal, lines are at least this far apart.
const BETWEEN_LINES: Duration = Duration::from_secs(10);

/// The progress of a batch.
pub(super) struct Progress {
    bar: ProgressBar,
    total: u64,
    on_terminal: bool,
    last: RefCell<Instant>,
    /// What is told of each plan that is being made.
    outlooks: RefCell<BTreeMap<i64, String>>,
}

impl Progress {
    pub(super) fn new(batch: &BatchState) -> Progress {
        let on_terminal = stderr().is_terminal();
        let total = natural(batch.questions);
        let bar = match on_terminal {
            true => ProgressBar::new(total),
            false => ProgressBar::hidden(),
        };
        let style =
            ProgressStyle::with_template("{wide_bar} {pos} of {len} plans, {eta} left  {msg}");
        // The template stands above and is one.
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        bar.set_length(total);
        bar.set_position(natural(batch.ended));
        if !on_terminal && batch.ended > 0 {
            eprintln!(
                "{} of {total} plans are there from an earlier run.",
                batch.ended
            );
        }
        Progress {
            bar,
            total,
            on_terminal,
            last: RefCell::new(Instant::now()),
            outlooks: RefCell::default(),
        }
    }

    /// Tells the first term that is not proven yet of a plan that is being made.
    pub(super) fn outlook(&self, number: i64, objective: &[ObjectiveEntry]) {
        let mut outlooks = self.outlooks.borrow_mut();
        match objective.iter().find(|entry| !entry.proven) {
            Some(open) => {
                let told = format!("{number}: {} {} (≥ {})", open.term, open.value, open.bound);
                outlooks.insert(number, told);
            }
            None => {
                outlooks.remove(&number);
            }
        }
        let told: Vec<&str> = outlooks.values().map(String::as_str).collect();
        self.bar.set_message(told.join(", "));
    }

    /// Counts a plan that has ended.
    pub(super) fn ended(&self, number: i64, outcome: &Outcome) {
        self.outlook(number, &[]);
        self.bar.inc(1);
        let mut last = self.last.borrow_mut();
        if !self.on_terminal && last.elapsed() >= BETWEEN_LINES {
            let (at, status) = (self.bar.position(), outcome.status.name());
            eprintln!("{at} of {} plans; the last one: {status}.", self.total);
            *last = Instant::now();
        }
    }

    /// Takes the bar away.
    pub(super) fn done(&self) {
        self.bar.finish_and_clear();
    }
}
