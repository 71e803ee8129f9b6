//! Every status that the service answers with.

use std::sync::Arc;
use std::time::Duration;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use sashwright_solver::NoPlan;
use sashwright_solver::check::Violation;
use sashwright_solver::fault::{Fault, FaultCode};

use super::{ask, get, post, quick, service};
use crate::http::Settings;
use crate::text::tests::{plan, scenario_json};

#[tokio::test]
async fn a_plan_is_answered_as_the_command_line_writes_it() {
    let answer = ask(&quick(|| Ok(plan())), post(scenario_json().to_string())).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers[header::CONTENT_TYPE], "application/json");
    let expected = crate::question::as_json(&plan()).expect("JSON");
    assert_eq!(answer.bytes, expected);
}

/// Sides of 8 + 2 · 1 = 10 mm and ends of 6 + 2 · 1 + 2 · 1 = 10 mm are whole repeats of 5 mm; with 2 mm more they are not.
#[tokio::test]
async fn widths_that_fit_are_answered_and_their_faults_are_problems() {
    let document = |ends: serde_json::Value| {
        serde_json::json!({
            "format": 1, "unit": "mm",
            "quilt": {"centre": [6, 8], "borders": [
                {"width": 2, "cope": {"sides": [1, 2], "ends": ends, "step": 1}}, {"width": 1, "design": "vine"}]},
            "hoops": [{"id": "small", "field": [40, 40]}],
            "designs": [{"id": "vine", "sizes": [{"id": "vine-5", "width": 1, "repeat": 5, "repeats": 1}]}]
        })
    };
    let request = |document: serde_json::Value| {
        let request = Request::post("/v1/fits").header("content-type", "application/json");
        let request = request.body(Body::from(document.to_string()));
        request.expect("a request")
    };
    let router = quick(|| Ok(plan()));
    let answer = ask(&router, request(document(serde_json::json!([1, 2])))).await;
    assert_eq!(answer.status, StatusCode::OK);
    let fits = answer.json();
    assert_eq!((&fits["choices"], &fits["closing"]), (&4.into(), &1.into()));
    let set = &fits["fits"][0]["set"];
    assert_eq!((&set[0]["value"], &set[1]["value"]), (&1.into(), &1.into()));
    let answer = ask(&router, request(document(serde_json::json!([2, 1])))).await;
    let problem = answer.problem(422, "faulty-scenario");
    assert_eq!(
        problem["faults"][0]["pointer"],
        "/quilt/borders/0/cope/ends"
    );
    let answer = ask(&router, request(document(serde_json::json!([1, 30_000])))).await;
    let problem = answer.problem(422, "faulty-scenario");
    assert_eq!(problem["faults"][0]["pointer"], "/quilt");
}

/// A request with the trial scenario.
fn about(path: &str) -> Request<Body> {
    Request::post(path)
        .header(header::CONTENT_TYPE, "application/json")
        .body(scenario_json().to_string().into())
        .expect("a request")
}

#[tokio::test]
async fn an_explanation_is_answered_by_itself_and_with_the_plan() {
    let router = service(crate::solve::planner(), Settings::default()).1;
    let answer = ask(&router, about("/v1/explanations")).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers[header::CONTENT_TYPE], "application/json");
    let alone = answer.json();
    assert_eq!(alone["scenario"], "trial");
    let answer = ask(&router, about("/v1/plans?explain=true")).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.json()["explanation"], alone);
    let answer = ask(&router, about("/v1/plans?explain=false")).await;
    assert_eq!(answer.json().get("explanation"), None);
}

#[tokio::test]
async fn what_is_no_question_for_an_explanation_is_a_problem() {
    let router = quick(|| Ok(plan()));
    for path in ["/v1/plans?explain=perhaps", "/v1/plans?explan=true"] {
        let problem = ask(&router, about(path)).await.problem(400, "faulty-query");
        let detail = problem["detail"].as_str().expect("text");
        assert!(
            detail.contains("\"explain\" can be true or false"),
            "{detail}"
        );
    }
    let answer = ask(&router, get("/v1/explanations")).await;
    answer.problem(405, "method-not-allowed");
    assert_eq!(answer.headers[header::ALLOW], "POST");
    let faulty = Request::post("/v1/explanations")
        .header(header::CONTENT_TYPE, "application/json")
        .body(Body::from("{}"))
        .expect("a request");
    ask(&router, faulty).await.problem(422, "faulty-scenario");
}

#[tokio::test]
async fn health_is_told() {
    let answer = ask(&quick(|| Ok(plan())), get("/v1/health")).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.json()["status"], "ok");
    assert_eq!(answer.json()["solving"], 0);
    let build = answer.json()["build"]
        .as_str()
        .expect("a build")
        .to_string();
    let server = answer.headers[header::SERVER].to_str().expect("text");
    assert_eq!(
        server,
        format!("sashwright/{} ({build})", env!("CARGO_PKG_VERSION"))
    );
}

#[tokio::test]
async fn every_answer_names_its_request() {
    let router = quick(|| Ok(plan()));
    let named = Request::get("/nowhere").header("x-request-id", "order-17");
    let answer = ask(&router, named.body(Body::empty()).expect("a request")).await;
    assert_eq!(answer.headers["x-request-id"], "order-17");
    let first = ask(&router, get("/v1/health")).await;
    let second = ask(&router, get("/v1/health")).await;
    assert_ne!(
        first.headers["x-request-id"],
        second.headers["x-request-id"]
    );
}

