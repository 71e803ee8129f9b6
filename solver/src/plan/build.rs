//! Writes a draft out as a plan: the order of runs along each strip, positions, sizes to cut.

use crate::cover::{Fit, Piece, Runs, SizeSet, Sizes, most_segments};
use crate::draft::Draft;
use crate::length::{Length, Measure};
use crate::plan::layout::lay_out;
use crate::plan::warnings::warnings;
use crate::plan::work::work;
use crate::plan::{
    CornerEntry, ObjectiveEntry, Plan, RunEntry, SegmentEntry, Status, StripEntry, UnplannedEntry,
};
use crate::scenario::Size;
use crate::strips::{End, Stage};
use crate::task::Task;

/// A run of a strip as it lies on it.
#[derive(Clone, Debug)]
pub(super) struct LaidRun<'a> {
    /// Index of its hooping.
    pub hooping: usize,
    /// What it is stitched with.
    pub piece: &'a Piece,
    /// Its segments in order along the strip: size, repeats.
    pub segments: Vec<(&'a Size, u32)>,
    /// Its stitched length.
    pub length: Length,
    /// The ends to which the next run will butt up.
    pub open: &'static [End],
    /// Where it is in the draft: run number.
    pub number: usize,
}

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
    for (strip, choice) in draft.covers.iter().enumerate() {
        if let Some(choice) = choice {
            laid[strip] = lay_runs(task, *choice, &hooping_of[strip]);
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

/// The order of a strip's runs along it. The outer run that is stitched last is at the end unless the pattern at the
/// ends says otherwise; the inner runs follow each other in the order of the work, away from the other outer run.
fn lay_runs<'a>(task: &Task<'a>, choice: (usize, usize), hooping_of: &[usize]) -> Vec<LaidRun<'a>> {
    let cover = task.cover(choice);
    let of_class = &task.covers[choice.0];
    let hooping = |run: usize| hooping_of.get(run).copied().unwrap_or(0);
    let ends = cover.ends.map(|ends| ends.repeats);
    let run = |number: usize,
               piece: usize,
               open: &'static [End],
               start: Option<Length>,
               end: Option<Length>| {
        let piece = &of_class.pieces[piece];
        LaidRun {
            hooping: hooping(number),
            piece,
            segments: segments(&of_class.sizes, piece, start, end),
            length: cover.settled.stitched(piece.sum),
            open,
            number,
        }
    };
    match &cover.runs {
        Runs::Single(piece) => {
            vec![run(
                0,
                *piece,
                &[],
                ends.map(|ends| ends[0]),
                ends.map(|ends| ends[1]),
            )]
        }
        Runs::Nothing => Vec::new(),
        Runs::Rest { inner, outer } => {
            let last = inner.len();
            let mut order: Vec<(usize, usize)> = inner.iter().copied().enumerate().collect();
            // The first to be stitched lies next to what is stitched already.
            order.sort_by_key(|(number, _)| hooping(*number));
            let inner = order
                .into_iter()
                .map(|(number, piece)| run(number, piece, &[End::Start, End::End], None, None));
            let mut runs: Vec<LaidRun<'_>> = inner.collect();
            match task.classes[choice.0].stage.butts() {
                Some(End::End) => {
                    let start = ends.map(|ends| ends[0]);
                    runs.push(run(last, *outer, &[End::End], start, None));
                    runs.reverse();
                }
                _ => {
                    let end = ends.map(|ends| ends[1]);
                    runs.push(run(last, *outer, &[End::Start], None, end));
                }
            }
            runs
        }
        Runs::Several { outer, inner } => {
            let last = inner.len() + 1;
            let mut inner: Vec<(usize, usize)> = inner
                .iter()
                .enumerate()
                .map(|(index, piece)| (index + 1, *piece))
                .collect();
            inner.sort_by_key(|(number, _)| hooping(*number));
            if hooping(0) > hooping(last) {
                inner.reverse();
            }
            let mut runs = vec![run(
                0,
                outer[0],
                &[End::End],
                ends.map(|ends| ends[0]),
                None,
            )];
            for (number, piece) in inner {
                runs.push(run(number, piece, &[End::Start, End::End], None, None));
            }
            runs.push(run(
                last,
                outer[1],
                &[End::Start],
                None,
                ends.map(|ends| ends[1]),
            ));
            runs
        }
    }
}

/// Splits a piece into segments, with a segment of the wanted repeat at the start and at the end.
fn segments<'a>(
    sizes: &Sizes<'a>,
    piece: &Piece,
    start: Option<Length>,
    end: Option<Length>,
) -> Vec<(&'a Size, u32)> {
    let mut left: Vec<(usize, u32)> = piece.repeats.clone();
    let mut take_one = |wanted: Option<Length>, both: bool| {
        let wanted = wanted?;
        let at = left
            .iter()
            .position(|(bit, count)| sizes.list[*bit].1.repeat == wanted && *count > 0)?;
        let (bit, count) = left[at];
        let size = sizes.list[bit].1;
        // As much as one segment holds, but leaving a repeat for the other end where that needs one too.
        let keep =
            u32::from(both && most_segments(sizes, (bit, count)) > 1 && count <= size.repeats);
        let taken = if size.stop_early {
            size.repeats.min(count - keep)
        } else {
            size.repeats
        };
        left[at].1 -= taken;
        Some((size, taken))
    };
    let several = piece.repeats.len() > 1;
    let first = take_one(start.filter(|_| several), start == end);
    let last = take_one(end.filter(|_| several), false);
    let mut segments: Vec<(&Size, u32)> = first.into_iter().collect();
    for (bit, mut count) in left {
        let size = sizes.list[bit].1;
        while count > 0 {
            let taken = size.repeats.min(count);
            segments.push((size, taken));
            count -= taken;
        }
    }
    segments.extend(last);
    segments
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
        if let Stage::Done { .. } = stage {
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
