//! How long a plan takes, from the scenario's text to the checked plan.

use criterion::{Criterion, criterion_group, criterion_main};
use sashwright_benches::{demo, rectangular_quilt, whole_quilt};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::make_plan;
use sashwright_solver::scenario::read;
use serde_json::Value;

/// Plans a scenario and returns the number of hoopings; every plan has passed the check.
fn plan(document: &[u8]) -> usize {
    let scenario = read(document).expect("a scenario without fault");
    let deadline = Deadline::after(scenario.time_limit, StopSignal::new());
    let plan = make_plan(&scenario, &deadline).expect("a plan");
    plan.hoopings.len()
}

fn plans(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("plan");
    group.sample_size(10);
    let cases: Vec<(&str, Value)> = vec![
        ("whole quilt, butted", whole_quilt("butted")),
        ("whole quilt, mitred", whole_quilt("mitred")),
        ("rectangular quilt", rectangular_quilt()),
        (
            "lap quilt",
            demo(include_str!("../../scenarios/lap-quilt.json")),
        ),
        (
            "table runner",
            demo(include_str!("../../scenarios/table-runner.json")),
        ),
        (
            "bed quilt",
            demo(include_str!("../../scenarios/bed-quilt.json")),
        ),
        (
            "cornerstones, mm",
            demo(include_str!("../../scenarios/cornerstones-mm.json")),
        ),
        (
            "filler strips",
            demo(include_str!("../../scenarios/filler-strips.json")),
        ),
    ];
    for (name, document) in cases {
        let text = document.to_string();
        group.bench_function(name, |bencher| bencher.iter(|| plan(text.as_bytes())));
    }
    group.finish();
}

criterion_group!(benches, plans);
criterion_main!(benches);
