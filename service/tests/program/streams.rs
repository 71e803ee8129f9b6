//! The exit status and the streams of the program.

use std::fs;
use std::process::{Output, Stdio};

use crate::call::{output as run, program};
use crate::folder::Folder;

fn code(output: &Output) -> i32 {
    output.status.code().expect("an exit status")
}

fn errors(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

const SCENARIO: &str = r#"{"format": 1, "unit": "in",
    "strips": [{"id": "a", "length": 7, "width": 2, "design": "vine"}],
    "hoops": [{"id": "medium", "field": [6, 10]}],
    "designs": [{"id": "vine", "sizes": [{"id": "vine-2", "width": 2, "repeat": 3.5, "repeats": 2}]}]}"#;

#[test]
fn faults_of_a_scenario_exit_with_2_and_their_places() {
    let faulty = SCENARIO.replace("[6, 10]", "[6, \"wide\"]");
    let output = run(&["plan", "-"], &faulty);
    assert_eq!(code(&output), 2, "{}", errors(&output));
    assert!(
        errors(&output).contains("/hoops/0/field/1: "),
        "{}",
        errors(&output)
    );
    assert!(output.stdout.is_empty());
    let output = run(&["plan", "-"], "{\"format\": 1,\n oops}");
    assert_eq!(code(&output), 2);
    assert!(errors(&output).contains("line 2"), "{}", errors(&output));
}

#[test]
fn a_file_that_cannot_be_read_or_written_exits_with_1() {
    let output = run(&["plan", "no-such-file.json"], "");
    assert_eq!(code(&output), 1);
    assert!(errors(&output).contains("no-such-file.json"));
    let output = run(
        &["plan", "-", "--out", "no-such-folder/plan.json"],
        SCENARIO,
    );
    assert_eq!(code(&output), 1);
    assert!(errors(&output).contains("no-such-folder"));
}

#[test]
fn a_plan_that_is_none_exits_with_2_and_its_place() {
    let folder = Folder::new("check");
    let scenario = folder.file("scenario.json", SCENARIO);
    for (text, words) in [
        ("{\n\"format\": 1, oops}", "not a JSON document"),
        ("{\n\"format\": 1, \"colour\": 2}", "unknown field `colour`"),
    ] {
        let output = run(&["check", &scenario, "-"], text);
        assert_eq!(code(&output), 2);
        let errors = errors(&output);
        assert!(
            errors.contains(words) && errors.contains("line 2"),
            "{errors}"
        );
    }
    let output = run(&["check", "-", "-"], SCENARIO);
    assert_eq!(code(&output), 1);
}

/// One strip of 7 in, a size of 7 in, a hoop of 10 in: by hand, one hooping without joint, corner or overhang.
#[test]
fn a_scenario_becomes_a_plan_that_the_check_accepts() {
    let folder = Folder::new("plan");
    let scenario = folder.file("scenario.json", SCENARIO);
    let output = run(&["plan", "-"], SCENARIO);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(text.contains("Proven best"), "{text}");
    assert!(text.contains("Hooping 1 of 1: hoop medium"), "{text}");

    let plan = folder.path("plan.json");
    let output = run(&["plan", &scenario, "--format", "json", "--out", &plan], "");
    assert_eq!(code(&output), 0, "{}", errors(&output));
    assert!(output.stdout.is_empty());
    let written = fs::read_to_string(&plan).expect("the plan");
    let document: serde_json::Value = serde_json::from_str(&written).expect("JSON");
    assert_eq!(document["status"], "optimal");
    let values = document["objective"].as_array().expect("terms").iter();
    let values: Vec<_> = values.map(|entry| entry["value"].as_f64()).collect();
    // Stabilizer: (6 + 2) × (10 + 2) in², with the default margin of an inch.
    assert_eq!(values, [1.0, 0.0, 0.0, 96.0, 0.0, 0.0].map(Some));

    let output = run(&["check", &scenario, &plan], "");
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(text.contains("valid: 1 strip in 1 hooping"), "{text}");
}

