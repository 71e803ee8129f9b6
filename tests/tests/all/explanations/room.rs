//! Room against every arrangement of what would lie in a hooping.

use std::collections::HashMap;

use sashwright_solver::explain::Fitting;
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{HoopingEntry, Placement, Plan, SegmentEntry};
use sashwright_solver::scenario::{Hoop, Scenario, Size};
use sashwright_tests::oracle::{Run, between, fits};

use super::{Explained, explained};

/// Runs of which every order is tried.
const MOST_RUNS: usize = 7;

/// The margins of a run: along, both ends together, and across.
fn margins(sizes: &HashMap<&str, &Size>, segments: &[SegmentEntry]) -> (i128, i128) {
    let of = |margin: fn(&Size) -> i64| {
        let margins = segments
            .iter()
            .map(|segment| i128::from(margin(sizes[segment.size.as_str()])));
        margins.max().expect("a segment")
    };
    let along = |size: &Size| {
        let stitched = size.repeat.nanometres() * i64::from(size.repeats);
        let margin = size.field[0].nanometres() - stitched;
        if margin > 0 && margin <= i64::from(size.repeats) {
            0
        } else {
            margin
        }
    };
    let across = |size: &Size| size.field[1].nanometres() - size.width.nanometres();
    (of(along), of(across))
}

/// The sizes of a strip's design, by id.
fn sizes_of<'s>(scenario: &'s Scenario, plan: &Plan, strip: &str) -> HashMap<&'s str, &'s Size> {
    let mut entries = plan.strips.iter();
    let entry = entries.find(|entry| entry.id == strip).expect("a strip");
    let mut designs = scenario.designs.iter();
    let design = designs.find(|design| design.id == entry.design);
    let sizes = design.expect("a design").sizes.iter();
    sizes.map(|size| (size.id.as_str(), size)).collect()
}

/// The runs that a hooping holds.
fn runs_in(scenario: &Scenario, plan: &Plan, hooping: &HoopingEntry) -> Vec<Run> {
    let run = |placement: &Placement| {
        let mut entries = plan.strips.iter();
        let entry = entries.find(|entry| entry.id == placement.strip);
        let segments = &entry.expect("a strip").runs[placement.run as usize - 1].segments;
        let sizes = sizes_of(scenario, plan, &placement.strip);
        let (margin_along, margin_across) = margins(&sizes, segments);
        Run {
            length: in_nanometres(scenario, &placement.length),
            width: in_nanometres(scenario, &placement.width),
            margin_along,
            margin_across,
            open_ends: placement.open.len() as u8,
            strip: 0,
        }
    };
    hooping.placements.iter().map(run).collect()
}

fn in_nanometres(scenario: &Scenario, measure: &Measure) -> i128 {
    let length = measure.length(scenario.unit).expect("a length");
    i128::from(length.nanometres())
}

/// The runs that a hooping would hold with so many strips more.
fn runs_with(scenario: &Scenario, plan: &Plan, hooping: &HoopingEntry, more: &Fitting) -> Vec<Run> {
    let sizes = sizes_of(scenario, plan, &more.like);
    let (margin_along, margin_across) = margins(&sizes, &more.segments);
    let run = Run {
        length: in_nanometres(scenario, &more.stitched),
        width: in_nanometres(scenario, &more.width),
        margin_along,
        margin_across,
        open_ends: 0,
        strip: 0,
    };
    let mut runs = runs_in(scenario, plan, hooping);
    runs.extend(vec![run; more.count]);
    runs
}

fn hoop_of<'s>(scenario: &'s Scenario, hooping: &HoopingEntry) -> &'s Hoop {
    let mut hoops = scenario.hoops.iter();
    hoops.find(|hoop| hoop.id == hooping.hoop).expect("a hoop")
}

/// The strips that would fit really do, all of them at once.
#[test]
fn strips_fit_where_it_is_said() {
    let mut tried = 0;
    for Explained {
        seed,
        text,
        scenario,
        plan,
        explanation,
    } in explained()
    {
        for room in &explanation.room {
            let hooping = &plan.hoopings[room.hooping as usize - 1];
            let hoop = hoop_of(scenario, hooping);
            for more in &room.fits {
                let runs = runs_with(scenario, plan, hooping, more);
                if runs.len() <= MOST_RUNS {
                    tried += 1;
                    assert!(
                        fits(&runs, hoop, between(scenario)),
                        "seed {seed}: {more:?}\n{text}"
                    );
                }
            }
        }
    }
    println!("{tried} fits");
    assert!(tried >= 50, "only {tried}");
}

/// Room that is told of can be filled to the last nanometre, and not beyond while the lanes stay as they are.
#[test]
fn room_is_as_large_as_it_is_said_to_be() {
    let (mut beside, mut along, mut full) = (0, 0, 0);
    for Explained {
        seed,
        text,
        scenario,
        plan,
        explanation,
    } in explained()
    {
        let nanometres = |measure| in_nanometres(scenario, measure);
        for room in &explanation.room {
            let hooping = &plan.hoopings[room.hooping as usize - 1];
            let hoop = hoop_of(scenario, hooping);
            let held = runs_in(scenario, plan, hooping);
            if held.len() >= MOST_RUNS {
                continue;
            }
            let fits_with = |length: i128, width: i128| {
                let mut runs = held.clone();
                runs.push(Run {
                    length,
                    width,
                    margin_along: 0,
                    margin_across: 0,
                    open_ends: 0,
                    strip: 0,
                });
                fits(&runs, hoop, between(scenario))
            };
            let (wide, long) = (nanometres(&room.beside), nanometres(&room.along));
            // Where all lies in one lane, and the hoop can be laid in one way, nothing can be moved to make more room.
            let stays =
                hoop_has_one_way(hoop) && hooping.placements.iter().all(|run| run.lane == 1);
            if wide > 0 {
                beside += 1;
                assert!(fits_with(long, wide), "seed {seed}: {room:?}\n{text}");
                if stays {
                    // A run as long as the field is alone in its lane.
                    full += 1;
                    assert!(!fits_with(long, wide + 1), "seed {seed}: {room:?}\n{text}");
                }
            }
            for lane in &room.lanes {
                let (free, width) = (nanometres(&lane.free), nanometres(&lane.width));
                along += 1;
                assert!(fits_with(free, width), "seed {seed}: {lane:?}\n{text}");
                if stays && wide == 0 {
                    full += 1;
                    assert!(!fits_with(free + 1, width), "seed {seed}: {lane:?}\n{text}");
                }
            }
        }
    }
    println!("{beside} rooms beside, {along} along, {full} not a nanometre larger");
    assert!(beside >= 50 && along >= 50 && full >= 20);
}

fn hoop_has_one_way(hoop: &Hoop) -> bool {
    !hoop.turn || hoop.field[0] == hoop.field[1]
}
