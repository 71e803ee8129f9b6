//! The program as a service: its log, its answers on a real socket, and its stop by signals.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Shutdown, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use sashwright_solver::check::check;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;

use crate::call::program;

/// Long enough for any step; a step that takes longer has failed.
const PATIENCE: Duration = Duration::from_secs(20);

/// The running service; killed where a test fails before it has stopped it.
pub struct Running {
    child: Child,
    address: String,
    log: std::sync::mpsc::Receiver<String>,
}

impl Running {
    fn start(listen: &str) -> Running {
        Running::start_with(&["--listen", listen])
    }

    /// Starts the service with these options.
    pub fn start_with(options: &[&str]) -> Running {
        let mut child = program()
            .arg("serve")
            .args(options)
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program");
        let stderr = BufReader::new(child.stderr.take().expect("its log"));
        let (send, log) = std::sync::mpsc::channel();
        std::thread::spawn(move || {
            for line in stderr.lines().map_while(Result::ok) {
                let _ = send.send(line);
            }
        });
        let mut running = Running {
            child,
            address: String::new(),
            log,
        };
        let line = running.line_with("listening on http://");
        let address = line.split("http://").nth(1).expect("an address").chars();
        let address = address.take_while(|part| part.is_ascii_digit() || ".:[]".contains(*part));
        running.address = address.collect();
        running
    }

    fn line_with(&self, words: &str) -> String {
        let limit = Instant::now() + PATIENCE;
        loop {
            let left = limit.saturating_duration_since(Instant::now());
            let line = self.log.recv_timeout(left).expect("a line with the words");
            if line.contains(words) {
                return line;
            }
        }
    }