#[test]
fn a_scenario_is_checked_alone() {
    let output = run(&["check", "-"], SCENARIO);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let text = String::from_utf8(output.stdout).expect("text");
    assert_eq!(text, "The scenario has no fault: 1 strip to stitch.\n");
    let output = run(&["check", "-"], &SCENARIO.replace("\"in\"", "\"cubit\""));
    assert_eq!(code(&output), 2);
    assert!(output.stdout.is_empty());
    let errors = errors(&output);
    assert!(
        errors.contains("/unit") && errors.contains("1 fault"),
        "{errors}"
    );
}

#[test]
fn a_plan_that_breaks_a_rule_exits_with_2_and_its_place() {
    let folder = Folder::new("broken");
    let scenario = folder.file("scenario.json", SCENARIO);
    let output = run(&["plan", &scenario, "--format", "json"], "");
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let mut plan: serde_json::Value = serde_json::from_slice(&output.stdout).expect("a plan");
    plan["strips"][0]["runs"][0]["from"] = serde_json::json!(1);
    let output = run(&["check", &scenario, "-"], &plan.to_string());
    assert_eq!(code(&output), 2, "{}", errors(&output));
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(text.contains("breaks the rules in 1 place"), "{text}");
    assert!(
        text.contains("/strips/0/runs/0/from: ") && text.contains("[wrong-from]"),
        "{text}"
    );
}

/// Two strips of 8 in, a file of 4 in, and a hoop that can be laid along its 6 in only.
const SPLIT: &str = r#"{"format": 1, "unit": "in",
    "strips": [{"id": "a", "length": 8, "width": 2, "count": 2, "design": "vine"}],
    "hoops": [{"id": "medium", "field": [6, 10], "turn": false}],
    "designs": [{"id": "vine", "sizes": [{"id": "vine-2", "width": 2, "repeat": 2, "repeats": 2}]}]}"#;

/// By hand: each strip needs two runs of 4 in, so two hoopings, in each of which one run of each strip lies: lanes of 2 + 1 1/2 + 2
/// in across 10 in. That leaves 10 − 4 − 2 × 1 1/2 = 3 in for another lane, and 6 − 4 − 1 1/2 = 1/2 in along each. Turned, both strips lie
/// whole in one hooping: 5 1/2 in across 6 in. Stabilizer is 8 × 12 in for each.
#[test]
fn a_plan_is_explained_by_itself_and_with_its_plan() {
    let output = run(&["explain", "-", "--format", "json"], SPLIT);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let explained: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let bounds = explained["bounds"].as_array().expect("bounds").iter();
    let bounds: Vec<_> = bounds
        .map(|bound| {
            let because = bound["because"].as_str().expect("a reason");
            (
                because,
                bound["at_least"].as_u64(),
                &bound["reached"] == true,
            )
        })
        .collect();
    let expected = [
        ("all_strips", Some(2), true),
        ("runs_of_one_strip", Some(2), true),
        ("area", Some(1), false),
        ("longest_run", Some(2), true),
    ];
    assert_eq!(bounds, expected);
    for room in explained["room"].as_array().expect("rooms") {
        assert_eq!(
            (room["beside"].as_f64(), room["along"].as_f64()),
            (Some(3.0), Some(6.0))
        );
        let free = room["lanes"].as_array().expect("lanes").iter();
        let free: Vec<_> = free.map(|lane| lane["free"].as_f64()).collect();
        assert_eq!(free, [Some(0.5), Some(0.5)]);
        assert_eq!(room["fits"].as_array().map(Vec::len), Some(0));
    }
    let turn = &explained["changes"][0];
    assert_eq!(
        (&turn["what"], &turn["of"], &turn["outcome"]),
        (&"turn".into(), &"medium".into(), &"better".into())
    );
    let saved = turn["saves"].as_array().expect("terms").iter();
    let saved: Vec<_> = saved.map(|saving| saving["less"].as_f64()).collect();
    assert_eq!(saved, [1.0, 2.0, 0.0, 96.0, 0.0, 0.0].map(Some));

    let output = run(&["explain", "-"], SPLIT);
    let alone = String::from_utf8(output.stdout).expect("text");
    assert!(
        alone.contains("If the hoop medium could be turned (turn): 1 hooping less, 2 joints less"),
        "{alone}"
    );
    // With the plan come the same sections, and the same document within its document.
    let sections = &alone[alone.find("What every plan needs").expect("a section")..];
    let output = run(&["plan", "-", "--explain"], SPLIT);
    let both = String::from_utf8(output.stdout).expect("text");
    assert!(both.contains("Hooping 1 of 2"), "{both}");
    assert!(both.contains(sections), "{both}");
    let output = run(&["plan", "-", "--explain", "--format", "json"], SPLIT);
    let plan: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(plan["explanation"], explained);
    // The check reads such a plan as well.
    let folder = Folder::new("explained");
    let scenario = folder.file("scenario.json", SPLIT);
    let output = run(&["check", &scenario, "-"], &plan.to_string());
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let output = run(&["plan", "-", "--format", "json"], SPLIT);
    let plan: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(plan.get("explanation"), None);
}

