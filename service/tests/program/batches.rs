//! Batches by command line and over a socket, through kills at any moment.

use std::collections::BTreeMap;
use std::fs;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use sashwright_solver::check::check;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;
use serde_json::{Value, json};

use crate::call::{program, run};
use crate::folder::Folder;
use crate::service::{Running, exchange};

/// How often the service is killed.
const KILLS: usize = 50;
/// Long enough for any step; a step that takes longer has failed.
const PATIENCE: Duration = Duration::from_secs(60);

fn cushion() -> Value {
    serde_json::from_str(include_str!("../../examples/scenario.json")).expect("JSON")
}

/// A batch of so many different cushions, each in as many copies as its place in the list. The ties get longer from one to the next.
fn cushions(count: usize) -> Value {
    let kits: Vec<Value> = (1..=count)
        .map(|number| {
            let mut scenario = cushion();
            scenario["strips"][0]["length"] = json!(format!("{number}/8"));
            json!({"id": format!("cushion {number}"), "scenario": scenario, "copies": number})
        })
        .collect();
    json!({"format": 1, "name": "cushions", "kits": kits})
}

#[test]
fn a_batch_is_planned_into_a_folder_and_not_once_more() {
    let folder = Folder::new("batch");
    let file = folder.file("batch.json", &cushions(3).to_string());
    let into = folder.path("plans");
    let (code, text, error) = run(&["batch", &file, "--into", &into], "");
    assert_eq!((code, error.as_str()), (0, ""), "{text}");
    assert!(
        text.contains("3 kits in 6 copies, all of them planned."),
        "{text}"
    );
    for number in 1..=3 {
        let read = |kind: &str| {
            let path = format!("{into}/plans/{number}.{kind}.json");
            fs::read(path).expect("a file")
        };
        let asked = scenario::read(&read("scenario")).expect("a scenario");
        let plan: Plan = serde_json::from_slice(&read("plan")).expect("a plan");
        assert!(check(&asked, &plan).is_empty());
    }
    let kits = fs::read_to_string(format!("{into}/kits.csv")).expect("a table");
    let lines: Vec<&str> = kits.lines().collect();
    assert_eq!(lines[0], "kit,hoop set,copies,plan,status,labels");
    assert_eq!(lines[2], "cushion 2,,2,2,optimal,{}");
    // What is there is not planned again: there is no line of a result.
    let (code, lines, _) = run(&["batch", &file, "--into", &into, "--format", "json"], "");
    assert_eq!((code, lines.as_str()), (0, ""));
    let (_, again, _) = run(&["batch", &file, "--into", &into], "");
    assert_eq!(again, text);
}

#[test]
fn what_is_wrong_with_a_batch_is_told() {
    let folder = Folder::new("batch-wrong");
    let into = folder.path("plans");
    let mut batch = cushions(2);
    batch["kits"][1]["scenario"]["unit"] = json!("cubit");
    let (code, _, error) = run(&["batch", "-", "--into", &into], &batch.to_string());
    assert_eq!(code, 2);
    assert!(error.contains("/kits/1/scenario/unit: "), "{error}");
    let (code, _, error) = run(&["batch", "-", "--into", &into, "--format", "pdf"], "{}");
    assert_eq!(code, 1);
    assert!(error.contains("text or json"), "{error}");
}

fn kill(child: &mut Child) {
    child.kill().expect("killed");
    child.wait().expect("its end");
}

/// The command is killed again and again before it is done, and done in the end, with each plan as it is when nothing is killed.
#[test]
fn a_batch_on_the_command_line_goes_on_where_it_was_killed() {
    let folder = Folder::new("batch-kill");
    let file = folder.file("batch.json", &cushions(40).to_string());
    let (into, whole) = (folder.path("killed"), folder.path("whole"));
    let (code, text, _) = run(&["batch", &file, "--into", &whole], "");
    assert_eq!(code, 0);
    let mut state = 7_u64;
    for _ in 0..10 {
        let mut child = program()
            .args(["batch", &file, "--into", &into])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program");
        std::thread::sleep(moment(&mut state, 60));
        kill(&mut child);
    }
    let (code, after, error) = run(&["batch", &file, "--into", &into], "");
    assert_eq!(code, 0, "{error}");
    assert_eq!(after.replace(&into, &whole), text);
    for number in 1..=40 {
        let read = |folder: &str| fs::read(format!("{folder}/plans/{number}.plan.json"));
        assert_eq!(read(&into).expect("a plan"), read(&whole).expect("a plan"));
    }
}

