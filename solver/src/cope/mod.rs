//! Make it fit: widths of plain borders and sashing with which the patterns become whole repeats, and counts of repeats.
//!
//! `choices.rs` lists the widths that the scenario leaves, `nearest.rs` says how well the patterns fit each of them without
//! planning, and the best are planned, with no more scaling than they need.

mod choices;
mod document;
mod nearest;

pub use choices::faults;
pub use document::{Count, Fit, Fits, Repeats, Width, WidthOf, fits_schema};

use std::collections::BTreeMap;

use crate::classes;
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::{Length, Measure};
use crate::plan::{Plan, Status};
use crate::planner::{self, NoPlan};
use crate::scenario::{Centre, Goal, ScaleRange, Scenario, Term};
use crate::several::solve_each;
use crate::strips;
use crate::wishes::Wishes;
use choices::{Choice, Free, as_they_are, others, places};
use nearest::{Known, Quality};

/// The choices that are planned, beside the widths as they are.
const MOST_PLANNED: usize = 8;
/// Of these so many are told of.
const MOST_TOLD: usize = 5;

/// A choice of widths and how well the patterns fit it.
struct Judged {
    choice: Choice,
    scenario: Scenario,
    /// `None` where some strip cannot be stitched.
    quality: Option<Quality>,
}

/// Looks for widths that fit. Call [`faults`] first.
///
/// # Errors
/// The solve was told to stop, or a plan broke a rule. That strips cannot be stitched with some widths is no error.
pub fn cope(scenario: &Scenario, deadline: &Deadline) -> Result<Fits, NoPlan> {
    let free = places(scenario);
    let mut known = Known::default();
    let mut judge = |choice: Choice| {
        let scenario = choice.apply(&free, scenario);
        let quality = known.quality(&scenario, &strips::of(&scenario));
        Judged {
            choice,
            scenario,
            quality,
        }
    };
    let now = judge(as_they_are(&free));
    let mut judged = Vec::new();
    for choice in others(&free) {
        if deadline.stopped() {
            return Err(NoPlan::Stopped);
        }
        judged.push(judge(choice));
    }
    let choices = judged.len() as u64 + 1;
    let closes = |judged: &&Judged| judged.quality.is_some_and(closes);
    let closing = std::iter::once(&now).chain(&judged).filter(closes).count() as u64;
    judged.retain(|judged| judged.quality.is_some());
    judged.sort_by_key(|judged| {
        (
            judged.quality,
            judged.choice.change,
            judged.choice.widths.clone(),
        )
    });
    judged.truncate(MOST_PLANNED);
    judged.insert(0, now);
    let fits = solve_each(&judged, 0, deadline, |judged, share| {
        fit(judged, &free, scenario, share)
    })?;
    if deadline.stopped() {
        return Err(NoPlan::Stopped);
    }
    let mut fits: Vec<(Fit, &Judged)> = fits.into_iter().zip(&judged).collect();
    let now = fits.remove(0).0;
    fits.retain(|(fit, _)| !fit.objective.is_empty());
    fits.sort_by_key(|(fit, judged)| {
        let values = fit.objective.iter().map(|entry| entry.value.exact().ok());
        let values: Vec<Option<Exact>> = values.collect();
        // Mismatch, then scaling, then everything else in the order of the terms.
        let (mismatch, rest) = values
            .split_first()
            .map_or((None, Vec::new()), |(first, rest)| (*first, rest.to_vec()));
        (
            mismatch,
            judged.quality,
            rest,
            judged.choice.change,
            judged.choice.widths.clone(),
        )
    });
    Ok(Fits {
        format: 1,
        scenario: scenario.name.clone(),
        unit: scenario.unit,
        choices,
        closing,
        now,
        fits: fits
            .into_iter()
            .map(|(fit, _)| fit)
            .take(MOST_TOLD)
            .collect(),
        repeats: repeats(scenario),
    })
}

/// Whether every strip's pattern ends at both seam lines without any scaling.
fn closes(quality: Quality) -> bool {
    quality.not_closing == 0 && quality.scaling == Exact::ZERO
}

/// Plans a choice.
fn fit(
    judged: &Judged,
    free: &[Free],
    scenario: &Scenario,
    deadline: &Deadline,
) -> Result<Fit, NoPlan> {
    let mut planned = judged.scenario.clone();
    planned.candidates.clear();
    planned.goal = goal(&scenario.goal);
    if let Some(quality) = judged.quality.filter(|quality| quality.not_closing == 0) {
        for size in planned
            .designs
            .iter_mut()
            .flat_map(|design| &mut design.sizes)
        {
            size.scale = narrowed(size.scale, quality.scaling);
        }
    }
    let mut fit = Fit {
        widths: judged.choice.told(free, scenario),
        set: judged.choice.settings(free, scenario),
        finished: finished(&judged.scenario).map(|side| side.in_unit(scenario.unit)),
        closes: judged.quality.is_some_and(closes),
        scale: [Measure::whole(1), Measure::whole(1)],
        status: Status::Feasible,
        objective: Vec::new(),
        trouble: String::new(),
    };
    match planner::plan(&planned, deadline) {
        Ok(plan) => {
            fit.scale = scales(&plan);
            fit.status = plan.status;
            fit.objective = plan.objective;
        }
        Err(NoPlan::CannotBeStitched(faults)) => {
            fit.trouble = faults
                .first()
                .map_or_else(String::new, |fault| fault.message.clone());
        }
        Err(error) => return Err(error),
    }
    Ok(fit)
}

