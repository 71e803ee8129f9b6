//! What changes and why, and what does not come out, in sentences.

use std::collections::{BTreeMap, BTreeSet};

use crate::length::{Length, Measure, Unit};
use crate::plan::{HoopingEntry, Plan, SegmentEntry, StripEntry};
use crate::replan::Asked;
use crate::replan::document::{Change, Warning, What};
use crate::replan::keep::Remains;
use crate::replan::stretch::{Fate, Missed, Note};
use crate::scenario::Scenario;
use crate::strips::{self, End};

/// More hoopings than this are not named one by one.
const MOST_NAMED: usize = 12;

/// A length with its unit, in inches with the millimetres behind them: `0.118 in (3 mm)`.
fn show(length: Length, unit: Unit) -> String {
    let rounded = |unit: Unit| {
        let of = i128::from(unit.nanometres());
        let thousandths = crate::exact::round_half_up(i128::from(length.nanometres()) * 1000, of);
        Measure::from_ratio(thousandths, 1000)
    };
    match unit {
        Unit::Inch => format!("{} in ({} mm)", rounded(unit), rounded(Unit::Millimetre)),
        Unit::Millimetre => format!("{} mm", rounded(unit)),
    }
}

/// A scale in per cent: `98.5 %`.
fn percent(scale: &Measure) -> String {
    let exact = scale.exact().ok();
    let thousandths = exact.and_then(|scale| scale.times_rounded(100_000));
    match thousandths {
        Some(thousandths) => format!("{} %", Measure::from_ratio(thousandths, 1000)),
        None => scale.to_string(),
    }
}

fn side(end: End) -> &'static str {
    match end {
        End::Start => "start",
        End::End => "end",
    }
}

/// Whether a plan has these hoopings in this order: the same runs in the same lanes of the same hoops.
pub(super) fn same_hoopings(old: &[HoopingEntry], new: &[HoopingEntry]) -> bool {
    let runs = |hooping: &HoopingEntry| -> BTreeSet<(u32, String, u32)> {
        let placements = hooping.placements.iter();
        placements
            .map(|placement| (placement.lane, placement.strip.clone(), placement.run))
            .collect()
    };
    let same = |(old, new): (&HoopingEntry, &HoopingEntry)| {
        old.hoop == new.hoop && old.turned == new.turned && runs(old) == runs(new)
    };
    old.len() == new.len() && old.iter().zip(new).all(same)
}

/// The segments of each run of a strip.
pub(super) fn segments(entry: &StripEntry) -> Vec<&[SegmentEntry]> {
    entry
        .runs
        .iter()
        .map(|run| run.segments.as_slice())
        .collect()
}

