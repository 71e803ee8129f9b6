//! What the tests of the service share: most of them call the router without a socket.

mod admitted;
mod answers;
mod batches;
mod comparisons;
mod connections;
mod cross_origin;
mod encrypted;
mod fetched;
mod forms;
mod kept;
mod late;
mod queue;
mod replans;
mod slow;
mod sockets;

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use http_body_util::BodyExt;
use sashwright_solver::NoPlan;
use serde_json::Value;
use tower::ServiceExt;

use super::{Service, Settings, router};
use crate::solve::Planner;

/// Long enough for any step of these tests; a step that takes longer has failed.
const PATIENCE: Duration = Duration::from_secs(20);

pub(super) struct Answer {
    pub(super) status: StatusCode,
    pub(super) headers: HeaderMap,
    pub(super) bytes: Vec<u8>,
}

impl Answer {
    pub(super) fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes).expect("JSON")
    }

    /// The answer as a problem document whose members agree with the response (RFC 9457, section 3.1).
    #[track_caller]
    pub(super) fn problem(&self, status: u16, name: &str) -> Value {
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

pub(super) async fn ask(router: &Router, request: Request<Body>) -> Answer {
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

pub(super) fn get(path: &str) -> Request<Body> {
    Request::get(path).body(Body::empty()).expect("a request")
}

pub(super) fn service(planner: Planner, settings: Settings) -> (Arc<Service>, Router) {
    let store = crate::store::Store::in_memory().expect("a store");
    let service = Service::new(planner, settings, store, None);
    (service.clone(), router(service))
}

/// A service whose planner answers at once with what `answer` makes.
pub(super) fn quick(answer: fn() -> Result<sashwright_solver::plan::Plan, NoPlan>) -> Router {
    service(Arc::new(move |_, _| answer()), Settings::default()).1
}
