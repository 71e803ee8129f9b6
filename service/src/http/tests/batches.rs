//! Batches over HTTP, with workers that plan them as in the running service.

use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use http_body_util::BodyExt;
use serde_json::{Value, json};
use tower::ServiceExt;

use super::slow::{hear, one_at_once, slow};
use super::{Answer, PATIENCE, ask, get, post, service};
use crate::http::{Service, Settings, worker};
use crate::solve::{Planner, planner};
use crate::text::tests::scenario_json;

const BATCH: &str = include_str!("../../../examples/batch.json");

/// The service with workers.
pub(super) fn working(planner: Planner, settings: Settings) -> (Arc<Service>, Router) {
    let (service, router) = service(planner, settings);
    worker::start(&service);
    (service, router)
}

async fn sent(router: &Router, key: Option<&str>, body: &str) -> Answer {
    let mut request = Request::post("/v1/batches").header(header::CONTENT_TYPE, "application/json");
    if let Some(key) = key {
        request = request.header("idempotency-key", key);
    }
    ask(
        router,
        request
            .body(Body::from(body.to_string()))
            .expect("a request"),
    )
    .await
}

fn place(answer: &Answer) -> String {
    assert_eq!(answer.status, StatusCode::ACCEPTED);
    assert!(answer.headers.contains_key(header::RETRY_AFTER));
    answer.headers[header::LOCATION]
        .to_str()
        .expect("text")
        .to_string()
}

async fn fetch(router: &Router, path: &str) -> Value {
    let answer = ask(router, get(path)).await;
    assert_eq!(answer.status, StatusCode::OK, "{path}");
    answer.json()
}

