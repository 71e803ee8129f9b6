//! The documents against their JSON Schemas (draft 2020-12).

use std::fs;
use std::path::Path;
use std::time::Duration;

use jsonschema::{Validator, draft202012};
use sashwright_solver::compare::comparison_schema;
use sashwright_solver::cope::fits_schema;
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::explain::explanation_schema;
use sashwright_solver::plan::plan_schema;
use sashwright_solver::replan::{Asked, progress_schema, replan, replan_schema};
use sashwright_solver::scenario::{read, scenario_schema};
use sashwright_tests::answer::answer;
use sashwright_tests::generator::{Scale, scenario};
use serde_json::{Value, json};

fn validator(schema: &Value) -> Validator {
    draft202012::new(schema).expect("a schema")
}

/// What the schema has against a document; empty where nothing.
fn complaints(validator: &Validator, document: &Value) -> Vec<String> {
    let errors = validator.iter_errors(document);
    errors
        .map(|error| format!("{}: {error}", error.instance_path()))
        .collect()
}

#[test]
fn every_schema_is_valid_2020_12() {
    for schema in [
        scenario_schema(),
        plan_schema(),
        comparison_schema(),
        explanation_schema(),
        fits_schema(),
        progress_schema(),
        replan_schema(),
    ] {
        assert_eq!(
            schema["$schema"],
            "https://json-schema.org/draft/2020-12/schema"
        );
        assert!(draft202012::meta::is_valid(&schema));
    }
}

/// The scenarios that come with the program, where there are any.
#[test]
fn the_scenarios_at_hand_fulfil_the_schema() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios");
    let validator = validator(&scenario_schema());
    let Ok(entries) = fs::read_dir(&folder) else {
        println!("there are none at {}", folder.display());
        return;
    };
    for entry in entries {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|extension| extension != "json") {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a text");
        let document: Value = serde_json::from_str(&text).expect("JSON");
        let complaints = complaints(&validator, &document);
        assert!(complaints.is_empty(), "{}: {complaints:?}", path.display());
        let read = read(text.as_bytes());
        assert!(read.is_ok(), "{}: {read:?}", path.display());
    }
}

#[test]
fn drawn_scenarios_and_their_plans_fulfil_the_schemas() {
    let (of_scenario, of_plan) = (validator(&scenario_schema()), validator(&plan_schema()));
    let mut plans = 0;
    for seed in 0..200 {
        let text = scenario(seed, Scale::Tiny);
        let document: Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(
            complaints(&of_scenario, &document),
            Vec::<String>::new(),
            "{text}"
        );
        let scenario = read(text.as_bytes()).expect("no fault");
        if let Ok(plan) = answer(&scenario, Duration::from_millis(200)) {
            let plan = json!(plan);
            assert_eq!(
                complaints(&of_plan, &plan),
                Vec::<String>::new(),
                "{text}\n{plan}"
            );
            plans += 1;
        }
    }
    assert!(plans >= 100, "only {plans} plans");
}

/// The scenario of a replan fulfils the schema of scenarios, its plan that of plans, and the whole its own; and so do the
/// progress documents that come with the program.
#[test]
fn replans_and_progress_fulfil_their_schemas() {
    let of_progress = validator(&progress_schema());
    let [of_scenario, of_plan, of_replan] =
        [scenario_schema(), plan_schema(), replan_schema()].map(|schema| validator(&schema));
    let mut answers = 0;
    for seed in 0..60 {
        let text = scenario(seed, Scale::Tiny);
        let read = read(text.as_bytes()).expect("no fault");
        let Ok(plan) = answer(&read, Duration::from_millis(200)) else {
            continue;
        };
        let placement = &plan.hoopings[0].placements[0];
        let run =
            json!({"strip": placement.strip, "run": placement.run, "measured": placement.length});
        let progress = json!({"format": 1, "unit": plan.unit, "done": [1], "runs": [run]});
        assert_eq!(complaints(&of_progress, &progress), Vec::<String>::new());
        let documents = [text, json!(plan).to_string(), progress.to_string()];
        let asked =
            Asked::read(documents.each_ref().map(|text| text.as_bytes())).expect("no fault");
        let deadline = Deadline::after(Duration::from_millis(200), StopSignal::new());
        for only_next in [false, true] {
            let replan = json!(replan(&asked, only_next, &deadline).expect("an answer"));
            assert_eq!(
                complaints(&of_replan, &replan),
                Vec::<String>::new(),
                "{replan}"
            );
            if !only_next {
                assert_eq!(
                    complaints(&of_scenario, &replan["scenario"]),
                    Vec::<String>::new()
                );
                assert_eq!(complaints(&of_plan, &replan["plan"]), Vec::<String>::new());
            }
        }
        answers += 1;
    }
    assert!(answers >= 30, "only {answers} answers");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/progress");
    for entry in fs::read_dir(folder).into_iter().flatten() {
        let path = entry.expect("an entry").path();
        let document: Value =
            serde_json::from_slice(&fs::read(&path).expect("a text")).expect("JSON");
        assert_eq!(
            complaints(&of_progress, &document),
            Vec::<String>::new(),
            "{}",
            path.display()
        );
    }
}

