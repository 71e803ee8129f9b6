//! What the progress says of each strip of the plan, and whether that can be so.

use std::collections::{BTreeMap, BTreeSet};

use crate::fault::{Fault, FaultCode, FaultList};
use crate::length::{Length, Unit};
use crate::plan::{Plan, StripEntry};
use crate::replan::Asked;
use crate::replan::document::Warning;
use crate::replan::doubts::{
    check_equipment, check_gaps, check_measure, far_off, far_off_strip, half_done,
};
use crate::replan::progress::{Done, Outcome};
use crate::strips::{self, Stage, Strip};

/// What a measure may be off a planned length and still count as equal to it: what a plan prints is that exact.
pub(super) const TOLERANCE: Length = Length::from_nanometres(5_000);

/// A strip of the plan and how far it is.
pub(super) struct StripWork<'a> {
    /// The strip as the scenario has it: whole, or what is left of one.
    pub strip: Strip,
    /// The strip of the quilt to which it belongs.
    pub whole: String,
    /// How the plan stitches it.
    pub entry: &'a StripEntry,
    /// For each of its runs what it measures; `None` where it is not stitched.
    pub runs: Vec<Option<Measured>>,
    /// Whether it has to be cut anew, or was.
    pub restarts: bool,
}

/// A stitched run.
#[derive(Clone, Copy, Debug)]
pub(super) struct Measured {
    /// Its length.
    pub length: Length,
    /// How much longer it is than planned; negative where it is shorter.
    pub drift: Length,
}

/// All strips of the plan, in its order, and what else was told.
pub(super) struct Work<'a> {
    pub strips: Vec<StripWork<'a>>,
    /// New lengths: strip as it was named, length.
    pub lengths: BTreeMap<String, Length>,
    /// Strips of the quilt that are cut anew although no plan has them.
    pub recut: BTreeSet<String>,
    /// Whether nothing went wrong and everything measures what was planned.
    pub all_right: bool,
    /// What is told and hard to believe.
    pub doubts: Vec<Warning>,
}

impl<'a> Work<'a> {
    /// What the progress comes to.
    ///
    /// # Errors
    /// Every place of the progress that does not fit the scenario and the plan.
    pub fn of(asked: &'a Asked) -> Result<Work<'a>, Vec<Fault>> {
        let (scenario, plan, progress) = (&asked.scenario, &asked.plan, &asked.progress);
        let mut faults = FaultList::default();
        let top = strips::of(scenario);
        let mut known: BTreeMap<&str, (&Strip, String)> = BTreeMap::new();
        for strip in &top.strips {
            let whole = match strip.stage {
                Stage::Whole => strip.id.clone(),
                Stage::Rest { of, .. } => scenario.begun[of].strip.clone(),
                Stage::Done { .. } => continue,
            };
            known.insert(&strip.id, (strip, whole));
        }
        let mut strips: Vec<StripWork<'a>> = Vec::new();
        for entry in &plan.strips {
            if let Some((strip, whole)) = known.get(entry.id.as_str()) {
                strips.push(StripWork {
                    strip: (*strip).clone(),
                    whole: whole.clone(),
                    entry,
                    runs: vec![None; entry.runs.len()],
                    restarts: false,
                });
            }
        }
        let mut work = Work {
            strips,
            lengths: BTreeMap::new(),
            recut: BTreeSet::new(),
            all_right: progress.broken_hoops.is_empty() && progress.lost_sizes.is_empty(),
            doubts: Vec::new(),
        };
        let place: BTreeMap<&str, usize> = plan
            .strips
            .iter()
            .enumerate()
            .map(|(place, entry)| (entry.id.as_str(), place))
            .collect();
        work.stitch(asked, &place, &mut faults);
        work.hear_of_strips(asked, &mut faults);
        check_equipment(asked, &mut faults);
        // What is cut anew has nothing that could have a gap.
        let again: BTreeSet<String> = work.restarting().map(|of| of.whole.clone()).collect();
        for of in &mut work.strips {
            of.restarts = again.contains(&of.whole) || work.recut.contains(&of.whole);
        }
        for of in work.strips.iter().filter(|of| !of.restarts) {
            check_gaps(of, progress, &mut faults);
        }
        let restarts = work.restarting().next().is_some() || !work.recut.is_empty();
        let drifts = work.strips.iter().flat_map(|of| of.runs.iter().flatten());
        let drifts = drifts.into_iter().any(|run| run.drift != Length::ZERO);
        work.all_right &= !restarts && !drifts && work.lengths.is_empty();
        let faults = faults.into_faults();
        if faults.is_empty() {
            Ok(work)
        } else {
            Err(faults)
        }
    }

    fn restarting(&self) -> impl Iterator<Item = &StripWork<'a>> {
        self.strips.iter().filter(|of| of.restarts)
    }

