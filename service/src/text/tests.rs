//! A plan made by hand, and what a person has to find in its text.

use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{self, Scenario};
use serde_json::json;

use super::render;
use super::table::PAGE;

/// A left border of 14 in in two runs of 7, the second stitched first, and a loose strip beside it.
pub(crate) fn scenario_json() -> serde_json::Value {
    json!({
        "format": 1, "name": "trial", "unit": "in",
        "strips": [{"id": "extra", "length": "9 3/4", "width": 2, "design": "vine"}],
        "quilt": {"centre": [8, 14], "borders": [{"width": 2, "design": "vine"}]},
        "hoops": [{"id": "medium", "field": [6, 10]}],
        "designs": [{"id": "vine", "sizes": [
            {"id": "vine-2", "width": 2, "repeat": 3.5, "repeats": 2, "stop_early": true, "scale": [0.9, 1.1]}]}]
    })
}

pub(crate) fn scenario() -> Scenario {
    let document = scenario_json().to_string();
    scenario::read(document.as_bytes()).expect("a scenario without fault")
}

pub(crate) fn plan() -> Plan {
    let document = json!({
        "format": 1, "scenario": "trial", "unit": "in", "status": "feasible",
        "objective": [
            {"term": "hoopings", "value": 2, "bound": 2, "proven": true},
            {"term": "joints", "value": 1, "bound": 0, "proven": false},
            {"term": "stabilizer", "value": 192, "bound": 192, "proven": true}],
        "strips": [
            {"id": "border-1-left", "length": 14, "width": 2, "design": "vine", "scale": 1, "overhang": 0,
             "trimmed": [14.5, 2.5], "cut": [15, 3], "runs": [
                {"hooping": 2, "from": 0, "to": 7, "segments": [{"size": "vine-2", "repeats": 2}]},
                {"hooping": 1, "from": 7, "to": 14, "segments": [{"size": "vine-2", "repeats": 1}, {"size": "vine-2", "repeats": 1}]}]},
            {"id": "extra", "length": 9.75, "width": 2, "design": "vine", "scale": 0.92857143, "overhang": 0.25,
             "trimmed": [10.25, 2.5], "cut": [10.75, 3], "runs": [
                {"hooping": 2, "from": -0.125, "to": 9.875, "segments": [{"size": "vine-2", "repeats": 2}]}]}],
        "hoopings": [
            {"number": 1, "hoop": "medium", "turned": true, "stabilizer": [8, 12], "placements": [
                {"strip": "border-1-left", "run": 2, "lane": 1, "along": 0.125, "across": 1.25,
                 "length": 7, "width": 2, "open": ["start"]}]},
            {"number": 2, "hoop": "medium", "turned": true, "stabilizer": [8, 12], "placements": [
                {"strip": "border-1-left", "run": 1, "lane": 1, "along": 0.125, "across": 1.25,
                 "length": 7, "width": 2, "open": ["end"], "reversed": true},
                {"strip": "extra", "run": 1, "lane": 2, "along": 0, "across": 4.7, "length": 10, "width": 2}]}],
        "corners": [
            {"border": 1, "corner": "top-left", "strips": ["border-1-left", "border-1-top"], "mismatch": 0},
            {"border": 1, "corner": "top-right", "strips": ["border-1-right", "border-1-top"], "mismatch": 0.75}],
        "unplanned": [{"strip": "border-1-top", "reason": "No size is short enough."}],
        "warnings": ["The strip extra mixes repeats."]
    });
    serde_json::from_value(document).expect("a plan")
}

/// The text, its line breaks and runs of spaces made single spaces.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<&str>>().join(" ")
}

#[track_caller]
fn has(text: &str, words: &str) {
    assert!(flowing(text).contains(words), "{words:?} is not in\n{text}");
}

#[test]
fn what_is_proven_is_told_with_its_condition() {
    let text = render(&scenario(), &plan());
    has(&text, "A valid plan, the best that was found");
    has(&text, "hoopings 2 proven: no valid plan has fewer");
    has(
        &text,
        "joints 1 best found; no valid plan with the values above has fewer than 0",
    );
    has(
        &text,
        "stabilizer 192 in² proven: no valid plan with the values above has less",
    );
}