/// The folder of the project.
const PROJECT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");

/// The README shows what is printed after a command, but for what it leaves out at `[...]`.
#[track_caller]
fn is_in_the_readme(command: &str, printed: &str) {
    let readme = fs::read_to_string(format!("{PROJECT}/README.md")).expect("the README");
    let shown = readme.split(command).nth(1).expect("the command");
    let shown = shown.split("```text\n").nth(1).expect("what it prints");
    let shown = shown.split("```").next().expect("its end");
    assert!(shown.len() > 500, "{shown}");
    for part in shown.split("[...]\n") {
        assert!(printed.contains(part), "{part}\nis not in\n{printed}");
    }
}

#[test]
fn the_readme_shows_what_is_printed() {
    let printed = |arguments: &[&str]| {
        let output = run(arguments, "");
        assert_eq!(code(&output), 0, "{}", errors(&output));
        String::from_utf8(output.stdout).expect("text")
    };
    let scenario = |name: &str| format!("{PROJECT}/scenarios/{name}.json");
    let command = "sashwright explain scenarios/tote-straps.json\n";
    is_in_the_readme(command, &printed(&["explain", &scenario("tote-straps")]));
    let command = "`sashwright cope scenarios/coping-strip.json`";
    is_in_the_readme(command, &printed(&["cope", &scenario("coping-strip")]));
    let quilt = scenario("lap-quilt");
    let command = "cargo run --release -- plan scenarios/lap-quilt.json\n";
    is_in_the_readme(command, &printed(&["plan", &quilt]));
    let folder = Folder::new("readme");
    let plan = folder.file("plan.json", &printed(&["plan", &quilt, "--format", "json"]));
    let command = "replan scenarios/lap-quilt.json plan.json scenarios/progress/lap-quilt.json\n";
    let progress = scenario("progress/lap-quilt");
    is_in_the_readme(command, &printed(&["replan", &quilt, &plan, &progress]));
}

#[test]
fn what_cannot_be_planned_is_not_explained() {
    let output = run(&["explain", "-"], "{\"format\": 1,\n oops}");
    assert_eq!(code(&output), 2);
    let impossible = SCENARIO.replace("[6, 10]", "[3, 3]");
    let output = run(&["explain", "-"], &impossible);
    assert_eq!(code(&output), 3, "{}", errors(&output));
    assert!(output.stdout.is_empty());
}

