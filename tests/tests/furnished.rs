//! Plans with their cloths and shopping lists: what the planner adds to a plan is what the check works out anew.

use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::check::{check, check_materials};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::job::add_materials;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{Scenario, read};
use sashwright_tests::answer::answer;
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
    let shown: Vec<&str> = failures.iter().take(4).map(String::as_str).collect();
    let count = failures.len();
    assert!(
        failures.is_empty(),
        "{count} failures:\n{}",
        shown.join("\n\n")
    );
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
