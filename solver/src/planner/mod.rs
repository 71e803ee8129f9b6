//! From a scenario to a checked plan.
//!
//! `stitchable.rs` finds what each strip can be covered with, `best.rs` the best draft of a plan. Where that is not proven, `others.rs`
//! asks what plans with fewer hoops or wishes tell, and `lists.rs` the integer program over lists. Here the draft is written out and checked.
//! `no_plan.rs` says why there is none.

mod best;
mod lists;
mod no_plan;
mod others;
mod stitchable;

pub use no_plan::NoPlan;
pub(crate) use no_plan::{Unsolved, no_plan};

use std::time::Duration;

use crate::check::{UNPLANNED_BUT_STITCHABLE, Violation, check};
use crate::classes::Class;
use crate::cover::{ClassCovers, Miss, PieceStore};
use crate::deadline::Deadline;
use crate::kept::Kept;
use crate::plan::{Plan, objective, write};
use crate::roll::Roll;
use crate::scenario::Scenario;
use crate::strips::{self, QuiltTop};
use crate::wishes::{self, Bound, StripWishes, Wishes};
use best::{About, best_draft, kept_draft};
use lists::by_lists;
use others::ask_others;
use stitchable::{Missed, Stitchable, stitchable};

/// What a run takes to be written out and checked, as measured with a thousand strips; and no more than one in so many parts of the time left
/// is kept for that.
const EACH_RUN: Duration = Duration::from_micros(5);
const MOST_WRITING: u32 = 3;

/// Plans a scenario within the deadline. The plan has passed [`check`].
///
/// # Errors
/// See [`NoPlan`].
pub fn plan(scenario: &Scenario, deadline: &Deadline) -> Result<Plan, NoPlan> {
    let top = strips::of(scenario);
    solve(scenario, &top, deadline).map_err(|unsolved| no_plan(&top, unsolved))
}

/// The same by the integer program over lists of covers and hoopings alone: the readable definition, with which the decomposition has to
/// agree wherever both end. Wishes and strips that are begun it leaves to the first plan.
///
/// # Errors
/// See [`NoPlan`].
pub fn plan_by_lists(scenario: &Scenario, deadline: &Deadline) -> Result<Plan, NoPlan> {
    let top = strips::of(scenario);
    solve_by(Method::Lists, scenario, &top, None, deadline)
        .map_err(|unsolved| no_plan(&top, unsolved))
}

/// How plans are searched.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Method {
    /// By decomposition, and what that cannot settle by lists.
    Decomposition,
    /// By lists alone.
    Lists,
}

/// Plans a scenario whose strips are `top`'s.
pub(crate) fn solve(
    scenario: &Scenario,
    top: &QuiltTop,
    deadline: &Deadline,
) -> Result<Plan, Unsolved> {
    solve_from(scenario, top, None, deadline)
}

/// The same, from what is kept of another plan: that is the plan unless another one is better, or, where it is kept firmly, in
/// any case. What is no plan for this scenario is passed over.
pub(crate) fn solve_from(
    scenario: &Scenario,
    top: &QuiltTop,
    kept: Option<&Kept>,
    deadline: &Deadline,
) -> Result<Plan, Unsolved> {
    solve_by(Method::Decomposition, scenario, top, kept, deadline)
}

