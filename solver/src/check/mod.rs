//! The independent check of any plan against its scenario.
//!
//! Nothing here is shared with the search beyond the two documents and exact numbers: strips, corners, coverings,
//! lengths, distances, the order of the work and the values of the goal's terms are all worked out anew. It can be
//! read in the order in which [`check`] calls it.

mod along;
mod corners;
mod covering;
mod field;
mod geometry;
mod hooping;
mod lanes;
mod material;
mod objective;
mod order;
mod place;
mod placed;
mod possible;
mod printed;
mod report;
mod rests;
mod roll;
mod roll_length;
mod sums;
#[cfg(test)]
mod tried_out;
mod wishes;
mod work;

use crate::plan::Plan;
use crate::scenario::Scenario;
use covering::Covering;
use geometry::Geometry;
pub use material::OrderCheck;
use objective::Values;
use place::Place;
use placed::Placed;
use possible::Possible;
use report::{Report, quoted};
use roll::Roll;
use sums::Answer;
use work::Work;

/// One way in which a plan breaks the rules.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Violation {
    /// Where in the plan document (JSON Pointer).
    pub pointer: String,
    /// The rule that is broken; a stable kebab-case name.
    pub rule: &'static str,
    /// What was seen and what the rule asks, in a sentence.
    pub message: String,
}

/// The rule against leaving out a strip that can be stitched.
pub(crate) const UNPLANNED_BUT_STITCHABLE: &str = "unplanned-but-stitchable";

/// Every fault of `plan` as a plan for `scenario`; empty where it is valid.
///
/// Whether a hooping fits is decided exactly on recomputed lengths; printed lengths may be off by 0.005 mm, areas by
/// a millionth of their value, costs by a millionth. Where a fault keeps something from being worked out, what rests
/// on it is not checked. Two rules need a search, whether a strip that is split could be stitched in one run and
/// whether a strip that is left out could be stitched at all; past a limit of steps, which coverings of many repeats
/// in several sizes may reach, the plan is given the benefit of the doubt. That a bound holds cannot be checked.
pub fn check(scenario: &Scenario, plan: &Plan) -> Vec<Violation> {
    let mut report = Report::new(plan.unit);
    printed::check_head(scenario, plan, &mut report);
    let geometry = Geometry::of(scenario);
    let roll = roll::call(&geometry, plan, &mut report);
    let coverings = check_strips(scenario, plan, &roll, &mut report);
    let mut possible = Possible::new(scenario);
    check_splits(scenario, &coverings, &mut possible, &mut report);
    check_unplanned(scenario, plan, &roll, &mut possible, &mut report);
    let placed = Placed::check(plan, &roll, &coverings, &mut report);
    hooping::check(scenario, plan, &placed, &mut report);
    order::check(scenario.rules.growth, &placed, &mut report);
    rests::check(scenario, plan, &placed, &mut report);
    wishes::check(scenario, plan, &mut report);
    along::check(scenario, plan, &coverings, &mut report);
    let align = scenario.rules.align;
    let mismatch = corners::check(align, &geometry, &roll, &coverings, plan, &mut report);
    let work = Work::of(scenario, plan, &roll);
    let values = Values::of(scenario, plan, &roll, &coverings, mismatch, work.as_ref());
    objective::check(scenario, plan, &values, &mut report);
    work::check(scenario, plan, work.as_ref(), &mut report);
    material::check(scenario, plan, &mut report);
    report.into_violations()
}

/// Every fault of what `plan` says of its cloths and of what is bought, part of [`check`]: for a plan that has passed it before these
/// were added.
pub fn check_materials(scenario: &Scenario, plan: &Plan) -> Vec<Violation> {
    let mut report = Report::new(plan.unit);
    material::check(scenario, plan, &mut report);
    report.into_violations()
}

/// Checks each strip by itself and returns the coverings that can be made out.
fn check_strips<'a>(
    scenario: &Scenario,
    plan: &Plan,
    roll: &Roll<'a>,
    report: &mut Report,
) -> Vec<Option<Covering<'a>>> {
    let strips = Place::of("strips");
    let entries = plan.strips.iter().zip(&roll.planned).enumerate();
    let coverings = entries.map(|(index, (entry, strip))| {
        let place = strips.at(index);
        let strip = (*strip)?;
        printed::check_strip(scenario, strip, entry, place, report);
        let covering = covering::check(scenario, strip, entry, place, report)?;
        printed::check_covering(scenario, &covering, entry, place, report);
        Some(covering)
    });
    coverings.collect()
}

/// With `split_short` false, a strip that some hoop takes in one run is stitched in one run.
fn check_splits(
    scenario: &Scenario,
    coverings: &[Option<Covering<'_>>],
    possible: &mut Possible<'_>,
    report: &mut Report,
) {
    if scenario.rules.split_short {
        return;
    }
    let strips = Place::of("strips");
    for (index, covering) in coverings.iter().enumerate() {
        let Some(covering) = covering else {
            continue;
        };
        // What is left of a begun strip is of a strip that was split.
        let whole = covering.strip.rest.is_none();
        if whole && covering.runs.len() > 1 && possible.in_one_run(covering.strip) == Answer::Yes {
            report.broken(
                strips.at(index).at("runs"),
                "split-short",
                format_args!(
                    "The strip {} is split into {} runs; a hoop takes it in one, and \"split_short\" is false.",
                    quoted(&covering.strip.id),
                    covering.runs.len()
                ),
            );
        }
    }
}

/// A strip is left out only where that is allowed, for a reason, and where nothing else can be done.
fn check_unplanned(
    scenario: &Scenario,
    plan: &Plan,
    roll: &Roll<'_>,
    possible: &mut Possible<'_>,
    report: &mut Report,
) {
    let left_out = Place::of("unplanned");
    for (index, strip) in &roll.unplanned {
        let place = left_out.at(*index);
        let name = quoted(&strip.id);
        if plan.unplanned[*index].reason.trim().is_empty() {
            report.broken(
                place.at("reason"),
                "unplanned-without-reason",
                format_args!("The strip {name} is left out without a reason."),
            );
        }
        if !scenario.rules.allow_partial {
            report.broken(
                place,
                "unplanned-not-allowed",
                format_args!("The strip {name} is left out, and \"allow_partial\" is false."),
            );
        } else if possible.is_stitchable(strip) == Answer::Yes {
            report.broken(
                place,
                UNPLANNED_BUT_STITCHABLE,
                format_args!("The strip {name} is left out; it can be stitched."),
            );
        }
    }
}
