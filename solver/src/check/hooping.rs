//! What a hooping holds: whether it fits, which way open ends face, and what is printed of it.

use std::collections::{BTreeMap, HashMap};

use super::lanes::{Item, Misplaced, check_places, twice_needed};
use super::placed::{Held, Placed};
use super::report::{Report, TOLERANCE, quoted};
use crate::length::Length;
use crate::plan::{HoopingEntry, Placement, Plan};
use crate::scenario::{Hoop, Scenario};
use crate::strips::End;

/// A placed run whose lengths are known.
struct Laid<'a> {
    held: Held<'a>,
    placement: &'a Placement,
    pointer: String,
    along: Length,
    across: Length,
}

/// Checks every hooping by itself.
pub(super) fn check(scenario: &Scenario, plan: &Plan, placed: &Placed<'_>, report: &mut Report) {
    for (index, hooping) in plan.hoopings.iter().enumerate() {
        let pointer = format!("/hoopings/{index}");
        if usize::try_from(hooping.number) != Ok(index + 1) {
            let message = format!(
                "The hooping is numbered {}; in the order of the work it is number {}.",
                hooping.number,
                index + 1
            );
            report.broken(format!("{pointer}/number"), "hooping-number", message);
        }
        check_contents(scenario, hooping, placed, &pointer, report);
        let hoop = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop);
        let Some(hoop) = hoop else {
            let message = format!("The scenario has no hoop {}.", quoted(&hooping.hoop));
            report.broken(format!("{pointer}/hoop"), "unknown-hoop", message);
            continue;
        };
        check_hoop(scenario, hoop, hooping, &pointer, report);
        if let Some(laid) = check_placements(hooping, placed, &pointer, report) {
            check_field(scenario, hoop, hooping, &laid, &pointer, report);
        }
    }
}

/// How many runs it holds, and that no two of them are of one strip.
fn check_contents(
    scenario: &Scenario,
    hooping: &HoopingEntry,
    placed: &Placed<'_>,
    pointer: &str,
    report: &mut Report,
) {
    let pointer = format!("{pointer}/placements");
    let count = hooping.placements.len();
    if count == 0 {
        let message = "Nothing is stitched in this hooping; every hooping holds a run.";
        report.broken(pointer.clone(), "empty-hooping", message);
    }
    if count > 1 && !scenario.rules.share_hoopings {
        let message =
            format!("The hooping holds {count} runs; with \"share_hoopings\" false it holds one.");
        report.broken(pointer.clone(), "shared-hooping", message);
    }
    let mut first_of = HashMap::new();
    for (place, placement) in hooping.placements.iter().enumerate() {
        let Some(held) = placed.held(placement) else {
            continue;
        };
        // A run that is placed twice is noted as such.
        let first = *first_of.entry(held.entry).or_insert(placement.run);
        if first != placement.run {
            let message = format!(
                "Runs {first} and {} of the strip {} are in one hooping; each run has a hooping of its own.",
                placement.run,
                quoted(&held.strip.id)
            );
            report.broken(
                format!("{pointer}/{place}"),
                "strip-twice-in-hooping",
                message,
            );
        }
    }
}

fn check_hoop(
    scenario: &Scenario,
    hoop: &Hoop,
    hooping: &HoopingEntry,
    pointer: &str,
    report: &mut Report,
) {
    let name = quoted(&hoop.id);
    if hooping.turned && !hoop.turn {
        let message = format!("The hoop {name} is turned; its \"turn\" is false.");
        report.broken(format!("{pointer}/turned"), "turned-hoop", message);
    }
    for (side, frame) in hoop.frame.into_iter().enumerate() {
        report.compare(
            format_args!("{pointer}/stabilizer/{side}"),
            "wrong-stabilizer",
            format_args!("Side {} of the stabilizer for the hoop {name}", side + 1),
            &hooping.stabilizer[side],
            frame + scenario.stabilizer.margin * 2,
        );
    }
}

