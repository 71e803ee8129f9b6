//! The true optimum of a tiny scenario, by trying everything.
//!
//! Every covering of every strip, every split of it into runs, every set of runs that lies in a hoop, every order of the
//! hoopings. Written to be obviously right, not to be fast; work is limited by a count of steps.

mod choice;
mod corner;
mod covering;
mod hooping;
mod order;
mod roll;
mod score;
mod search;
#[cfg(test)]
mod tests;
mod wishes;
mod work;

use sashwright_solver::length::Measure;
use sashwright_solver::scenario::{Scenario, Term};
use sashwright_solver::strips;

pub use choice::Run;
use choice::{Choice, choices};
pub use hooping::{between, fits};
use search::Search;
use wishes::Wishes;
pub use work::{TooMuchWork, Work};

/// What is true of a scenario.
#[derive(Clone, PartialEq, Debug)]
pub enum Outcome {
    /// Strips, by id, that cannot be stitched, where the rules do not let them be left out.
    CannotBeStitched(Vec<String>),
    /// There are plans, but none that keeps the wishes.
    WishesCannotBeKept,
    /// The best plan.
    Best(Optimum),
}

/// What the best plan is worth.
#[derive(Clone, PartialEq, Debug)]
pub struct Optimum {
    /// The goal's terms by name, each value as a plan prints it.
    pub objective: Vec<(String, Measure)>,
    /// Strips, by id, that cannot be stitched and are left out.
    pub unplanned: Vec<String>,
}

/// Finds the optimum of a scenario.
///
/// # Errors
/// Where trying everything takes more than `work`.
pub fn solve(scenario: &Scenario, work: &mut Work) -> Result<Outcome, TooMuchWork> {
    let top = strips::of(scenario);
    let mut planned = Vec::new();
    let mut unplanned = Vec::new();
    // Patterns at the corners are told apart only where a goal counts them.
    let counts = score::score(scenario, &term(Term::CornerMismatch)) != score::Score::default();
    let at_corner = |strip| {
        let ends = top.corners.iter().flat_map(|corner| corner.ends);
        counts && ends.map(|(strip, _)| strip).any(|other| other == strip)
    };
    let wishes = Wishes::of(scenario, &top);
    let mut unwished = scenario.clone();
    unwished.wishes.clear();
    let none = Wishes::of(&unwished, &top);
    let mut kept = true;
    for index in 0..top.strips.len() {
        let ways = choices(scenario, &top, index, at_corner(index), &wishes, work)?;
        if !ways.is_empty() {
            planned.push((index, ways));
        } else if wishes.is_empty()
            || choices(scenario, &top, index, false, &none, work)?.is_empty()
        {
            unplanned.push(top.strips[index].id.clone());
        } else {
            kept = false;
        }
    }
    let none_left = kept && planned.is_empty() && scenario.begun.is_empty();
    if !unplanned.is_empty() && (!scenario.rules.allow_partial || none_left) {
        return Ok(Outcome::CannotBeStitched(unplanned));
    }
    if !kept {
        return Ok(Outcome::WishesCannotBeKept);
    }
    let Some(best) = Search::new(scenario, &top, &wishes, planned).best(work)? else {
        return Ok(Outcome::WishesCannotBeKept);
    };
    Ok(Outcome::Best(Optimum {
        objective: score::printed(scenario, &best),
        unplanned,
    }))
}

/// The longest run of a strip (its place in the quilt top) in any way to stitch it, in nanometres; `None` where there is no way.
///
/// # Errors
/// Where trying everything takes more than `work`.
pub fn longest_run(
    scenario: &Scenario,
    strip: usize,
    work: &mut Work,
) -> Result<Option<i128>, TooMuchWork> {
    let top = strips::of(scenario);
    let wishes = Wishes::of(scenario, &top);
    let ways = choices(scenario, &top, strip, false, &wishes, work)?;
    let runs = ways.iter().flat_map(|way| &way.runs);
    Ok(runs.map(|run| run.length).max())
}

/// One of a term and none of the others.
fn term(term: Term) -> score::Terms {
    let mut terms = score::Terms::default();
    terms[term as usize] = 1;
    terms
}
