//! The router without a socket: every status, the queue, and clients that go away.

use std::sync::mpsc;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use http_body_util::BodyExt;
use sashwright_solver::NoPlan;
use sashwright_solver::check::Violation;
use sashwright_solver::fault::{Fault, FaultCode};
use serde_json::Value;
use tower::ServiceExt;

use super::{Service, Settings, router};
use crate::solve::Planner;
use crate::text::tests::{plan, scenario_json};

/// Long enough for any step of these tests; a step that takes longer has failed.
const PATIENCE: Duration = Duration::from_secs(20);

struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    bytes: Vec<u8>,
}

impl Answer {
    fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes).expect("JSON")
    }

    /// The answer as a problem document whose members agree with the response (RFC 9457, section 3.1).
    #[track_caller]
    fn problem(&self, status: u16, name: &str) -> Value {
        assert_eq!(self.status.as_u16(), status);
        assert_eq!(
            self.headers[header::CONTENT_TYPE],
            "application/problem+json"
        );
        let problem = self.json();
        assert_eq!(problem["status"], status);
        assert_eq!(problem["type"], format!("/problems/{name}"));
        for member in ["title", "detail"] {
            assert!(
                problem[member]
                    .as_str()
                    .is_some_and(|text| !text.is_empty())
            );
        }
        assert!(problem["faults"].is_array());
        problem
    }
}

async fn ask(router: &Router, request: Request<Body>) -> Answer {
    let response = tokio::time::timeout(PATIENCE, router.clone().oneshot(request))
        .await
        .expect("an answer in time")
        .expect("an answer");
    let (parts, body) = response.into_parts();
    let bytes = body.collect().await.expect("a body").to_bytes().to_vec();
    Answer {
        status: parts.status,
        headers: parts.headers,
        bytes,
    }
}

fn post(body: impl Into<Body>) -> Request<Body> {
    Request::post("/v1/plans")
        .header(header::CONTENT_TYPE, "application/json")
        .body(body.into())
        .expect("a request")
}

fn get(path: &str) -> Request<Body> {
    Request::get(path).body(Body::empty()).expect("a request")
}

fn service(planner: Planner, settings: Settings) -> (Arc<Service>, Router) {
    let service = Service::new(planner, settings);
    (service.clone(), router(service))
}

/// A service whose planner answers at once with what `answer` makes.
fn quick(answer: fn() -> Result<sashwright_solver::plan::Plan, NoPlan>) -> Router {
    service(Arc::new(move |_, _| answer()), Settings::default()).1
}

/// A planner that tells when it begins and how it ends, and runs until it is stopped or may finish.
struct Slow {
    begun: mpsc::Receiver<()>,
    ended_by_stop: mpsc::Receiver<bool>,
    finish: Arc<std::sync::atomic::AtomicBool>,
}

fn slow() -> (Planner, Slow) {
    let (begin, begun) = mpsc::channel();
    let (end, ended_by_stop) = mpsc::channel();
    let finish = Arc::new(std::sync::atomic::AtomicBool::new(false));
    let (may_finish, senders) = (finish.clone(), Mutex::new((begin, end)));
    let planner: Planner = Arc::new(move |_, deadline| {
        let (begin, end) = senders.lock().expect("unpoisoned").clone();
        let _ = begin.send(());
        let limit = Instant::now() + PATIENCE;
        while !deadline.stopped() && !may_finish.load(std::sync::atomic::Ordering::Relaxed) {
            assert!(Instant::now() < limit, "nobody stopped the solve");
            std::thread::sleep(Duration::from_millis(2));
        }
        let _ = end.send(deadline.stopped());
        if deadline.stopped() {
            Err(NoPlan::Stopped)
        } else {
            Ok(plan())
        }
    });
    let slow = Slow {
        begun,
        ended_by_stop,
        finish,
    };
    (planner, slow)
}