/// Checks what is printed of each placement; `None` where one of them cannot be made out.
fn check_placements<'a>(
    hooping: &'a HoopingEntry,
    placed: &Placed<'a>,
    pointer: &str,
    report: &mut Report,
) -> Option<Vec<Laid<'a>>> {
    let mut all = Some(Vec::with_capacity(hooping.placements.len()));
    for (place, placement) in hooping.placements.iter().enumerate() {
        let pointer = format!("{pointer}/placements/{place}");
        let along = report.read(format_args!("{pointer}/along"), &placement.along);
        let across = report.read(format_args!("{pointer}/across"), &placement.across);
        let held = placed.held(placement);
        if let Some(held) = &held {
            check_run(held, placement, &pointer, report);
        }
        let laid = match (held, along, across) {
            (Some(held), Some(along), Some(across)) if held.run.is_some() => Some(Laid {
                held,
                placement,
                pointer,
                along,
                across,
            }),
            _ => None,
        };
        all = all.zip(laid).map(|(mut all, laid)| {
            all.push(laid);
            all
        });
    }
    all
}

fn check_run(held: &Held<'_>, placement: &Placement, pointer: &str, report: &mut Report) {
    let name = format!(
        "run {} of the strip {}",
        placement.run,
        quoted(&held.strip.id)
    );
    report.compare(
        format_args!("{pointer}/width"),
        "wrong-width",
        format_args!("The width of {name}"),
        &placement.width,
        held.strip.width,
    );
    let Some(run) = held.run else {
        return;
    };
    report.compare(
        format_args!("{pointer}/length"),
        "wrong-run-length",
        format_args!("The stitched length of {name}"),
        &placement.length,
        run.length,
    );
    let asked: Vec<End> = [End::Start, End::End]
        .into_iter()
        .filter(|end| run.is_open(*end))
        .collect();
    let mut seen = placement.open.clone();
    seen.sort_unstable();
    if seen != asked {
        let words = |ends: &[End]| match ends {
            [] => "none".to_owned(),
            _ => {
                let words = ends.iter().take(4).map(|end| match end {
                    End::Start => "start",
                    End::End => "end",
                });
                words.collect::<Vec<_>>().join(", ")
            }
        };
        let message = format!(
            "The open ends of {name} are printed as: {}; they are: {}.",
            words(&seen),
            words(&asked)
        );
        report.broken(format!("{pointer}/open"), "wrong-open-ends", message);
    }
}

