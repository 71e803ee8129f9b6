//! The program itself: exit status and streams.

use std::fs;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Output, Stdio};

fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_sashwright"))
}

fn run(arguments: &[&str], input: &str) -> Output {
    let mut child = program()
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut stdin = child.stdin.take().expect("its input");
    // The program may end before it has read everything, which is its right.
    let _ = stdin.write_all(input.as_bytes());
    drop(stdin);
    child.wait_with_output().expect("its output")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("an exit status")
}

fn errors(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A folder of its own for one test, cleared when the test is done.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("sashwright-{name}-{}", std::process::id()));
        fs::create_dir_all(&path).expect("a folder");
        Folder(path)
    }

    fn file(&self, name: &str, text: &str) -> String {
        let path = self.0.join(name);
        fs::write(&path, text).expect("written");
        path.to_str().expect("a path in UTF-8").to_string()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
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

#[test]
fn schemas_are_json_of_the_2020_12_draft() {
    for (document, field) in [("scenario", "hoops"), ("plan", "hoopings")] {
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
