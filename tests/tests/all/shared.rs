//! Kits whose strips may meet in a hooping: one plan for all kits of a hoop set.

use std::time::Duration;

use sashwright_solver::batch::{Batch, MOST_QUESTIONS, read};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::fault::FaultCode::{self, *};
use sashwright_solver::job::add_materials;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;
use sashwright_tests::answer::{answer, flaws};
use serde_json::{Value, json};

/// A strip of 40 mm, half of what the one lane of the hoop takes.
fn scenario_with(parts: Value) -> Value {
    let mut document = json!({
        "format": 1, "unit": "mm",
        "quilt": {"blocks": {"columns": 2, "rows": 1, "size": [40, 40]}, "sashing": {"width": 10, "design": "vine"}},
        "hoops": [{"id": "hoop", "field": [80, 10], "turn": false}],
        "designs": [{"id": "vine", "sizes": [{"id": "one", "width": 10, "repeat": 40, "repeats": 1}]}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
    });
    for (name, value) in parts.as_object().expect("fields") {
        document[name] = value.clone();
    }
    document
}

fn shared(kits: Value) -> Value {
    json!({
        "format": 1, "name": "run", "share_across_kits": true,
        "scenarios": {"mat": scenario_with(json!({}))},
        "hoop_sets": {
            "long": {"unit": "mm", "hoops": [{"id": "long", "field": [120, 10], "turn": false}]},
            "tiny": {"unit": "mm", "hoops": [{"id": "tiny", "field": [30, 10], "turn": false}]},
        },
        "kits": kits,
    })
}

fn batch(document: &Value) -> Batch {
    read(document.to_string().as_bytes()).expect("no faults")
}

fn faults(document: &Value) -> Vec<(String, FaultCode)> {
    let faults = read(document.to_string().as_bytes()).expect_err("faults");
    let told = faults.into_iter().map(|fault| (fault.pointer, fault.code));
    told.collect()
}

/// The plan of a question, which holds every copy of its kits.
fn planned(batch: &Batch, question: usize) -> Plan {
    let text = &batch.questions[question].scenario;
    let scenario = scenario::read(text.as_bytes()).expect("a scenario");
    let plan = answer(&scenario, Duration::from_secs(10)).expect("a plan");
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
    plan
}

fn ids(plan: &Plan) -> Vec<&str> {
    plan.strips.iter().map(|strip| strip.id.as_str()).collect()
}

/// Three mats of one strip each need three hoopings by themselves, and together two of the scenario's hoop, in which two strips lie, or one
/// of the long hoop, in which three do.
#[test]
fn strips_of_different_kits_meet() {
    let batch = batch(&shared(json!([
        {"id": "anna", "scenario": "mat", "copies": 2},
        {"id": "berta", "scenario": "mat"},
        {"id": "clara", "scenario": "mat", "hoop_sets": ["long"], "copies": 3},
    ])));
    let questions: Vec<usize> = batch.rows.iter().map(|row| row.question).collect();
    assert_eq!(questions, [0, 0, 1]);
    let copies: Vec<u64> = batch.questions.iter().map(|asked| asked.copies).collect();
    assert_eq!(copies, [1, 1]);
    let own = planned(&batch, 0);
    assert_eq!(
        ids(&own),
        ["anna-1-sash-v-1-1", "anna-2-sash-v-1-1", "berta-sash-v-1-1"]
    );
    assert_eq!((own.hoopings.len(), own.scenario.as_str()), (2, "run"));
    let long = planned(&batch, 1);
    assert_eq!(
        (long.hoopings.len(), long.scenario.as_str()),
        (1, "run: long")
    );
}

/// What cannot be stitched asks by itself, so that it is known why, and nobody else is kept from a plan.
#[test]
fn a_kit_that_cannot_be_made_keeps_no_other_from_it() {
    let longer = scenario_with(json!({
        "quilt": {"centre": [90, 90], "borders": [{"width": 20, "design": "vine"}]},
    }));
    let batch = batch(&shared(json!([
        {"id": "wide", "scenario": longer},
        {"id": "anna", "scenario": "mat"},
        {"id": "tiny", "scenario": "mat", "hoop_sets": ["tiny"], "copies": 4},
        {"id": "berta", "scenario": "mat"},
    ])));
    let questions: Vec<usize> = batch.rows.iter().map(|row| row.question).collect();
    assert_eq!(questions, [0, 1, 2, 1]);
    let copies: Vec<u64> = batch.questions.iter().map(|asked| asked.copies).collect();
    assert_eq!(copies, [1, 1, 4]);
    for unmakeable in [0, 2] {
        let text = &batch.questions[unmakeable].scenario;
        let scenario = scenario::read(text.as_bytes()).expect("a scenario");
        assert!(answer(&scenario, Duration::from_secs(10)).is_err());
    }
    assert_eq!(
        ids(&planned(&batch, 1)),
        ["anna-sash-v-1-1", "berta-sash-v-1-1"]
    );
}

/// Designs that are alike are one; others that only have the same id get another, wherever the kit names them.
#[test]
fn designs_are_told_apart_where_they_differ() {
    let other = scenario_with(json!({
        "designs": [{"id": "vine", "sizes": [{"id": "one", "width": 10, "repeat": 20, "repeats": 2}]}],
        "strips": [{"id": "loop", "length": 40, "width": 10, "design": "vine", "count": 2}],
    }));
    let batch = batch(&shared(json!([
        {"id": "anna", "scenario": "mat"},
        {"id": "berta", "scenario": other},
        {"id": "clara", "scenario": other, "copies": 3},
    ])));
    let document: Value = serde_json::from_str(&batch.questions[0].scenario).expect("JSON");
    let names = |list: &str| -> Vec<Value> {
        let list = document[list].as_array().expect("a list");
        list.iter().map(|entry| entry["id"].clone()).collect()
    };
    assert_eq!(names("designs"), ["vine", "vine (berta)"]);
    assert_eq!(names("quilts"), ["anna", "berta", "clara"]);
    assert_eq!(names("strips"), ["berta-loop", "clara-loop"]);
    let plan = planned(&batch, 0);
    let of = |id: &str| {
        let mut strips = plan.strips.iter();
        let strip = strips.find(|strip| strip.id == id);
        strip.expect("the strip").design.as_str()
    };
    assert_eq!(of("anna-sash-v-1-1"), "vine");
    assert_eq!(of("clara-3-sash-v-1-1"), "vine (berta)");
    // Two loops in each of three copies.
    assert_eq!(of("clara-loop-6"), "vine (berta)");
    assert_eq!(plan.strips.len(), (1 + 1 + 3) + (2 + 6));
}

/// Sashes of both kits are cut from the fabric for sashes, and what a kit lists from the fabric for that.
#[test]
fn fabrics_are_for_the_strips_of_all_kits() {
    let told = scenario_with(json!({
        "strips": [{"id": "loop-long", "length": 40, "width": 10, "design": "vine"}],
        "materials": {"fabrics": [{"id": "red", "for": ["sash"]}, {"id": "blue", "for": ["loop"]}]},
    }));
    let batch = batch(&shared(json!([
        {"id": "anna", "scenario": told},
        {"id": "berta", "scenario": told},
    ])));
    let scenario = scenario::read(batch.questions[0].scenario.as_bytes()).expect("a scenario");
    let mut plan = planned(&batch, 0);
    let deadline = Deadline::after(Duration::from_secs(10), StopSignal::new());
    add_materials(&scenario, &mut plan, &deadline);
    let uses = |cloth: &str| -> Vec<String> {
        let cuttings = plan.cutting.iter().flatten();
        let pieces = cuttings
            .filter(|cuts| cuts.cloth == cloth)
            .flat_map(|cuts| &cuts.pieces);
        let mut uses: Vec<String> = pieces.flat_map(|piece| piece.uses.clone()).collect();
        uses.sort();
        uses
    };
    assert_eq!(uses("red"), ["anna-sash-v-1-1", "berta-sash-v-1-1"]);
    assert_eq!(uses("blue"), ["anna-loop-long", "berta-loop-long"]);
}

#[test]
fn what_kits_say_differently_is_told_where_it_stands() {
    let with = |parts: Value| {
        shared(json!([
            {"id": "anna", "scenario": "mat"},
            {"id": "berta", "scenario": scenario_with(parts)},
        ]))
    };
    for (parts, place) in [
        (json!({"rules": {"growth": "one_way"}}), "/rules"),
        (json!({"goal": {"priorities": ["joints"]}}), "/goal"),
        (
            json!({"hoops": [{"id": "other", "field": [80, 10]}]}),
            "/hoops",
        ),
        (json!({"rates": {"hooping": 7}}), "/rates"),
        (
            json!({"materials": {"stabilizer": {"margin": 30}}}),
            "/materials",
        ),
        (
            json!({"allowances": {"seam": 1, "trim": 0, "gap": 0}}),
            "/allowances",
        ),
        (
            json!({"wishes": [{"wish": "first", "strips": ["sash-v-1-1"]}]}),
            "/wishes",
        ),
        (
            json!({"measured": [{"strip": "sash-v-1-1", "length": 40}]}),
            "/measured",
        ),
    ] {
        let told = faults(&with(parts.clone()));
        assert_eq!(
            told,
            [(format!("/kits/1/scenario{place}"), Conflict)],
            "{parts}"
        );
    }
    // A default that is written out says the same.
    let same = with(json!({"rules": {"share_hoopings": true}, "limits": {"seconds": 20}}));
    let batch = batch(&same);
    let document: Value = serde_json::from_str(&batch.questions[0].scenario).expect("JSON");
    assert_eq!(document["limits"], json!({"seconds": 20}));
}

/// Faults that only show with all kits in one plan have the place of the kit.
#[test]
fn what_cannot_be_in_one_plan_is_told_where_it_stands() {
    let kit = |id: &str, copies: u64| json!({"id": id, "scenario": "mat", "copies": copies});
    let long = "x".repeat(61);
    assert_eq!(
        faults(&shared(json!([kit(&long, 1)]))),
        [("/kits/0/id".to_string(), OutOfRange)]
    );
    assert_eq!(
        faults(&shared(json!([kit("a", 1), kit("b", 100_001)]))),
        [("/kits/1/copies".to_string(), OutOfRange)]
    );
    // Copy 1 of "a" is called as the other kit.
    assert_eq!(
        faults(&shared(json!([kit("a", 2), kit("a-1", 1)]))),
        [("/scenarios/mat/quilt/sashing".to_string(), DuplicateId)]
    );
    assert_eq!(
        faults(&shared(json!([kit("a", 60_000), kit("b", 60_000)]))),
        [("/share_across_kits".to_string(), OutOfRange)]
    );
    let many: Vec<Value> = (0..10_001)
        .map(|number| kit(&format!("k{number}"), 1))
        .collect();
    assert_eq!(
        faults(&shared(json!(many))),
        [("/share_across_kits".to_string(), OutOfRange)]
    );
    // Each by itself they are welcome.
    let mut apart = shared(json!(many));
    apart["share_across_kits"] = json!(false);
    assert_eq!(batch(&apart).questions.len(), 1);
}

/// The search begins with what is planned kit by kit: however many there are, no more hoopings are needed together.
#[test]
fn together_is_never_worse_than_kit_by_kit() {
    let quilt = |height: u32| {
        json!({
            "format": 1, "unit": "in",
            "quilt": {
                "blocks": {"columns": 2, "rows": height, "size": [6, 6]},
                "sashing": {"width": 1, "design": "vine"},
                "borders": [{"width": 2, "design": "vine"}],
            },
            "hoops": [{"id": "small", "field": [5, 7]}, {"id": "medium", "field": [6, 10]}],
            "designs": [{"id": "vine", "sizes": [
                {"id": "two", "width": 2, "repeat": 1.75, "repeats": 3, "field": [5.5, 2.5], "stop_early": true},
                {"id": "one", "width": 1, "repeat": 1.5, "repeats": 4, "field": [6.25, 1.5], "stop_early": true},
            ]}],
            "limits": {"seconds": 2},
        })
    };
    let document = json!({
        "format": 1, "share_across_kits": true,
        "kits": [
            {"id": "low", "scenario": quilt(1), "copies": 30},
            {"id": "high", "scenario": quilt(2), "copies": 20},
        ],
    });
    let together = planned(&batch(&document), 0).hoopings.len();
    let alone = |height: u32| {
        let scenario = scenario::read(quilt(height).to_string().as_bytes()).expect("a scenario");
        let plan = answer(&scenario, Duration::from_secs(10)).expect("a plan");
        plan.hoopings.len()
    };
    assert!(together <= 30 * alone(1) + 20 * alone(2));
}

/// Kits that no hoop of their set can make ask by themselves, and count as others do.
#[test]
fn there_are_not_too_many_questions() {
    let different = |count: usize, share: bool| {
        let kit = |number: usize| {
            let width = json!(format!("{}/1000", 40_000 + number));
            let blocks = json!({"columns": 2, "rows": 1, "size": [width, 40]});
            let quilt = json!({"blocks": blocks, "sashing": {"width": 10, "design": "vine"}});
            json!({"id": format!("k{number}"), "scenario": scenario_with(json!({"quilt": quilt})), "hoop_sets": ["tiny"]})
        };
        let mut document = shared((0..count).map(kit).collect());
        document["share_across_kits"] = json!(share);
        document
    };
    for share in [false, true] {
        assert_eq!(
            faults(&different(MOST_QUESTIONS + 1, share)),
            [(String::new(), OutOfRange)],
            "shared: {share}"
        );
        let most = batch(&different(MOST_QUESTIONS, share));
        assert_eq!(most.questions.len(), MOST_QUESTIONS, "shared: {share}");
    }
}
