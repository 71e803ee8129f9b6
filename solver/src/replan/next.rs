//! The next hooping by itself.

use std::collections::BTreeMap;

use crate::plan::{Placement, Plan, by_id};
use crate::replan::document::{NextRun, NextStep};
use crate::scenario::Scenario;
use crate::strips::{self, End};

/// The first hooping of a plan of what is left.
pub(super) fn next(scenario: &Scenario, plan: &Plan) -> Option<NextStep> {
    let hooping = plan.hoopings.first()?;
    let entries = by_id(&plan.strips);
    let butts: BTreeMap<String, End> = strips::of(scenario)
        .strips
        .into_iter()
        .filter_map(|strip| Some((strip.id, strip.stage.butts()?)))
        .collect();
    let run = |placement: &Placement| {
        let entry = entries.get(placement.strip.as_str())?;
        let number = usize::try_from(placement.run).ok()?.checked_sub(1)?;
        // In the first hooping only what was stitched before can be butted up to: at the end of a rest that has no run before it.
        let (inner, count) = (butts.get(&placement.strip), entry.runs.len());
        let at = |end: &End| match (inner, end) {
            (Some(End::Start), End::Start) => number == 0,
            (Some(End::End), End::End) => number + 1 == count,
            _ => false,
        };
        let (butts_up, leave_open) = placement.open.iter().partition(|end| at(end));
        Some(NextRun {
            strip: placement.strip.clone(),
            run: placement.run,
            lane: placement.lane,
            along: placement.along.clone(),
            across: placement.across.clone(),
            length: placement.length.clone(),
            scale: entry.scale.clone(),
            segments: entry.runs.get(number)?.segments.clone(),
            butts_up,
            leave_open,
            reversed: placement.reversed,
        })
    };
    Some(NextStep {
        hoop: hooping.hoop.clone(),
        turned: hooping.turned,
        stabilizer: hooping.stabilizer.clone(),
        runs: hooping.placements.iter().filter_map(run).collect(),
    })
}
