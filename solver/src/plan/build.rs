//! Writes a draft out as a plan: the order of runs along each strip, positions, sizes to cut.

use crate::cover::{Fit, SizeSet};
use crate::draft::Draft;
use crate::length::{Length, Measure};
use crate::plan::laid::{LaidRun, along, lay_runs};
use crate::plan::layout::lay_out;
use crate::plan::warnings::warnings;
use crate::plan::work::work;
use crate::plan::{
    CornerEntry, ObjectiveEntry, Plan, RunEntry, SegmentEntry, Status, StripEntry, UnplannedEntry,
};
use crate::strips::{End, Stage};
use crate::task::Task;

/// The plan that a draft describes.
pub fn write(
    task: &Task<'_>,
    draft: &Draft,
    objective: Vec<ObjectiveEntry>,
    unplanned: Vec<UnplannedEntry>,
) -> Plan {
    let unit = task.scenario.unit;
    let hooping_of = hoopings_of_runs(task, draft);
    let mut laid: Vec<Vec<LaidRun<'_>>> = vec![Vec::new(); task.top.strips.len()];
    let mut strips = Vec::with_capacity(task.top.strips.len());
    let along = along(task, draft, &hooping_of);
    for (strip, choice) in draft.covers.iter().enumerate() {
        if let Some(choice) = choice {
            laid[strip] = lay_runs(task, *choice, &hooping_of[strip], along.get(&strip));
            // A strip that is done has nothing more to be told.
            if !laid[strip].is_empty() {
                strips.push(strip_entry(task, strip, *choice, &laid[strip]));
            }
        }
    }
    let status = if objective.iter().all(|entry| entry.proven) {
        Status::Optimal
    } else {
        Status::Feasible
    };
    let hoops: Vec<usize> = draft.hoopings.iter().map(|hooping| hooping.hoop).collect();
    Plan {
        format: 1,
        scenario: task.scenario.name.clone(),
        unit,
        status,
        objective,
        strips,
        hoopings: lay_out(task, draft, &laid),
        corners: corners(task, draft, &laid),
        work: Some(work(task, &hoops, &laid)),
        unplanned,
        warnings: warnings(task, draft, &laid),
        explanation: None,
        cutting: None,
        materials: None,
        steps: None,
    }
}

/// For each strip the hooping of each of its runs, by run number.
fn hoopings_of_runs(task: &Task<'_>, draft: &Draft) -> Vec<Vec<usize>> {
    let runs = |choice: &Option<(usize, usize)>| choice.map_or(0, |of| task.cover(of).count());
    let mut found: Vec<Vec<usize>> = draft
        .covers
        .iter()
        .map(|choice| vec![0; runs(choice)])
        .collect();
    for (index, hooping) in draft.hoopings.iter().enumerate() {
        for (strip, run) in hooping.lanes.iter().flatten() {
            if let Some(place) = found[*strip].get_mut(*run) {
                *place = index;
            }
        }
    }
    found
}

fn strip_entry(
    task: &Task<'_>,
    strip: usize,
    choice: (usize, usize),
    runs: &[LaidRun<'_>],
) -> StripEntry {
    let (scenario, strip) = (task.scenario, &task.top.strips[strip]);
    let unit = scenario.unit;
    let settled = task.cover(choice).settled;
    let allowances = &scenario.allowances;
    // Positions are doubled on the way, so that half an overhang stays whole.
    let past = strip
        .stage
        .overhang_doubled(scenario.rules.align, settled.overhang(), End::Start);
    let mut at = -past.nanometres();
    let doubled = |position: i64| {
        Measure::from_ratio(i128::from(position), 2 * i128::from(unit.nanometres()))
    };
    let mut entries = Vec::with_capacity(runs.len());
    for run in runs {
        let from = at;
        at += 2 * run.length.nanometres();
        entries.push(RunEntry {
            hooping: u32::try_from(run.hooping + 1).unwrap_or(u32::MAX),
            from: doubled(from),
            to: doubled(at),
            segments: run
                .segments
                .iter()
                .map(|(size, repeats)| SegmentEntry {
                    size: size.id.clone(),
                    repeats: *repeats,
                })
                .collect(),
        });
    }
    let stitched = strip.length + settled.overhang();
    // The rest of a strip has a seam at one end only.
    let ends = if strip.stage == Stage::Whole { 2 } else { 1 };
    let sized = |length: Length, each_side: Length| {
        [length + each_side * ends, strip.width + each_side * 2].map(|side| side.in_unit(unit))
    };
    StripEntry {
        id: strip.id.clone(),
        length: strip.length.in_unit(unit),
        width: strip.width.in_unit(unit),
        design: scenario.designs[strip.design].id.clone(),
        scale: if settled.fit != Fit::Over {
            Measure::from_ratio(
                i128::from(settled.length.nanometres()),
                i128::from(settled.sum.nanometres()),
            )
        } else {
            Measure::whole(1)
        },
        overhang: settled.overhang().in_unit(unit),
        trimmed: sized(strip.length, allowances.seam),
        cut: [
            allowances.before_take_up(stitched + allowances.reach() * ends),
            strip.width + allowances.reach() * 2,
        ]
        .map(|side| side.in_unit(unit)),
        runs: entries,
    }
}

fn corners(task: &Task<'_>, draft: &Draft, laid: &[Vec<LaidRun<'_>>]) -> Vec<CornerEntry> {
    let phase = |(strip, end): (usize, End)| {
        let cover = task.cover(draft.covers[strip]?);
        let stage = task.top.strips[strip].stage;
        if stage.is_done() {
            return Some(cover.ends?.phases[usize::from(end == End::End)]);
        }
        let segment = match end {
            End::Start => laid[strip].first()?.segments.first()?,
            End::End => laid[strip].last()?.segments.last()?,
        };
        let align = task.scenario.rules.align;
        Some(cover.settled.phase(segment.0.repeat, stage, align, end))
    };
    let entry = |corner: &crate::strips::Corner| {
        let mismatch = phase(corner.ends[0])?.mismatch(&phase(corner.ends[1])?);
        Some(CornerEntry {
            quilt: task.top.strips[corner.ends[0].0].quilt().map(str::to_owned),
            border: u32::try_from(corner.border).unwrap_or(u32::MAX),
            corner: corner.name.into(),
            strips: corner
                .ends
                .map(|(strip, _)| task.top.strips[strip].id.clone()),
            mismatch: mismatch.in_unit(task.scenario.unit),
        })
    };
    task.top.corners.iter().filter_map(entry).collect()
}

/// The sizes of a strip's runs taken together.
pub(super) fn used_sizes(runs: &[LaidRun<'_>]) -> SizeSet {
    runs.iter().fold(0, |set, run| set | run.piece.sizes)
}
