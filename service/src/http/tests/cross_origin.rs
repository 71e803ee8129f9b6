//! Web pages that ask from a browser (the Fetch standard's CORS protocol).

use std::sync::Arc;

use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use serde_json::json;

use super::{ask, get, post, service};
use crate::http::{Service, Settings, origin, router};
use crate::keys::{Keys, new_key};
use crate::store::Store;
use crate::text::tests::{plan, scenario_json};

const OWN: &str = "https://kits.example";

fn from(origin: &str, mut request: Request<Body>) -> Request<Body> {
    let value = origin.parse().expect("a value");
    request.headers_mut().insert(header::ORIGIN, value);
    request
}

fn allowed(headers: &HeaderMap) -> Option<&str> {
    let value = headers.get(header::ACCESS_CONTROL_ALLOW_ORIGIN)?;
    value.to_str().ok()
}

#[tokio::test]
async fn without_a_named_origin_no_page_is_let_in() {
    let planner = Arc::new(|_: &_, _: &_| Ok(plan()));
    let router = service(planner, Settings::default()).1;
    let answer = ask(&router, from(OWN, get("/v1/health"))).await;
    assert_eq!(allowed(&answer.headers), None);
    let asks = Request::options("/v1/plans").body(Body::empty());
    ask(&router, from(OWN, asks.expect("a request")))
        .await
        .problem(405, "method-not-allowed");
}

/// The page's browser asks first, without the key; even what is refused can be read by the page.
#[tokio::test]
async fn the_pages_of_a_named_origin_may_ask() {
    let (key, entry) = new_key("page").expect("random numbers");
    let keys = json!({"keys": [entry]}).to_string();
    let settings = Settings {
        origins: vec![origin(OWN).expect("an origin")],
        ..Settings::default()
    };
    let service = Service::new(
        Arc::new(|_, _| Ok(plan())),
        settings,
        Store::in_memory().expect("a store"),
        Some(Keys::read(keys.as_bytes()).expect("keys")),
    );
    let router = router(service);
    let asks = || {
        Request::options("/v1/batches")
            .header(header::ACCESS_CONTROL_REQUEST_METHOD, "POST")
            .header(
                header::ACCESS_CONTROL_REQUEST_HEADERS,
                "authorization,content-type,idempotency-key,prefer",
            )
            .body(Body::empty())
            .expect("a request")
    };
    let answer = ask(&router, from(OWN, asks())).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(allowed(&answer.headers), Some(OWN));
    let fields = answer.headers[header::ACCESS_CONTROL_ALLOW_HEADERS]
        .to_str()
        .expect("text");
    for field in ["authorization", "content-type", "idempotency-key", "prefer"] {
        assert!(fields.split(',').any(|told| told == field), "{fields}");
    }
    let methods = &answer.headers[header::ACCESS_CONTROL_ALLOW_METHODS];
    assert_eq!(methods, "GET,POST,DELETE");
    let other = ask(&router, from("https://others.example", asks())).await;
    assert_eq!(allowed(&other.headers), None);

    let plan = || from(OWN, post(scenario_json().to_string()));
    let refused = ask(&router, plan()).await;
    refused.problem(401, "key-missing");
    assert_eq!(allowed(&refused.headers), Some(OWN));
    let mut keyed = plan();
    let field = format!("Bearer {key}").parse().expect("a value");
    keyed.headers_mut().insert(header::AUTHORIZATION, field);
    let answer = ask(&router, keyed).await;
    assert_eq!(answer.status, StatusCode::OK);
    assert_eq!(allowed(&answer.headers), Some(OWN));
    let shown = answer.headers[header::ACCESS_CONTROL_EXPOSE_HEADERS]
        .to_str()
        .expect("text");
    for field in ["etag", "location", "retry-after", "x-request-id"] {
        assert!(shown.split(',').any(|told| told == field), "{shown}");
    }
    // No page gets cookies or other credentials that the browser keeps.
    let credentials = header::ACCESS_CONTROL_ALLOW_CREDENTIALS;
    assert!(!answer.headers.contains_key(credentials));
}
