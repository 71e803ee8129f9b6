//! Plans that are fetched again, in each form.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderName, Request, StatusCode, header};
use serde_json::json;

use super::{Answer, ask, get, post, service};
use crate::http::{Service, Settings};
use crate::text::tests::scenario_json;

pub(super) fn planning(settings: Settings) -> (Arc<Service>, Router) {
    service(crate::solve::planner(), settings)
}

/// Posts the trial scenario under a name.
pub(super) async fn posted(router: &Router, query: &str, accept: &str, name: &str) -> Answer {
    let mut scenario = scenario_json();
    scenario["name"] = name.into();
    let request = Request::post(format!("/v1/plans{query}"))
        .header(header::CONTENT_TYPE, "application/json")
        .header(header::ACCEPT, accept)
        .body(scenario.to_string().into());
    let answer = ask(router, request.expect("a request")).await;
    assert_eq!(answer.status, StatusCode::OK);
    answer
}

/// A `GET` with a header.
fn getting(path: &str, name: HeaderName, value: &str) -> Request<Body> {
    let request = Request::get(path).header(name, value).body(Body::empty());
    request.expect("a request")
}

#[track_caller]
fn value(answer: &Answer, name: HeaderName) -> String {
    let value = answer.headers.get(&name);
    let value = value.unwrap_or_else(|| panic!("no {name}")).to_str();
    value.expect("text").to_string()
}

#[track_caller]
pub(super) fn place(answer: &Answer) -> String {
    value(answer, header::CONTENT_LOCATION)
}

#[tokio::test]
async fn a_plan_is_fetched_again_byte_for_byte() {
    let router = planning(Settings::default()).1;
    let made = posted(&router, "", "*/*", "trial").await;
    let (place, tag) = (place(&made), value(&made, header::ETAG));
    let id = place.strip_prefix("/v1/plans/").expect("a plan's place");
    assert!(
        id.len() == 32 && id.bytes().all(|digit| digit.is_ascii_hexdigit()),
        "{id}"
    );
    let again = ask(&router, get(&place)).await;
    assert_eq!(again.status, StatusCode::OK);
    assert_eq!(again.bytes, made.bytes);
    assert_eq!(value(&again, header::ETAG), tag);
    assert_eq!(value(&again, header::CONTENT_TYPE), "application/json");
    assert_eq!(value(&again, header::VARY), "accept");
    assert_eq!(value(&again, header::CACHE_CONTROL), "private, no-cache");
}

/// What was posted for in a form is fetched in that form, with the same bytes and tag; so it is written from the plan that is kept as
/// from the plan that was just made.
#[tokio::test]
async fn each_form_is_fetched_as_it_was_posted_for() {
    let router = planning(Settings::default()).1;
    let mut tags = std::collections::BTreeSet::new();
    for accept in ["text/html", "text/csv", "text/plain"] {
        let made = posted(&router, "", accept, "trial").await;
        let tag = value(&made, header::ETAG);
        for path in [place(&made), format!("{}/sheet", place(&made))] {
            let again = ask(&router, getting(&path, header::ACCEPT, accept)).await;
            assert_eq!(again.status, StatusCode::OK);
            assert!(again.bytes == made.bytes, "{accept} at {path}");
            assert_eq!(value(&again, header::ETAG), tag);
            for name in [
                header::CONTENT_TYPE,
                header::VARY,
                header::X_CONTENT_TYPE_OPTIONS,
            ] {
                assert_eq!(again.headers[&name], made.headers[&name]);
            }
            assert_eq!(
                again.headers.get(header::CONTENT_SECURITY_POLICY),
                made.headers.get(header::CONTENT_SECURITY_POLICY)
            );
        }
        tags.insert(tag);
    }
    assert_eq!(tags.len(), 3);
}

/// The plan was asked for without materials and steps; the sheet has them all the same, as one that is posted for.
#[tokio::test]
async fn a_sheet_adds_what_the_plan_was_not_asked_for() {
    let router = planning(Settings::default()).1;
    let plain = posted(&router, "", "*/*", "trial").await;
    assert!(plain.json().get("cutting").is_none());
    let sheet = format!("{}/sheet", place(&plain));
    let page = ask(&router, get(&sheet)).await;
    assert_eq!(
        value(&page, header::CONTENT_TYPE),
        "text/html; charset=utf-8"
    );
    assert!(page.bytes == posted(&router, "", "text/html", "trial").await.bytes);
    let list = ask(&router, getting(&sheet, header::ACCEPT, "text/csv")).await;
    assert_eq!(
        list.bytes,
        posted(&router, "", "text/csv", "trial").await.bytes
    );
    let print = getting(&sheet, header::ACCEPT, "application/pdf");
    let print = ask(&router, print).await;
    assert!(print.bytes == posted(&router, "", "application/pdf", "trial").await.bytes);
    // The plan that is kept is left as it was.
    let again = ask(&router, get(&place(&plain))).await;
    assert_eq!(again.bytes, plain.bytes);
    let document = getting(&sheet, header::ACCEPT, "application/json");
    let answer = ask(&router, document).await;
    let detail = answer.problem(406, "not-acceptable")["detail"].to_string();
    assert!(
        detail.contains("text/html") && !detail.contains("There is: application"),
        "{detail}"
    );
}

