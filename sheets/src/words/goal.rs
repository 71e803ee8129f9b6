//! The terms of the goal, and what was proven of them.

use sashwright_solver::length::Measure;
use sashwright_solver::plan::{ObjectiveEntry, Plan, Status};
use sashwright_solver::time::in_words as time;

use crate::measure::{Ruler, number};

/// How a term's value is written.
pub enum Kind {
    /// A whole number of things.
    Count,
    /// A length.
    Length,
    /// An area.
    Area,
    /// Minutes.
    Time,
    /// Whatever prices are in.
    Cost,
}

/// The term in words, and how its value is written. A term that is not known here is written as it stands.
pub fn term(entry: &ObjectiveEntry) -> (&str, Kind) {
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
pub fn shown(entry: &ObjectiveEntry, measure: &Measure, ruler: Ruler) -> String {
    match term(entry).1 {
        Kind::Count => number(measure, 0),
        Kind::Length => ruler.length(measure),
        Kind::Area => ruler.area(measure),
        Kind::Time => time(measure),
        Kind::Cost => number(measure, 4),
    }
}

/// What is known of the plan as a whole.
pub fn verdict(plan: &Plan) -> &'static str {
    match plan.status {
        Status::Optimal => "Proven best: no valid plan is better by the goal of this scenario.",
        Status::Feasible => {
            "A valid plan, the best that was found; that it is the best of all is not proven."
        }
    }
}

/// What is known of the term that stands at that place in the goal: whether any valid plan can beat it.
pub fn known(entry: &ObjectiveEntry, index: usize, ruler: Ruler) -> String {
    let less = match term(entry).1 {
        Kind::Count => "fewer",
        _ => "less",
    };
    let among = match index {
        0 => "no valid plan",
        _ => "no valid plan with the values above",
    };
    if entry.proven {
        format!("proven: {among} has {less}")
    } else {
        let bound = shown(entry, &entry.bound, ruler);
        format!("best found; {among} has {less} than {bound}")
    }
}