fn solve_by(
    method: Method,
    scenario: &Scenario,
    top: &QuiltTop,
    kept: Option<&Kept>,
    deadline: &Deadline,
) -> Result<Plan, Unsolved> {
    let wishes = wishes_to_keep(scenario, top, deadline)?;
    // Then it is not known whether wishes can be kept.
    let unsettled = !scenario.wishes.is_empty() && deadline.over();
    let store = PieceStore::of(scenario);
    let (found, missed) = stitchable(&store, method, top, &wishes, unsettled, deadline)?;
    let Stitchable {
        classes,
        mut covers,
        spaces,
    } = found;
    let deadline = &without_writing(deadline, &classes, &covers);
    let out_of_steps = missed.out_of_steps();
    let unplanned = missed.left_out(scenario, top, !classes.is_empty())?;
    let bound = Bound::of(&classes);
    let roll = Roll::of(scenario, deadline);
    let about = About {
        scenario,
        top,
        classes: &classes,
        bound: &bound,
        roll: roll.as_ref(),
    };
    let kept = kept.and_then(|kept| {
        let draft = kept_draft(about, kept, &mut covers, &unplanned)?;
        Some((draft, kept.firmly))
    });
    let firmly = kept.as_ref().is_some_and(|(_, firmly)| *firmly);
    let (mut draft, mut known) =
        best_draft(about, kept, &mut covers, &spaces, &unplanned, deadline);
    let values = draft.values(&about.task(&covers));
    if method == Method::Decomposition && !firmly && known.leaves_open(&values) {
        draft = ask_others(about, draft, &mut covers, &mut known, &unplanned, deadline);
    }
    let values = draft.values(&about.task(&covers));
    let plain = scenario.wishes.is_empty() && scenario.begun.is_empty();
    if plain && !firmly && known.bounds_for(&values) != values {
        draft = by_lists(about, draft, &mut covers, &mut known, deadline);
    }
    if deadline.stopped() {
        return Err(Unsolved::Stopped);
    }
    let task = about.task(&covers);
    let values = draft.values(&task);
    let entries = objective(&task, &values, &known.bounds_for(&values));
    let plan = write(&task, &draft, entries, unplanned);
    let violations = check(scenario, &plan);
    if violations.is_empty() {
        return Ok(plan);
    }
    let wished_late = if unsettled {
        wished(&classes)
    } else {
        Missed::default()
    };
    Err(why_broken(violations, wished_late, out_of_steps))
}

/// The deadline of the search, which leaves time for writing the plan out and checking it.
fn without_writing(deadline: &Deadline, classes: &[Class], covers: &[ClassCovers<'_>]) -> Deadline {
    let runs = classes.iter().zip(covers);
    let runs = runs.map(|(class, covers)| class.members.len() as i128 * covers.fewest_runs());
    let runs = u32::try_from(runs.sum::<i128>()).unwrap_or(u32::MAX);
    let left = deadline.left();
    let writing = (EACH_RUN * runs).min(left / MOST_WRITING);
    deadline.at_most(left - writing)
}

/// What is wished, where it can be kept, and where strips cannot be stitched whatever is wished nothing: these are told first, and there
/// is no plan.
///
/// # Errors
/// Wishes that contradict each other.
fn wishes_to_keep(
    scenario: &Scenario,
    top: &QuiltTop,
    deadline: &Deadline,
) -> Result<Wishes, Unsolved> {
    match wishes::conflict(scenario, top, deadline) {
        None => Ok(Wishes::of(scenario, top)),
        Some(contradiction)
            if scenario.rules.allow_partial || wishes::all_stitchable(scenario, top, deadline) =>
        {
            Err(Unsolved::Contradiction(contradiction))
        }
        Some(_) => Ok(Wishes::default()),
    }
}

/// The strips of which something is wished, as such that there was no time for.
fn wished(classes: &[Class]) -> Missed {
    let wished = classes.iter();
    let wished = wished.filter(|class| class.wishes != StripWishes::default());
    let strips = wished.flat_map(|class| &class.members);
    strips.map(|strip| (*strip, Miss::out_of_time())).collect()
}

/// Why a plan broke rules: not by an error of this program where nobody knows whether wishes can be kept, or where the search for coverings
/// ended by its count of steps, and the check knows better.
fn why_broken(violations: Vec<Violation>, wished_late: Missed, out_of_steps: Missed) -> Unsolved {
    let left_out = |violation: &Violation| violation.rule == UNPLANNED_BUT_STITCHABLE;
    if !wished_late.is_empty() {
        wished_late.into_unsolved()
    } else if !out_of_steps.is_empty() && violations.iter().all(left_out) {
        out_of_steps.into_unsolved()
    } else {
        Unsolved::Broken(violations)
    }
}
