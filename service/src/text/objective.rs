//! What was proven, term by term, in words.

use sashwright_solver::length::Measure;
use sashwright_solver::plan::{ObjectiveEntry, Plan, Status};
use sashwright_solver::time::in_words as time;

use super::measure::{Ruler, number};
use super::table::{Table, wrap};

/// How a term's value is written.
pub(super) enum Kind {
    Count,
    Length,
    Area,
    Time,
    Cost,
}

/// The term in words, and how its value is written. A term that is not known here is written as it stands.
pub(super) fn term(entry: &ObjectiveEntry) -> (&str, Kind) {
    match entry.term.as_str() {
        "hoopings" => ("hoopings", Kind::Count),
        "joints" => ("joints", Kind::Count),
        "corner_mismatch" => ("mismatch at the corners", Kind::Length),
        "stabilizer" => ("stabilizer", Kind::Area),
        "overhang" => ("overhang", Kind::Length),
        "hoop_changes" => ("changes of hoop", Kind::Count),
        "minutes" => ("working time", Kind::Time),
        "cost" => ("cost", Kind::Cost),
        other => (other, Kind::Cost),
    }
}

/// A value of a term, as people write it.
pub(super) fn shown(entry: &ObjectiveEntry, measure: &Measure, ruler: Ruler) -> String {
    match term(entry).1 {
        Kind::Count => number(measure, 0),
        Kind::Length => ruler.length(measure),
        Kind::Area => ruler.area(measure),
        Kind::Time => time(measure),
        Kind::Cost => number(measure, 4),
    }
}

/// Writes what is known of the plan: each term's value, and whether any valid plan can beat it.
pub(super) fn write(text: &mut String, plan: &Plan, ruler: Ruler) {
    let verdict = match plan.status {
        Status::Optimal => "Proven best: no valid plan is better by the goal of this scenario.",
        Status::Feasible => {
            "A valid plan, the best that was found; that it is the best of all is not proven."
        }
    };
    wrap(text, "", verdict);
    let mut table = Table::new(2);
    for (index, entry) in plan.objective.iter().enumerate() {
        let (name, kind) = term(entry);
        let show = |measure| shown(entry, measure, ruler);
        let less = match kind {
            Kind::Count => "fewer",
            _ => "less",
        };
        let among = match index {
            0 => "no valid plan",
            _ => "no valid plan with the values above",
        };
        let known = if entry.proven {
            format!("proven: {among} has {less}")
        } else {
            format!("best found; {among} has {less} than {}", show(&entry.bound))
        };
        table.row([name.to_string(), show(&entry.value), known]);
    }
    table.write(text);
}
