//! Plans with their cloths and shopping lists: what the planner adds to a plan is what the check works out anew.

use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::check::{check, check_materials};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::job::add_materials;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{Scenario, read};
use sashwright_tests::answer::answer;
use sashwright_tests::edit::write;
use sashwright_tests::failures::assert_none;
use sashwright_tests::generator::{Scale, furnished_scenario};
use serde_json::{Value, json};

fn furnished(scenario: &Scenario, limit: Duration) -> Result<Plan, NoPlan> {
    let mut plan = answer(scenario, limit)?;
    let deadline = Deadline::after(limit, StopSignal::new());
    add_materials(scenario, &mut plan, &deadline);
    Ok(plan)
}

/// What the check finds, as sentences.
fn found(scenario: &Scenario, plan: &Plan) -> Vec<String> {
    assert_eq!(check(scenario, plan), check_materials(scenario, plan));
    let violations = check(scenario, plan).into_iter();
    violations
        .map(|broken| format!("{} at {}: {}", broken.rule, broken.pointer, broken.message))
        .collect()
}

#[test]
fn drawn_plans_with_materials_pass_the_check() {
    let limit = Duration::from_millis(300);
    let (mut planned, mut cut, mut bought, mut proven, mut told) = (0, 0, 0, 0, 0);
    let (mut pieced, mut on_hand, mut sheets) = (0, 0, 0);
    let mut failures = Vec::new();
    for seed in 0..260 {
        let scale = if seed % 3 == 0 {
            Scale::Tiny
        } else {
            Scale::Bigger
        };
        let text = furnished_scenario(seed, scale);
        let scenario = read(text.as_bytes()).expect("a scenario without fault");
        let Ok(plan) = furnished(&scenario, limit) else {
            continue;
        };
        planned += 1;
        let found = found(&scenario, &plan);
        if !found.is_empty() {
            failures.push(format!("seed {seed}: {found:#?}\n{text}"));
        }
        let cuttings = plan.cutting.as_deref().unwrap_or_default();
        cut += cuttings.len();
        proven += cuttings.iter().filter(|cuts| cuts.proven).count();
        bought += plan.materials.map_or(0, |list| list.purchases.len());
        told += usize::from(!plan.warnings.is_empty());
        let shown = serde_json::to_string(cuttings).expect("JSON");
        pieced += usize::from(shown.contains(", part 2 of "));
        on_hand += usize::from(shown.contains("\"on_hand\""));
        sheets += usize::from(shown.contains("\"sheet\""));
    }
    println!(
        "{planned} planned, {cut} cloths cut, {proven} proven, {bought} lines bought; {pieced} with parts, {on_hand} from what is \
         on hand, {sheets} from sheets, {told} with warnings"
    );
    assert_none(&failures, planned);
    assert!(planned >= 200, "only {planned} were planned");
    assert!(cut >= 400 && pieced >= 10 && on_hand >= 50 && sheets >= 50);
}

/// The scenarios of the project, with cloths of every kind added.
#[test]
fn plans_of_the_project_with_materials_pass_the_check() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).expect("the folder") {
        let path = entry.expect("an entry").path();
        if path.extension().is_none_or(|extension| extension != "json") {
            continue;
        }
        let text = std::fs::read_to_string(&path).expect("a readable file");
        let mut document: Value = serde_json::from_str(&text).expect("JSON");
        let wide = if document["unit"] == "in" { 40 } else { 1000 };
        if document.pointer("/materials/fabrics").is_none() {
            let stabilizer = document.pointer("/materials/stabilizer/margin").cloned();
            document["materials"] = json!({
                "stabilizer": {
                    "margin": stabilizer.unwrap_or(json!(1)),
                    "bolts": [{"id": "roll", "width": wide / 2, "price": 4.5}],
                    "sheets": [{"id": "sheet", "size": [wide / 2, wide / 2], "price": 2}],
                    "on_hand": [{"size": [wide / 4, wide / 2]}]
                },
                "fabrics": [
                    {"id": "first", "for": ["border-1", "sash-v"], "width": wide, "long_strips": "pieced", "price": 9},
                    {"id": "second", "width": wide, "price": 8.5}
                ],
                "batting": {"by": "run"}, "backing": {}, "tape": {"each_run": wide / 5}, "thread": {"spool": 500}
            });
        }
        let scenario = read(document.to_string().as_bytes()).expect("a scenario");
        let plan = furnished(&scenario, Duration::from_secs(3)).expect("a plan");
        assert_eq!(found(&scenario, &plan), Vec::<String>::new(), "{path:?}");
        assert!(plan.cutting.is_some_and(|cuttings| cuttings.len() >= 2));
        count += 1;
    }
    assert!(count >= 9, "only {count} scenarios");
}