/// 6 in with repeats of 7 in that cannot stop sooner, and no overhang allowed.
#[test]
fn strips_that_cannot_be_stitched_exit_with_3_and_the_closest_miss() {
    let scenario = SCENARIO
        .replace("\"length\": 7", "\"length\": 6")
        .replace("\"unit\"", "\"rules\": {\"max_overhang\": 0}, \"unit\"");
    let output = run(&["plan", "-"], &scenario);
    assert_eq!(code(&output), 3, "{}", errors(&output));
    assert!(output.stdout.is_empty());
    let errors = errors(&output);
    assert!(errors.contains("/strips/0: "), "{errors}");
    assert!(errors.contains("an overhang of 1 in"), "{errors}");
}

/// By hand: sides of 10 + 2 · 1 = 12 in and ends of 6 + 2 · 1 + 2 · 2 = 12 in are two repeats of 6 in; as it is, they are 13 in long.
const COPING: &str = r#"{"format": 1, "unit": "in",
    "quilt": {"centre": [6, 10], "borders": [
        {"width": 1.5, "cope": {"sides": [1, 2], "ends": [1, 2], "step": "1/2"}}, {"width": 2, "design": "vine"}]},
    "hoops": [{"id": "large", "field": [6, 14]}],
    "designs": [{"id": "vine", "sizes": [{"id": "vine-6", "width": 2, "repeat": 6, "repeats": 1}]}]}"#;

#[test]
fn widths_that_fit_are_told_in_words_and_as_a_document() {
    let output = run(&["cope", "-"], COPING);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(
        text.contains("With border 1: sides 1 in, ends 1 in the pattern of every strip"),
        "{text}"
    );
    assert!(text.contains("The top is then 12 × 16 in."), "{text}");
    let output = run(&["cope", "-", "--format", "json"], COPING);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(
        (&document["choices"], &document["closing"]),
        (&9.into(), &1.into())
    );
    assert_eq!(document["fits"][0]["finished"], serde_json::json!([12, 16]));
    assert_eq!(document["fits"][0]["objective"][0]["value"], 0);
}

#[test]
fn too_many_widths_exit_with_2_and_the_limit() {
    let output = run(&["cope", "-"], &COPING.replace("\"1/2\"", "\"1/1000\""));
    assert_eq!(code(&output), 2, "{}", errors(&output));
    let errors = errors(&output);
    assert!(errors.contains("There are 1002001 choices"), "{errors}");
    assert!(errors.contains("at most 20000"), "{errors}");
}

#[test]
fn schemas_are_json_of_the_2020_12_draft() {
    let documents = [
        ("scenario", "hoops"),
        ("plan", "hoopings"),
        ("fits", "repeats"),
        ("comparison", "rows"),
        ("explanation", "changes"),
        ("progress", "done"),
        ("replan", "changes"),
    ];
    for (document, field) in documents {
        let output = run(&["schema", document], "");
        assert_eq!(code(&output), 0);
        let schema: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
        assert_eq!(
            schema["$schema"],
            "https://json-schema.org/draft/2020-12/schema"
        );
        assert!(schema["properties"][field].is_object());
    }
}

/// What was written, on one line.
fn unwrapped(output: &Output) -> String {
    let text = String::from_utf8_lossy(&output.stdout);
    text.split_whitespace().collect::<Vec<&str>>().join(" ")
}

