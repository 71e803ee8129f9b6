//! Whether runs lie along their strips as wishes say: joints away from spots, runs that mirror each other, strips alike.

use std::collections::{BTreeMap, BTreeSet};

use super::covering::{Covering, Fit};
use super::place::Place;
use super::report::{Report, quoted};
use crate::length::Length;
use crate::plan::{Plan, RunEntry, SegmentEntry, StripEntry};
use crate::scenario::{Align, Scenario, Spot, Wish, Wished};
use crate::strips::End;

/// Checks the wishes that are about places along strips.
pub(super) fn check(
    scenario: &Scenario,
    plan: &Plan,
    coverings: &[Option<Covering<'_>>],
    report: &mut Report,
) {
    for wish in &scenario.wishes {
        let about: BTreeSet<&str> = wish.strips.iter().map(String::as_str).collect();
        let strips = plan.strips.iter().zip(coverings).enumerate();
        let named = strips.filter(|(_, (entry, _))| about.contains(entry.id.as_str()));
        let place = Place::of("strips");
        match &wish.what {
            Wished::JointsAway { spots, distance } => {
                for (index, (entry, covering)) in named {
                    if let Some(covering) = covering {
                        let asked = (spots.as_slice(), *distance);
                        let place = place.at(index);
                        joints_away(scenario, wish, asked, entry, covering, place, report);
                    }
                }
            }
            Wished::Symmetric => {
                for (index, (entry, _)) in named {
                    symmetric(wish, entry, place.at(index), report);
                }
            }
            Wished::Alike => {
                let mut first: BTreeMap<_, &StripEntry> = BTreeMap::new();
                for (index, (entry, covering)) in named {
                    let Some(covering) = covering else { continue };
                    let strip = covering.strip;
                    let rest = strip
                        .rest
                        .map(|rest| (rest.butts == End::Start, rest.unscaled));
                    let key = (strip.length, strip.width, strip.design, rest);
                    let like = first.entry(key).or_insert(entry);
                    alike(wish, like, entry, place.at(index), report);
                }
            }
            _ => {}
        }
    }
}

/// A joint lies where the repeats before it end: they have their share of the strip's length where the pattern is scaled.
fn joints_away(
    scenario: &Scenario,
    wish: &Wish,
    (spots, distance): (&[Spot], Length),
    entry: &StripEntry,
    covering: &Covering<'_>,
    place: Place<'_>,
    report: &mut Report,
) {
    let nanometres = |length: Length| i128::from(length.nanometres());
    let (length, sum) = (nanometres(covering.strip.length), nanometres(covering.sum));
    // Everything doubled, in so many parts of a nanometre.
    let (factor, parts, before) = match covering.fit {
        Fit::Exact | Fit::Scaled => (2 * length, sum, 0),
        Fit::Unscaled => {
            let overhang = nanometres(covering.overhang);
            let rest = covering.strip.rest.map(|rest| rest.butts);
            let before = match (rest, scenario.rules.align) {
                (Some(End::End), _) => 2 * overhang,
                (Some(End::Start), _) | (None, Align::Start) => 0,
                (None, Align::Centred) => overhang,
            };
            (2, 1, before)
        }
    };
    let mut at = 0;
    let joints = covering.runs.len().saturating_sub(1);
    for (number, run) in covering.runs.iter().take(joints).enumerate() {
        at += nanometres(run.sum);
        let joint = at * factor - before * parts;
        for spot in spots {
            let spot = match spot {
                Spot::Middle => length,
                Spot::At(at) => 2 * nanometres(*at),
            };
            if (joint - spot * parts).abs() < 2 * nanometres(distance) * parts {
                let runs = place.at("runs");
                let to = runs.at(number);
                report.broken(
                    to.at("to"),
                    "wish-joints-away",
                    format_args!(
                        "Run {} of the strip {} ends nearer than {} to a spot that the wish at {} keeps joints away from.",
                        number + 1,
                        quoted(&entry.id),
                        report.show(distance),
                        wish.pointer
                    ),
                );
            }
        }
    }
}

/// How many repeats of each size a run holds.
fn repeats(run: &RunEntry) -> BTreeMap<&str, u64> {
    let mut counts = BTreeMap::new();
    for SegmentEntry { size, repeats } in &run.segments {
        *counts.entry(size.as_str()).or_default() += u64::from(*repeats);
    }
    counts
}

fn symmetric(wish: &Wish, entry: &StripEntry, place: Place<'_>, report: &mut Report) {
    let (count, runs) = (entry.runs.len(), place.at("runs"));
    for number in 0..count / 2 {
        let mirrored = count - 1 - number;
        if repeats(&entry.runs[number]) != repeats(&entry.runs[mirrored]) {
            report.broken(
                runs.at(mirrored),
                "wish-symmetric",
                format_args!(
                    "Runs {} and {} of the strip {} mirror each other and hold other repeats; the wish at {} asks for the same.",
                    number + 1,
                    mirrored + 1,
                    quoted(&entry.id),
                    wish.pointer
                ),
            );
        }
    }
}

fn alike(
    wish: &Wish,
    like: &StripEntry,
    entry: &StripEntry,
    place: Place<'_>,
    report: &mut Report,
) {
    let segments = |entry: &StripEntry| -> Vec<Vec<SegmentEntry>> {
        let runs = entry.runs.iter();
        runs.map(|run| run.segments.clone()).collect()
    };
    if segments(like) != segments(entry) {
        report.broken(
            place.at("runs"),
            "wish-alike",
            format_args!(
                "The strip {} is not stitched like the strip {}, which the wish at {} asks for.",
                quoted(&entry.id),
                quoted(&like.id),
                wish.pointer
            ),
        );
    }
}
