//! `GET /v1/health`: whether the service is there, and how busy it is.

use std::sync::Arc;

use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::IntoResponse;
use serde_json::json;

use super::Service;

/// Answers at once, however many solves run.
pub(super) async fn get(State(service): State<Arc<Service>>) -> impl IntoResponse {
    let (solving, waiting) = service.queue.load();
    let health = json!({
        "status": "ok",
        "version": env!("CARGO_PKG_VERSION"),
        "solving": solving,
        "waiting": waiting,
    });
    let kind = HeaderValue::from_static("application/json");
    ([(header::CONTENT_TYPE, kind)], health.to_string())
}