/// The scenario is in inches: letter is its usual paper.
#[tokio::test]
async fn a_sheet_is_printed_on_the_paper_that_is_told() {
    let router = planning(Settings::default()).1;
    let place = place(&posted(&router, "", "*/*", "trial").await);
    let on = |paper: &str| {
        let path = format!("{place}/sheet{paper}");
        let router = router.clone();
        async move { ask(&router, getting(&path, header::ACCEPT, "application/pdf")).await }
    };
    let usual = on("").await;
    assert!(usual.bytes.starts_with(b"%PDF-"));
    assert!(on("?paper=letter").await.bytes == usual.bytes);
    let a4 = on("?paper=a4").await;
    assert!(a4.bytes.starts_with(b"%PDF-") && a4.bytes != usual.bytes);
    assert_ne!(a4.headers[header::ETAG], usual.headers[header::ETAG]);
    // A page for a browser is the same for either.
    let page = ask(&router, get(&format!("{place}/sheet"))).await;
    let told = ask(&router, get(&format!("{place}/sheet?paper=a4"))).await;
    assert!(page.bytes == told.bytes);
    for faulty in ["?paper=a5", "?paper=A4", "?paper=", "?size=a4"] {
        let detail = on(faulty).await.problem(400, "faulty-query")["detail"].to_string();
        assert!(detail.contains("can be a4 or letter"), "{faulty}: {detail}");
    }
}

/// Six thousand place mats are some megabytes of text: more than is printed, but a page for a browser all the same.
#[tokio::test]
async fn a_sheet_that_is_too_long_to_print_says_what_to_take() {
    let router = planning(Settings::default()).1;
    let scenario = json!({
        "format": 1, "name": "Place mats", "unit": "in",
        "strips": [{"id": "mat", "length": 12, "width": 2, "count": 6000, "design": "vine"}],
        "hoops": [{"id": "long", "field": [13, 4], "turn": false}],
        "designs": [{"id": "vine", "sizes": [{"id": "vine-6", "width": 2, "repeat": 2, "repeats": 6}]}],
        "goal": {"priorities": ["hoopings"]},
    });
    let made = ask(&router, post(scenario.to_string())).await;
    let sheet = format!("{}/sheet", place(&made));
    let print = getting(&sheet, header::ACCEPT, "application/pdf");
    let problem = ask(&router, print).await.problem(406, "not-acceptable");
    let detail = problem["detail"].as_str().expect("text");
    assert!(
        detail.contains("bytes of text, but at most 2097152") && detail.contains("text/html"),
        "{detail}"
    );
    let page = ask(&router, get(&sheet)).await;
    assert_eq!(page.status, 200);
    assert!(page.bytes.len() > 1 << 21);
}

#[tokio::test]
async fn the_place_tells_scenario_and_options_apart_and_nothing_else() {
    let router = planning(Settings::default()).1;
    let mut places = std::collections::BTreeMap::new();
    for (query, accept, name) in [
        ("", "*/*", "one"),
        ("", "*/*", "two"),
        ("?materials=true", "*/*", "one"),
        ("?steps=true", "*/*", "one"),
        ("?explain=true", "*/*", "one"),
        ("?materials=true&steps=true", "*/*", "one"),
    ] {
        let answer = posted(&router, query, accept, name).await;
        let other = places.insert(place(&answer), (query, name));
        assert_eq!(other, None, "{query} {name}");
    }
    for (query, accept, same) in [
        ("", "text/plain", ("", "one")),
        ("?explain=false", "application/json", ("", "one")),
        ("", "text/csv", ("?materials=true", "one")),
        ("", "text/html", ("?materials=true&steps=true", "one")),
    ] {
        let answer = posted(&router, query, accept, "one").await;
        assert_eq!(places.get(&place(&answer)), Some(&same), "{query} {accept}");
    }
}

