//! `POST` of a document to a question that is no plan: it is answered, in its turn.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::StopSignal;
use serde::Deserialize;

use super::Service;
use super::body;
use super::form::{self, Form};
use super::problem::{Kind, Problem};
use super::turn::{in_turn, unless_closing};
use crate::question::{Comparing, Question, Replanning, ask};

/// A query that says nothing.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Nothing {}

/// `POST` of a scenario to a question that is told nothing beside it: `/v1/explanations`, `/v1/fits`.
pub(super) async fn about<Q: Question + Default>(
    State(service): State<Arc<Service>>,
    told: Result<Query<Nothing>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    match told {
        Ok(Query(Nothing {})) => post(&service, Q::default(), &headers, body).await,
        Err(rejection) => faulty_query(&rejection, "This path takes no query"),
    }
}

/// What a replan may be told beside the documents.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ForReplan {
    /// Whether just the next step is told.
    #[serde(default)]
    next: bool,
}

/// `POST /v1/replans`: a scenario, its plan and the progress in, what is left out.
pub(super) async fn replan(
    State(service): State<Arc<Service>>,
    told: Result<Query<ForReplan>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    match told {
        Ok(Query(ForReplan { next })) => {
            post(&service, Replanning { only_next: next }, &headers, body).await
        }
        Err(rejection) => faulty_query(&rejection, "\"next\" can be true or false"),
    }
}

/// What a comparison may be told beside the scenario.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ForComparison {
    /// Whether every set of hoops is compared.
    #[serde(default)]
    every_set: bool,
}

/// `POST /v1/comparisons`: a scenario in, what each set of hoops brings out.
pub(super) async fn compare(
    State(service): State<Arc<Service>>,
    told: Result<Query<ForComparison>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    match told {
        Ok(Query(ForComparison { every_set })) => {
            post(&service, Comparing { every_set }, &headers, body).await
        }
        Err(rejection) => faulty_query(&rejection, "\"every_set\" can be true or false"),
    }
}

/// The answer to a query that cannot be read; `known` says what can.
pub(super) fn faulty_query(rejection: &QueryRejection, known: &str) -> Response {
    let seen = rejection.body_text();
    let seen = (seen.strip_prefix("Failed to deserialize query string: ")).unwrap_or(&seen);
    let detail = format!("After the question mark: {seen}. {known}.");
    Problem::new(Kind::FaultyQuery, detail).into_response()
}

/// Answers with the answer in the form that is wanted, or with a problem document.
async fn post<Q: Question>(
    service: &Service,
    question: Q,
    headers: &HeaderMap,
    body: Body,
) -> Response {
    let answer = async {
        let document = body::read(service, headers, body).await?;
        let form = Form::wanted(headers, form::OF_AN_ANSWER)?;
        let job = move |stop: &StopSignal| {
            let (asked, answer) = ask(&question, &document, stop.clone())
                .map_err(|refusal| Problem::refused(refusal, question.documents().len()))?;
            form.write(&question, &asked, &answer)
        };
        Ok(form.response(in_turn(&service.queue, job).await?))
    };
    unless_closing(service, answer).await.into_response()
}
