//! Make it fit: widths of plain borders and sashing with which the patterns become whole repeats, and counts of repeats.
//!
//! `choices.rs` lists the widths that the scenario leaves, `judge.rs` says how well the patterns fit each of them without
//! planning, from what `nearest.rs` finds for one strip; `planned.rs` plans the best, and `counts.rs` counts repeats with the
//! widths as they are.

mod choices;
mod counts;
mod document;
mod judge;
mod nearest;
mod planned;

pub use choices::{MOST_CHOICES, faults};
pub use document::{Count, Fit, Fits, Repeats, Width, WidthOf, fits_schema};

use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::Length;
use crate::planner::NoPlan;
use crate::scenario::Scenario;
use crate::several::solve_each;
use choices::{as_they_are, others, places};
use judge::{Followers, Judge, Quality};
use planned::Judged;

/// The choices that are planned, beside the widths as they are.
const MOST_PLANNED: usize = 8;
/// Of these so many are told of.
const MOST_TOLD: usize = 5;

/// Looks for widths that fit: in at most half of the time by judging choices, in the rest by planning the best of them. Call
/// [`faults`] first.
///
/// # Errors
/// The solve was told to stop, or a plan broke a rule. That strips cannot be stitched with some widths is no error.
pub fn cope(scenario: &Scenario, deadline: &Deadline) -> Result<Fits, NoPlan> {
    let free = places(scenario);
    let followers = Followers::of(scenario, &free);
    let judging = deadline.at_most(deadline.left() / 2);
    let mut judge = Judge::new(scenario, &free, &followers);
    let (mut sure, mut closing, mut judged) = (true, 0, Vec::new());
    let choices = std::iter::once(as_they_are(&free)).chain(others(&free));
    let mut waiting = choices.into_iter().peekable();
    let mut looked_at = 0;
    // The widths as they are come first, and then those that change them least, so that these are looked at in any case.
    while let Some(choice) = waiting.next_if(|_| looked_at == 0 || !judging.over()) {
        let judgement = judge.judge(&choice, &judging);
        looked_at += 1;
        sure &= judgement.sure;
        closing += u64::from(judgement.quality.is_some_and(Quality::closes));
        judged.push(Judged {
            choice,
            quality: judgement.quality,
        });
    }
    if deadline.stopped() {
        return Err(NoPlan::Stopped);
    }
    let choices = looked_at + waiting.count() as u64;
    let now = judged.remove(0);
    judged.retain(|judged| judged.quality.is_some());
    // The sort keeps the order of what is equally good: the smaller change first.
    judged.sort_by_key(|judged| judged.quality);
    judged.truncate(MOST_PLANNED);
    judged.insert(0, now);
    let fits = solve_each(&judged, 0, deadline, |judged, share| {
        // The start of a plan takes its time whatever the deadline. The widths as they are change nothing, and are always planned.
        if share.over() && judged.choice.change > Length::ZERO {
            return Ok(None);
        }
        planned::fit(judged, &free, &followers, scenario, share).map(Some)
    })?;
    if deadline.stopped() {
        return Err(NoPlan::Stopped);
    }
    let fits = fits.into_iter().zip(&judged);
    let mut fits: Vec<(Fit, &Judged)> = fits
        .filter_map(|(fit, judged)| Some((fit?, judged)))
        .collect();
    let now = fits.remove(0).0;
    fits.retain(|(fit, _)| !fit.objective.is_empty());
    fits.sort_by_key(|(fit, judged)| {
        let values = fit.objective.iter().map(|entry| entry.value.exact().ok());
        let mut values = values.collect::<Vec<Option<Exact>>>().into_iter();
        // Mismatch, then how well the patterns fit, then everything else in the order of the terms, then the smaller change.
        (values.next(), judged.quality, values.collect::<Vec<_>>())
    });
    Ok(Fits {
        format: 1,
        scenario: scenario.name.clone(),
        unit: scenario.unit,
        choices,
        looked_at,
        closing,
        sure: sure && looked_at == choices,
        now,
        fits: fits
            .into_iter()
            .map(|(fit, _)| fit)
            .take(MOST_TOLD)
            .collect(),
        repeats: counts::of(scenario, deadline),
    })
}