#[tokio::test]
async fn wrong_paths_and_methods_are_problems() {
    let router = quick(|| Ok(plan()));
    ask(&router, get("/v2/plans"))
        .await
        .problem(404, "not-found");
    let answer = ask(&router, get("/v1/plans")).await;
    answer.problem(405, "method-not-allowed");
    assert_eq!(answer.headers[header::ALLOW], "POST");
    let delete = Request::delete("/v1/health").body(Body::empty());
    let answer = ask(&router, delete.expect("a request")).await;
    answer.problem(405, "method-not-allowed");
    assert_eq!(answer.headers[header::ALLOW], "GET,HEAD");
}

#[tokio::test]
async fn each_type_of_problem_is_explained_where_it_points() {
    let router = quick(|| Ok(plan()));
    let problem = ask(&router, get("/nowhere")).await.json();
    let place = problem["type"].as_str().expect("a path").to_string();
    let answer = ask(&router, get(&place)).await;
    assert_eq!(answer.status, StatusCode::OK);
    let text = String::from_utf8(answer.bytes).expect("text");
    assert!(text.contains(problem["title"].as_str().expect("a title")));
    let answer = ask(&router, get("/problems/none-such")).await;
    answer.problem(404, "not-found");
}

#[tokio::test]
async fn a_body_that_is_no_json_by_its_headers_is_refused() {
    let router = quick(|| Ok(plan()));
    let request = |name: &str, value: &str| {
        let scenario = scenario_json().to_string();
        let request = Request::post("/v1/plans").header(name, value);
        request.body(Body::from(scenario)).expect("a request")
    };
    for (name, value) in [("content-type", "text/plain"), ("accept", "*/*")] {
        let answer = ask(&router, request(name, value)).await;
        answer.problem(415, "wrong-media-type");
    }
    let answer = ask(
        &router,
        request("content-type", "application/vnd.trial+json"),
    )
    .await;
    assert_eq!(answer.status, StatusCode::OK);
    let mut packed = request("content-type", "application/json");
    let gzip = header::HeaderValue::from_static("gzip");
    packed.headers_mut().insert(header::CONTENT_ENCODING, gzip);
    ask(&router, packed).await.problem(415, "wrong-media-type");
}

/// 2 MiB = 2 097 152 bytes are read, and found to be blanks and so no JSON; one more is too large.
#[tokio::test]
async fn a_body_is_bounded_with_and_without_its_length_told() {
    let router = quick(|| Ok(plan()));
    let blanks = vec![b' '; 2_097_152];
    ask(&router, post(blanks.clone()))
        .await
        .problem(400, "not-json");
    let mut more = blanks;
    more.push(b' ');
    ask(&router, post(more.clone()))
        .await
        .problem(413, "body-too-large");
    let mut told = post(more);
    let length = header::HeaderValue::from_static("2097153");
    told.headers_mut().insert(header::CONTENT_LENGTH, length);
    ask(&router, told).await.problem(413, "body-too-large");
}

#[tokio::test]
async fn a_body_that_never_ends_is_refused_in_time() {
    struct Silent;
    impl hyper::body::Body for Silent {
        type Data = axum::body::Bytes;
        type Error = std::io::Error;
        fn poll_frame(
            self: std::pin::Pin<&mut Self>,
            _: &mut std::task::Context<'_>,
        ) -> std::task::Poll<Option<Result<hyper::body::Frame<Self::Data>, Self::Error>>> {
            std::task::Poll::Pending
        }
    }
    let settings = Settings {
        body_time: Duration::from_millis(50),
        ..Settings::default()
    };
    let (_, router) = service(Arc::new(|_, _| Ok(plan())), settings);
    let answer = ask(&router, post(Body::new(Silent))).await;
    answer.problem(408, "body-too-slow");
}

#[tokio::test]
async fn faults_of_the_scenario_are_listed_with_their_places() {
    let router = quick(|| Ok(plan()));
    let problem = ask(&router, post("{\"format\": "))
        .await
        .problem(400, "not-json");
    assert_eq!(problem["faults"][0]["code"], "json-syntax");
    let mut scenario = scenario_json();
    scenario["hoops"][0]["field"] = serde_json::json!([6, "wide"]);
    scenario["colour"] = "red".into();
    let answer = ask(&router, post(scenario.to_string())).await;
    let problem = answer.problem(422, "faulty-scenario");
    let places: Vec<&str> = problem["faults"]
        .as_array()
        .expect("faults")
        .iter()
        .map(|fault| {
            assert!(fault["message"].is_string() && fault["mend"].is_string());
            fault["pointer"].as_str().expect("a pointer")
        })
        .collect();
    assert_eq!(places, ["/colour", "/hoops/0/field/1"]);
}

#[tokio::test]
async fn strips_that_cannot_be_stitched_are_told_one_by_one() {
    let router = quick(|| {
        Err(NoPlan::CannotBeStitched(vec![Fault {
            pointer: "/strips/0".into(),
            code: FaultCode::CannotBeStitched,
            message: "The strip \"extra\" is 1/4 in too long.".into(),
            mend: "Add a size.".into(),
        }]))
    });
    let answer = ask(&router, post(scenario_json().to_string())).await;
    let problem = answer.problem(422, "cannot-be-stitched");
    assert_eq!(problem["faults"][0]["pointer"], "/strips/0");
}

#[tokio::test]
async fn a_broken_plan_is_an_internal_error_that_tells_nothing_private() {
    let router = quick(|| {
        Err(NoPlan::Broken(vec![Violation {
            pointer: "/hoopings/0".into(),
            rule: "secret-rule",
            message: "secret".into(),
        }]))
    });
    let answer = ask(&router, post(scenario_json().to_string())).await;
    answer.problem(500, "internal");
    assert!(!String::from_utf8_lossy(&answer.bytes).contains("secret"));
}