#[tokio::test]
async fn what_the_client_has_is_not_sent_again() {
    let router = planning(Settings::default()).1;
    let made = posted(&router, "", "text/html", "trial").await;
    let plan = place(&made);
    let sheet = format!("{plan}/sheet");
    let document_tag = value(&ask(&router, get(&plan)).await, header::ETAG);
    let page_tag = value(&made, header::ETAG);
    assert_ne!(document_tag, page_tag);
    let weak = format!("\"x\", W/{page_tag}");
    for (path, known) in [(&plan, &document_tag), (&sheet, &page_tag), (&sheet, &weak)] {
        let request = getting(path, header::IF_NONE_MATCH, known);
        let answer = ask(&router, request).await;
        assert_eq!(answer.status, StatusCode::NOT_MODIFIED, "{path} {known}");
        assert!(answer.bytes.is_empty());
        assert!(known.contains(&value(&answer, header::ETAG)));
        assert_eq!(value(&answer, header::VARY), "accept");
        assert!(!answer.headers.contains_key(header::CONTENT_TYPE));
    }
    for (path, unknown) in [(&plan, &page_tag), (&sheet, &document_tag)] {
        let request = getting(path, header::IF_NONE_MATCH, unknown);
        assert_eq!(ask(&router, request).await.status, StatusCode::OK, "{path}");
    }
}

#[tokio::test]
async fn heads_are_answered_as_their_gets_without_a_body() {
    let router = planning(Settings::default()).1;
    let plan = place(&posted(&router, "", "*/*", "trial").await);
    for path in [format!("{plan}/sheet"), plan] {
        let whole = ask(&router, get(&path)).await;
        let head = Request::head(&path).body(Body::empty()).expect("a request");
        let head = ask(&router, head).await;
        assert_eq!((head.status, head.bytes.len()), (StatusCode::OK, 0));
        assert_eq!(
            value(&head, header::CONTENT_LENGTH),
            whole.bytes.len().to_string()
        );
        for name in [header::ETAG, header::CONTENT_TYPE, header::VARY] {
            assert_eq!(head.headers[&name], whole.headers[&name]);
        }
    }
}

#[tokio::test]
async fn a_plan_that_is_not_kept_is_a_problem_that_says_what_to_do() {
    let router = planning(Settings::default()).1;
    let unknown = "0123456789abcdef0123456789abcdef";
    let long = "a".repeat(5_000);
    for id in [unknown, "trial", "%ff", "..", long.as_str()] {
        for path in [format!("/v1/plans/{id}"), format!("/v1/plans/{id}/sheet")] {
            let request = getting(&path, header::ACCEPT, "text/html");
            let problem = ask(&router, request).await.problem(404, "plan-not-kept");
            let detail = problem["detail"].as_str().expect("text");
            assert!(detail.contains("Post the scenario again"), "{detail}");
        }
    }
    ask(&router, get("/v1/plans/"))
        .await
        .problem(404, "not-found");
    let deeper = get(&format!("/v1/plans/{unknown}/sheet/1"));
    ask(&router, deeper).await.problem(404, "not-found");
}

#[tokio::test]
async fn other_methods_are_problems() {
    let router = planning(Settings::default()).1;
    let plan = place(&posted(&router, "", "*/*", "trial").await);
    for path in [format!("{plan}/sheet"), plan] {
        for method in ["POST", "PUT", "DELETE", "OPTIONS"] {
            let request = Request::builder().method(method).uri(&path);
            let answer = ask(&router, request.body(Body::empty()).expect("a request")).await;
            answer.problem(405, "method-not-allowed");
            assert_eq!(answer.headers[header::ALLOW], "GET,HEAD");
        }
    }
}

/// The trial scenario under a name, with a `Cache-Control`.
pub(super) fn anew(name: &str, directives: &str) -> Request<Body> {
    let mut scenario = scenario_json();
    scenario["name"] = name.into();
    let request = Request::post("/v1/plans")
        .header(header::CONTENT_TYPE, "application/json")
        .header(header::CACHE_CONTROL, directives)
        .body(scenario.to_string().into());
    request.expect("a request")
}

#[tokio::test]
async fn the_same_scenario_is_planned_once_in_whatever_form() {
    let made = Arc::new(AtomicUsize::new(0));
    let (counted, planner) = (made.clone(), crate::solve::planner());
    let counting: crate::solve::Planner = Arc::new(move |scenario, deadline| {
        counted.fetch_add(1, Ordering::SeqCst);
        planner(scenario, deadline)
    });
    let router = service(counting, Settings::default()).1;
    let first = posted(&router, "", "*/*", "trial").await;
    let again = posted(&router, "", "application/json", "trial").await;
    assert_eq!(again.bytes, first.bytes);
    for name in [header::ETAG, header::CONTENT_LOCATION] {
        assert_eq!(value(&again, name.clone()), value(&first, name));
    }
    let words = posted(&router, "", "text/plain", "trial").await;
    assert!(words.bytes.starts_with(b"Plan for trial"));
    ask(&router, anew("trial", "max-age=0")).await;
    assert_eq!(made.load(Ordering::SeqCst), 1);
    // Other options and another scenario are another plan.
    posted(&router, "?materials=true", "*/*", "trial").await;
    posted(&router, "", "*/*", "other").await;
    assert_eq!(made.load(Ordering::SeqCst), 3);
}
