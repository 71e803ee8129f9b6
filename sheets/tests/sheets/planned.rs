//! Scenarios and the plans of them.

use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::job::add_materials;
use sashwright_solver::make_plan;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{self, Scenario};

/// Scenarios of the repository, by name.
pub const SCENARIOS: [&str; 5] = [
    "table-runner",
    "lap-quilt",
    "cornerstones-mm",
    "filler-strips",
    "cot-and-doll-quilts",
];

/// A scenario of the repository, as it is written.
pub fn document(name: &str) -> Vec<u8> {
    let path = format!("{}/../scenarios/{name}.json", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(path).expect("the scenario is there")
}

/// A scenario and its plan.
pub fn plan_of(document: &[u8]) -> (Scenario, Plan) {
    let scenario = scenario::read(document).expect("a scenario without fault");
    let plan = make_plan(&scenario, &deadline(&scenario)).expect("a plan");
    (scenario, plan)
}

/// A scenario and its plan, with what is cut and bought.
pub fn furnished(document: &[u8]) -> (Scenario, Plan) {
    let (scenario, mut plan) = plan_of(document);
    add_materials(&scenario, &mut plan, &deadline(&scenario));
    (scenario, plan)
}

fn deadline(scenario: &Scenario) -> Deadline {
    Deadline::after(scenario.time_limit, StopSignal::new())
}
