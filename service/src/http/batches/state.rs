//! `GET /v1/batches/ID`: how far a batch is; `DELETE` cancels what is not done of it.

use std::sync::Arc;

use axum::extract::rejection::PathRejection;
use axum::extract::{Path, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

use super::document::BatchStatus;
use super::{batch, numbered, of_a_batch};
use crate::http::Service;
use crate::http::api::{Content, Group, Operation, Route};
use crate::http::client::Client;
use crate::http::form::Form;
use crate::http::problem::{Kind, Problem};
use crate::http::stored::stored;
use crate::http::turn::unless_closing;
use crate::question::as_json;
use crate::store::{BatchState, now};

/// Seconds after which there may be more of a batch.
pub(super) const LATER: HeaderValue = HeaderValue::from_static("2");

pub(super) fn routes() -> Vec<Route> {
    let answers = |operation: Operation, description: &str| {
        let example = include_str!("../../../examples/batch-status.json");
        operation.answers_with(
            200,
            description,
            vec![Content::document("BatchStatus", example)],
            &[(
                "Retry-After",
                "Seconds after which there may be more, where it is not finished.",
            )],
        )
    };
    let get = Operation::new(Group::Batches, "getBatch", "How far a batch is").described(
        "Its state, how many of its plans are there, and how far those are that are being made.",
    );
    let cancel = Operation::new(Group::Batches, "cancelBatch", "Cancel a batch").described(
        "What is done of it stays until it expires; a batch that is finished stays as it is.",
    );
    vec![
        Route::get(
            "/v1/batches/{id}",
            self::get,
            answers(of_a_batch(get), "How far it is."),
        ),
        Route::delete(
            "/v1/batches/{id}",
            delete,
            answers(of_a_batch(cancel), "Nothing more is done for it."),
        ),
    ]
}

/// What is told of a batch at this moment.
pub(super) fn status(service: &Service, batch: &BatchState) -> BatchStatus {
    let underway = match batch.closed {
        None => service.news.of_batch(&batch.id),
        Some(_) => Vec::new(),
    };
    BatchStatus::of(batch, underway, service.settings.keep_results)
}

/// A document as it is sent.
pub(super) fn written(document: &impl Serialize) -> Result<Response, Problem> {
    let written = as_json(document).map_err(|error| {
        tracing::error!(%error, "a document cannot be written");
        Problem::plain(Kind::Internal)
    })?;
    let mut response = Form::Document.response(written);
    response
        .headers_mut()
        .insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok(response)
}

fn answered(service: &Service, batch: &BatchState) -> Result<Response, Problem> {
    let mut response = written(&status(service, batch))?;
    if batch.closed.is_none() {
        response.headers_mut().insert(header::RETRY_AFTER, LATER);
    }
    Ok(response)
}

async fn get(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
) -> Response {
    let answer = async { answered(&service, &batch(&service, &client, id).await?) };
    unless_closing(&service, answer).await.into_response()
}

async fn delete(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
) -> Response {
    let answer = async {
        let id = batch(&service, &client, id).await?.id;
        let name = id.clone();
        if stored(&service, move |store| store.cancel(&name, now())).await? {
            service.news.stop_batch(&id);
            service.news.tell();
        }
        answered(&service, &numbered(&service, &client, id).await?)
    };
    unless_closing(&service, answer).await.into_response()
}