/// Waits without blocking the runtime, on which the request under test runs.
async fn hear<T>(receiver: &mpsc::Receiver<T>) -> T {
    let limit = Instant::now() + PATIENCE;
    loop {
        if let Ok(heard) = receiver.try_recv() {
            return heard;
        }
        assert!(Instant::now() < limit, "nothing heard");
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
}

/// Waits until that many solves run and that many requests wait.
async fn until_load(service: &Service, load: (usize, usize)) {
    let limit = Instant::now() + PATIENCE;
    while service.queue.load() != load {
        assert!(Instant::now() < limit, "{:?}", service.queue.load());
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
}

fn one_at_once(waiting: usize) -> Settings {
    Settings {
        solves: 1,
        waiting,
        ..Settings::default()
    }
}

#[tokio::test]
async fn a_plan_is_answered_as_the_command_line_writes_it() {
    let answer = ask(&quick(|| Ok(plan())), post(scenario_json().to_string())).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers[header::CONTENT_TYPE], "application/json");
    let expected = crate::solve::plan_as_json(&plan()).expect("JSON");
    assert_eq!(answer.bytes, expected);
}

#[tokio::test]
async fn health_is_told() {
    let answer = ask(&quick(|| Ok(plan())), get("/v1/health")).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.json()["status"], "ok");
    assert_eq!(answer.json()["solving"], 0);
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

#[tokio::test]
async fn a_solve_that_panics_is_an_internal_error_and_frees_its_place() {
    let (service, router) = service(Arc::new(|_, _| panic!("on purpose")), one_at_once(0));
    for _ in 0..2 {
        let answer = ask(&router, post(scenario_json().to_string())).await;
        answer.problem(500, "internal");
        until_load(&service, (0, 0)).await;
    }
}

/// One solve and one request waiting fill the queue; the third is refused, and health answers all the while.
#[tokio::test]
async fn a_full_queue_refuses_and_health_still_answers() {
    let (planner, slow) = slow();
    let (service, router) = service(planner, one_at_once(1));
    let scenario = scenario_json().to_string();
    let ask_later =
        |router: Router, body: String| tokio::spawn(async move { ask(&router, post(body)).await });
    let first = ask_later(router.clone(), scenario.clone());
    hear(&slow.begun).await;
    let second = ask_later(router.clone(), scenario.clone());
    until_load(&service, (1, 1)).await;

    let refused = ask(&router, post(scenario)).await;
    refused.problem(503, "queue-full");
    let seconds = refused.headers[header::RETRY_AFTER].to_str().expect("text");
    assert!(seconds.parse::<u32>().is_ok());
    let health = ask(&router, get("/v1/health")).await;
    assert_eq!(health.status, StatusCode::OK);
    assert_eq!(
        (
            health.json()["solving"].as_u64(),
            health.json()["waiting"].as_u64()
        ),
        (Some(1), Some(1))
    );

    slow.finish
        .store(true, std::sync::atomic::Ordering::Relaxed);
    for task in [first, second] {
        assert_eq!(task.await.expect("answered").status, StatusCode::OK);
    }
    until_load(&service, (0, 0)).await;
}

#[tokio::test]
async fn a_solve_stops_when_its_client_goes() {
    let (planner, slow) = slow();
    let (service, router) = service(planner, one_at_once(1));
    let task = tokio::spawn(router.oneshot(post(scenario_json().to_string())));
    hear(&slow.begun).await;
    task.abort();
    assert!(
        hear(&slow.ended_by_stop).await,
        "the solve was told to stop"
    );
    until_load(&service, (0, 0)).await;
}

#[tokio::test]
async fn a_waiting_request_leaves_the_queue_when_its_client_goes() {
    let (planner, slow) = slow();
    let (service, router) = service(planner, one_at_once(1));
    let body = scenario_json().to_string();
    let first = tokio::spawn(router.clone().oneshot(post(body.clone())));
    hear(&slow.begun).await;
    let second = tokio::spawn(router.oneshot(post(body)));
    until_load(&service, (1, 1)).await;
    second.abort();
    until_load(&service, (1, 0)).await;
    first.abort();
    until_load(&service, (0, 0)).await;
    assert!(slow.begun.try_recv().is_err(), "the second was never begun");
}

#[tokio::test]
async fn closing_ends_running_and_waiting_requests() {
    let (planner, slow) = slow();
    let (service, router) = service(planner, one_at_once(1));
    let body = scenario_json().to_string();
    let ask_later =
        |router: Router, body: String| tokio::spawn(async move { ask(&router, post(body)).await });
    let first = ask_later(router.clone(), body.clone());
    hear(&slow.begun).await;
    let second = ask_later(router.clone(), body.clone());
    until_load(&service, (1, 1)).await;
    service.close();
    for task in [first, second] {
        let answer = task.await.expect("answered");
        answer.problem(503, "closing");
        assert!(answer.headers.contains_key(header::RETRY_AFTER));
    }
    assert!(hear(&slow.ended_by_stop).await);
    ask(&router, post(body)).await.problem(503, "closing");
}