    /// Notes what is stitched.
    fn stitch(&mut self, asked: &Asked, place: &BTreeMap<&str, usize>, faults: &mut FaultList) {
        let (plan, progress) = (&asked.plan, &asked.progress);
        let count = plan.hoopings.len() as u64;
        let out_of_range = |faults: &mut FaultList, pointer: String, number: u64| {
            faults.add(
                pointer,
                FaultCode::OutOfRange,
                format!("There is no hooping {number}."),
                format!("The plan has {count} hoopings, numbered from 1."),
            );
        };
        let mut done: BTreeSet<u64> = BTreeSet::new();
        match &progress.done {
            Done::UpTo(last) if *last > count => out_of_range(faults, "/done".into(), *last),
            Done::UpTo(last) => done.extend(1..=*last),
            Done::These(numbers) => {
                for (at, number) in numbers.iter().enumerate() {
                    if *number > count {
                        out_of_range(faults, format!("/done/{at}"), *number);
                    }
                    done.insert(*number);
                }
            }
        }
        let lengths = planned_lengths(plan, asked.scenario.unit);
        let planned = |id: &str, run: usize| lengths.get(&(id, run)).copied();
        for of in &mut self.strips {
            for (run, entry) in of.entry.runs.iter().enumerate() {
                if done.contains(&u64::from(entry.hooping)) {
                    of.runs[run] = planned(&of.entry.id, run).map(as_planned);
                }
            }
        }
        let mut seen: BTreeMap<(usize, usize), &str> = BTreeMap::new();
        // Hoopings that are not done, with runs that are stitched.
        let mut early: BTreeSet<u32> = BTreeSet::new();
        for report in &progress.runs {
            let Some(strip) = place.get(report.strip.as_str()).copied() else {
                faults.add(
                    format!("{}/strip", report.pointer),
                    FaultCode::UnknownId,
                    format!("The plan has no strip {:?}.", report.strip),
                    "Name strips as the plan does.",
                );
                continue;
            };
            let of = &mut self.strips[strip];
            let run = usize::try_from(report.run - 1).unwrap_or(usize::MAX);
            if run >= of.runs.len() {
                faults.add(
                    format!("{}/run", report.pointer),
                    FaultCode::OutOfRange,
                    format!("The strip {} has no run {}.", report.strip, report.run),
                    format!("It has {} in the plan, numbered from 1.", of.runs.len()),
                );
                continue;
            }
            if let Some(first) = seen.insert((strip, run), &report.pointer) {
                faults.add(
                    report.pointer.clone(),
                    FaultCode::DuplicateId,
                    format!("Of this run {first} says something already."),
                    "Say all of a run in one entry.",
                );
            }
            match report.outcome {
                Outcome::Ruined => of.restarts = true,
                Outcome::NotStitched => {
                    self.all_right &= of.runs[run].is_none();
                    of.runs[run] = None;
                }
                Outcome::Stitched => {
                    let planned = planned(&of.entry.id, run).unwrap_or_default();
                    let length = report.measured.unwrap_or(planned);
                    check_measure(report, planned, length, asked.scenario.unit, faults);
                    (self.doubts).extend(far_off(report, planned, length, asked.scenario.unit));
                    let hooping = of.entry.runs[run].hooping;
                    if !done.contains(&u64::from(hooping)) {
                        early.insert(hooping);
                    }
                    let off = length - planned;
                    let right = off <= TOLERANCE && off >= -TOLERANCE;
                    of.runs[run] = Some(if right {
                        as_planned(planned)
                    } else {
                        Measured { length, drift: off }
                    });
                }
            }
        }
        for hooping in early {
            let doubt = half_done(hooping, &self.left_in(hooping));
            self.doubts.extend(doubt);
        }
    }

