//! Which plans are kept, and sheets beside solves.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use axum::http::{StatusCode, header};
use sashwright_solver::deadline::Deadline;

use super::fetched::{anew, place, planning, posted};
use super::slow::{hear, one_at_once, slow, until_load};
use super::{Answer, PATIENCE, ask, get, post, service};
use crate::http::kept::KeptPlan;
use crate::http::{Service, Settings};
use crate::question::as_json;
use crate::text::tests::{plan, scenario_json};

/// Puts a plan beside all planning, and says where it is.
fn put(service: &Service) -> String {
    let scenario = scenario_json().to_string().into_bytes();
    let plan = as_json(&plan()).expect("JSON");
    assert!(
        service
            .kept
            .keep(Arc::new(KeptPlan::new("trial".into(), scenario, plan)))
    );
    "/v1/plans/trial".into()
}

fn health_of(answer: &Answer) -> (u64, u64) {
    let answered = answer.json();
    let kept = &answered["kept"];
    let number = |name: &str| kept[name].as_u64().expect("a number");
    (number("plans"), number("bytes"))
}

#[tokio::test]
async fn many_plans_leave_the_youngest_within_the_bounds() {
    let one = {
        let router = planning(Settings::default()).1;
        posted(&router, "", "*/*", "00").await;
        health_of(&ask(&router, get("/v1/health")).await).1
    };
    for (plans, bytes, left) in [(3, 1 << 20, 3), (1000, 4 * one + one / 2, 4)] {
        let settings = Settings {
            kept_plans: plans,
            kept_bytes: usize::try_from(bytes).expect("small"),
            ..Settings::default()
        };
        let router = planning(settings).1;
        let mut places = Vec::new();
        for number in 10..20 {
            let answer = posted(&router, "", "*/*", &number.to_string()).await;
            places.push(place(&answer));
            let kept = health_of(&ask(&router, get("/v1/health")).await);
            assert!(kept.0 <= plans as u64 && kept.1 <= bytes, "{kept:?}");
        }
        assert_eq!(
            health_of(&ask(&router, get("/v1/health")).await),
            (left, left * one)
        );
        let (gone, kept) = places.split_at(10 - usize::try_from(left).expect("small"));
        for place in gone {
            ask(&router, get(place)).await.problem(404, "plan-not-kept");
        }
        for place in kept {
            assert_eq!(ask(&router, get(place)).await.status, StatusCode::OK);
        }
    }
}

#[tokio::test]
async fn a_plan_that_finds_no_room_is_answered_and_promises_nothing() {
    let settings = Settings {
        kept_bytes: 100,
        ..Settings::default()
    };
    let answer = posted(&planning(settings).1, "", "*/*", "trial").await;
    assert!(answer.json()["hoopings"].is_array());
    for name in [header::CONTENT_LOCATION, header::ETAG] {
        assert!(!answer.headers.contains_key(name));
    }
}

#[tokio::test]
async fn a_scenario_that_is_to_be_planned_anew_takes_the_place_of_its_older_plan() {
    let planned = Arc::new(AtomicUsize::new(0));
    let counting = planned.clone();
    let planner = Arc::new(move |_: &_, _: &_| {
        let mut plan = plan();
        let number = counting.fetch_add(1, Ordering::Relaxed);
        plan.warnings.push(format!("Made as number {number}."));
        Ok(plan)
    });
    let (service, router) = service(planner, Settings::default());
    let first = posted(&router, "", "*/*", "trial").await;
    let same = posted(&router, "", "*/*", "trial").await;
    assert_eq!(
        (same.bytes, planned.load(Ordering::Relaxed)),
        (first.bytes.clone(), 1)
    );
    let second = ask(&router, anew("trial", "max-age=60, No-Cache")).await;
    assert_eq!(planned.load(Ordering::Relaxed), 2);
    assert_eq!(place(&first), place(&second));
    // The place has what was answered last.
    let again = ask(&router, get(&place(&first))).await;
    assert!(again.bytes == second.bytes && again.bytes != first.bytes);
    assert_eq!(service.kept.load().0, 1);
}

/// Such a plan may have been cut short because nobody waited for it any more.
#[tokio::test]
async fn a_plan_whose_client_has_gone_is_not_kept() {
    let (begin, begun) = std::sync::mpsc::channel();
    let begin = std::sync::Mutex::new(begin);
    let planner = Arc::new(move |_: &_, deadline: &Deadline| {
        let _ = begin.lock().expect("unpoisoned").send(());
        while !deadline.over() {
            std::thread::sleep(Duration::from_millis(2));
        }
        Ok(plan())
    });
    let (service, router) = service(planner, one_at_once(1));
    let body = scenario_json().to_string();
    let task = tokio::spawn(async move { ask(&router, post(body)).await });
    hear(&begun).await;
    task.abort();
    until_load(&service, (0, 0)).await;
    assert_eq!(service.kept.load(), (0, 0));
}

#[tokio::test]
async fn sheets_do_not_wait_for_solves() {
    let (planner, slow) = slow();
    let (service, router) = service(planner, one_at_once(0));
    let sheet = put(&service) + "/sheet";
    let solving = router.clone();
    let task = tokio::spawn(async move { ask(&solving, post(scenario_json().to_string())).await });
    hear(&slow.begun).await;
    let page = ask(&router, get(&sheet)).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.bytes.starts_with(b"<!DOCTYPE html>"));
    assert_eq!(service.queue.load(), (1, 0));
    slow.finish.store(true, Ordering::Relaxed);
    assert_eq!(task.await.expect("answered").status, StatusCode::OK);
}

#[tokio::test]
async fn sheets_have_a_queue_with_an_end_and_end_with_the_service() {
    let settings = Settings {
        solves: 0,
        waiting: 0,
        ..Settings::default()
    };
    let (service, router) = planning(settings);
    let plan = put(&service);
    let sheet = format!("{plan}/sheet");
    let full = ask(&router, get(&sheet)).await;
    full.problem(503, "queue-full");
    assert!(full.headers.contains_key(header::RETRY_AFTER));
    // The document is there as it is, and needs no turn.
    assert_eq!(ask(&router, get(&plan)).await.status, StatusCode::OK);

    let (service, router) = planning(Settings {
        solves: 0,
        waiting: 1,
        ..Settings::default()
    });
    let sheet = put(&service) + "/sheet";
    let waiting = tokio::spawn(async move { ask(&router, get(&sheet)).await });
    let limit = Instant::now() + PATIENCE;
    while service.sheets.load() != (0, 1) {
        assert!(Instant::now() < limit, "nobody waits");
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
    service.close();
    waiting.await.expect("answered").problem(503, "closing");
}
