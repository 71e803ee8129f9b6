//! How long the work takes and what thread it uses, worked out anew from the runs and hoopings of a plan.

use std::collections::HashMap;

use super::place::Place;
use super::report::Report;
use super::roll::Roll;
use crate::exact::{Exact, round_half_up};
use crate::length::Measure;
use crate::plan::{Plan, RunEntry, WorkEntry};
use crate::scenario::{Design, Scenario, Size};
use crate::time::Time;

/// Times are kept to ten-thousandths of a minute.
pub(super) const PARTS_OF_A_MINUTE: i128 = 10_000;

/// The work of a plan.
pub(super) struct Work {
    /// Stitches and the time to stitch them; `None` where some size does not say how many it has.
    stitched: Option<Stitched>,
    /// The time that hands take, in parts of a minute.
    by_hand: i128,
    thread_changes: i128,
}

#[derive(Clone, Copy, Default)]
struct Stitched {
    stitches: i128,
    /// In parts of a minute.
    time: i128,
}

impl Work {
    /// The work of all planned strips; `None` where one of them cannot be made out.
    pub(super) fn of(scenario: &Scenario, plan: &Plan, roll: &Roll<'_>) -> Option<Work> {
        let rates = &scenario.rates;
        let parts = |time: Time| i128::from(time.parts());
        let designs: Vec<HashMap<&str, &Size>> = scenario.designs.iter().map(by_id).collect();
        let mut stitched = Some(Stitched::default());
        let (mut runs, mut thread_changes) = (0_i128, 0_i128);
        for (entry, strip) in plan.strips.iter().zip(&roll.planned) {
            let strip = (*strip)?;
            let threads = scenario.designs.get(strip.design)?.threads.len();
            let of_run = i128::try_from(threads.saturating_sub(1)).ok()?;
            for run in &entry.runs {
                runs += 1;
                thread_changes += of_run;
                let more = stitch(scenario, designs.get(strip.design)?, run)?;
                stitched = match (stitched, more) {
                    (Some(all), Some(more)) => Some(all.and(more)?),
                    _ => None,
                };
            }
        }
        let hoopings = i128::try_from(plan.hoopings.len()).ok()?;
        let pairs = plan.hoopings.windows(2);
        let hoop_changes = pairs.filter(|pair| pair[0].hoop != pair[1].hoop).count();
        let by_hand = hoopings * parts(rates.hooping)
            + runs * parts(rates.placement)
            + thread_changes * parts(rates.thread_change)
            + i128::try_from(hoop_changes).ok()? * parts(rates.hoop_change);
        Some(Work {
            stitched,
            by_hand,
            thread_changes,
        })
    }

    /// Parts of a minute, by hand and at the machine; `None` where stitches are not known.
    pub(super) fn in_all(&self) -> Option<i128> {
        self.stitched?.time.checked_add(self.by_hand)
    }
}

impl Stitched {
    fn and(self, more: Stitched) -> Option<Stitched> {
        Some(Stitched {
            stitches: self.stitches.checked_add(more.stitches)?,
            time: self.time.checked_add(more.time)?,
        })
    }
}

fn by_id(design: &Design) -> HashMap<&str, &Size> {
    let sizes = design.sizes.iter();
    sizes.map(|size| (size.id.as_str(), size)).collect()
}

/// What a run takes at the machine: `None` where it cannot be made out, `Some(None)` where its stitches are not known.
fn stitch(
    scenario: &Scenario,
    sizes: &HashMap<&str, &Size>,
    run: &RunEntry,
) -> Option<Option<Stitched>> {
    let speed = scenario.rates.stitches_per_minute;
    let mut all = Stitched::default();
    for segment in &run.segments {
        let size = sizes.get(segment.size.as_str())?;
        let Some(stitches) = size.stitches else {
            return Some(None);
        };
        let (stitches, repeats) = (i128::from(stitches), i128::from(size.repeats));
        let count = i128::from(segment.repeats);
        // One repeat is timed once, to the nearest part of a minute.
        let upper = stitches * PARTS_OF_A_MINUTE * speed.denominator();
        let of_repeat = round_half_up(upper, repeats * speed.numerator());
        all = all.and(Stitched {
            stitches: round_half_up(stitches * count, repeats),
            time: of_repeat.checked_mul(count)?,
        })?;
    }
    Some(Some(all))
}

