//! `GET /v1/health`: whether the service is there, how busy it is, and what it keeps.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use schemars::JsonSchema;
use serde::Serialize;

use super::Service;
use super::api::{Content, Group, Operation, Route};
use crate::version;

/// How the service is.
#[derive(Serialize, JsonSchema)]
pub(super) struct Health {
    /// That it answers: always `ok`.
    status: &'static str,
    /// Its version.
    version: &'static str,
    /// The state of the source that it is built from.
    build: &'static str,
    /// How many questions are being worked on.
    solving: usize,
    /// How many questions wait for their turn.
    waiting: usize,
    /// The plans that can be fetched again.
    kept: KeptNow,
}

/// The plans that can be fetched again.
#[derive(Serialize, JsonSchema)]
struct KeptNow {
    /// How many there are.
    plans: usize,
    /// The bytes of their texts.
    bytes: usize,
}

pub(super) fn routes() -> Vec<Route> {
    let operation = Operation::new(Group::About, "getHealth", "Whether the service is there")
        .described("Answered at once, however much is worked on.")
        .answers(
            200,
            "It is there.",
            vec![Content::document(
                "Health",
                include_str!("../../examples/health.json"),
            )],
        );
    vec![Route::get("/v1/health", get, operation)]
}

/// Answers at once, however many solves run.
async fn get(State(service): State<Arc<Service>>) -> Json<Health> {
    let (solving, waiting) = service.queue.load();
    let (plans, bytes) = service.kept.load();
    Json(Health {
        status: "ok",
        version: version::VERSION,
        build: version::BUILD,
        solving,
        waiting,
        kept: KeptNow { plans, bytes },
    })
}
