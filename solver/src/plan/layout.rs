//! Where each run lies in its hooping: lanes packed from the field's corner, each run tight against the one before.

use crate::draft::Draft;
use crate::hooping::arrange::arrange;
use crate::length::{Length, Measure};
use crate::plan::laid::LaidRun;
use crate::plan::{HoopingEntry, Placement};
use crate::strips::End;
use crate::task::Task;

/// A lane whose runs are in order along the field.
struct Lane<'a> {
    /// Strip, index along the strip, run, and where its stitching starts, doubled.
    runs: Vec<(usize, usize, &'a LaidRun<'a>, i64)>,
    width: Length,
    margin_across: Length,
}

/// The entries of all hoopings.
pub(super) fn lay_out(
    task: &Task<'_>,
    draft: &Draft,
    laid: &[Vec<LaidRun<'_>>],
) -> Vec<HoopingEntry> {
    let unit = task.scenario.unit;
    let stabilizer = task.scenario.materials.stabilizer;
    let mut entries = Vec::new();
    for (index, hooping) in draft.hoopings.iter().enumerate() {
        let hoop = &task.scenario.hoops[hooping.hoop];
        let lanes: Vec<Lane<'_>> = hooping
            .lanes
            .iter()
            .map(|lane| lay_lane(task, lane, laid))
            .collect();
        entries.push(HoopingEntry {
            number: u32::try_from(index + 1).unwrap_or(u32::MAX),
            hoop: hoop.id.clone(),
            turned: hooping.turned,
            stabilizer: stabilizer.piece(hoop).map(|side| side.in_unit(unit)),
            placements: place_lanes(task, &lanes),
        });
    }
    entries
}

fn lay_lane<'a>(
    task: &Task<'_>,
    runs: &[(usize, usize)],
    laid: &'a [Vec<LaidRun<'a>>],
) -> Lane<'a> {
    let mut found: Vec<(usize, usize, &LaidRun<'_>)> = Vec::with_capacity(runs.len());
    for (strip, number) in runs {
        let place = laid[*strip].iter().position(|run| run.number == *number);
        found.extend(place.map(|place| (*strip, place, &laid[*strip][place])));
    }
    let lengths: Vec<Length> = found.iter().map(|(_, _, run)| run.length).collect();
    let margins: Vec<Length> = found
        .iter()
        .map(|(_, _, run)| run.piece.margin_along)
        .collect();
    let open: Vec<usize> = (0..found.len())
        .filter(|index| !found[*index].2.open.is_empty())
        .collect();
    let between = task.scenario.allowances.between();
    let order = arrange(&lengths, &margins, between, &open).order;
    let mut placed = Vec::with_capacity(found.len());
    let mut at = 0;
    let mut before: Option<Length> = None;
    for index in order {
        let margin = margins[index];
        at += match before {
            None => margin,
            Some(before) => (before + margin).max(between * 2),
        }
        .nanometres();
        let (strip, place, run) = found[index];
        placed.push((strip, place, run, at));
        at += 2 * lengths[index].nanometres();
        before = Some(margin);
    }
    let widest = found
        .iter()
        .map(|(strip, _, _)| task.top.strips[*strip].width)
        .max();
    let margin = found
        .iter()
        .map(|(_, _, run)| run.piece.margin_across)
        .max();
    Lane {
        runs: placed,
        width: widest.unwrap_or_default(),
        margin_across: margin.unwrap_or_default(),
    }
}

fn place_lanes(task: &Task<'_>, lanes: &[Lane<'_>]) -> Vec<Placement> {
    let unit = task.scenario.unit;
    let doubled = |position: i64| {
        Measure::from_ratio(i128::from(position), 2 * i128::from(unit.nanometres()))
    };
    let between = task.scenario.allowances.between();
    let widths: Vec<Length> = lanes.iter().map(|lane| lane.width).collect();
    let margins: Vec<Length> = lanes.iter().map(|lane| lane.margin_across).collect();
    let mut placements = Vec::with_capacity(lanes.iter().map(|lane| lane.runs.len()).sum());
    let mut at = 0;
    let mut before: Option<Length> = None;
    for (number, index) in arrange(&widths, &margins, between, &[])
        .order
        .into_iter()
        .enumerate()
    {
        let lane = &lanes[index];
        at += match before {
            None => lane.margin_across,
            Some(before) => (before + lane.margin_across).max(between * 2),
        }
        .nanometres();
        let centre = at + lane.width.nanometres();
        at += 2 * lane.width.nanometres();
        before = Some(lane.margin_across);
        for (place, (strip, run_index, run, along)) in lane.runs.iter().enumerate() {
            // An open end faces out of the hoop: at the low end of a lane that is the strip's start, so a first run
            // that is open at its end alone points the other way; likewise the last run.
            let reversed = match run.open {
                [End::End] => place == 0 && lane.runs.len() > 1,
                [End::Start] => place > 0,
                _ => false,
            };
            placements.push(Placement {
                strip: task.top.strips[*strip].id.clone(),
                run: u32::try_from(run_index + 1).unwrap_or(u32::MAX),
                lane: u32::try_from(number + 1).unwrap_or(u32::MAX),
                along: doubled(*along),
                across: doubled(centre),
                length: run.length.in_unit(unit),
                width: task.top.strips[*strip].width.in_unit(unit),
                open: run.open.to_vec(),
                reversed,
            });
        }
    }
    placements
}