/// A loose strip, a border with cornerstones, and whatever else is told.
fn odd(changes: &[(&str, Value)]) -> Plan {
    let mut document = json!({
        "format": 1, "unit": "mm",
        "quilt": {"centre": [100, 100], "borders": [{"width": 20, "corner": "cornerstone"}]},
        "strips": [{"id": "s", "length": 100, "width": 10, "design": "d"}],
        "hoops": [{"id": "h", "field": [100, 100]}],
        "designs": [{"id": "d", "sizes": [{"id": "a", "width": 10, "repeat": 10, "repeats": 10}]}]
    });
    for (place, value) in changes {
        write(&mut document, place, value);
    }
    let scenario = read(document.to_string().as_bytes()).expect("a scenario");
    let plan = furnished(&scenario, Duration::from_secs(1)).expect("a plan");
    assert_eq!(found(&scenario, &plan), Vec::<String>::new(), "{document}");
    plan
}

#[test]
fn odd_scenarios_pass_the_check() {
    assert_eq!(odd(&[]).warnings, Vec::<String>::new());
    odd(&[("/strips/0/id", json!("cornerstone of border 1"))]);
    // Strips of 126 and 112 mm on cloth 60 mm wide, which may not lie along it and leave no place for a join.
    let fabric = json!([{"id": "f", "width": 60, "lay": "crosswise", "long_strips": "pieced", "joins_clear": 70}]);
    let plan = odd(&[("/materials/fabrics", fabric)]);
    assert!(
        plan.warnings
            .iter()
            .any(|warning| warning.starts_with("No f is large enough"))
    );
    // Only what is on hand, and not enough of it.
    let fabric = json!([{"id": "f", "for": ["border"], "sheets": [{"id": "t", "size": [9, 9], "price": 1}],
        "on_hand": [{"size": [150, 40]}]}, {"id": "g"}]);
    let plan = odd(&[("/materials/fabrics", fabric)]);
    assert!(
        plan.warnings
            .iter()
            .any(|warning| warning.starts_with("No way was found to cut all f"))
    );
}

/// Plain sashing between a thousand blocks each way would be millions of pieces: there is no cutting of it, and that is told.
#[test]
fn a_few_numbers_do_not_make_millions_of_pieces() {
    let quilt = json!({
        "blocks": {"columns": 1000, "rows": 1000, "size": [50, 60]},
        "sashing": {"width": 10, "cornerstones": true, "outer": true}
    });
    let plan = odd(&[("/quilt", quilt)]);
    assert_eq!(plan.cutting.map(|cuttings| cuttings.len()), Some(0));
    // 1000 · 1001 either way, and 1001 · 1001 squares, and the strip.
    let told =
        "The quilt top has 3004002 pieces of fabric, and no cutting is made of more than 100000.";
    assert_eq!(plan.warnings, [told]);
}

/// A cloth 40 in wide: a strip of 60 in is sewn from two parts, and other strips are called like them, one of which is sewn from parts
/// as well. Each piece keeps a name of its own.
#[test]
fn parts_are_not_taken_for_strips_that_are_called_like_them() {
    let strip =
        |id: &str, length: u32| json!({"id": id, "length": length, "width": 2, "design": "vine"});
    let document = json!({
        "format": 1, "unit": "in",
        "strips": [strip("X", 60), strip("X, part 1 of 2", 30), strip("X, part 2 of 2", 60), strip("\"X\", part 1 of 2", 20)],
        "hoops": [{"id": "long", "field": [6, 12]}],
        "designs": [{"id": "vine", "sizes": [{"id": "v", "width": 2, "repeat": 2, "repeats": 5, "stop_early": true}]}],
        "materials": {"fabrics": [{"id": "print", "width": 40, "long_strips": "pieced"}]}
    });
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    let plan = furnished(&scenario, Duration::from_secs(10)).expect("a plan");
    assert_eq!(found(&scenario, &plan), Vec::<String>::new());
    let cloths = plan.cutting.as_deref().expect("a cutting");
    let print = cloths.iter().find(|cuts| cuts.cloth == "print");
    let pieces = &print.expect("the fabric").pieces;
    let mut uses: Vec<&str> = pieces
        .iter()
        .flat_map(|piece| &piece.uses)
        .map(String::as_str)
        .collect();
    uses.sort_unstable();
    let expected = [
        "\"\"X\"\", part 1 of 2",
        "\"\"X\"\", part 2 of 2",
        "\"X\", part 1 of 2",
        "X, part 1 of 2",
        "X, part 2 of 2, part 1 of 2",
        "X, part 2 of 2, part 2 of 2",
    ];
    assert_eq!(uses, expected);
}