#[test]
fn a_hooping_tells_hoop_side_stretch_and_place() {
    let text = render(&scenario(), &plan());
    has(
        &text,
        "Hooping 1 of 2: hoop medium, turned; strips lie along the 10 in side of its field, 6 × 10 in",
    );
    has(&text, "stabilizer 8 × 12 in");
    has(&text, "1 border-1-left 2 of 2 7 – 14 2 times vine-2 × 1");
    has(&text, "1 border-1-left 1 of 2 0 – 7 vine-2 × 2");
    has(
        &text,
        "in the field: starts at 1/8 in (0.125), 7 in long; centre line at 1 1/4 in (1.25)",
    );
    // 4.7 = 75.2/16, so 4 11/16 is the nearest sixteenth.
    has(&text, "centre line at ≈ 4 11/16 in (4.7)");
    has(
        &text,
        "2 extra 1 of 1 -1/8 (-0.125) – 9 7/8 (9.875) vine-2 × 2",
    );
}

/// Run 2 of the border is stitched first: its top end waits for run 1, which then butts up to it.
#[test]
fn open_ends_are_named_as_the_strip_lies_and_by_the_order_of_the_work() {
    let text = render(&scenario(), &plan());
    has(
        &text,
        "leave the top end open: the next run butts up there (run 1, hooping 2), no line across",
    );
    has(
        &text,
        "leave the bottom end open: butt it up to run 2 from hooping 1, no line across",
    );
    has(
        &text,
        "lay it the other way round: its bottom end at the end of the field that is measured from",
    );
    assert_eq!(text.matches("open:").count(), 2);
}

#[test]
fn the_cut_list_tells_cut_trimmed_overhang_and_scale() {
    let text = render(&scenario(), &plan());
    has(&text, "1 15 × 3 14 1/2 × 2 1/2 (14.5 × 2.5) border-1-left");
    has(
        &text,
        "1 10 3/4 × 3 (10.75 × 3) 10 1/4 × 2 1/2 (10.25 × 2.5) extra",
    );
    has(&text, "finished 9 3/4 × 2 in (9.75 × 2), design vine");
    has(&text, "scaled along the strip to 92.857 % (0.92857)");
    has(&text, "overhang 1/4 in (0.25)");
}

#[test]
fn corners_omissions_warnings_and_cautions_are_told() {
    let text = render(&scenario(), &plan());
    has(&text, "The pattern meets at 1 of 2 counted corners.");
    has(&text, "border 1 top-right misses itself by 3/4 in (0.75)");
    has(&text, "border-1-top: No size is short enough.");
    has(&text, "- The strip extra mixes repeats.");
    has(
        &text,
        "Read the end before you cut: 1 strip is left out, 1 warning.",
    );
    for caution in [
        "off the machine before you trim",
        "rotary cutter",
        "iron",
        "fresh air",
        "manual",
    ] {
        has(&text, caution);
    }
}

/// 12 × 25 sashes alike are one line, and one that differs in the middle is told apart by name.
#[test]
fn three_hundred_strips_alike_are_one_line_of_the_cut_list() {
    let mut plan = plan();
    let pattern = plan.strips[0].clone();
    plan.strips.clear();
    for row in 1..=12 {
        for column in 1..=25 {
            let mut strip = pattern.clone();
            strip.id = format!("sash-v-{row}-{column}");
            plan.strips.push(strip);
        }
    }
    let text = render(&scenario(), &plan);
    has(
        &text,
        "300 15 × 3 14 1/2 × 2 1/2 (14.5 × 2.5) sash-v-1-1 … sash-v-12-25",
    );

    let odd = plan.strips[30].id.clone();
    plan.strips[30].length = plan.strips[30].width.clone();
    let text = render(&scenario(), &plan);
    has(
        &text,
        "299 15 × 3 14 1/2 × 2 1/2 (14.5 × 2.5) sash-v-1-1 … sash-v-2-5, sash-v-2-7 … sash-v-12-25",
    );
    has(
        &text,
        &format!("1 15 × 3 14 1/2 × 2 1/2 (14.5 × 2.5) {odd}"),
    );
}

#[test]
fn lines_keep_to_the_page_and_have_no_trailing_space() {
    for line in render(&scenario(), &plan()).lines() {
        assert!(line.chars().count() <= PAGE, "{line}");
        assert_eq!(line, line.trim_end());
    }
}

/// A run number or strip that names nothing, as a document by another hand may have, is no panic.
#[test]
fn a_plan_with_loose_references_is_still_written() {
    let mut plan = plan();
    plan.hoopings[0].placements[0].run = 0;
    plan.hoopings[1].placements[0].run = u32::MAX;
    plan.hoopings[1].placements[1].strip = "nothing".into();
    plan.hoopings[1].hoop = "unknown".into();
    has(&render(&scenario(), &plan), "hoop unknown, turned");
}
