//! Plans that take longer than their client waits for.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use sashwright_solver::NoPlan;
use sashwright_solver::fault::{Fault, FaultCode};
use tower::ServiceExt;

use super::slow::{hear, one_at_once, slow, until_load};
use super::{Answer, PATIENCE, ask, get, service};
use crate::http::Settings;
use crate::solve::Planner;
use crate::text::tests::{plan, scenario_json};

fn with_wait(preference: &str) -> Request<Body> {
    Request::post("/v1/plans")
        .header(header::CONTENT_TYPE, "application/json")
        .header("prefer", preference)
        .body(Body::from(scenario_json().to_string()))
        .expect("a request")
}

/// Fetches a late plan until it is there.
async fn until_there(router: &Router, place: &str) -> Answer {
    let limit = Instant::now() + PATIENCE;
    loop {
        let answer = ask(router, get(place)).await;
        if answer.status != StatusCode::ACCEPTED {
            return answer;
        }
        assert_eq!(answer.headers[header::LOCATION], place);
        assert!(Instant::now() < limit);
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

#[tokio::test]
async fn a_plan_in_time_is_answered_as_always() {
    let (_, router) = service(Arc::new(|_, _| Ok(plan())), Settings::default());
    let answer = ask(&router, with_wait("wait=20")).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers["preference-applied"], "wait=20");
    assert!(answer.headers.contains_key(header::CONTENT_LOCATION));
}

#[tokio::test]
async fn a_late_plan_is_accepted_made_and_fetched() {
    let (planner, slow) = slow();
    // Nothing is kept in memory: what is fetched comes out of the store.
    let settings = Settings {
        kept_plans: 0,
        ..Settings::default()
    };
    let (_, router) = service(planner, settings);
    let answer = ask(&router, with_wait("respond-async, wait=0")).await;
    assert_eq!(answer.status, StatusCode::ACCEPTED);
    assert_eq!(answer.headers["preference-applied"], "wait=0");
    let place = answer.headers[header::LOCATION]
        .to_str()
        .expect("text")
        .to_string();
    assert_eq!(answer.json()["plan"], place.as_str());
    hear(&slow.begun).await;
    let early = ask(&router, get(&place)).await;
    assert_eq!(early.status, StatusCode::ACCEPTED);
    assert!(early.headers.contains_key(header::RETRY_AFTER));
    slow.finish.store(true, Ordering::Relaxed);
    let there = until_there(&router, &place).await;
    assert_eq!(there.status, StatusCode::OK);
    assert_eq!(there.json(), serde_json::json!(plan()));
    let sheet = ask(&router, get(&format!("{place}/sheet"))).await;
    assert_eq!(sheet.status, StatusCode::OK);
}

#[tokio::test]
async fn why_there_is_no_late_plan_is_told_later() {
    let planner: Planner = Arc::new(|_, _| {
        std::thread::sleep(Duration::from_millis(50));
        Err(NoPlan::CannotBeStitched(vec![Fault {
            pointer: "/strips/0".into(),
            code: FaultCode::CannotBeStitched,
            message: "It is too long.".into(),
            mend: "Shorten it.".into(),
        }]))
    });
    let (_, router) = service(planner, Settings::default());
    let answer = ask(&router, with_wait("wait=0")).await;
    assert_eq!(answer.status, StatusCode::ACCEPTED);
    let place = answer.headers[header::LOCATION]
        .to_str()
        .expect("text")
        .to_string();
    let problem = until_there(&router, &place)
        .await
        .problem(422, "cannot-be-stitched");
    assert_eq!(problem["faults"][0]["message"], "It is too long.");
}

#[tokio::test]
async fn a_client_that_goes_before_its_wait_is_over_stops_its_solve() {
    let (planner, slow) = slow();
    let (service, router) = service(planner, one_at_once(0));
    let asking = tokio::spawn(router.clone().oneshot(with_wait("wait=1000")));
    hear(&slow.begun).await;
    asking.abort();
    assert!(hear(&slow.ended_by_stop).await);
    until_load(&service, (0, 0)).await;
    assert_eq!(service.store.load().expect("a store").late, 0);
}

#[tokio::test]
async fn a_client_has_so_many_late_plans_at_most() {
    let (planner, slow) = slow();
    let (service, router) = service(
        planner,
        Settings {
            late_each: 0,
            ..Settings::default()
        },
    );
    let answer = ask(&router, with_wait("wait=0")).await;
    answer.problem(429, "too-many-waiting");
    assert!(answer.headers.contains_key(header::RETRY_AFTER));
    // What was not accepted is not made.
    until_load(&service, (0, 0)).await;
    drop(slow);
}