/// A strip of 14 in with repeats of 3 1/2 in, in files of 7 in, in a hoop of 10 in: two runs, two hoopings.
#[test]
fn after_the_first_run_the_second_one_takes_up_what_is_missing() {
    let folder = Folder::new("replan");
    let text = SCENARIO
        .replace("\"length\": 7", "\"length\": 14")
        .replace("\"repeats\": 2", "\"repeats\": 2, \"scale\": [0.95, 1.05]");
    let scenario = folder.file("scenario.json", &text);
    let output = run(&["plan", &scenario, "--format", "json"], "");
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let plan = folder.file("plan.json", &String::from_utf8_lossy(&output.stdout));
    let went = |name: &str, progress: &str| {
        let progress = folder.file(name, progress);
        let ask = |more: &[&str]| {
            let documents = ["replan", &scenario, &plan, &progress];
            run(&[&documents, more].concat(), "")
        };
        (ask(&[]), ask(&["--format", "json"]), ask(&["--next"]))
    };
    // 3 mm short: 7 in and 3 mm are left for 7 in, 1.0169 times as much.
    let short = r#"{"format": 1, "unit": "mm", "done": 1, "runs": [{"strip": "a", "run": 1, "measured": 174.8}]}"#;
    let (words, document, next) = went("short.json", short);
    assert_eq!(code(&words), 0, "{}", errors(&words));
    let words = unwrapped(&words);
    assert!(
        words.contains("≈ 1/8 in (3 mm) shorter than planned"),
        "{words}"
    );
    assert!(words.contains("101.687 %"), "{words}");
    let next = unwrapped(&next);
    assert!(
        next.contains("butt its left end up to what is stitched already"),
        "{next}"
    );
    assert!(!next.contains("Strips to cut"), "{next}");
    let document: serde_json::Value = serde_json::from_slice(&document.stdout).expect("JSON");
    assert_eq!(document["plan"]["strips"][0]["id"], "a-end");
    // The answer is what the next question starts from.
    let left = folder.file("left.json", &document.to_string());
    let output = run(&["check", &left, &left], "");
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let output = run(&["plan", &left], "");
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let last = r#"{"format": 1, "done": 1}"#;
    let output = run(&["replan", &left, &left, "-"], last);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    assert!(
        unwrapped(&output).contains("Nothing is left"),
        "{}",
        unwrapped(&output)
    );
    // What is left is a scenario and a plan like any other.
    let rest = folder.file("rest.json", &document["scenario"].to_string());
    let output = run(&["check", &rest, "-"], &document["plan"].to_string());
    assert_eq!(code(&output), 0, "{}", errors(&output));
    // Half an inch short is more than 5 %: with 7 1/2 in left and no hoop for more, another run hangs over.
    let far = r#"{"format": 1, "done": 1, "runs": [{"strip": "a", "run": 1, "measured": 6.5}]}"#;
    let (words, _, _) = went("far.json", far);
    assert_eq!(code(&words), 0, "{}", errors(&words));
    let words = unwrapped(&words);
    assert!(
        words.contains("No scale that the sizes allow takes up the drift"),
        "{words}"
    );
    assert!(
        words.contains("1/2 in (12.7 mm) too short: you can ease"),
        "{words}"
    );
    let faulty = r#"{"format": 1, "done": 7, "runs": [{"strip": "b", "run": 1}]}"#;
    let (words, _, _) = went("faulty.json", faulty);
    assert_eq!(code(&words), 2);
    let told = errors(&words);
    assert!(
        told.contains("The progress in ") && told.contains("has 2 faults"),
        "{told}"
    );
    assert!(told.contains("/done: There is no hooping 7."), "{told}");
    assert!(
        told.contains("/runs/0/strip: The plan has no strip \"b\"."),
        "{told}"
    );
}

#[test]
fn a_reader_that_goes_away_is_no_panic() {
    let mut child = program()
        .args(["schema", "scenario"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("its end");
    assert_eq!(code(&output), 0);
    assert!(output.stderr.is_empty(), "{}", errors(&output));
}

#[test]
fn an_address_that_is_taken_or_unreadable_exits_with_1() {
    let taken = std::net::TcpListener::bind("127.0.0.1:0").expect("a free port");
    let address = taken.local_addr().expect("its address").to_string();
    for listen in [address.as_str(), "nonsense"] {
        let output = run(&["serve", "--listen", listen], "");
        assert_eq!(code(&output), 1);
        assert!(errors(&output).contains(listen), "{}", errors(&output));
    }
}
