//! How long a plan takes, from the scenario's text to the checked plan.

use criterion::{Criterion, criterion_group, criterion_main};
use sashwright_benches::{
    copies, demo, four_rounds, kit, rectangular_quilt, show_quilt, whole_quilt,
};
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
        ("four rounds of borders", four_rounds()),
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
    let show = show_quilt(&["hoopings", "joints"]).to_string();
    group.bench_function("show quilt, hoopings and joints", |bencher| {
        bencher.iter(|| plan(show.as_bytes()));
    });
    for count in [1, 10, 100, 1_000, 10_000] {
        let text = copies(count).to_string();
        group.bench_function(format!("{count} copies"), |bencher| {
            bencher.iter(|| plan(text.as_bytes()));
        });
    }
    let kits: Vec<String> = (0..1_000).map(|number| kit(number).to_string()).collect();
    group.bench_function("1000 kits", |bencher| {
        bencher.iter(|| kits.iter().map(|kit| plan(kit.as_bytes())).sum::<usize>());
    });
    group.finish();
}

criterion_group!(benches, plans);
criterion_main!(benches);