    /// The runs of a hooping that are not stitched.
    fn left_in(&self, hooping: u32) -> Vec<String> {
        let whole = self.strips.iter().filter(|of| !of.restarts);
        let left = whole.flat_map(|of| {
            let runs = of.entry.runs.iter().zip(&of.runs).enumerate();
            let left =
                runs.filter(move |(_, (entry, run))| entry.hooping == hooping && run.is_none());
            left.map(|(number, _)| format!("run {} of the strip {}", number + 1, of.entry.id))
        });
        left.collect()
    }

    /// Notes what is said of strips.
    fn hear_of_strips(&mut self, asked: &Asked, faults: &mut FaultList) {
        let whole = strips::whole(&asked.scenario).strips;
        let whole: BTreeMap<&str, Length> = whole
            .iter()
            .map(|strip| (strip.id.as_str(), strip.length))
            .collect();
        let mut seen: BTreeMap<&str, &str> = BTreeMap::new();
        for report in &asked.progress.strips {
            let id = report.strip.as_str();
            let part = self.strips.iter().find(|of| of.strip.id == id);
            let planned = part.map(|of| of.strip.length);
            let planned = planned.or_else(|| whole.get(id).copied());
            let belongs = part.map(|of| of.whole.clone());
            let known = || whole.contains_key(id).then(|| id.to_string());
            let Some(of) = belongs.or_else(known) else {
                faults.add(
                    format!("{}/strip", report.pointer),
                    FaultCode::UnknownId,
                    format!("There is no stitched strip {id:?}."),
                    "Name strips as the plan or the quilt does.",
                );
                continue;
            };
            if let Some(first) = seen.insert(id, &report.pointer) {
                faults.add(
                    report.pointer.clone(),
                    FaultCode::DuplicateId,
                    format!("Of this strip {first} says something already."),
                    "Say all of a strip in one entry.",
                );
            }
            if report.recut && report.length.is_some() && of != id {
                faults.add(
                    report.pointer.clone(),
                    FaultCode::Conflict,
                    format!("A strip that is cut anew is whole, and {id} is a part."),
                    format!("Say this of {of}."),
                );
            }
            if report.recut {
                self.recut.insert(of);
            }
            if let Some(length) = report.length {
                let unit = asked.scenario.unit;
                let doubt = planned.and_then(|of| far_off_strip(report, of, length, unit));
                self.doubts.extend(doubt);
                self.lengths.insert(id.to_string(), length);
            }
        }
    }
}

fn as_planned(length: Length) -> Measured {
    Measured {
        length,
        drift: Length::ZERO,
    }
}

/// The stitched length of each run: by strip and run, from 0.
fn planned_lengths(plan: &Plan, unit: Unit) -> BTreeMap<(&str, usize), Length> {
    let placements = plan.hoopings.iter().flat_map(|hooping| &hooping.placements);
    let length = |placement: &'_ crate::plan::Placement| placement.length.length(unit);
    placements
        .filter_map(|placement| {
            let run = usize::try_from(placement.run).ok()?.checked_sub(1)?;
            Some(((placement.strip.as_str(), run), length(placement)?))
        })
        .collect()
}