/// A plan with a field of another name, or with one missing, is no plan.
#[test]
fn the_plan_schema_refuses_what_is_no_plan() {
    let validator = validator(&plan_schema());
    let plan = json!({
        "format": 1, "scenario": "", "unit": "in", "status": "optimal", "objective": [], "strips": [],
        "hoopings": [], "corners": [], "unplanned": [], "warnings": [],
    });
    assert!(validator.is_valid(&plan));
    for (name, value) in [
        ("status", json!("best")),
        ("unit", json!("cm")),
        ("hoopings", json!(1)),
    ] {
        let mut faulty = plan.clone();
        faulty[name] = value;
        assert!(!validator.is_valid(&faulty), "{name}");
    }
    let mut more = plan.clone();
    more["colour"] = json!("blue");
    assert!(!validator.is_valid(&more));
    assert!(!validator.is_valid(&json!({})));
}

/// What has the wrong shape is refused by the schema and by the reader alike.
#[test]
fn faulty_shapes_are_refused_by_schema_and_reader() {
    let validator = validator(&scenario_schema());
    let valid = json!({
        "format": 1,
        "unit": "in",
        "strips": [{"id": "s", "length": 7, "width": 2, "design": "vine"}],
        "hoops": [{"id": "h", "field": [8, 8]}],
        "designs": [{"id": "vine", "sizes": [{"id": "v", "width": 2, "repeat": "3 1/2", "repeats": 2}]}],
    });
    assert!(validator.is_valid(&valid));
    assert!(read(valid.to_string().as_bytes()).is_ok());
    let faults = [
        ("/format", json!(2)),
        ("/unit", json!("cm")),
        ("/strips", json!([])),
        ("/strips/0/length", json!(0)),
        ("/strips/0/length", json!("seven")),
        ("/strips/0/count", json!(0)),
        ("/hoops/0/field", json!([8])),
        ("/hoops/0/turn", json!("yes")),
        ("/designs/0/sizes/0/repeats", json!(1.5)),
        ("/designs/0/sizes/0/scale", json!([1])),
        ("/designs/0/sizes/0/colour", json!("blue")),
        ("/allowances", json!({"seam": -1})),
        ("/rules", json!({"growth": "sideways"})),
        ("/goal", json!({"priorities": []})),
        ("/goal", json!({"priorities": ["joints", "joints"]})),
        ("/goal", json!({"priorities": ["joints"], "prices": {}})),
        ("/limits", json!({"seconds": 0})),
        ("/quilt", json!({"borders": []})),
    ];
    for (pointer, value) in faults {
        let mut faulty = valid.clone();
        let (parent, name) = pointer.rsplit_once('/').expect("a pointer");
        let parent = faulty.pointer_mut(parent).expect("a place in the document");
        parent[name] = value;
        assert!(!validator.is_valid(&faulty), "the schema takes {faulty}");
        assert!(
            read(faulty.to_string().as_bytes()).is_err(),
            "the reader takes {faulty}"
        );
    }
}
