//! What does not come out, and what can be done, in sentences.

use std::cell::LazyCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::length::{Length, Measure, Unit};
use crate::plan::{Plan, StripEntry, by_id};
use crate::replan::Asked;
use crate::replan::document::Warning;
use crate::replan::done::TOLERANCE;
use crate::replan::keep::Remains;
use crate::replan::stretch::{Fate, Missed, Note};
use crate::replan::words::{show, to_write};
use crate::scenario::Scenario;
use crate::strips::{self, End, RESTS};

/// What does not come out, and what can be done.
pub(super) fn warnings(
    asked: &Asked,
    fates: &[Fate],
    remains: &Remains,
    scenario: &Scenario,
    plan: &Plan,
) -> Vec<Warning> {
    let unit = asked.scenario.unit;
    let mut warnings = Vec::new();
    for fate in fates {
        for note in &fate.notes {
            warnings.push(missed(&fate.id, note, unit));
        }
    }
    let old = by_id(&remains.kept.strips);
    let left: BTreeMap<String, strips::Strip> = strips::of(scenario)
        .strips
        .into_iter()
        .filter(|strip| strip.stage.butts().is_some())
        .map(|strip| (strip.id.clone(), strip))
        .collect();
    // Most answers have no drift to advise on.
    let lengths = LazyCell::new(|| lengths(asked));
    for entry in &plan.strips {
        let (Some(strip), Some(before)) = (left.get(&entry.id), old.get(entry.id.as_str())) else {
            continue;
        };
        let overhang = entry.overhang.length(unit).unwrap_or_default();
        let planned = planned_past(before, unit, strip);
        if overhang <= planned + TOLERANCE {
            continue;
        }
        // What was left of the strip in the old plan.
        let as_planned = stitched(before, unit) - planned;
        let off = strip.length - as_planned;
        let past = show(overhang, unit);
        let sentence = if Length::from_nanometres(off.nanometres().abs()) <= TOLERANCE {
            format!(
                "Planned anew with what is left of hoops and sizes, the strip {} runs {past} past its seam line, which its fabric was not cut \
                 for: piece it there, or stitch a new strip.",
                entry.id
            )
        } else {
            let how = if off > Length::ZERO {
                format!(
                    "The runs that were planned are {} too short: you can ease that much in, or leave it between the runs.",
                    show(off, unit)
                )
            } else {
                format!("The next run can be overlapped by {}.", show(-off, unit))
            };
            let keep = match for_rest(&entry.id, off, &lengths, &left) {
                Some((strip, length)) => format!(
                    " To keep them so, ask again with the \"length\" {} of the strip {strip} in the same progress.",
                    to_write(length, unit)
                ),
                None => String::new(),
            };
            format!(
                "No scale that the sizes allow takes up the drift of the strip {}: planned anew, it runs {past} past its seam line. \
                 {how}{keep} Or stitch a new strip.",
                entry.id
            )
        };
        warnings.push(Warning {
            strip: Some(entry.id.clone()),
            by: Some(overhang.in_unit(unit)),
            sentence,
        });
    }
    let before = &asked.plan.unplanned;
    let known = |strip: &String| before.iter().any(|old| old.strip == *strip);
    for entry in plan.unplanned.iter().filter(|entry| !known(&entry.strip)) {
        if let Some(strip) = left.get(&entry.strip) {
            warnings.push(Warning {
                strip: Some(entry.strip.clone()),
                by: None,
                sentence: format!(
                    "The {} that are left of the strip {} cannot be stitched: {} A part of the stretch can be overlapped or eased, which a \
                     new \"length\" of it tells; or stitch a new strip.",
                    show(strip.length, unit),
                    entry.strip,
                    entry.reason
                ),
            });
        } else {
            warnings.push(Warning {
                strip: Some(entry.strip.clone()),
                by: None,
                sentence: format!(
                    "The strip {} cannot be stitched any more: {}",
                    entry.strip, entry.reason
                ),
            });
        }
    }
    warnings
}

