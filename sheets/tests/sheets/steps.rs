//! The order of work of planned scenarios: nothing is missed, nothing is stitched before what it butts up to, and no line is
//! stitched across an open end.

use std::collections::BTreeSet;

use sashwright_sheets::steps;
use sashwright_sheets::words::Book;
use sashwright_solver::job::{Step, StepKind, Steps};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::Scenario;
use sashwright_solver::strips::End;

use crate::planned::{SCENARIOS, document, furnished};

fn planned(name: &str) -> (Scenario, Plan) {
    furnished(&document(name))
}

fn of_kind(steps: &[Step], kind: StepKind) -> impl Iterator<Item = &Step> {
    steps.iter().filter(move |step| step.kind == kind)
}

/// Whether a step names a strip: as a word of its own, so that `border-1` is not found in `border-1-left`.
fn names(step: &Step, strip: &str) -> bool {
    let part = |c: char| !(c.is_alphanumeric() || c == '-');
    step.text.split(part).any(|word| word == strip)
}

/// The one step of a kind that names the strip.
fn about<'s>(steps: &'s [Step], kind: StepKind, strip: &str) -> &'s Step {
    let found: Vec<&Step> = of_kind(steps, kind)
        .filter(|step| names(step, strip))
        .collect();
    match found[..] {
        [one] => one,
        _ => panic!("{} steps of {kind:?} for {strip}", found.len()),
    }
}

#[test]
fn every_run_is_laid_tacked_and_stitched_in_its_hooping() {
    for name in SCENARIOS {
        let (scenario, plan) = planned(name);
        let steps = steps(&scenario, &plan);
        assert_eq!(steps.hoopings.len(), plan.hoopings.len());
        for (told, hooping) in steps.hoopings.iter().zip(&plan.hoopings) {
            assert_eq!(told.hooping, hooping.number);
            for placement in &hooping.placements {
                let at = |kind| {
                    let step = about(&told.steps, kind, &placement.strip);
                    told.steps
                        .iter()
                        .position(|other| other == step)
                        .expect("it is there")
                };
                let order = [
                    StepKind::Batting,
                    StepKind::Fabric,
                    StepKind::TackDown,
                    StepKind::Design,
                ];
                assert!(
                    order.map(at).is_sorted(),
                    "{name}, hooping {}",
                    told.hooping
                );
            }
            let kinds: Vec<StepKind> = told.steps.iter().map(|step| step.kind).collect();
            assert_eq!(kinds[0], StepKind::Hoop);
            let position = |kind| {
                kinds
                    .iter()
                    .position(|other| *other == kind)
                    .expect("there")
            };
            assert!(position(StepKind::Batting) < position(StepKind::Trim));
            assert!(position(StepKind::Design) < position(StepKind::Unhoop));
            let lines = kinds
                .iter()
                .filter(|kind| **kind == StepKind::PlacementLine);
            assert_eq!(lines.count(), 2);
        }
    }
}

/// Every open end is told as one: no line goes across it, and where its neighbour comes later the stabilizer is trimmed flush.
#[test]
fn open_ends_stay_open() {
    let mut open_ends = 0;
    for name in SCENARIOS {
        let (scenario, plan) = planned(name);
        let told = steps(&scenario, &plan);
        let book = Book::new(&scenario, &plan);
        for (told, hooping) in told.hoopings.iter().zip(&plan.hoopings) {
            for placement in &hooping.placements {
                let strip = book.strip(&placement.strip).expect("a strip");
                let tack = &about(&told.steps, StepKind::TackDown, &placement.strip).text;
                let (lines, none) = tack.split_once(": no line").unwrap_or((tack, ""));
                for end in [End::Start, End::End] {
                    let end_name = book.lie(&placement.strip).end(end);
                    let open = placement.open.contains(&end);
                    let both_open = placement.open.len() == 2;
                    let tacked = lines.contains("both ends") || lines.contains(end_name);
                    assert_eq!(tacked, !open, "{name}: {tack}");
                    if !open {
                        continue;
                    }
                    open_ends += 1;
                    assert!(both_open || none.contains(end_name), "{name}: {tack}");
                    let index = usize::try_from(placement.run).expect("small") - 1;
                    let other = if end == End::Start {
                        index - 1
                    } else {
                        index + 1
                    };
                    let later = strip.runs[other].hooping > hooping.number;
                    let flush = of_kind(&told.steps, StepKind::Trim).filter(|step| {
                        names(step, &placement.strip)
                            && step.text.contains(&format!("at the {end_name}"))
                            && step
                                .text
                                .contains(&format!("in hooping {}.", strip.runs[other].hooping))
                    });
                    assert_eq!(
                        flush.count(),
                        usize::from(later),
                        "{name}, hooping {}",
                        told.hooping
                    );
                }
            }
        }
    }
    assert!(open_ends > 20, "{open_ends}");
}

