//! `GET /v1/batches/ID/summary`: what a batch adds up to, once it is finished.

use std::sync::Arc;

use axum::extract::rejection::PathRejection;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};

use super::state::written;
use super::{batch, of_a_batch};
use crate::batch::Summary;
use crate::http::Service;
use crate::http::api::{Content, Group, Operation, Route};
use crate::http::client::Client;
use crate::http::form::{self, Form};
use crate::http::problem::{Kind, Problem};
use crate::http::turn::unless_closing;
use crate::text;

pub(super) fn routes() -> Vec<Route> {
    let operation = of_a_batch(Operation::new(
        Group::Batches,
        "getSummary",
        "What a batch adds up to",
    ))
    .described("Totals of all kits and of each hoop set, the kits that cannot be made and why, and one order list for all of them.")
    .answers(
        200,
        "What it adds up to.",
        Content::forms(
            form::OF_AN_ANSWER,
            "BatchSummary",
            include_str!("../../../examples/batch-summary.json"),
        ),
    )
    .problems(&[Kind::BatchUnfinished, Kind::NotAcceptable, Kind::Internal]);
    vec![Route::get("/v1/batches/{id}/summary", get, operation)]
}

async fn get(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    headers: HeaderMap,
) -> Response {
    let answer = async {
        let form = Form::wanted(&headers, form::OF_AN_ANSWER)?;
        let batch = batch(&service, &client, id).await?;
        let Some(summary) = batch.summary else {
            return Err(Problem::plain(Kind::BatchUnfinished));
        };
        let summary: Option<Summary> = serde_json::from_str(&summary).map_err(|error| {
            tracing::error!(%error, "the summary of a batch cannot be read");
            Problem::plain(Kind::Internal)
        })?;
        let summary = summary.ok_or_else(|| Problem::plain(Kind::Internal))?;
        match form {
            Form::Words => Ok(Form::Words.response(text::batch(&batch.name, &summary))),
            _ => written(&summary),
        }
    };
    unless_closing(&service, answer).await.into_response()
}
