//! `POST /v1/comparisons`, and queries that no path knows.

use std::time::{Duration, Instant};

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use serde_json::{Value, json};

use super::{ask, get, quick};
use crate::text::tests::{plan, scenario_json};

fn post(path: &str, body: &Value) -> Request<Body> {
    Request::post(path)
        .header(header::CONTENT_TYPE, "application/json")
        .body(Body::from(body.to_string()))
        .expect("a request")
}

/// A strip of 7 in and a file of 7 in: one hooping in "medium", on 8 × 12 in; "tiny" takes nothing.
fn scenario() -> Value {
    json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "a", "length": 7, "width": 2, "design": "vine"}],
        "hoops": [{"id": "medium", "field": [6, 10]}, {"id": "tiny", "field": [3, 3]}],
        "candidates": [{"id": "slim", "field": [3, 8]}],
        "designs": [{"id": "vine", "sizes": [{"id": "vine-7", "width": 2, "repeat": 3.5, "repeats": 2}]}]
    })
}

/// The hoops of each row.
fn sets(comparison: &Value) -> Vec<Value> {
    let rows = comparison["rows"].as_array().expect("rows").iter();
    rows.map(|row| row["hoops"].clone()).collect()
}

#[tokio::test]
async fn hoops_are_compared_as_on_the_command_line() {
    let router = quick(|| Ok(plan()));
    let answer = ask(&router, post("/v1/comparisons", &scenario())).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers[header::CONTENT_TYPE], "application/json");
    let comparison = answer.json();
    let expected = [
        json!(["medium", "tiny"]),
        json!(["medium"]),
        json!(["tiny"]),
        json!(["medium", "tiny", "slim"]),
    ];
    assert_eq!(sets(&comparison), expected);
    let rows = &comparison["rows"];
    assert_eq!(rows[1]["objective"][0]["value"], 1);
    assert_eq!(rows[1]["objective"][3]["value"], 96);
    assert_eq!(
        (&rows[2]["objective"], &rows[2]["refused"][0]["count"]),
        (&json!([]), &json!(1))
    );
    // (3 + 2) × (8 + 2) in² for the slim one.
    assert_eq!(
        (&rows[3]["used"], &rows[3]["objective"][3]["value"]),
        (&json!(["slim"]), &json!(50))
    );
    let answer = ask(
        &router,
        post("/v1/comparisons?every_set=false", &scenario()),
    )
    .await;
    assert_eq!(answer.json(), comparison);
    let answer = ask(&router, post("/v1/comparisons?every_set=true", &scenario())).await;
    assert_eq!(sets(&answer.json()).len(), 7);
}

#[tokio::test]
async fn more_than_eight_hoops_are_not_compared_in_every_set() {
    let mut scenario = scenario();
    let hoop = |number: u32| json!({"id": format!("medium-{number}"), "field": [6, 10]});
    scenario["hoops"] = (1..=9).map(hoop).collect();
    scenario
        .as_object_mut()
        .expect("fields")
        .remove("candidates");
    let request = post("/v1/comparisons?every_set=true", &scenario);
    let answer = ask(&quick(|| Ok(plan())), request).await;
    assert_eq!(answer.status, StatusCode::OK);
    let comparison = answer.json();
    assert_eq!(sets(&comparison).len(), 1 + 9 + 9);
    let said = comparison["verdict"]["sentences"].to_string();
    assert!(said.contains("Not every set is compared"), "{said}");
}

#[tokio::test]
async fn faults_of_what_is_compared_are_problems() {
    let router = quick(|| Ok(plan()));
    let mut faulty = scenario();
    faulty["candidates"][0]["id"] = json!("tiny");
    let answer = ask(&router, post("/v1/comparisons", &faulty)).await;
    let problem = answer.problem(422, "faulty-scenario");
    assert_eq!(problem["faults"][0]["pointer"], "/candidates/0");
    let answer = ask(&router, get("/v1/comparisons")).await;
    answer.problem(405, "method-not-allowed");
}

/// A query that is misspelt is no query that is passed over, on any path.
#[tokio::test]
async fn queries_that_no_path_knows_are_problems_that_say_what_would_do() {
    let router = quick(|| Ok(plan()));
    let boolean = "can be true or false";
    for (path, would_do) in [
        ("/v1/comparisons?every-set=true", boolean),
        ("/v1/comparisons?every_set=yes", boolean),
        ("/v1/comparisons?explain=true", boolean),
        ("/v1/fits?every_set=true", "This path takes no query"),
        ("/v1/explanations?explain=true", "This path takes no query"),
    ] {
        let problem = ask(&router, post(path, &scenario_json())).await;
        let problem = problem.problem(400, "faulty-query");
        let detail = problem["detail"].as_str().expect("text");
        assert!(detail.contains(would_do), "{path}: {detail}");
        assert!(!detail.contains("deserialize"), "{path}: {detail}");
    }
}

/// Long strips in small repeats that may stop anywhere, for every set of four hoops: far more than a tenth of a second's work.
#[tokio::test]
async fn a_comparison_is_answered_within_its_limit() {
    let mut scenario = scenario();
    let strip = |number: u32| {
        let length = format!("{}/8", 400 + 37 * number);
        json!({"id": format!("a-{number}"), "length": length, "width": 2, "design": "vine"})
    };
    scenario["strips"] = (1..=3).map(strip).collect();
    let size = |number: u32| json!({"id": format!("vine-{number}"), "width": 2, "repeat": format!("{}/8", 5 + number), "repeats": 8, "stop_early": true});
    scenario["designs"][0]["sizes"] = (1..=4).map(size).collect();
    let hoop =
        |number: u32| json!({"id": format!("hoop-{number}"), "field": [4 + number, 9 + number]});
    scenario["hoops"] = (1..=4).map(hoop).collect();
    scenario
        .as_object_mut()
        .expect("fields")
        .remove("candidates");
    scenario["limits"] = json!({"seconds": 0.1});
    let begin = Instant::now();
    let request = post("/v1/comparisons?every_set=true", &scenario);
    let answer = ask(&quick(|| Ok(plan())), request).await;
    let taken = begin.elapsed();
    assert_eq!(answer.status, StatusCode::OK);
    // An unoptimised build on a busy machine comes on top.
    assert!(taken < Duration::from_secs(5), "{taken:?}");
    let comparison = answer.json();
    assert_eq!(sets(&comparison).len(), 15);
    assert_eq!(comparison["status"], "feasible");
}