/// Any moment up to so many milliseconds, out of a linear congruential generator.
fn moment(state: &mut u64, most: u64) -> Duration {
    *state = state
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    Duration::from_micros((*state >> 33) % (most * 1000))
}

fn get(running: &Running, path: &str) -> Option<Value> {
    let request = format!("GET {path} HTTP/1.1\r\nHost: trial\r\n\r\n");
    let answer = exchange(&mut running.connect(), &request);
    let body = answer.split_once('{').map(|(_, body)| format!("{{{body}"));
    answer
        .starts_with("HTTP/1.1 200")
        .then(|| serde_json::from_str(&body.expect("a body")).expect("JSON"))
}

fn post(running: &Running, key: &str, batch: &str) -> String {
    let request = format!(
        "POST /v1/batches HTTP/1.1\r\nHost: trial\r\nContent-Type: application/json\r\nIdempotency-Key: {key}\r\nContent-Length: {}\r\n\r\n{batch}",
        batch.len()
    );
    let answer = exchange(&mut running.connect(), &request);
    assert!(answer.starts_with("HTTP/1.1 202"), "{answer}");
    let place = answer
        .lines()
        .find_map(|line| line.strip_prefix("location: "));
    place.expect("a place").to_string()
}

/// The service is killed (SIGKILL) fifty times at random moments while it works on batches; more are accepted between the kills. Every
/// one that was accepted ends, with the results that it has where nothing is killed, each once.
#[test]
fn every_batch_that_was_accepted_is_finished_through_fifty_kills() {
    let folder = Folder::new("kills");
    let data = folder.path("data");
    // What each cushion takes where nothing is killed.
    let file = folder.file("batch.json", &cushions(15 + KILLS).to_string());
    let (_, lines, _) = run(
        &[
            "batch",
            &file,
            "--into",
            &folder.path("whole"),
            "--format",
            "json",
        ],
        "",
    );
    let number = |line: &Value, name: &str| line[name].as_u64().expect("a number") as usize;
    let hoopings: BTreeMap<usize, usize> = lines
        .lines()
        .map(|line| serde_json::from_str(line).expect("JSON"))
        .map(|line: Value| (number(&line, "number"), number(&line, "hoopings")))
        .collect();
    let start = || Running::start_with(&["--listen", "127.0.0.1:0", "--data", &data]);
    let mut state = 11_u64;
    let mut accepted: BTreeMap<String, usize> = BTreeMap::new();
    for kill in 0..KILLS {
        let running = start();
        if kill % 5 == 0 {
            let size = 15 + kill;
            let place = post(
                &running,
                &format!("key-{kill}"),
                &cushions(size).to_string(),
            );
            accepted.insert(place, size);
        }
        std::thread::sleep(moment(&mut state, 80));
        running.kill();
    }
    let running = start();
    // Sent again after the kills, it is the batch that is there.
    let again = post(&running, "key-0", &cushions(15).to_string());
    assert_eq!(accepted.get(&again), Some(&15));
    let limit = Instant::now() + PATIENCE;
    for (place, size) in &accepted {
        while get(&running, place).expect("the batch")["state"] != "finished" {
            assert!(Instant::now() < limit, "{place} is not finished");
            std::thread::sleep(Duration::from_millis(20));
        }
        let results = get(&running, &format!("{place}/results?limit=1000")).expect("results");
        let results = results["results"].as_array().expect("rows");
        let mut numbers: Vec<u64> = results
            .iter()
            .filter_map(|row| row["number"].as_u64())
            .collect();
        numbers.sort_unstable();
        assert_eq!(numbers, (1..=*size as u64).collect::<Vec<u64>>());
        let summary = get(&running, &format!("{place}/summary")).expect("a summary");
        assert_eq!(summary["totals"]["planned_copies"], size * (size + 1) / 2);
        let hoopings = (1..=*size).map(|number| number * hoopings[&number]);
        assert_eq!(summary["totals"]["hoopings"], hoopings.sum::<usize>());
    }
}

#[test]
fn a_second_program_does_not_take_the_same_folder() {
    let folder = Folder::new("taken");
    let data = folder.path("data");
    let _first = Running::start_with(&["--listen", "127.0.0.1:0", "--data", &data]);
    let second = Command::new(env!("CARGO_BIN_EXE_sashwright"))
        .args(["serve", "--listen", "127.0.0.1:0", "--data", &data])
        .output()
        .expect("its end");
    assert_eq!(second.status.code(), Some(1));
    let said = String::from_utf8(second.stderr).expect("text");
    assert!(said.contains(&data) && said.contains("--data"), "{said}");
}
