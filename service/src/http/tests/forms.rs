//! The forms that answers are given in, chosen by `Accept`.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderValue, Request, StatusCode, header};
use serde_json::{Value, json};

use super::{Answer, ask, post, quick, service};
use crate::http::Settings;
use crate::text::tests::{plan, scenario_json};

const JSON: &str = "application/json";
const HTML: &str = "text/html; charset=utf-8";
const PDF: &str = "application/pdf";
const CSV: &str = "text/csv; charset=utf-8";
const TEXT: &str = "text/plain; charset=utf-8";

/// A `POST` with one `Accept` line for each text.
fn wanting(path: &str, accept: &[&str], body: &Value) -> Request<Body> {
    let mut request = Request::post(path).header(header::CONTENT_TYPE, JSON);
    for line in accept {
        request = request.header(header::ACCEPT, *line);
    }
    request.body(body.to_string().into()).expect("a request")
}

fn planning() -> Router {
    service(crate::solve::planner(), Settings::default()).1
}

#[track_caller]
fn is(answer: &Answer, content_type: &str) {
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(answer.headers[header::CONTENT_TYPE], content_type);
    assert_eq!(answer.headers[header::VARY], "accept");
    assert_eq!(answer.headers[header::X_CONTENT_TYPE_OPTIONS], "nosniff");
}

#[tokio::test]
async fn a_plan_is_answered_in_the_form_that_is_wanted_most() {
    let router = quick(|| Ok(plan()));
    let browser = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8";
    for (accept, content_type) in [
        (&[][..], JSON),
        (&["*/*"], JSON),
        (&["application/*"], JSON),
        (&["application/json; charset=utf-8"], JSON),
        (&["text/html"], HTML),
        (&["text/*"], HTML),
        (&[browser], HTML),
        (&["application/pdf"], PDF),
        (&["application/*;q=0.5, application/pdf"], PDF),
        (&["text/csv"], CSV),
        (&["text/csv; charset=UTF-8"], CSV),
        (&["text/csv, */*"], CSV),
        (&["text/plain"], TEXT),
        (&["text/html;q=0.5, text/plain"], TEXT),
        (&["text/html;q=0, text/csv;q=0, text/*"], TEXT),
        (&["application/json, text/plain, */*"], JSON),
        (&["image/png", "text/csv;q=0.3", "text/plain;q=0.2"], CSV),
        (&["nonsense"], JSON),
    ] {
        let answer = ask(&router, wanting("/v1/plans", accept, &scenario_json())).await;
        assert_eq!(
            answer.headers[header::CONTENT_TYPE],
            content_type,
            "{accept:?}"
        );
        is(&answer, content_type);
    }
    let mut unreadable = post(scenario_json().to_string());
    let bytes = HeaderValue::from_bytes(b"text/html\xff").expect("a value");
    unreadable.headers_mut().insert(header::ACCEPT, bytes);
    is(&ask(&router, unreadable).await, JSON);
}

/// The planner counts: what cannot be answered is not planned.
#[tokio::test]
async fn what_is_not_there_is_a_problem_that_lists_what_is() {
    let planned = Arc::new(AtomicUsize::new(0));
    let counting = planned.clone();
    let planner = Arc::new(move |_: &_, _: &_| {
        counting.fetch_add(1, Ordering::Relaxed);
        Ok(plan())
    });
    let router = service(planner, Settings::default()).1;
    let others = [
        "/v1/comparisons",
        "/v1/explanations",
        "/v1/fits",
        "/v1/replans",
    ];
    let others = others.map(|path| (path, "text/html, text/csv", format!("{JSON}, {TEXT}.")));
    let of_a_plan = format!("{JSON}, {HTML}, {PDF}, {CSV}, {TEXT}.");
    let of_a_plan = ["image/png", "*/*;q=0", "text/html;level=1"]
        .map(|accept| ("/v1/plans", accept, of_a_plan.clone()));
    for (path, accept, there) in others.into_iter().chain(of_a_plan) {
        let answer = ask(&router, wanting(path, &[accept], &scenario_json())).await;
        let problem = answer.problem(406, "not-acceptable");
        let detail = problem["detail"].as_str().expect("text");
        assert!(detail.ends_with(&there), "{path}: {detail}");
        assert!(detail.contains(accept), "{path}: {detail}");
        assert_eq!(answer.headers[header::VARY], "accept");
    }
    assert_eq!(planned.load(Ordering::Relaxed), 0);
}

#[tokio::test]
async fn problems_are_problem_documents_whatever_is_wanted() {
    let router = planning();
    for accept in [
        "text/html",
        "text/csv",
        "text/plain",
        "image/png;q=0.1, text/html",
    ] {
        let answer = ask(&router, wanting("/v1/plans", &[accept], &json!({}))).await;
        answer.problem(422, "faulty-scenario");
        let query = wanting("/v1/plans?paper=a4", &[accept], &scenario_json());
        ask(&router, query).await.problem(400, "faulty-query");
    }
}

