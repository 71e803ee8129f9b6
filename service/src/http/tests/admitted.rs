//! Who is let in, and how the service tells how it fares and comes to its end.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use serde_json::json;
use tokio::io::AsyncReadExt;
use tokio::net::TcpStream;

use super::slow::{hear, slow};
use super::sockets::{send_scenario, start_with};
use super::{Answer, ask, get, post};
use crate::http::{Service, Settings, router, worker};
use crate::keys::{Keys, new_key};
use crate::solve::Planner;
use crate::store::Store;
use crate::text::tests::{plan, scenario_json};

/// A service with two keys; the second may send three requests a minute.
fn with_keys() -> (Router, [String; 2]) {
    let (first, one) = new_key("first shop").expect("random numbers");
    let (second, two) = new_key("second shop").expect("random numbers");
    let mut two = json!(two);
    two["requests_per_minute"] = json!(3);
    let keys = json!({"keys": [one, two]}).to_string();
    let keys = Keys::read(keys.as_bytes()).expect("keys");
    let planner: Planner = Arc::new(|_, _| Ok(plan()));
    let settings = Settings {
        batches_apart: true,
        ..Settings::default()
    };
    let store = Store::in_memory().expect("a store");
    let service = Service::new(planner, settings, store, Some(keys));
    worker::start(&service);
    (router(service), [first, second])
}

async fn with_key(router: &Router, request: Request<Body>, key: &str) -> Answer {
    let (mut parts, body) = request.into_parts();
    let field = format!("Bearer {key}").parse().expect("a value");
    parts.headers.insert(header::AUTHORIZATION, field);
    ask(router, Request::from_parts(parts, body)).await
}

#[tokio::test]
async fn only_those_with_a_key_are_answered() {
    let (router, [key, _]) = with_keys();
    let request = || post(scenario_json().to_string());
    let answer = ask(&router, request()).await;
    answer.problem(401, "key-missing");
    assert_eq!(
        answer.headers[header::WWW_AUTHENTICATE],
        "Bearer realm=\"sashwright\""
    );
    for wrong in ["", "x", &key[1..]] {
        let answer = with_key(&router, request(), wrong).await;
        answer.problem(401, "key-unknown");
        let challenge = answer.headers[header::WWW_AUTHENTICATE]
            .to_str()
            .expect("text");
        assert!(challenge.ends_with("error=\"invalid_token\""));
    }
    assert_eq!(
        with_key(&router, request(), &key).await.status,
        StatusCode::OK
    );
    // What tells of the service is open to all; what it counts is not, and nothing shows which paths there are.
    for open in [
        "/v1/health",
        "/v1/health/live",
        "/v1/health/ready",
        "/openapi.json",
        "/docs",
        "/problems/key-missing",
    ] {
        assert_eq!(
            ask(&router, get(open)).await.status,
            StatusCode::OK,
            "{open}"
        );
    }
    for shut in ["/metrics", "/v1/plans/x", "/nothing"] {
        ask(&router, get(shut)).await.problem(401, "key-missing");
    }
}

#[tokio::test]
async fn a_key_sends_no_more_than_it_may() {
    let (router, [first, second]) = with_keys();
    for _ in 0..3 {
        let answer = with_key(&router, get("/metrics"), &second).await;
        assert_eq!(answer.status, StatusCode::OK);
    }
    let answer = with_key(&router, get("/metrics"), &second).await;
    answer.problem(429, "too-many-requests");
    // One more comes every twenty seconds.
    let after = answer.headers[header::RETRY_AFTER].to_str().expect("text");
    assert!(
        (19..=20).contains(&after.parse::<u64>().expect("seconds")),
        "{after}"
    );
    let other = with_key(&router, get("/metrics"), &first).await;
    assert_eq!(other.status, StatusCode::OK);
}

#[tokio::test]
async fn a_batch_is_seen_by_whoever_sent_it() {
    let (router, [first, second]) = with_keys();
    let batch = Request::post("/v1/batches")
        .header(header::CONTENT_TYPE, "application/json")
        .body(Body::from(include_str!("../../../examples/batch.json")))
        .expect("a request");
    let answer = with_key(&router, batch, &first).await;
    let place = answer.headers[header::LOCATION]
        .to_str()
        .expect("text")
        .to_string();
    assert_eq!(
        with_key(&router, get(&place), &first).await.status,
        StatusCode::OK
    );
    with_key(&router, get(&place), &second)
        .await
        .problem(404, "batch-not-kept");
    let delete = Request::delete(&place)
        .body(Body::empty())
        .expect("a request");
    with_key(&router, delete, &second)
        .await
        .problem(404, "batch-not-kept");
}

#[tokio::test]
async fn what_is_counted_is_told_by_route() {
    let planner: Planner = Arc::new(|_, _| Ok(plan()));
    let (_, router) = super::service(planner, Settings::default());
    for _ in 0..2 {
        ask(&router, post(scenario_json().to_string())).await;
    }
    ask(&router, get("/v1/plans/nothing")).await;
    ask(&router, get("/whatever/a/client/writes")).await;
    let answer = ask(&router, get("/metrics")).await;
    let kind = answer.headers[header::CONTENT_TYPE].to_str().expect("text");
    assert!(kind.starts_with("application/openmetrics-text; version=1.0.0"));
    let text = String::from_utf8(answer.bytes).expect("text");
    for line in [
        "sashwright_requests_total{route=\"/v1/plans\",method=\"POST\",status=\"200\"} 2",
        "sashwright_requests_total{route=\"/v1/plans/{id}\",method=\"GET\",status=\"404\"} 1",
        "sashwright_requests_total{route=\"none\",method=\"GET\",status=\"404\"} 1",
        "sashwright_request_seconds_count{route=\"/v1/plans\",method=\"POST\"} 2",
        "sashwright_request_seconds_count{route=\"none\",method=\"GET\"} 1",
        "sashwright_connections_refused_total 0",
        "sashwright_connections_open 0",
        "sashwright_requests_open 1",
        "sashwright_plans_kept 1",
        "# EOF",
    ] {
        assert!(text.lines().any(|told| told == line), "{line} in {text}");
    }
    assert!(
        text.contains("\nprocess_start_time_seconds 1"),
        "seconds since 1970: {text}"
    );
}

/// A request that is running when the service is told to stop is answered; meanwhile it is not ready, and takes no connections.
#[tokio::test]
async fn what_is_running_is_answered_before_the_service_ends() {
    let (planner, slow) = slow();
    let (service, _) = super::service(planner, Settings::default());
    let running = start_with(service.clone(), None);
    let mut stream = send_scenario(running.address).await;
    hear(&slow.begun).await;
    let _ = running.stop.send(());
    let router = router(service);
    let limit = Instant::now() + super::PATIENCE;
    loop {
        let ready = ask(&router, get("/v1/health/ready")).await;
        if ready.status != StatusCode::OK {
            ready.problem(503, "closing");
            break;
        }
        assert!(Instant::now() < limit);
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
    assert_eq!(
        ask(&router, get("/v1/health/live")).await.status,
        StatusCode::OK
    );
    assert!(TcpStream::connect(running.address).await.is_err());
    slow.finish.store(true, Ordering::Relaxed);
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.expect("an answer");
    assert!(answer.starts_with("HTTP/1.1 200"), "{answer}");
    running.served.await.expect("no panic").expect("served");
}
