//! What a hooping holds: how many runs, of which strips, and what is printed of each.

use super::field::{Laid, check_field};
use super::place::Place;
use super::placed::{Held, Placed};
use super::report::{Report, quoted};
use crate::plan::{HoopingEntry, Placement, Plan};
use crate::scenario::{Hoop, Scenario};
use crate::strips::End;

/// Checks every hooping by itself.
pub(super) fn check(scenario: &Scenario, plan: &Plan, placed: &Placed<'_>, report: &mut Report) {
    let hoopings = Place::of("hoopings");
    let mut first_runs = FirstRuns::new(plan);
    let mut laid = Vec::new();
    for (index, hooping) in plan.hoopings.iter().enumerate() {
        let place = hoopings.at(index);
        let held = placed.held_in(index);
        if usize::try_from(hooping.number) != Ok(index + 1) {
            report.broken(
                place.at("number"),
                "hooping-number",
                format_args!(
                    "The hooping is numbered {}; in the order of the work it is number {}.",
                    hooping.number,
                    index + 1
                ),
            );
        }
        check_count(scenario, hooping, place, report);
        first_runs.check(index, hooping, held, place, report);
        let hoop = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop);
        let Some(hoop) = hoop else {
            report.broken(
                place.at("hoop"),
                "unknown-hoop",
                format_args!("The scenario has no hoop {}.", quoted(&hooping.hoop)),
            );
            continue;
        };
        check_hoop(scenario, hoop, hooping, place, report);
        laid.clear();
        if check_placements(hooping, held, &mut laid, place, report) {
            check_field(scenario, hoop, hooping.turned, &mut laid, place, report);
        }
    }
}

/// How many runs it holds.
fn check_count(scenario: &Scenario, hooping: &HoopingEntry, place: Place<'_>, report: &mut Report) {
    let count = hooping.placements.len();
    if count == 0 {
        report.broken(
            place.at("placements"),
            "empty-hooping",
            "Nothing is stitched in this hooping; every hooping holds a run.",
        );
    }
    if count > 1 && !scenario.rules.share_hoopings {
        report.broken(
            place.at("placements"),
            "shared-hooping",
            format_args!(
                "The hooping holds {count} runs; with \"share_hoopings\" false it holds one."
            ),
        );
    }
}

/// For each entry of the plan's `strips`, the hooping that held a run of it last, and the first run that it held.
struct FirstRuns(Vec<Option<(usize, u32)>>);

impl FirstRuns {
    fn new(plan: &Plan) -> FirstRuns {
        FirstRuns(vec![None; plan.strips.len()])
    }

    /// No two runs in a hooping are of one strip.
    fn check(
        &mut self,
        index: usize,
        hooping: &HoopingEntry,
        held: &[Option<Held<'_>>],
        place: Place<'_>,
        report: &mut Report,
    ) {
        for (number, (placement, held)) in hooping.placements.iter().zip(held).enumerate() {
            let Some(held) = held else {
                continue;
            };
            let first = match self.0[held.entry] {
                Some((last, first)) if last == index => first,
                _ => {
                    self.0[held.entry] = Some((index, placement.run));
                    continue;
                }
            };
            // A run that is placed twice is noted as such.
            if first != placement.run {
                report.broken(
                    place.at("placements").at(number),
                    "strip-twice-in-hooping",
                    format_args!(
                        "Runs {first} and {} of the strip {} are in one hooping; each run has a hooping of its own.",
                        placement.run,
                        quoted(&held.strip.id)
                    ),
                );
            }
        }
    }
}

fn check_hoop(
    scenario: &Scenario,
    hoop: &Hoop,
    hooping: &HoopingEntry,
    place: Place<'_>,
    report: &mut Report,
) {
    let name = quoted(&hoop.id);
    if hooping.turned && !hoop.turn {
        report.broken(
            place.at("turned"),
            "turned-hoop",
            format_args!("The hoop {name} is turned; its \"turn\" is false."),
        );
    }
    for (side, frame) in hoop.frame.into_iter().enumerate() {
        report.compare(
            place.at("stabilizer").at(side),
            "wrong-stabilizer",
            format_args!("Side {} of the stabilizer for the hoop {name}", side + 1),
            &hooping.stabilizer[side],
            frame + scenario.materials.stabilizer.margin * 2,
        );
    }
}

/// Checks what is printed of each placement and adds it to `laid`; false where one of them cannot be made out.
fn check_placements<'a>(
    hooping: &'a HoopingEntry,
    held: &'a [Option<Held<'a>>],
    laid: &mut Vec<Laid<'a>>,
    place: Place<'_>,
    report: &mut Report,
) -> bool {
    let placements = place.at("placements");
    for (index, (placement, held)) in hooping.placements.iter().zip(held).enumerate() {
        let place = placements.at(index);
        let along = report.read(place.at("along"), &placement.along);
        let across = report.read(place.at("across"), &placement.across);
        let Some(held) = held else {
            continue;
        };
        check_run(held, placement, place, report);
        if let (Some(run), Some(along), Some(across)) = (held.run, along, across) {
            laid.push(Laid {
                strip: held.strip,
                run,
                placement,
                index,
                along,
                across,
            });
        }
    }
    laid.len() == hooping.placements.len()
}

fn check_run(held: &Held<'_>, placement: &Placement, place: Place<'_>, report: &mut Report) {
    let (number, name) = (placement.run, quoted(&held.strip.id));
    report.compare(
        place.at("width"),
        "wrong-width",
        format_args!("The width of run {number} of the strip {name}"),
        &placement.width,
        held.strip.width,
    );
    let Some(run) = held.run else {
        return;
    };
    report.compare(
        place.at("length"),
        "wrong-run-length",
        format_args!("The stitched length of run {number} of the strip {name}"),
        &placement.length,
        run.length,
    );
    let asked: &[End] = match run.open {
        [false, false] => &[],
        [true, false] => &[End::Start],
        [false, true] => &[End::End],
        [true, true] => &[End::Start, End::End],
    };
    // Nearly always they are printed in this very order.
    if placement.open == asked {
        return;
    }
    let mut seen = placement.open.clone();
    seen.sort_unstable();
    if seen != asked {
        report.broken(
            place.at("open"),
            "wrong-open-ends",
            format_args!(
                "The open ends of run {number} of the strip {name} are printed as: {}; they are: {}.",
                words(&seen),
                words(asked)
            ),
        );
    }
}

/// A few ends in words.
fn words(ends: &[End]) -> String {
    if ends.is_empty() {
        return "none".to_owned();
    }
    let words = ends.iter().take(4).map(|end| match end {
        End::Start => "start",
        End::End => "end",
    });
    words.collect::<Vec<_>>().join(", ")
}