    /// A connection to it.
    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.address).expect("a connection");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        stream
    }

    /// Ends it at once, whatever it is doing (SIGKILL).
    pub fn kill(mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("its end");
    }

    /// Sends a signal by the system's own `kill`.
    fn signal(&self, signal: &str) {
        let id = self.child.id().to_string();
        let sent = Command::new("kill").args([signal, &id]).status();
        assert!(sent.expect("kill").success());
    }

    /// Sends a signal, and waits for the end.
    fn stop(mut self, signal: &str) -> (Option<i32>, Duration) {
        let begun = Instant::now();
        self.signal(signal);
        loop {
            if let Some(status) = self.child.try_wait().expect("its status") {
                return (status.code(), begun.elapsed());
            }
            assert!(begun.elapsed() < PATIENCE, "it does not stop");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // After a clean stop there is nothing left to end.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Sends a request on a connection that stays open, and returns the head and body of the answer.
pub fn exchange(stream: &mut TcpStream, request: &str) -> String {
    stream.write_all(request.as_bytes()).expect("sent");
    let mut reader = BufReader::new(stream);
    let (mut head, mut length) = (String::new(), 0);
    loop {
        let mut line = String::new();
        reader.read_line(&mut line).expect("a line");
        if let Some(value) = line.to_ascii_lowercase().strip_prefix("content-length:") {
            length = value.trim().parse().expect("a length");
        }
        if line.trim().is_empty() {
            break;
        }
        head.push_str(&line);
    }
    let mut body = vec![0; length];
    reader.read_exact(&mut body).expect("a body");
    head + &String::from_utf8(body).expect("text")
}

const HEALTH: &str = "GET /v1/health HTTP/1.1\r\nHost: trial\r\n\r\n";

/// Connections of three kinds are open: idle after an answer, without a request, and in the middle of a head.
#[test]
fn the_service_answers_and_stops_at_once_though_connections_are_open() {
    for signal in ["-TERM", "-INT"] {
        let running = Running::start("127.0.0.1:0");
        let mut idle = running.connect();
        let answer = exchange(&mut idle, HEALTH);
        assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
        assert!(answer.contains("\"status\":\"ok\""), "{answer}");
        let line = running.line_with("/v1/health");
        assert!(line.contains("GET") && line.contains("200"), "{line}");
        let _silent = running.connect();
        let mut halting = running.connect();
        halting.write_all(b"POST /v1/pl").expect("sent");
        std::thread::sleep(Duration::from_millis(50));
        let (status, time) = running.stop(signal);
        assert_eq!(status, Some(0));
        assert!(time < Duration::from_secs(3), "{time:?}");
    }
}

fn post(body: &str) -> String {
    format!(
        "POST /v1/plans HTTP/1.1\r\nHost: trial\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
}

/// A mitred border with two hoops to choose from.
const BORDER: &str = r#"{"format": 1, "unit": "in",
    "quilt": {"centre": [12, 12], "borders": [{"width": 2, "corner": "mitred", "design": "vine"}]},
    "hoops": [{"id": "small", "field": [5, 7]}, {"id": "medium", "field": [6, 10]}],
    "designs": [{"id": "vine", "sizes": [{"id": "vine-8", "width": 2, "repeat": 2, "repeats": 4}]}]}"#;

/// By hand: each of the four strips of 16 in needs two runs of 8 in, two of which lie side by side in the medium hoop.
#[test]
fn a_scenario_is_answered_with_a_plan_that_the_check_accepts() {
    let running = Running::start("127.0.0.1:0");
    let answer = exchange(&mut running.connect(), &post(BORDER));
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    let body = &answer[answer.find('{').expect("a document")..];
    let plan: Plan = serde_json::from_str(body).expect("a plan");
    let scenario = scenario::read(BORDER.as_bytes()).expect("a scenario without fault");
    assert_eq!(check(&scenario, &plan), []);
    assert_eq!((plan.strips.len(), plan.hoopings.len()), (4, 4));
    assert!(plan.objective.iter().all(|entry| entry.proven));
    let impossible = BORDER.replace("[6, 10]", "[6, 7]");
    let answer = exchange(&mut running.connect(), &post(&impossible));
    assert!(answer.starts_with("HTTP/1.1 422"), "{answer}");
    assert!(answer.contains("/problems/cannot-be-stitched"), "{answer}");
    assert_eq!(running.stop("-TERM").0, Some(0));
}

#[test]
fn problems_reach_the_client_over_the_wire() {
    let running = Running::start("127.0.0.1:0");
    let mut stream = running.connect();
    let answer = exchange(&mut stream, &post("{"));
    assert!(answer.starts_with("HTTP/1.1 400"), "{answer}");
    assert!(answer.contains("application/problem+json"), "{answer}");
    // 3 MB is more than the largest body: the answer comes all the same, after the whole body was sent.
    let answer = exchange(&mut stream, &post(&" ".repeat(3_000_000)));
    assert!(answer.starts_with("HTTP/1.1 413"), "{answer}");
    // A client that goes in the middle of its body is told in the log, and disturbs nobody.
    let mut going = running.connect();
    going
        .write_all(b"POST /v1/plans HTTP/1.1\r\nHost: trial\r\nContent-Type: application/json\r\nContent-Length: 9\r\n\r\n{")
        .expect("sent");
    going.shutdown(Shutdown::Both).expect("closed");
    let answer = exchange(&mut running.connect(), HEALTH);
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    assert_eq!(running.stop("-TERM").0, Some(0));
}

/// Where others can reach it, the service needs keys; with them it answers those who have one, and its log names no secret.
#[test]
fn others_are_answered_with_a_key_only() {
    let refused = program()
        .args(["serve", "--listen", "0.0.0.0:0"])
        .output()
        .expect("its end");
    assert_eq!(refused.status.code(), Some(1));
    let said = String::from_utf8(refused.stderr).expect("text");
    assert!(said.contains("--keys"), "{said}");

    let (code, key, entry) = crate::call::run(&["key", "anna"], "");
    assert_eq!(code, 0);
    let entry = entry.lines().last().expect("its line").to_string();
    let folder = crate::folder::Folder::new("keys");
    let file = folder.file("keys.json", &format!("{{\"keys\": [{entry}]}}"));
    let running = Running::start_with(&["--listen", "0.0.0.0:0", "--keys", &file, "--log", "json"]);
    let port = running.address.rsplit(':').next().expect("a port");
    let mut stream = TcpStream::connect(format!("127.0.0.1:{port}")).expect("a connection");
    stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
    let key = key.trim();
    let request =
        format!("GET /v1/plans/x HTTP/1.1\r\nHost: trial\r\nAuthorization: Bearer {key}\r\n\r\n");
    let answer = exchange(&mut stream, &request);
    assert!(answer.starts_with("HTTP/1.1 404"), "{answer}");
    let answer = exchange(&mut stream, &request.replace(key, "guess"));
    assert!(answer.starts_with("HTTP/1.1 401"), "{answer}");
    for status in [404, 401] {
        let line = running.line_with("\"answered\"");
        let told: serde_json::Value = serde_json::from_str(&line).expect("JSON");
        assert_eq!(
            (&told["status"], &told["path"]),
            (&status.into(), &"/v1/plans/x".into())
        );
        assert!(!line.contains(key) && !line.contains("guess"), "{line}");
        let client = if status == 404 { "anna" } else { "127.0.0.1" };
        assert_eq!(told["client"], client);
    }

    // Another key in its place, at SIGHUP; then a file that is faulty, which changes nothing.
    let (_, other, entry) = crate::call::run(&["key", "berta"], "");
    let entry = entry.lines().last().expect("its line").to_string();
    folder.file("keys.json", &format!("{{\"keys\": [{entry}]}}"));
    running.signal("-HUP");
    running.line_with("the keys were read again");
    folder.file("keys.json", "{");
    running.signal("-HUP");
    let line = running.line_with("the keys stay as they were");
    assert!(line.contains("keys.json"), "{line}");
    let answer = exchange(&mut stream, &request);
    assert!(answer.starts_with("HTTP/1.1 401"), "{answer}");
    let answer = exchange(&mut stream, &request.replace(key, other.trim()));
    assert!(answer.starts_with("HTTP/1.1 404"), "{answer}");
    assert_eq!(running.stop("-TERM").0, Some(0));
}

/// What cannot be served as it is told ends at once, and says what would do.
#[test]
fn faulty_options_are_told() {
    let folder = crate::folder::Folder::new("options");
    let empty = folder.file("empty.pem", "");
    for (options, code, words) in [
        (
            vec!["--certificate", &empty, "--private-key", &empty],
            1,
            "there is no certificate",
        ),
        (vec!["--certificate", &empty], 2, "--private-key"),
        (vec!["--origins", "*"], 2, "https://kits.example"),
        (vec!["--solves", "0"], 2, "--solves"),
        (vec!["--largest-body", "65"], 2, "--largest-body"),
        (vec!["--log-level", "loud"], 2, "--log-level"),
    ] {
        let listen = ["serve", "--listen", "127.0.0.1:0"];
        let refused = program().args(listen).args(&options).output();
        let refused = refused.expect("its end");
        let said = String::from_utf8(refused.stderr).expect("text");
        assert_eq!(refused.status.code(), Some(code), "{options:?}: {said}");
        assert!(said.contains(words), "{options:?}: {said}");
    }
}

/// What the environment tells counts where the command line tells nothing.
#[test]
fn the_environment_tells_what_the_command_line_does_not() {
    let refused = program()
        .arg("serve")
        .env("SASHWRIGHT_LISTEN", "nonsense")
        .output()
        .expect("its end");
    let said = String::from_utf8(refused.stderr).expect("text");
    assert!(said.contains("nonsense"), "{said}");
}