/// As the command line writes them; the sheets with materials, and the page with steps.
#[tokio::test]
async fn each_form_begins_as_its_kind_does() {
    let router = planning();
    let answer = |accept: &'static str, query: &'static str| {
        let request = wanting(&format!("/v1/plans{query}"), &[accept], &scenario_json());
        let router = router.clone();
        async move { ask(&router, request).await }
    };
    let page = answer("text/html", "").await;
    is(&page, HTML);
    assert!(page.bytes.starts_with(b"<!DOCTYPE html><html lang=\"en\">"));
    let print = answer(PDF, "").await;
    is(&print, PDF);
    assert!(print.bytes.starts_with(b"%PDF-"));
    let list = answer("text/csv", "").await;
    is(&list, CSV);
    assert!(list.bytes.starts_with(b"material,cloth,mark,pieces,"));
    let words = answer("text/plain", "").await;
    is(&words, TEXT);
    assert!(!words.bytes.starts_with(b"{"));
    let document = answer(JSON, "").await;
    is(&document, JSON);
    assert!(document.bytes.starts_with(b"{\n  \"format\": 1,"));
    // Only the page needs to be told what it may load.
    for other in [&print, &list, &words, &document] {
        assert!(!other.headers.contains_key(header::CONTENT_SECURITY_POLICY));
    }

    let asked = sashwright_solver::scenario::read(scenario_json().to_string().as_bytes());
    let asked = asked.expect("a scenario without fault");
    let read = |answer: &Answer| serde_json::from_slice(&answer.bytes).expect("a plan");
    let bare = read(&document);
    let whole = read(&answer(JSON, "?materials=true&steps=true").await);
    let text = crate::text::render(&asked, &bare);
    assert_eq!(String::from_utf8_lossy(&words.bytes), text);
    let cuts = sashwright_sheets::csv::cut_list(&asked, &whole).expect("written");
    assert_eq!(list.bytes, cuts);
    let sheet = sashwright_sheets::html(&sashwright_sheets::sheet(&asked, &whole));
    assert_eq!(String::from_utf8_lossy(&page.bytes), sheet);
    let paper = sashwright_sheets::Paper::Letter;
    let sheet = sashwright_sheets::sheet(&asked, &whole);
    assert!(print.bytes == sashwright_sheets::pdf(&sheet, paper).expect("printed"));
    assert!(whole.cutting.is_some() && whole.steps.is_some() && bare.cutting.is_none());
}

#[tokio::test]
async fn other_answers_are_given_in_words_too() {
    let router = planning();
    for path in ["/v1/comparisons", "/v1/explanations"] {
        let document = ask(&router, wanting(path, &[], &scenario_json())).await;
        is(&document, JSON);
        let words = ask(&router, wanting(path, &["text/plain"], &scenario_json())).await;
        is(&words, TEXT);
        let text = String::from_utf8(words.bytes).expect("text");
        assert!(!text.starts_with('{') && text.contains("hooping"), "{text}");
        // No plan is made here that could be fetched again.
        assert!(!document.headers.contains_key(header::CONTENT_LOCATION));
    }
    let fits = json!({
        "format": 1, "unit": "mm",
        "quilt": {"centre": [6, 8], "borders": [
            {"width": 2, "cope": {"sides": [1, 2], "ends": [1, 2], "step": 1}}, {"width": 1, "design": "vine"}]},
        "hoops": [{"id": "small", "field": [40, 40]}],
        "designs": [{"id": "vine", "sizes": [{"id": "vine-5", "width": 1, "repeat": 5, "repeats": 1}]}]
    });
    is(
        &ask(&router, wanting("/v1/fits", &["text/*"], &fits)).await,
        TEXT,
    );
    let plan = ask(&router, wanting("/v1/plans", &[], &scenario_json())).await;
    let joint = json!({"scenario": scenario_json(), "plan": plan.json(), "progress": {"format": 1, "done": 1}});
    is(
        &ask(&router, wanting("/v1/replans", &["text/plain"], &joint)).await,
        TEXT,
    );
}

/// Names come from outside, and the page is read by a browser.
#[tokio::test]
async fn names_in_a_page_stay_names_and_the_page_loads_nothing() {
    let mut scenario = scenario_json();
    scenario["name"] = "<script>alert(1)</script>".into();
    scenario["strips"][0]["id"] = "\"><img src=x onerror=alert(1)>".into();
    scenario["hoops"][0]["id"] = "<style>@import 'x'</style>".into();
    let answer = ask(&planning(), wanting("/v1/plans", &["text/html"], &scenario)).await;
    is(&answer, HTML);
    let policy = answer.headers[header::CONTENT_SECURITY_POLICY].to_str();
    let policy = policy.expect("text");
    assert!(policy.starts_with("default-src 'none';"), "{policy}");
    assert!(!policy.contains("script-src"), "{policy}");
    let page = String::from_utf8(answer.bytes).expect("text");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    for never in [
        "<script",
        "<img",
        "<link",
        "<iframe",
        "src=",
        "http-equiv",
        "@import",
    ] {
        let escaped = page
            .replace("&lt;img src=", "")
            .replace("&lt;style&gt;@import", "");
        assert!(!escaped.contains(never), "{never}");
    }
    assert_eq!(page.matches("<style").count(), 1);
    // Whatever the page points at stands in the page.
    for pointing in ["href=\"", "url("] {
        let targets: Vec<&str> = page.split(pointing).skip(1).collect();
        assert!(
            targets.iter().all(|target| target.starts_with('#')),
            "{pointing}"
        );
    }
}
