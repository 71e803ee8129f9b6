//! `GET /v1/health`: whether the service is there, how busy it is, and what it keeps.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::response::Response;
use schemars::JsonSchema;
use serde::Serialize;

use super::Service;
use super::api::{Content, Group, Operation, Route};
use super::form::Form;
use super::problem::{Kind, Problem};
use super::stored::stored;
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
    /// What was accepted, and nobody waits for.
    accepted: AcceptedNow,
}

/// What was accepted, and nobody waits for.
#[derive(Serialize, JsonSchema)]
struct AcceptedNow {
    /// Batches that are not finished.
    batches: u64,
    /// Their plans that have not ended.
    plans: u64,
    /// Those among them that are being made.
    underway: u64,
    /// Plans that took longer than their client waited for, and are not there yet.
    late: u64,
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
        .described(
            "Answered at once, however much is worked on; what was accepted is told by the store.",
        )
        .answers(
            200,
            "It is there.",
            vec![Content::document(
                "Health",
                include_str!("../../examples/health.json"),
            )],
        )
        .problem(Kind::StoreFailed);
    let live = Operation::new(
        Group::About,
        "getLive",
        "Whether the program answers at all",
    )
    .described("For whoever starts it anew where it does not.")
    .answers(200, "It does.", vec![Content::text(Form::Words)]);
    let ready = Operation::new(Group::About, "getReady", "Whether the service takes up work")
        .described("For whoever sends requests elsewhere where it does not: it is stopping, or what is stored cannot be reached.")
        .answers(200, "It does.", vec![Content::text(Form::Words)])
        .problems(&[Kind::Closing, Kind::StoreFailed]);
    vec![
        Route::get("/v1/health", get, operation),
        Route::get("/v1/health/live", self::live, live),
        Route::get("/v1/health/ready", self::ready, ready),
    ]
}

async fn live() -> Response {
    Form::Words.response("live\n")
}

async fn ready(State(service): State<Arc<Service>>) -> Result<Response, Problem> {
    if service.is_draining() {
        return Err(Problem::plain(Kind::Closing));
    }
    stored(&service, |store| store.load()).await?;
    Ok(Form::Words.response("ready\n"))
}

/// Answers at once, however many solves run.
async fn get(State(service): State<Arc<Service>>) -> Result<Json<Health>, Problem> {
    let (solving, waiting) = service.queue.load();
    let (plans, bytes) = service.kept.load();
    let load = stored(&service, |store| store.load()).await?;
    Ok(Json(Health {
        status: "ok",
        version: version::VERSION,
        build: version::BUILD,
        solving,
        waiting,
        kept: KeptNow { plans, bytes },
        accepted: AcceptedNow {
            batches: load.batches,
            plans: load.questions,
            underway: u64::try_from(service.news.load()).unwrap_or(u64::MAX),
            late: load.late,
        },
    }))
}