/// Waits until a batch is in that state.
async fn until(router: &Router, place: &str, state: &str) -> Value {
    let limit = Instant::now() + PATIENCE;
    loop {
        let status = fetch(router, place).await;
        if status["state"] == state {
            return status;
        }
        assert!(Instant::now() < limit, "{status}");
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

/// A document with the example's id and times in place of its own.
fn as_in_example(document: &Value, place: &str) -> Value {
    let id = place.rsplit('/').next().expect("an id");
    let text = document
        .to_string()
        .replace(id, "5e1f0d3c9a7b48624f80b1c2d3e4a596");
    let mut document: Value = serde_json::from_str(&text).expect("JSON");
    let example: Value =
        serde_json::from_str(include_str!("../../../examples/batch-status.json")).expect("JSON");
    for time in ["accepted", "closed", "expires"] {
        if document.get(time).is_some() {
            document[time] = example[time].clone();
        }
    }
    document
}

/// All parts of the example batch are as the examples of the interface tell them; each figure follows from the batch: a plan of the
/// cushion takes 5 hoopings and 4 joints, so that 15 of it take 75 and 60.
#[tokio::test]
async fn the_example_is_planned_as_its_examples_tell() {
    let (_service, router) = working(planner(), Settings::default());
    let place = place(&sent(&router, None, BATCH).await);
    let status = until(&router, &place, "finished").await;
    let example = |text: &str| serde_json::from_str::<Value>(text).expect("JSON");
    let expected = example(include_str!("../../../examples/batch-status.json"));
    assert_eq!(as_in_example(&status, &place), expected);
    let kits = fetch(&router, &format!("{place}/kits")).await;
    assert_eq!(
        kits,
        example(include_str!("../../../examples/kits-page.json"))
    );
    let summary = fetch(&router, &format!("{place}/summary")).await;
    assert_eq!(
        summary,
        example(include_str!("../../../examples/batch-summary.json"))
    );
    // Which of the two plans ends first is open.
    let mut results = fetch(&router, &format!("{place}/results")).await;
    let rows = results["results"].as_array_mut().expect("rows");
    rows.sort_by_key(|row| row["number"].as_u64());
    for (number, row) in (1..).zip(rows) {
        row["place"] = json!(number);
    }
    let expected = example(include_str!("../../../examples/results-page.json"));
    assert_eq!(as_in_example(&results, &place), expected);
}

#[tokio::test]
async fn plans_of_a_batch_are_those_of_their_scenarios() {
    let (_service, router) = working(planner(), Settings::default());
    let place = place(&sent(&router, None, BATCH).await);
    until(&router, &place, "finished").await;
    let scenario = fetch(&router, &format!("{place}/plans/1/scenario")).await;
    let plan = fetch(&router, &format!("{place}/plans/1")).await;
    let alone = ask(&router, post(scenario.to_string())).await;
    assert_eq!(plan, alone.json());
    let sheet = ask(&router, get(&format!("{place}/plans/1/sheet"))).await;
    assert_eq!(
        sheet.headers[header::CONTENT_TYPE],
        "text/html; charset=utf-8"
    );
    let on_a4 = get(&format!("{place}/plans/1/sheet?paper=a4"));
    assert!(ask(&router, on_a4).await.bytes == sheet.bytes);
    let on_a5 = get(&format!("{place}/plans/1/sheet?paper=a5"));
    ask(&router, on_a5).await.problem(400, "faulty-query");
    // The small hoops: told in millimetres, and put into a scenario in inches.
    let scenario = fetch(&router, &format!("{place}/plans/2/scenario")).await;
    assert_eq!(
        scenario["hoops"][0]["field"],
        json!([5.11811024, 5.11811024])
    );
    for missing in [
        "plans/2",
        "plans/3",
        "plans/0",
        "plans/x",
        "plans/3/scenario",
    ] {
        let answer = ask(&router, get(&format!("{place}/{missing}"))).await;
        answer.problem(404, "batch-not-kept");
    }
}

#[tokio::test]
async fn the_same_key_and_body_are_the_same_batch() {
    let (_service, router) = working(planner(), Settings::default());
    let first = place(&sent(&router, Some("k"), BATCH).await);
    assert_eq!(place(&sent(&router, Some("k"), BATCH).await), first);
    assert_ne!(place(&sent(&router, None, BATCH).await), first);
    let other = BATCH.replace("\"copies\": 12", "\"copies\": 13");
    sent(&router, Some("k"), &other)
        .await
        .problem(422, "idempotency-key-used");
    for key in ["", &"k".repeat(256)] {
        sent(&router, Some(key), BATCH)
            .await
            .problem(400, "faulty-header");
    }
}

#[tokio::test]
async fn a_faulty_batch_is_refused_with_every_fault_and_its_place() {
    let (_service, router) = working(planner(), Settings::default());
    let mut batch: Value = serde_json::from_str(BATCH).expect("JSON");
    batch["scenarios"]["cushion"]["unit"] = json!("cubit");
    batch["kits"][0]["copies"] = json!(0);
    batch["kits"][1]["hoop_sets"][1] = json!("smal");
    let problem = sent(&router, None, &batch.to_string())
        .await
        .problem(422, "faulty-batch");
    let at = |problem: &Value| -> Vec<String> {
        let faults = problem["faults"].as_array().expect("faults").iter();
        faults
            .map(|fault| fault["pointer"].as_str().expect("text").into())
            .collect()
    };
    assert_eq!(at(&problem), ["/kits/0/copies", "/kits/1/hoop_sets/1"]);
    batch["kits"][0]["copies"] = json!(1);
    batch["kits"][1]["hoop_sets"][1] = json!("small");
    batch["hoop_sets"]["small"]["hoops"][0]["frame"] = json!([1, 1]);
    let problem = sent(&router, None, &batch.to_string())
        .await
        .problem(422, "faulty-batch");
    let both = ["/hoop_sets/small/hoops/0/frame", "/scenarios/cushion/unit"];
    assert_eq!(at(&problem), both);
    batch["hoop_sets"]["small"]["hoops"][0]["frame"] = json!([200, 200]);
    let problem = sent(&router, None, &batch.to_string())
        .await
        .problem(422, "faulty-batch");
    // Once, though the scenario is asked for with two hoop sets.
    assert_eq!(at(&problem), ["/scenarios/cushion/unit"]);
    sent(&router, None, "{").await.problem(400, "not-json");
    sent(&router, None, "{\"format\": 1, \"kits\": []}")
        .await
        .problem(422, "faulty-batch");
}

#[tokio::test]
async fn what_is_not_there_is_told() {
    let (_service, router) = working(planner(), Settings::default());
    for part in [
        "",
        "/results",
        "/kits",
        "/summary",
        "/events",
        "/plans/1",
        "/plans/1/sheet",
        "/plans/1/scenario",
    ] {
        let answer = ask(&router, get(&format!("/v1/batches/nothing{part}"))).await;
        answer.problem(404, "batch-not-kept");
    }
    let delete = Request::delete("/v1/batches/nothing").body(Body::empty());
    ask(&router, delete.expect("a request"))
        .await
        .problem(404, "batch-not-kept");
    let place = place(&sent(&router, None, BATCH).await);
    for query in ["limit=0", "limit=1001", "after=-1", "after=x", "sort=up"] {
        for part in ["results", "kits"] {
            let answer = ask(&router, get(&format!("{place}/{part}?{query}"))).await;
            answer.problem(400, "faulty-query");
        }
    }
    let request = get(&format!("{place}/events"));
    let (mut parts, body) = request.into_parts();
    parts
        .headers
        .insert("last-event-id", "x".parse().expect("a value"));
    ask(&router, Request::from_parts(parts, body))
        .await
        .problem(400, "faulty-header");
}

/// A batch of so many different cushions.
fn cushions(count: usize) -> String {
    let scenario: Value =
        serde_json::from_str(include_str!("../../../examples/scenario.json")).expect("JSON");
    let kits: Vec<Value> = (1..=count)
        .map(|tie| {
            let mut scenario = scenario.clone();
            scenario["strips"][0]["length"] = json!(format!("{tie}/8"));
            json!({"scenario": scenario})
        })
        .collect();
    json!({"format": 1, "kits": kits}).to_string()
}

fn next(headers: &HeaderMap) -> Option<String> {
    let link = headers.get(header::LINK)?.to_str().expect("text");
    let (path, rest) = link
        .strip_prefix('<')
        .expect("a link")
        .split_once('>')
        .expect("a link");
    assert_eq!(rest, "; rel=\"next\"");
    Some(path.into())
}

#[tokio::test]
async fn rows_come_page_by_page_or_as_lines() {
    let (_service, router) = working(planner(), Settings::default());
    let place = place(&sent(&router, None, &cushions(7)).await);
    until(&router, &place, "finished").await;
    for (part, rows) in [
        ("results?limit=3", "results"),
        ("kits?limit=3", "kits"),
        ("results?limit=2&plans=true", "results"),
    ] {
        let mut path = Some(format!("{place}/{part}"));
        let mut found = Vec::new();
        while let Some(page) = path {
            let answer = ask(&router, get(&page)).await;
            path = next(&answer.headers);
            assert_eq!(
                answer.json().get("next"),
                path.clone().map(Value::from).as_ref()
            );
            found.extend(answer.json()[rows].as_array().expect("rows").clone());
        }
        assert_eq!(found.len(), 7);
        let query = part.replace("limit=3", "").replace("limit=2&", "");
        let lines =
            Request::get(format!("{place}/{query}")).header(header::ACCEPT, "application/x-ndjson");
        let answer = ask(&router, lines.body(Body::empty()).expect("a request")).await;
        assert_eq!(answer.headers[header::CONTENT_TYPE], "application/x-ndjson");
        let text = String::from_utf8(answer.bytes).expect("text");
        let lines: Vec<Value> = text
            .lines()
            .map(|line| serde_json::from_str(line).expect("JSON"))
            .collect();
        assert_eq!(lines, found);
        if part.ends_with("plans=true") {
            assert!(
                lines
                    .iter()
                    .all(|row| row["document"]["status"] == "optimal")
            );
        }
    }
}

/// Lines that are being read are read to their end while the service finishes what is running; what is left when it closes is broken off,
/// so that no half is taken for the whole.
#[tokio::test]
async fn lines_are_whole_or_broken_off_at_a_stop() {
    let kits: Vec<Value> = (0..400)
        .map(|number| json!({"id": format!("kit-{number}"), "scenario": "one"}))
        .collect();
    let batch = json!({"format": 1, "scenarios": {"one": scenario_json()}, "kits": kits});
    for closes in [false, true] {
        let (service, router) = working(planner(), Settings::default());
        let place = place(&sent(&router, None, &batch.to_string()).await);
        let request = Request::get(format!("{place}/kits"));
        let request = request.header(header::ACCEPT, "application/x-ndjson");
        let request = request.body(Body::empty()).expect("a request");
        let answer = router.clone().oneshot(request).await.expect("an answer");
        let mut body = answer.into_body();
        let first = body.frame().await.expect("a frame").expect("no failure");
        let first = first.into_data().expect("data");
        service.drain();
        assert_eq!(service.course.requests(), 1);
        if closes {
            service.close();
            assert!(body.collect().await.is_err());
        } else {
            let rest = body.collect().await.expect("the rest").to_bytes();
            let lines = [first, rest].concat();
            assert_eq!(lines.iter().filter(|byte| **byte == b'\n').count(), 400);
        }
        service.course.no_requests().await;
    }
}

/// What an event stream says: each event's name, id and document.
fn events(text: &str) -> Vec<(String, Option<String>, Value)> {
    let field = |event: &str, name: &str| {
        let mut lines = event.lines();
        lines.find_map(|line| {
            line.strip_prefix(name)
                .map(|value| value.trim().to_string())
        })
    };
    text.split("\n\n")
        .filter(|event| event.contains("data:"))
        .map(|event| {
            let data = field(event, "data:").expect("data");
            (
                field(event, "event:").expect("a name"),
                field(event, "id:"),
                serde_json::from_str(&data).expect("JSON"),
            )
        })
        .collect()
}

#[tokio::test]
async fn events_tell_of_each_result_once_and_end_with_the_batch() {
    let (_service, router) = working(planner(), Settings::default());
    let place = place(&sent(&router, None, &cushions(9)).await);
    let heard = ask(&router, get(&format!("{place}/events"))).await;
    assert_eq!(heard.headers[header::CONTENT_TYPE], "text/event-stream");
    let told = events(&String::from_utf8(heard.bytes).expect("text"));
    let ids = |told: &[(String, Option<String>, Value)]| -> Vec<String> {
        let results = told.iter().filter(|(name, ..)| name == "result");
        results
            .map(|(_, id, _)| id.clone().expect("an id"))
            .collect()
    };
    let all: Vec<String> = (1..=9).map(|place| place.to_string()).collect();
    assert_eq!(ids(&told), all);
    let (name, _, last) = told.last().expect("events");
    assert_eq!(
        (name.as_str(), &last["state"]),
        ("status", &json!("finished"))
    );
    // Who comes again hears of what it has not heard of.
    let (mut parts, body) = get(&format!("{place}/events")).into_parts();
    parts
        .headers
        .insert("last-event-id", "6".parse().expect("a value"));
    let heard = ask(&router, Request::from_parts(parts, body)).await;
    let told = events(&String::from_utf8(heard.bytes).expect("text"));
    assert_eq!(ids(&told), ["7", "8", "9"]);
}

#[tokio::test]
async fn what_is_being_made_is_told_with_bound_and_gap() {
    let (_service, router) = working(planner(), Settings::default());
    let quilt = include_str!("../../../../scenarios/lap-quilt.json");
    let quilt: Value = serde_json::from_str(quilt).expect("JSON");
    let batch = json!({"format": 1, "kits": [{"scenario": quilt}]});
    let place = place(&sent(&router, None, &batch.to_string()).await);
    let heard = ask(&router, get(&format!("{place}/events"))).await;
    let told = events(&String::from_utf8(heard.bytes).expect("text"));
    let of = |wanted: &str| {
        told.iter()
            .filter(|(name, ..)| name == wanted)
            .map(|(.., document)| document)
            .collect::<Vec<_>>()
    };
    let best = &of("result")[0]["objective"];
    let incumbents = of("incumbent");
    assert!(!incumbents.is_empty());
    for incumbent in incumbents {
        assert_eq!(incumbent["number"], 1);
        let (told, best) = (&incumbent["objective"][0], &best[0]);
        let number = |value: &Value| value.as_f64().expect("a number");
        let (value, bound) = (number(&told["value"]), number(&told["bound"]));
        // No plan is better than the proven best, and what was bounded is no more than it.
        assert!(
            bound <= number(&best["value"]) && number(&best["value"]) <= value,
            "{told} {best}"
        );
        let gap = (value - bound) / value * 100.0;
        assert!((number(&told["gap"]) - gap).abs() < 1e-6, "{told}");
    }
}

#[tokio::test]
async fn what_is_cancelled_stops_and_keeps_what_was_done() {
    let (planner, slow) = slow();
    let (_service, router) = working(
        planner,
        Settings {
            workers: 1,
            ..Settings::default()
        },
    );
    let place = place(&sent(&router, None, &cushions(2)).await);
    hear(&slow.begun).await;
    let status = fetch(&router, &place).await;
    assert_eq!(
        (&status["state"], &status["underway"][0]["number"]),
        (&json!("running"), &json!(1))
    );
    let early = ask(&router, get(&format!("{place}/summary"))).await;
    early.problem(409, "batch-unfinished");
    assert!(early.headers.contains_key(header::RETRY_AFTER));
    let delete = || {
        Request::delete(&place)
            .body(Body::empty())
            .expect("a request")
    };
    for _ in 0..2 {
        let answer = ask(&router, delete()).await;
        assert_eq!(
            (answer.status, &answer.json()["state"]),
            (StatusCode::OK, &json!("cancelled"))
        );
    }
    assert!(hear(&slow.ended_by_stop).await);
    let heard = ask(&router, get(&format!("{place}/events"))).await;
    let told = events(&String::from_utf8(heard.bytes).expect("text"));
    assert_eq!(told.len(), 1, "{told:?}");
    // Nothing else is begun.
    tokio::time::sleep(Duration::from_millis(50)).await;
    assert!(slow.begun.try_recv().is_err());
}

#[tokio::test]
async fn a_plan_is_answered_while_a_batch_takes_all_workers() {
    let (planner, slow) = slow();
    let settings = Settings {
        workers: 1,
        ..one_at_once(0)
    };
    let (_service, router) = working(planner, settings);
    let place = place(&sent(&router, None, &cushions(1)).await);
    hear(&slow.begun).await;
    let asking = tokio::spawn({
        let router = router.clone();
        async move { ask(&router, post(scenario_json().to_string())).await }
    });
    // It begins beside the batch, which has not ended.
    hear(&slow.begun).await;
    slow.finish.store(true, Ordering::Relaxed);
    assert_eq!(asking.await.expect("an answer").status, StatusCode::OK);
    until(&router, &place, "finished").await;
}

#[tokio::test]
async fn a_stream_of_events_ends_when_the_service_closes() {
    let (planner, slow) = slow();
    let (service, router) = working(
        planner,
        Settings {
            workers: 1,
            ..Settings::default()
        },
    );
    let place = place(&sent(&router, None, &cushions(1)).await);
    hear(&slow.begun).await;
    let hearing = tokio::spawn({
        let (router, path) = (router.clone(), format!("{place}/events"));
        async move { ask(&router, get(&path)).await }
    });
    tokio::time::sleep(Duration::from_millis(50)).await;
    let begun = Instant::now();
    service.close();
    assert_eq!(hearing.await.expect("an end").status, StatusCode::OK);
    assert!(begun.elapsed() < Duration::from_secs(2));
    assert!(
        hear(&slow.ended_by_stop).await,
        "the worker puts its work back"
    );
}