fn texts(steps: &Steps) -> impl Iterator<Item = &Step> {
    let hoopings = steps.hoopings.iter().flat_map(|hooping| &hooping.steps);
    steps.before.iter().chain(hoopings).chain(&steps.assembly)
}

/// Strips named alone are strips of the plan; every sentence ends; no step says nothing.
#[test]
fn steps_are_whole_sentences_about_strips_of_the_plan() {
    for name in SCENARIOS {
        let (scenario, plan) = planned(name);
        let steps = steps(&scenario, &plan);
        let ids: BTreeSet<&str> = plan.strips.iter().map(|strip| strip.id.as_str()).collect();
        for step in texts(&steps) {
            assert!(
                step.text.ends_with('.') && step.text.len() > 10,
                "{}",
                step.text
            );
            assert!(!step.text.contains("  "), "{}", step.text);
            assert!(
                step.strip
                    .as_deref()
                    .is_none_or(|strip| ids.contains(strip))
            );
        }
        let squared: usize = of_kind(&steps.assembly, StepKind::SquareUp).count();
        assert!(squared > 0);
    }
}

/// A border sewn on ends first, a mitred one, and a part of a size: by hand, 3 repeats of 2 in cover 6 in, so a size of 4 repeats
/// stops after 3.
#[test]
fn the_border_that_goes_first_and_stops_are_told() {
    let bordered = |corner: &str| {
        serde_json::json!({
            "format": 1, "unit": "in",
            "quilt": {"centre": [6, 6], "borders": [{"width": 1, "corner": corner, "first": "ends", "design": "vine"}]},
            "hoops": [{"id": "long", "field": [5, 10]}],
            "designs": [{"id": "vine", "threads": ["green", "gold"], "sizes": [
                {"id": "vine-1", "width": 1, "repeat": 2, "repeats": 4, "stop_early": true}]}]
        })
    };
    let (scenario, plan) = furnished(bordered("butted").to_string().as_bytes());
    let told = steps(&scenario, &plan);
    let sewn: Vec<&str> = of_kind(&told.assembly, StepKind::Sew)
        .map(|step| step.text.as_str())
        .collect();
    assert!(
        sewn[0].starts_with("Sew on border-1-top and border-1-bottom first"),
        "{}",
        sewn[0]
    );
    assert!(
        sewn[1].starts_with("Sew on border-1-left and border-1-right"),
        "{}",
        sewn[1]
    );
    let of_top = told.hoopings.iter().flat_map(|hooping| &hooping.steps);
    let of_top = of_top.filter(|step| step.kind == StepKind::Design && names(step, "border-1-top"));
    for step in of_top {
        assert!(
            step.text
                .contains("vine-1, stopped after 3 of its 4 repeats"),
            "{}",
            step.text
        );
        assert!(
            step.text
                .contains("Threads, in this order: green and gold."),
            "{}",
            step.text
        );
    }
    // 6 in and half an inch of seam allowances; with borders of an inch all around 8 1/2 in.
    assert!(
        told.assembly
            .iter()
            .any(|step| step.text.contains("should now measure 6 1/2 × 6 1/2 in"))
    );
    assert!(
        told.assembly
            .iter()
            .any(|step| step.text.contains("should now measure 8 1/2 × 8 1/2 in"))
    );
    let (scenario, plan) = furnished(bordered("mitred").to_string().as_bytes());
    let told = steps(&scenario, &plan);
    assert!(of_kind(&told.assembly, StepKind::Sew).any(|step| step.text.contains("45 degrees")));
}
