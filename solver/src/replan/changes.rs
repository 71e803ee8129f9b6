//! What changes and why, in sentences.

use crate::length::{Length, Measure, Unit};
use crate::plan::{Plan, StripEntry, by_id};
use crate::replan::Asked;
use crate::replan::document::{Change, What};
use crate::replan::keep::{Remains, same_hoopings, segments};
use crate::replan::stretch::Fate;
use crate::replan::words::show;
use crate::strips::RESTS;

/// More hoopings than this are not named one by one.
const MOST_NAMED: usize = 12;

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
    let old = by_id(&remains.kept.strips);
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
            let by = difference(fate.length - fate.planned, unit);
            say(
                What::Length,
                Some(id),
                format!(
                    "The strip {id} measures {} now, {by} than before.",
                    show(fate.length, unit)
                ),
            );
        }
        if fate.drift != Length::ZERO {
            let by = difference(fate.drift, unit);
            let is_left = |entry: &StripEntry| {
                let rest = entry.id.strip_prefix(id);
                rest.is_some_and(|rest| rest.is_empty() || RESTS.contains(&rest))
            };
            let then = if plan.strips.iter().any(is_left) {
                "what is left of it is planned for that"
            } else {
                "nothing of it is left to stitch"
            };
            say(
                What::Length,
                Some(id),
                format!("What is stitched of the strip {id} came out {by} than planned; {then}."),
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
                    "The strip {} is stitched otherwise, {}.",
                    entry.id,
                    against(entry.runs.len(), before.runs.len(), "run")
                ),
            );
        } else if percent(&entry.scale) != percent(&before.scale) {
            let further = entry.overhang.length(unit) > before.overhang.length(unit);
            let purpose = if further {
                "and runs further past its seam line"
            } else {
                "to end at its seam line"
            };
            say(
                What::Scale,
                Some(&entry.id),
                format!(
                    "The strip {} is scaled to {} instead of {}, {purpose}.",
                    entry.id,
                    percent(&entry.scale),
                    percent(&before.scale)
                ),
            );
        }
    }
    let has_new_numbers = (remains.was.iter().zip(1..)).any(|(was, now): (&u32, u32)| *was != now);
    if !same_hoopings(&remains.kept.hoopings, &plan.hoopings) {
        // Nothing else went otherwise than planned.
        let why = if remains.kept.firmly && progress.is_out_of_order() {
            " What is stitched was stitched in another order, after which the rest cannot stay as it was."
        } else {
            ""
        };
        say(
            What::Hoopings,
            None,
            format!(
                "What is left is planned anew, {}.{why}",
                against(plan.hoopings.len(), remains.kept.hoopings.len(), "hooping")
            ),
        );
    } else if has_new_numbers {
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

/// A count against the one of before: `in 3 runs instead of 2`, `still in 2 runs`.
fn against(now: usize, before: usize, one: &str) -> String {
    let counted = match now {
        1 => format!("1 {one}"),
        _ => format!("{now} {one}s"),
    };
    if now == before {
        format!("still in {counted}")
    } else {
        format!("in {counted} instead of {before}")
    }
}

/// How much longer or shorter something is: `≈ 1/8 in (3 mm) shorter`.
fn difference(more: Length, unit: Unit) -> String {
    if more > Length::ZERO {
        format!("{} longer", show(more, unit))
    } else {
        format!("{} shorter", show(-more, unit))
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

#[cfg(test)]
mod tests {
    use super::against;

    #[test]
    fn a_count_is_told_against_the_one_before() {
        assert_eq!(against(3, 2, "run"), "in 3 runs instead of 2");
        assert_eq!(against(1, 2, "hooping"), "in 1 hooping instead of 2");
        assert_eq!(against(2, 2, "run"), "still in 2 runs");
    }
}