/// What changes against the old plan.
pub(super) fn changes(
    asked: &Asked,
    fates: &[Fate],
    remains: &Remains,
    plan: &Plan,
) -> Vec<Change> {
    let unit = asked.scenario.unit;
    let mut changes = Vec::new();
    let mut say = |what: What, strip: Option<&str>, sentence: String| {
        changes.push(Change {
            what,
            strip: strip.map(str::to_string),
            sentence,
        });
    };
    let progress = &asked.progress;
    for (hoop, _) in &progress.broken_hoops {
        let used = remains
            .kept
            .hoopings
            .iter()
            .filter(|of| of.hoop == *hoop)
            .count();
        let sentence = match used {
            0 => format!("The hoop {hoop} is broken; nothing that is left was planned for it."),
            _ => format!(
                "The hoop {hoop} is broken; hoopings that are left were planned for it: {used}."
            ),
        };
        say(What::Equipment, None, sentence);
    }
    for (design, size, _) in &progress.lost_sizes {
        say(
            What::Equipment,
            None,
            format!(
                "The size {size} of the design {design} is lost; what is left does without it."
            ),
        );
    }
    let old: BTreeMap<&str, &StripEntry> = remains
        .kept
        .strips
        .iter()
        .map(|entry| (entry.id.as_str(), entry))
        .collect();
    for fate in fates {
        let id = fate.id.as_str();
        if fate.restarts {
            say(
                What::StartsAnew,
                Some(id),
                format!(
                    "The strip {id} is cut anew, so nothing of it is stitched: all of its runs are planned anew."
                ),
            );
        }
        if fate.length != fate.planned {
            let more = fate.length - fate.planned;
            let (by, which) = if more > Length::ZERO {
                (more, "longer")
            } else {
                (-more, "shorter")
            };
            say(
                What::Length,
                Some(id),
                format!(
                    "The strip {id} measures {} now, {} {which} than before.",
                    show(fate.length, unit),
                    show(by, unit)
                ),
            );
        }
        if fate.drift != Length::ZERO {
            let (by, which) = if fate.drift > Length::ZERO {
                (fate.drift, "longer")
            } else {
                (-fate.drift, "shorter")
            };
            say(
                What::Length,
                Some(id),
                format!(
                    "What is stitched of the strip {id} came out {} {which} than planned; what is left of it takes that up.",
                    show(by, unit)
                ),
            );
        }
    }
    for entry in &plan.strips {
        let Some(before) = old.get(entry.id.as_str()) else {
            continue;
        };
        if segments(entry) != segments(before) {
            say(
                What::Runs,
                Some(&entry.id),
                format!(
                    "The strip {} is stitched otherwise: in {} instead of {}.",
                    entry.id,
                    runs(entry.runs.len()),
                    runs(before.runs.len())
                ),
            );
        } else if percent(&entry.scale) != percent(&before.scale)
            && entry.overhang.length(unit) > before.overhang.length(unit)
        {
            say(
                What::Scale,
                Some(&entry.id),
                format!(
                    "The strip {} is scaled to {} instead of {}, and runs further past its seam line.",
                    entry.id,
                    percent(&entry.scale),
                    percent(&before.scale)
                ),
            );
        } else if percent(&entry.scale) != percent(&before.scale) {
            say(
                What::Scale,
                Some(&entry.id),
                format!(
                    "The strip {} is scaled to {} instead of {}, to end at its seam line.",
                    entry.id,
                    percent(&entry.scale),
                    percent(&before.scale)
                ),
            );
        }
    }
    if !same_hoopings(&remains.kept.hoopings, &plan.hoopings) {
        say(
            What::Hoopings,
            None,
            format!(
                "The hoopings that are left are planned anew: {} instead of {}.",
                plan.hoopings.len(),
                remains.kept.hoopings.len()
            ),
        );
    } else if !remains.was.is_empty() && remains.was[0] != 1 {
        let mut named: Vec<String> = remains
            .was
            .iter()
            .zip(1..)
            .take(MOST_NAMED)
            .map(|(was, now): (&u32, u32)| format!("{was} is {now} now"))
            .collect();
        if remains.was.len() > MOST_NAMED {
            named.push("and so on".into());
        }
        say(
            What::Hoopings,
            None,
            format!(
                "The hoopings that are left stay as they are, with new numbers: {}.",
                named.join(", ")
            ),
        );
    }
    changes
}

fn runs(count: usize) -> String {
    match count {
        1 => "1 run".into(),
        _ => format!("{count} runs"),
    }
}

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
    let old: BTreeMap<&str, &StripEntry> = remains
        .kept
        .strips
        .iter()
        .map(|entry| (entry.id.as_str(), entry))
        .collect();
    let left: BTreeMap<String, strips::Strip> = strips::of(scenario)
        .strips
        .into_iter()
        .filter(|strip| strip.stage.butts().is_some())
        .map(|strip| (strip.id.clone(), strip))
        .collect();
    for entry in &plan.strips {
        let (Some(strip), Some(before)) = (left.get(&entry.id), old.get(entry.id.as_str())) else {
            continue;
        };
        let overhang = entry.overhang.length(unit).unwrap_or_default();
        let planned = planned_past(before, unit, strip);
        if overhang <= planned + super::done::TOLERANCE {
            continue;
        }
        // What was left of the strip in the old plan.
        let as_planned = stitched(before, unit) - planned;
        let off = strip.length - as_planned;
        let ease = if off > Length::ZERO {
            format!(
                "The runs that were planned are {} too short: you can ease that much in, or leave it between the runs; say so with \
                 \"length\" {} for the strip {}, and they stay as they are.",
                show(off, unit),
                as_planned.in_unit(unit),
                entry.id
            )
        } else {
            format!(
                "Or overlap the next run by {}, and give the strip {} the \"length\" {}: then it ends as it was planned.",
                show(-off, unit),
                entry.id,
                as_planned.in_unit(unit)
            )
        };
        warnings.push(Warning {
            strip: Some(entry.id.clone()),
            by: Some(overhang.in_unit(unit)),
            sentence: format!(
                "No scale that the sizes allow takes up the drift of the strip {}: planned anew, it runs {} past its seam line. {ease} \
                 Or stitch a new strip.",
                entry.id,
                show(overhang, unit)
            ),
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
             Ease the cloth, or move the seam; a corner there meets by so much less."
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
