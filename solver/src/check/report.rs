//! Collects what is broken, and compares printed numbers with recomputed ones.

use std::fmt::{self, Display};

use super::Violation;
use crate::length::{Length, Measure, Unit};

/// How far a printed length may lie from the exact one: 0.005 mm.
pub(super) const TOLERANCE: Length = Length::from_nanometres(5_000);

/// The longest part of a name from the plan that a message repeats.
const LONGEST_NAME: usize = 60;

/// The violations found so far, and the unit in which the plan prints.
pub(super) struct Report {
    unit: Unit,
    violations: Vec<Violation>,
}

impl Report {
    pub(super) fn new(unit: Unit) -> Report {
        Report {
            unit,
            violations: Vec::new(),
        }
    }

    /// Notes a broken rule. Place and message are written out here and nowhere before.
    pub(super) fn broken(
        &mut self,
        place: impl Display,
        rule: &'static str,
        message: impl Display,
    ) {
        self.violations.push(Violation {
            pointer: place.to_string(),
            rule,
            message: message.to_string(),
        });
    }

    /// The length with its unit, as a quilter reads it.
    pub(super) fn show(&self, length: Length) -> String {
        format!("{} {}", length.in_unit(self.unit), self.unit.symbol())
    }

    /// Half of `twice` nanometres, to the nearest nanometre, with its unit.
    pub(super) fn show_half(&self, twice: i128) -> String {
        let half = i64::try_from(twice.div_euclid(2)).unwrap_or(i64::MAX);
        self.show(Length::from_nanometres(half))
    }

    /// Reads a printed length; notes it where no length of the trade can be read from it.
    pub(super) fn read(&mut self, place: impl Display, printed: &Measure) -> Option<Length> {
        let length = printed.length(self.unit);
        if length.is_none() {
            self.broken(
                place,
                "unreadable-number",
                format_args!("The number {printed} is far too large for a length."),
            );
        }
        length
    }

    /// Compares a printed length with the exact one. Place and name are written out only where they differ.
    pub(super) fn compare(
        &mut self,
        place: impl Display,
        rule: &'static str,
        what: impl Display,
        printed: &Measure,
        exact: Length,
    ) {
        self.compare_half(
            place,
            rule,
            what,
            printed,
            2 * i128::from(exact.nanometres()),
        );
    }

    /// Compares a printed length with half of `twice` nanometres.
    pub(super) fn compare_half(
        &mut self,
        place: impl Display,
        rule: &'static str,
        what: impl Display,
        printed: &Measure,
        twice: i128,
    ) {
        let Some(seen) = self.read(&place, printed) else {
            return;
        };
        let distance = (2 * i128::from(seen.nanometres()) - twice).abs();
        if distance > 2 * i128::from(TOLERANCE.nanometres()) {
            let asked = self.show_half(twice);
            let symbol = self.unit.symbol();
            self.broken(
                place,
                rule,
                format_args!("{what} is printed as {printed} {symbol}; it is {asked}."),
            );
        }
    }

    pub(super) fn into_violations(self) -> Vec<Violation> {
        self.violations
    }
}

/// A name from the plan in quotes, shortened where it is long.
pub(super) fn quoted(name: &str) -> Quoted<'_> {
    Quoted(name)
}

/// What [`quoted`] shows.
#[derive(Clone, Copy)]
pub(super) struct Quoted<'a>(&'a str);

impl Display for Quoted<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0.char_indices().nth(LONGEST_NAME) {
            Some((end, _)) => write!(f, "{:?}", format!("{}…", &self.0[..end])),
            None => write!(f, "{:?}", self.0),
        }
    }
}
