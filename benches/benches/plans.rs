//! How long a plan takes, from the scenario's text to the checked plan.

use std::thread;

use criterion::{Criterion, criterion_group, criterion_main};
use sashwright_benches::{cases, kit};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::make_plan;
use sashwright_solver::scenario::read;

/// As many kits are planned at once.
const THREADS: usize = 2;

/// Plans a scenario and returns the number of hoopings; every plan has passed the check.
fn plan(document: &[u8]) -> usize {
    let scenario = read(document).expect("a scenario without fault");
    let deadline = Deadline::after(scenario.time_limit, StopSignal::new());
    let plan = make_plan(&scenario, &deadline).expect("a plan");
    plan.hoopings.len()
}

/// Plans every kit, each thread the next one that waits.
fn plan_all(kits: &[String]) -> usize {
    let next = std::sync::atomic::AtomicUsize::new(0);
    let work = || {
        let mut hoopings = 0;
        while let Some(kit) = kits.get(next.fetch_add(1, std::sync::atomic::Ordering::Relaxed)) {
            hoopings += plan(kit.as_bytes());
        }
        hoopings
    };
    thread::scope(|scope| {
        let threads: Vec<_> = (0..THREADS).map(|_| scope.spawn(work)).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().expect("a thread that plans"))
            .sum()
    })
}

fn plans(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("plan");
    group.sample_size(10);
    for (name, text) in cases() {
        group.bench_function(name, |bencher| bencher.iter(|| plan(text.as_bytes())));
    }
    let kits: Vec<String> = (0..1_000).map(|number| kit(number).to_string()).collect();
    group.bench_function("1000 kits", |bencher| bencher.iter(|| plan_all(&kits)));
    group.finish();
}

criterion_group!(benches, plans);
criterion_main!(benches);
