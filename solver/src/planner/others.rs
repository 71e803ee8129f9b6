//! What plans of other scenarios tell of one whose best plan is not proven: a scenario without some of its wishes, and with some of its
//! hoops alone.

use std::time::Duration;

use crate::cover::{ClassCovers, PieceStore};
use crate::deadline::Deadline;
use crate::draft::Draft;
use crate::kept::Kept;
use crate::optimise::Known;
use crate::plan::{Plan, UnplannedEntry, objective, write};
use crate::planner::Method;
use crate::planner::best::{About, best_draft, better};
use crate::planner::stitchable::{Stitchable, stitchable};
use crate::roll::Roll;
use crate::scenario::{Scenario, Wished};
use crate::strips::QuiltTop;
use crate::wishes::{Bound, Wishes};

/// With less time left than this nobody is asked.
const WORTH_ASKING: Duration = Duration::from_millis(20);
/// Up to so many hoops all but one are tried, besides each alone.
const FEW_HOOPS: usize = 6;
/// The part of the time left that a scenario with fewer wishes may take, and that all with fewer hoops may take together.
const SHARE: f64 = 0.5;

/// Takes over the plans of other scenarios where they are plans of this one and better, and what is proven of them.
pub fn ask_others<'a>(
    about: About<'a>,
    best: Draft,
    covers: &mut Vec<ClassCovers<'a>>,
    known: &mut Known,
    unplanned: &[UnplannedEntry],
    deadline: &Deadline,
) -> Draft {
    let mut best = best;
    if deadline.left() < WORTH_ASKING {
        return best;
    }
    if let Some(eased) = eased(about.scenario) {
        let share = deadline.at_most(deadline.left().mul_f64(SHARE)).unheard();
        if let Some((plan, of_eased)) = plainly(&eased, about.top, &share) {
            if same(&plan.unplanned, unplanned) {
                known.add(of_eased);
            }
            best = better(about, best, &all_of(plan), covers, unplanned);
        }
    }
    let end = deadline.at_most(deadline.left().mul_f64(SHARE)).unheard();
    let fewer = with_fewer_hoops(about.scenario);
    for (tried, scenario) in fewer.iter().enumerate() {
        let values = best.values(&about.task(covers));
        if end.left() < WORTH_ASKING || !known.leaves_open(&values) {
            break;
        }
        let to_come = u32::try_from(fewer.len() - tried).unwrap_or(u32::MAX);
        let share = end.at_most(end.left() / to_come);
        if let Some((plan, _)) = plainly(scenario, about.top, &share) {
            best = better(about, best, &all_of(plan), covers, unplanned);
        }
    }
    best
}

fn all_of(plan: Plan) -> Kept {
    Kept {
        strips: plan.strips,
        hoopings: plan.hoopings,
        firmly: false,
    }
}

/// The scenario without the wishes that only take plans away; `None` where it has none of them. Each of its plans counts for as much there,
/// so that what no plan there can beat no plan here can. A wish about hoops or sizes can also allow what is not allowed otherwise: that a
/// short strip is split which could be stitched in one run without it.
fn eased(scenario: &Scenario) -> Option<Scenario> {
    let mut eased = scenario.clone();
    let may_allow = |what: &Wished| matches!(what, Wished::OnlyIn(_) | Wished::OneSize);
    eased
        .wishes
        .retain(|wish| !scenario.rules.split_short && may_allow(&wish.what));
    (eased.wishes.len() < scenario.wishes.len()).then_some(eased)
}

/// The scenario with all of its hoops but one, where they are few, and with each alone; none where a wish names hoops.
fn with_fewer_hoops(scenario: &Scenario) -> Vec<Scenario> {
    let hoops = scenario.hoops.len();
    let named = |what: &Wished| matches!(what, Wished::OnlyIn(_));
    if hoops < 2 || scenario.wishes.iter().any(|wish| named(&wish.what)) {
        return Vec::new();
    }
    let with = |takes: &dyn Fn(usize) -> bool| {
        let mut fewer = scenario.clone();
        let numbered = scenario.hoops.iter().enumerate();
        let taken = numbered.filter(|(number, _)| takes(*number));
        fewer.hoops = taken.map(|(_, hoop)| hoop.clone()).collect();
        fewer
    };
    let mut found = Vec::new();
    if (3..=FEW_HOOPS).contains(&hoops) {
        found.extend((0..hoops).map(|one| with(&|hoop| hoop != one)));
    }
    found.extend((0..hoops).map(|one| with(&|hoop| hoop == one)));
    found
}

/// The plan of a scenario with the same strips by the search alone, and what is known there; `None` where there is none.
fn plainly(scenario: &Scenario, top: &QuiltTop, deadline: &Deadline) -> Option<(Plan, Known)> {
    let store = PieceStore::of(scenario);
    let wishes = Wishes::of(scenario, top);
    let by = Method::Decomposition;
    let (found, missed) = stitchable(&store, by, top, &wishes, deadline.over(), deadline).ok()?;
    let Stitchable {
        classes,
        mut covers,
        spaces,
    } = found;
    let unplanned = missed.left_out(scenario, top, !classes.is_empty()).ok()?;
    let bound = Bound::of(&classes);
    let roll = Roll::of(scenario, deadline);
    let about = About {
        scenario,
        top,
        classes: &classes,
        bound: &bound,
        roll: roll.as_ref(),
    };
    let (draft, known) = best_draft(about, None, &mut covers, &spaces, &unplanned, deadline);
    let task = about.task(&covers);
    let values = draft.values(&task);
    let entries = objective(&task, &values, &values);
    Some((write(&task, &draft, entries, unplanned), known))
}

fn same(one: &[UnplannedEntry], other: &[UnplannedEntry]) -> bool {
    let ids = |of: &[UnplannedEntry]| -> Vec<String> {
        of.iter().map(|entry| entry.strip.clone()).collect()
    };
    ids(one) == ids(other)
}
