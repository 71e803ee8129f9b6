//! Batches: runs of kits, accepted at once, planned in the background, and fetched as they come.
//!
//! `make.rs` accepts them, `state.rs` says how far they are, `rows.rs` and `plan.rs` give out what came of them, `events.rs` tells of it
//! while it happens. The plans are made by `worker.rs`, beside this folder.

mod document;
mod events;
mod make;
mod plan;
mod rows;
mod state;
mod summary;

use std::sync::Arc;

use axum::extract::Path;
use axum::extract::rejection::PathRejection;
use serde_json::json;

use super::Service;
use super::api::{Operation, Route};
use super::client::Client;
use super::problem::{Kind, Problem};
use super::stored::stored;
use crate::store::BatchState;

pub(super) use document::{BatchStatus, KitsPage, ResultsPage};

pub(super) fn routes() -> Vec<Route> {
    let mut routes = make::routes();
    routes.extend(state::routes());
    routes.extend(rows::routes());
    routes.extend(summary::routes());
    routes.extend(plan::routes());
    routes.extend(events::routes());
    routes
}

/// An example of a batch's id.
const EXAMPLE: &str = "5e1f0d3c9a7b48624f80b1c2d3e4a596";

/// An operation on a batch that was accepted.
fn of_a_batch(operation: Operation) -> Operation {
    operation
        .part(
            "id",
            "The batch's id, as Location gave it.",
            json!({"type": "string", "maxLength": 100}),
            EXAMPLE,
        )
        .problems(&[Kind::BatchNotKept, Kind::StoreFailed, Kind::Closing])
}

/// The batch of a path, where the client may see it.
///
/// # Errors
/// There is none of that id, or the store failed.
async fn batch(
    service: &Arc<Service>,
    client: &Client,
    id: Result<Path<String>, PathRejection>,
) -> Result<BatchState, Problem> {
    let Ok(Path(id)) = id else {
        return Err(Problem::plain(Kind::BatchNotKept));
    };
    numbered(service, client, id).await
}

/// The same by its id.
async fn numbered(
    service: &Arc<Service>,
    client: &Client,
    id: String,
) -> Result<BatchState, Problem> {
    let found = stored(service, move |store| store.batch(&id)).await?;
    let seen = found.filter(|batch| !service.settings.batches_apart || *batch.client == *client.0);
    seen.ok_or_else(|| Problem::plain(Kind::BatchNotKept))
}