/// Corners and overhang before everything else, then hoopings and joints, then the other terms of the goal.
fn goal(goal: &Goal) -> Goal {
    let mut terms = vec![
        Term::CornerMismatch,
        Term::Overhang,
        Term::Hoopings,
        Term::Joints,
    ];
    let more: Vec<Term> = match goal {
        Goal::Priorities(terms) => terms.clone(),
        Goal::Prices(prices) => prices.iter().map(|price| price.term).collect(),
    };
    for term in more {
        if !terms.contains(&term) {
            terms.push(term);
        }
    }
    Goal::Priorities(terms)
}

/// A range of scales with no more than this on either side of 1.
fn narrowed(range: ScaleRange, scaling: Exact) -> ScaleRange {
    let beside = |sign: i128| {
        let upper = scaling.denominator() + sign * scaling.numerator();
        Exact::new(upper, scaling.denominator()).unwrap_or(Exact::ONE)
    };
    ScaleRange {
        least: range.least.max(beside(-1)),
        most: range.most.min(beside(1)),
    }
}

/// The smallest and the largest scale of a plan's strips.
fn scales(plan: &Plan) -> [Measure; 2] {
    let each = || {
        plan.strips
            .iter()
            .filter_map(|strip| Some((strip.scale.exact().ok()?, &strip.scale)))
    };
    let least = each().min_by_key(|(scale, _)| *scale);
    let most = each().max_by_key(|(scale, _)| *scale);
    [least, most].map(|found| found.map_or(Measure::whole(1), |(_, scale)| scale.clone()))
}

/// Finished width and height of the whole top.
fn finished(scenario: &Scenario) -> [Length; 2] {
    let Some(quilt) = &scenario.quilt else {
        return [Length::ZERO; 2];
    };
    let centre = match &quilt.centre {
        Centre::Pieced(size) => *size,
        Centre::Blocks {
            columns,
            rows,
            size: [width, height],
            sashing,
        } => {
            let (of_sashing, more) = sashing.as_ref().map_or((Length::ZERO, 0), |sashing| {
                (sashing.width, if sashing.outer { 1 } else { -1 })
            });
            [
                *width * *columns + of_sashing * (columns + more),
                *height * *rows + of_sashing * (rows + more),
            ]
        }
    };
    quilt
        .borders
        .iter()
        .fold(centre, |[width, height], border| {
            let [of_sides, of_ends] = border.widths();
            [width + of_sides * 2, height + of_ends * 2]
        })
}

/// For each kind of strip and each repeat that it can have, the counts that come nearest.
fn repeats(scenario: &Scenario) -> Vec<Repeats> {
    let top = strips::of(scenario);
    let unit = scenario.unit;
    let mut all = Vec::new();
    for class in classes::of(&top, &Wishes::default(), false) {
        let Some(first) = class.members.first() else {
            continue;
        };
        let sizes = scenario.designs[class.design].sizes.iter();
        let mut ranges: BTreeMap<Length, Vec<ScaleRange>> = BTreeMap::new();
        for size in sizes.filter(|size| size.width == class.width) {
            ranges.entry(size.repeat).or_default().push(size.scale);
        }
        for (repeat, ranges) in ranges {
            let below = class.length.nanometres() / repeat.nanometres().max(1);
            let counts = [below, below + 1].into_iter().filter(|count| *count > 0);
            let count = |repeats: i64| {
                let sum = repeat * repeats;
                let length = i128::from(class.length.nanometres());
                let scale = Exact::new(length, i128::from(sum.nanometres()))?;
                Some(Count {
                    repeats,
                    scale: Measure::from_ratio(scale.numerator(), scale.denominator()),
                    allowed: ranges
                        .iter()
                        .all(|range| (range.least..=range.most).contains(&scale)),
                    longer: (sum - class.length).in_unit(unit),
                })
            };
            all.push(Repeats {
                like: top.strips[*first].id.clone(),
                alike: class.members.len(),
                length: class.length.in_unit(unit),
                repeat: repeat.in_unit(unit),
                counts: counts.filter_map(count).collect(),
            });
        }
    }
    // A strip that is whole repeats long needs no second count.
    for of in &mut all {
        let exact = |count: &Count| count.longer == Measure::whole(0);
        if of.counts.iter().any(exact) {
            of.counts.retain(exact);
        }
    }
    all
}
