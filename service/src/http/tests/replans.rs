//! `POST /v1/replans`.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use sashwright_solver::deadline::{Deadline, StopSignal};
use serde_json::{Value, json};

use super::{ask, quick};
use crate::text::tests::{plan, scenario, scenario_json};

fn post(query: &str, body: String) -> Request<Body> {
    Request::post(format!("/v1/replans{query}"))
        .header(header::CONTENT_TYPE, "application/json")
        .body(Body::from(body))
        .expect("a request")
}

/// The three documents as the fields of one.
fn joint(progress: Value) -> Value {
    let deadline = Deadline::after(std::time::Duration::from_secs(10), StopSignal::new());
    let made = sashwright_solver::make_plan(&scenario(), &deadline).expect("a plan");
    json!({"scenario": scenario_json(), "plan": made, "progress": progress})
}

#[tokio::test]
async fn what_is_left_is_answered_and_the_next_step_alone_where_asked_for() {
    let router = quick(|| Ok(plan()));
    let body = joint(json!({"format": 1, "done": 1}));
    let answer = ask(&router, post("", body.to_string())).await;
    assert_eq!(answer.status, StatusCode::OK, "{:?}", answer.json());
    let all = answer.json();
    assert_eq!(all["same"], true);
    assert!(all["scenario"].is_object() && all["plan"].is_object());
    let answer = ask(&router, post("?next=true", body.to_string())).await;
    let next = answer.json();
    assert_eq!(next["next"], all["next"]);
    assert!(next["next"]["runs"][0]["segments"].is_array());
    assert!(next.get("scenario").is_none() && next.get("plan").is_none());
}

#[tokio::test]
async fn faults_have_places_in_their_document() {
    let router = quick(|| Ok(plan()));
    let mut body = joint(json!({"format": 1, "done": 100, "colour": "red"}));
    let answer = ask(&router, post("", body.to_string())).await;
    let problem = answer.problem(422, "faulty-documents");
    assert_eq!(problem["faults"][0]["pointer"], "/progress/colour");
    body["progress"] = json!({"format": 1, "done": 100});
    let answer = ask(&router, post("", body.to_string())).await;
    let problem = answer.problem(422, "faulty-documents");
    assert_eq!(problem["faults"][0]["pointer"], "/progress/done");
    body["plan"]["strips"][0]["length"] = json!(1);
    let answer = ask(&router, post("", body.to_string())).await;
    let problem = answer.problem(422, "faulty-documents");
    assert_eq!(problem["faults"][0]["pointer"], "/plan/strips/0/length");
    assert_eq!(problem["faults"][0]["code"], "broken-plan");
    for body in [
        "{}",
        "[]",
        "{\"scenario\": {}, \"plan\": 1, \"progress\": null, \"more\": 1}",
    ] {
        let answer = ask(&router, post("", body.into())).await;
        answer.problem(422, "faulty-documents");
    }
    let answer = ask(&router, post("", "{".into())).await;
    answer.problem(400, "not-json");
    let answer = ask(&router, post("?next=perhaps", "{}".into())).await;
    answer.problem(400, "faulty-query");
}
