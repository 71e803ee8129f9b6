//! What a stopwatch alone does not tell: how many terms of a case are proven, the most memory that planning it takes, and how well
//! it keeps a time limit. Each case runs in a process of its own.

use std::process::Command;
use std::time::{Duration, Instant};
use std::{env, fs};

use sashwright_benches::cases;
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::make_plan;
use sashwright_solver::scenario::read;

/// Time limits that are tried, in milliseconds; the scenario's own comes first.
const LIMITS: [u64; 3] = [50, 200, 1_000];

/// The most memory that this process had, in MiB, where the system tells (Linux, proc(5)).
fn peak() -> Option<f64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kibibytes: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes / 1024.0)
}

/// Plans one case within a limit, 0 for its own, and prints proven terms, time and memory.
fn one(text: &str, limit: u64) {
    let scenario = read(text.as_bytes()).expect("a scenario without fault");
    let before = peak();
    let within = if limit == 0 {
        scenario.time_limit
    } else {
        Duration::from_millis(limit)
    };
    let begun = Instant::now();
    let plan = make_plan(&scenario, &Deadline::after(within, StopSignal::new())).expect("a plan");
    let took = begun.elapsed().as_secs_f64() * 1e3;
    let proven = plan.objective.iter().filter(|entry| entry.proven).count();
    let more = peak()
        .zip(before)
        .map_or(0.0, |(peak, before)| peak - before);
    println!("{proven}/{} {took:.1} {more:.1}", plan.objective.len());
}

/// What the case's process printed.
fn asked(case: usize, limit: u64) -> Vec<String> {
    let program = env::current_exe().expect("this program");
    let output = Command::new(program)
        .args(["--case", &case.to_string(), &limit.to_string()])
        .output()
        .expect("the case's process");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    text.split_whitespace().map(str::to_owned).collect()
}

fn main() {
    let arguments: Vec<String> = env::args().collect();
    let cases = cases();
    if let Some(place) = arguments.iter().position(|argument| argument == "--case") {
        let number = |at: usize| arguments.get(place + at).and_then(|text| text.parse().ok());
        let (case, limit): (u64, u64) = (number(1).expect("a case"), number(2).expect("a limit"));
        return one(&cases[usize::try_from(case).expect("a case")].1, limit);
    }
    // As a test, two cases show that it works.
    let tried = if arguments.iter().any(|argument| argument == "--test") {
        2
    } else {
        cases.len()
    };
    println!("| case | proven | memory, MiB | limit 50 ms | 200 ms | 1000 ms |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for (case, (name, _)) in cases.iter().enumerate().take(tried) {
        let own = asked(case, 0);
        assert!(own.len() == 3, "{name} gave no plan");
        let limits = LIMITS.map(|limit| asked(case, limit).get(1).cloned().unwrap_or_default());
        println!(
            "| {name} | {} | {} | {} |",
            own[0],
            own[2],
            limits.map(|took| took + " ms").join(" | ")
        );
    }
}
