//! What cannot be so, whatever the progress says.

use std::collections::BTreeSet;

use crate::fault::{FaultCode, FaultList};
use crate::length::{Length, Unit};
use crate::replan::Asked;
use crate::replan::done::StripWork;
use crate::replan::progress::{Progress, RunReport};
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