/// Checks what a plan says of its work, where it says anything.
pub(super) fn check(scenario: &Scenario, plan: &Plan, work: Option<&Work>, report: &mut Report) {
    let (Some(entry), Some(work)) = (&plan.work, work) else {
        return;
    };
    let asked = entry_of(scenario, work, i128::from(plan.unit.nanometres()));
    let Some(asked) = asked else {
        report.broken(
            Place::of("work"),
            "unreadable-number",
            "The work of this plan is too much to be worked out.",
        );
        return;
    };
    let place = Place::of("work");
    let number = |number: &Option<i64>| number.map(Measure::from);
    let thread = |entry: &WorkEntry, which: usize| {
        let thread = entry.thread.as_ref();
        thread.map(|thread| [&thread.upper, &thread.bobbin][which].clone())
    };
    let pairs = [
        ("stitches", number(&entry.stitches), number(&asked.stitches)),
        (
            "machine_minutes",
            entry.machine_minutes.clone(),
            asked.machine_minutes.clone(),
        ),
        (
            "hands_on_minutes",
            Some(entry.hands_on_minutes.clone()),
            Some(asked.hands_on_minutes.clone()),
        ),
        ("minutes", entry.minutes.clone(), asked.minutes.clone()),
        (
            "thread_changes",
            Some(entry.thread_changes.into()),
            Some(asked.thread_changes.into()),
        ),
        ("thread/upper", thread(entry, 0), thread(&asked, 0)),
        ("thread/bobbin", thread(entry, 1), thread(&asked, 1)),
    ];
    for (name, seen, asked) in pairs {
        if close(seen.as_ref(), asked.as_ref()) {
            continue;
        }
        // What is not said has no place of its own.
        let said = if seen.is_some() {
            place.at(name)
        } else {
            place
        };
        let show = |number: Option<Measure>| {
            number.map_or("not said".to_string(), |number| number.to_string())
        };
        let (seen, asked) = (show(seen), show(asked));
        report.broken(
            said,
            "wrong-work",
            format_args!(
                "The plan's {} is {seen}; worked out anew it is {asked}.",
                name.replace(['_', '/'], " ")
            ),
        );
    }
}

/// Whether two numbers are the same within a thousandth, or both are not said.
fn close(seen: Option<&Measure>, asked: Option<&Measure>) -> bool {
    let exact = |number: Option<&Measure>| number.and_then(|number| number.exact().ok());
    match (exact(seen), exact(asked)) {
        (Some(seen), Some(asked)) => {
            let apart = |seen: Exact, asked: Exact| {
                let left = seen.numerator().checked_mul(asked.denominator())?;
                let right = asked.numerator().checked_mul(seen.denominator())?;
                let apart = left.checked_sub(right)?.checked_abs()?.checked_mul(1_000)?;
                Some(apart <= seen.denominator().checked_mul(asked.denominator())?)
            };
            apart(seen, asked).unwrap_or(false)
        }
        _ => seen == asked,
    }
}

/// The entry that a plan of this work has.
fn entry_of(scenario: &Scenario, work: &Work, nanometres: i128) -> Option<WorkEntry> {
    let minutes = |parts: i128| Measure::from_ratio(parts, PARTS_OF_A_MINUTE);
    let materials = &scenario.materials.thread;
    let of_stitch = i128::from((materials.stitch + materials.thickness).nanometres());
    let grown = Exact::new(
        materials.extra.numerator() + materials.extra.denominator(),
        materials.extra.denominator(),
    )?;
    let thread = |stitched: &Stitched| {
        let length = stitched.stitches.checked_mul(of_stitch)?;
        let upper = length.checked_mul(grown.numerator())?;
        Some(Measure::from_ratio(
            upper,
            grown.denominator().checked_mul(nanometres)?,
        ))
    };
    let thread = match &work.stitched {
        Some(stitched) => Some(thread(stitched)?),
        None => None,
    };
    let stitches = match &work.stitched {
        Some(stitched) => Some(i64::try_from(stitched.stitches).ok()?),
        None => None,
    };
    Some(WorkEntry {
        stitches,
        machine_minutes: work.stitched.map(|stitched| minutes(stitched.time)),
        hands_on_minutes: minutes(work.by_hand),
        minutes: work.in_all().map(minutes),
        thread_changes: i64::try_from(work.thread_changes).ok()?,
        thread: thread.map(|each| crate::plan::ThreadEntry {
            upper: each.clone(),
            bobbin: each,
        }),
    })
}
