//! What cannot be so, whatever the progress says.

use std::collections::BTreeSet;

use crate::exact::round_half_up;
use crate::fault::{FaultCode, FaultList};
use crate::length::{Length, Unit};
use crate::replan::Asked;
use crate::replan::document::Warning;
use crate::replan::done::StripWork;
use crate::replan::progress::{Progress, RunReport, StripReport};
use crate::replan::words::show;
use crate::strips;

/// No cloth gives so much: what measures less than half or more than twice of what was planned is told in another unit, or of another
/// run.
pub(super) fn check_measure(
    report: &RunReport,
    planned: Length,
    length: Length,
    unit: Unit,
    faults: &mut FaultList,
) {
    let much = if length > planned + planned {
        "more than twice"
    } else if length + length < planned {
        "less than half"
    } else {
        return;
    };
    faults.add(
        format!("{}/measured", report.pointer),
        FaultCode::OutOfRange,
        format!(
            "Run {} of the strip {} is planned {} long, and {} is {much} of that.",
            report.run,
            report.strip,
            show(planned, unit),
            show(length, unit)
        ),
        "Give what this run measures; \"unit\" tells the unit of the progress where it is not the scenario's.",
    );
}

/// Cloth gives as it is stitched, a few hundredths of its length; past this part of it it is more likely that something else was
/// measured. (Of our own choosing.)
const MUCH: i64 = 10;

/// What is told of the length of a stitched run and hard to believe.
pub(super) fn far_off(
    report: &RunReport,
    planned: Length,
    length: Length,
    unit: Unit,
) -> Option<Warning> {
    let per_cent = far_per_cent(length, planned)?;
    let sentence = format!(
        "Run {} of the strip {} is planned {} long, and {} is {per_cent} % of that: cloth hardly gives so much. Measure it again before \
         the next one is stitched.",
        report.run,
        report.strip,
        show(planned, unit),
        show(length, unit)
    );
    Some(doubt(Some(&report.strip), sentence))
}

/// The same of a strip's length as it measures now.
pub(super) fn far_off_strip(
    report: &StripReport,
    planned: Length,
    length: Length,
    unit: Unit,
) -> Option<Warning> {
    let per_cent = far_per_cent(length, planned)?;
    let sentence = format!(
        "The strip {} was to be {} long, and {} is {per_cent} % of that. Measure it again before anything is cut or stitched.",
        report.strip,
        show(planned, unit),
        show(length, unit)
    );
    Some(doubt(Some(&report.strip), sentence))
}

/// What a length is of the planned one in per cent, where it is far off.
fn far_per_cent(length: Length, planned: Length) -> Option<i128> {
    let off = (length - planned).nanometres().abs();
    let per_cent = i128::from(length.nanometres()) * 100;
    (off * MUCH > planned.nanometres())
        .then(|| round_half_up(per_cent, i128::from(planned.nanometres().max(1))))
}

/// A warning that is not about a seam line.
fn doubt(strip: Option<&str>, sentence: String) -> Warning {
    Warning {
        strip: strip.map(str::to_string),
        by: None,
        sentence,
    }
}

/// A hooping that is not told as done though runs of it are stitched, while others, `left` of it, are not: it may have been forgotten.
pub(super) fn half_done(hooping: u32, left: &[String]) -> Option<Warning> {
    let (first, others) = left.split_first()?;
    let taken = match others.len() {
        0 => format!("{first} is taken as still to be stitched"),
        count => format!("{first} and {count} more of it are taken as still to be stitched"),
    };
    let sentence = format!(
        "Hooping {hooping} is not told as done, though a run of it is told as stitched: {taken}."
    );
    Some(doubt(None, sentence))
}

/// What is stitched of a strip is one stretch, and of what is left of one it begins at what was stitched before.
pub(super) fn check_gaps(of: &StripWork<'_>, progress: &Progress, faults: &mut FaultList) {
    let stitched: Vec<bool> = of.runs.iter().map(Option::is_some).collect();
    let (Some(first), Some(last)) = (
        stitched.iter().position(|run| *run),
        stitched.iter().rposition(|run| *run),
    ) else {
        return;
    };
    let from = match of.strip.stage.butts() {
        Some(strips::End::Start) => 0,
        _ => first,
    };
    let to = match of.strip.stage.butts() {
        Some(strips::End::End) => stitched.len() - 1,
        _ => last,
    };
    let Some(gap) = (from..=to).find(|run| !stitched[*run]) else {
        return;
    };
    let about = progress
        .runs
        .iter()
        .find(|report| report.strip == of.entry.id);
    faults.add(
        about.map_or_else(|| "/done".to_string(), |report| report.pointer.clone()),
        FaultCode::Conflict,
        format!(
            "Run {} of the strip {} is not stitched, although what lies beyond it is; a strip grows without gaps.",
            gap + 1,
            of.entry.id
        ),
        "Say of every run that is stitched that it is; or, where a gap was really left, that the strip is cut anew.",
    );
}

/// Hoops and sizes that are gone have to be there, and some have to be left.
pub(super) fn check_equipment(asked: &Asked, faults: &mut FaultList) {
    let (scenario, progress) = (&asked.scenario, &asked.progress);
    let broken: BTreeSet<&str> = progress
        .broken_hoops
        .iter()
        .map(|(hoop, _)| hoop.as_str())
        .collect();
    for (hoop, pointer) in &progress.broken_hoops {
        if !scenario.hoops.iter().any(|owned| owned.id == *hoop) {
            faults.add(
                pointer.clone(),
                FaultCode::UnknownId,
                format!("There is no hoop {hoop:?}."),
                "Name hoops of the scenario.",
            );
        }
    }
    let is_broken = |hoop: &crate::scenario::Hoop| broken.contains(hoop.id.as_str());
    if scenario.hoops.iter().all(is_broken) {
        faults.add(
            "/broken_hoops",
            FaultCode::Conflict,
            "That is every hoop of the scenario.",
            "Add the one that you go on with to the scenario's hoops.",
        );
    }
    let lost: BTreeSet<(&str, &str)> = progress
        .lost_sizes
        .iter()
        .map(|(design, size, _)| (design.as_str(), size.as_str()))
        .collect();
    for (design, size, pointer) in &progress.lost_sizes {
        let of = scenario.designs.iter().find(|of| of.id == *design);
        if !of.is_some_and(|of| of.sizes.iter().any(|known| known.id == *size)) {
            faults.add(
                pointer.clone(),
                FaultCode::UnknownId,
                format!("There is no size {size:?} of a design {design:?}."),
                "Name designs and sizes of the scenario.",
            );
        }
    }
    for design in &scenario.designs {
        let id = design.id.as_str();
        if design
            .sizes
            .iter()
            .all(|size| lost.contains(&(id, size.id.as_str())))
        {
            faults.add(
                "/lost_sizes",
                FaultCode::Conflict,
                format!("That is every size of the design {id}."),
                "Add the one that you go on with to the scenario's sizes.",
            );
        }
    }
}
