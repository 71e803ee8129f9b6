//! `GET /v1/health`: whether the service is there, how busy it is, and what it keeps.

use std::sync::Arc;

use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::IntoResponse;
use serde_json::json;

use super::Service;

/// Answers at once, however many solves run.
pub(super) async fn get(State(service): State<Arc<Service>>) -> impl IntoResponse {
    let (solving, waiting) = service.queue.load();
    let (plans, bytes) = service.kept.load();
    let health = json!({
        "status": "ok",
        "version": env!("CARGO_PKG_VERSION"),
        "solving": solving,
        "waiting": waiting,
        "kept": {"plans": plans, "bytes": bytes},
    });
    let kind = HeaderValue::from_static("application/json");
    ([(header::CONTENT_TYPE, kind)], health.to_string())
}
