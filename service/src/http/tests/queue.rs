//! The queue, clients that go away, and the end of the service.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use axum::Router;
use axum::http::{StatusCode, header};
use tower::ServiceExt;

use super::slow::{hear, one_at_once, slow, until_load};
use super::{ask, get, post, service};
use crate::text::tests::scenario_json;

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

    slow.finish.store(true, Ordering::Relaxed);
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