/// Whether all lanes fit the field.
fn check_field(
    scenario: &Scenario,
    hoop: &Hoop,
    hooping: &HoopingEntry,
    laid: &[Laid<'_>],
    pointer: &str,
    report: &mut Report,
) {
    let [first, second] = hoop.field;
    let (along, across) = if hooping.turned {
        (second, first)
    } else {
        (first, second)
    };
    let between =
        (scenario.allowances.seam + scenario.allowances.trim) * 2 + scenario.allowances.gap;
    let mut lanes: BTreeMap<u32, Vec<&Laid<'_>>> = BTreeMap::new();
    for laid in laid {
        lanes.entry(laid.placement.lane).or_default().push(laid);
    }
    let mut row = Vec::with_capacity(lanes.len());
    for lane in lanes.values_mut() {
        lane.sort_by_key(|laid| laid.along);
        check_lane(lane, between, along, report);
        check_open_ends(lane, report);
        row.push(as_item(lane, report));
    }
    let numbers = lanes.keys().map(|number| u64::from(*number));
    let from_one = numbers.eq(1..=lanes.len() as u64);
    let upward = lanes
        .values()
        .zip(lanes.values().skip(1))
        .all(|(lower, upper)| lower[0].across < upper[0].across);
    if !from_one || !upward {
        let message =
            "Lanes are numbered from 1, without a gap, from the lowest \"across\" upward.";
        report.broken(format!("{pointer}/placements"), "lane-number", message);
        return;
    }
    let needed = twice_needed(&row, between);
    if needed > 2 * i128::from(across.nanometres()) {
        let message = format!(
            "The lanes need {} across the field; it has {}.",
            report.show_half(needed),
            report.show(across)
        );
        report.broken(format!("{pointer}/placements"), "lanes-too-wide", message);
        return;
    }
    let lanes: Vec<&Laid<'_>> = lanes
        .values()
        .filter_map(|lane| lane.first().copied())
        .collect();
    if let Err(misplaced) = check_places(&row, between, across) {
        note_misplaced(misplaced, &lanes, "across", report);
    }
}

/// A lane as one item across the field: its width and margin are the largest of its runs'.
fn as_item(lane: &[&Laid<'_>], report: &mut Report) -> Item {
    let mut item = Item {
        size: Length::ZERO,
        margin: Length::from_nanometres(i64::MIN),
        twice_low: 0,
    };
    let (mut least, mut most) = (lane[0], lane[0]);
    for laid in lane {
        item.size = item.size.max(laid.held.strip.width);
        if let Some(run) = laid.held.run {
            item.margin = item.margin.max(run.margin_across);
        }
        least = if laid.across < least.across {
            laid
        } else {
            least
        };
        most = if laid.across > most.across {
            laid
        } else {
            most
        };
    }
    let spread = i128::from(most.across.nanometres()) - i128::from(least.across.nanometres());
    if spread > 2 * i128::from(TOLERANCE.nanometres()) {
        let message = format!(
            "Runs of lane {} lie at {} and at {} across; a lane has one centre line.",
            least.placement.lane,
            report.show(least.across),
            report.show(most.across)
        );
        report.broken(
            format!("{}/across", most.pointer),
            "lane-not-straight",
            message,
        );
    }
    let twice_centre = 2 * i128::from(lane[0].across.nanometres());
    item.twice_low = twice_centre - i128::from(item.size.nanometres());
    item
}

/// Whether the runs of a lane, in the order in which they lie, fit along the field.
fn check_lane(lane: &[&Laid<'_>], between: Length, field: Length, report: &mut Report) {
    let row: Vec<Item> = lane
        .iter()
        .filter_map(|laid| {
            laid.held.run.map(|run| Item {
                size: run.length,
                margin: run.margin_along,
                twice_low: 2 * i128::from(laid.along.nanometres()),
            })
        })
        .collect();
    let needed = twice_needed(&row, between);
    if needed > 2 * i128::from(field.nanometres()) {
        let message = format!(
            "Lane {} needs {} along the field; it has {}.",
            lane[0].placement.lane,
            report.show_half(needed),
            report.show(field)
        );
        report.broken(lane[0].pointer.clone(), "too-long-for-field", message);
    } else if let Err(misplaced) = check_places(&row, between, field) {
        note_misplaced(misplaced, lane, "along", report);
    }
}

fn note_misplaced(misplaced: Misplaced, row: &[&Laid<'_>], field: &str, report: &mut Report) {
    let (index, rule, asked) = match misplaced {
        Misplaced::Outside(index) => (
            index,
            "outside-field",
            "its stitching and half of its margin have to stay inside the field",
        ),
        Misplaced::TooClose(index) => (
            index,
            "gap-too-small",
            "it is closer to the one before it than the fabrics or the margins allow",
        ),
    };
    let Some(laid) = row.get(index) else {
        return;
    };
    let at = if field == "along" {
        laid.along
    } else {
        laid.across
    };
    let message = format!(
        "Run {} of the strip {} lies at {} {field} the field, and {asked}.",
        laid.placement.run,
        quoted(&laid.held.strip.id),
        report.show(at)
    );
    report.broken(format!("{}/{field}", laid.pointer), rule, message);
}

/// Open ends face out of the hoop.
fn check_open_ends(lane: &[&Laid<'_>], report: &mut Report) {
    if lane.len() < 2 {
        return;
    }
    for (index, laid) in lane.iter().enumerate() {
        let Some(run) = laid.held.run else {
            continue;
        };
        let (low, high) = if laid.placement.reversed {
            (End::End, End::Start)
        } else {
            (End::Start, End::End)
        };
        let name = format!(
            "Run {} of the strip {}",
            laid.placement.run,
            quoted(&laid.held.strip.id)
        );
        let (low, high) = (run.is_open(low), run.is_open(high));
        if low && high {
            let message = format!(
                "{name} has two open ends and shares lane {}; it has to be alone in its lane.",
                laid.placement.lane
            );
            report.broken(laid.pointer.clone(), "open-ends-share-lane", message);
        } else if (low && index > 0) || (high && index + 1 < lane.len()) {
            let message = format!(
                "{name} has its open end towards another run of lane {}; it has to face out of the hoop.",
                laid.placement.lane
            );
            report.broken(laid.pointer.clone(), "open-end-inward", message);
        }
    }
}