/// The finished lengths of the strips of the plan: told anew, or the scenario's.
fn lengths(asked: &Asked) -> BTreeMap<String, Length> {
    let mut lengths: BTreeMap<String, Length> = BTreeMap::new();
    for strip in strips::of(&asked.scenario).strips {
        lengths.insert(strip.id, strip.length);
    }
    let planned: BTreeSet<&str> = (asked.plan.strips.iter())
        .map(|entry| entry.id.as_str())
        .collect();
    lengths.retain(|id, _| planned.contains(id.as_str()));
    for report in &asked.progress.strips {
        if let (Some(told), Some(length)) = (lengths.get_mut(&report.strip), report.length) {
            *told = length;
        }
    }
    lengths
}

/// The strip of the plan that a rest is of, and the length that it has to be told to have for the rest to be `off` shorter, and as much
/// its other one: what is stitched in the middle of a strip gives way to both sides.
fn for_rest(
    rest: &str,
    off: Length,
    lengths: &BTreeMap<String, Length>,
    left: &BTreeMap<String, strips::Strip>,
) -> Option<(String, Length)> {
    if let Some(length) = lengths.get(rest) {
        return Some((rest.to_string(), *length - off));
    }
    let whole = RESTS.iter().find_map(|end| rest.strip_suffix(end))?;
    let rests = RESTS.iter().map(|end| format!("{whole}{end}"));
    let rests = rests.filter(|rest| left.contains_key(rest)).count() as i64;
    Some((whole.to_string(), *lengths.get(whole)? - off * rests))
}

/// The planned length of the runs that are left.
fn stitched(entry: &StripEntry, unit: Unit) -> Length {
    let position = |measure: &Measure| measure.length(unit).unwrap_or_default();
    match (entry.runs.first(), entry.runs.last()) {
        (Some(first), Some(last)) => position(&last.to) - position(&first.from),
        _ => Length::ZERO,
    }
}

/// How far the old plan runs past the seam line at the end that is left.
fn planned_past(entry: &StripEntry, unit: Unit, strip: &strips::Strip) -> Length {
    let position = |measure: &Measure| measure.length(unit).unwrap_or_default();
    let length = entry.length.length(unit).unwrap_or_default();
    let past = match strip.stage.butts() {
        Some(End::End) => entry.runs.first().map(|run| -position(&run.from)),
        _ => entry.runs.last().map(|run| position(&run.to) - length),
    };
    past.unwrap_or_default().max(Length::ZERO)
}

fn missed(id: &str, note: &Note, unit: Unit) -> Warning {
    let by = show(note.by, unit);
    let side = side(note.end);
    let sentence = match note.what {
        Missed::Short => format!(
            "All runs at the {side} of the strip {id} are stitched, and it ends {by} short of the seam line: too little for another run. \
             Ease the cloth, or move the seam; where a corner is there, it meets by so much less."
        ),
        Missed::Further => format!(
            "All runs at the {side} of the strip {id} are stitched, and {by} are left to the seam line: that is planned as well."
        ),
        Missed::Past => format!(
            "The stitching at the {side} of the strip {id} ends {by} past the seam line, further than planned. Take it in with the seam, \
             or stitch a new strip."
        ),
        Missed::Early => format!(
            "The stitching at the {side} of the strip {id} reaches {by} past the seam line already, though runs were still to come: they \
             are left out. Ease the cloth, or stitch a new strip."
        ),
    };
    let signed = if note.what == Missed::Short || note.what == Missed::Further {
        -note.by
    } else {
        note.by
    };
    Warning {
        strip: Some(id.to_string()),
        by: Some(signed.in_unit(unit)),
        sentence,
    }
}

fn side(end: End) -> &'static str {
    match end {
        End::Start => "start",
        End::End => "end",
    }
}
