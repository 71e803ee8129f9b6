//! `POST` of a document: the question about it is answered, in its turn.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::StopSignal;
use serde::Deserialize;
use tokio::sync::oneshot;

use super::Service;
use super::body;
use super::problem::{Kind, Problem};
use crate::question::{Comparing, Planning, Question, Replanning, as_json, ask};
use crate::solve::on_large_stack;

/// Gives the signal when it is dropped: when the answer is there, and when the client has gone before.
struct StopWhenDropped(StopSignal);

impl Drop for StopWhenDropped {
    fn drop(&mut self) {
        self.0.give();
    }
}

/// What a plan may be told beside the scenario.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ForPlan {
    /// Whether the plan is explained as well.
    #[serde(default)]
    explain: bool,
    /// Whether it tells how cloths are cut and what is bought.
    #[serde(default)]
    materials: bool,
    /// Whether it tells what is done, step after step.
    #[serde(default)]
    steps: bool,
}

/// `POST /v1/plans`: a scenario in, a plan out.
pub(super) async fn plan(
    State(service): State<Arc<Service>>,
    told: Result<Query<ForPlan>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let question = |told: ForPlan| Planning {
        planner: service.planner.clone(),
        explain: told.explain,
        materials: told.materials,
        steps: told.steps,
    };
    match told {
        Ok(Query(told)) => post(&service, question(told), &headers, body).await,
        Err(rejection) => faulty_query(
            &rejection,
            "\"explain\" can be true or false, and so can \"materials\" and \"steps\"",
        ),
    }
}

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
fn faulty_query(rejection: &QueryRejection, known: &str) -> Response {
    let seen = rejection.body_text();
    let seen = (seen.strip_prefix("Failed to deserialize query string: ")).unwrap_or(&seen);
    let detail = format!("After the question mark: {seen}. {known}.");
    Problem::new(Kind::FaultyQuery, detail).into_response()
}

/// Answers with the answer's document or a problem document.
async fn post<Q: Question>(
    service: &Service,
    question: Q,
    headers: &HeaderMap,
    body: Body,
) -> Response {
    let answer = async {
        let document = body::read(service, headers, body).await?;
        solve(service, question, document).await
    };
    let answer = tokio::select! {
        answer = answer => answer,
        () = service.closed() => Err(Problem::plain(Kind::Closing)),
    };
    match answer {
        Ok(document) => {
            let kind = HeaderValue::from_static("application/json");
            ([(header::CONTENT_TYPE, kind)], document).into_response()
        }
        Err(problem) => problem.into_response(),
    }
}

/// Waits for its turn and solves on a thread of its own. Dropping the future leaves the queue or stops the solve.
async fn solve<Q: Question>(
    service: &Service,
    question: Q,
    document: Vec<u8>,
) -> Result<Vec<u8>, Problem> {
    let Some(waiting) = service.queue.enter() else {
        return Err(Problem::plain(Kind::QueueFull));
    };
    let Some(turn) = waiting.turn().await else {
        return Err(Problem::plain(Kind::Closing));
    };
    let guard = StopWhenDropped(StopSignal::new());
    let stop = guard.0.clone();
    let documents = question.documents().len();
    let (send, answer) = oneshot::channel();
    let started = on_large_stack(move || {
        let answer = ask(&question, &document, stop).map(|(_, answer)| as_json(&answer));
        // Whoever hears the answer finds the place in the queue free. Nobody may be left to hear it.
        drop(turn);
        let _ = send.send(answer);
    });
    if let Err(error) = started {
        tracing::error!(%error, "cannot start a solve");
        return Err(Problem::plain(Kind::QueueFull));
    }
    match answer.await {
        Ok(Ok(Ok(document))) => Ok(document),
        Ok(Ok(Err(error))) => {
            tracing::error!(%error, "an answer cannot be written");
            Err(Problem::plain(Kind::Internal))
        }
        Ok(Err(refusal)) => Err(Problem::refused(refusal, documents)),
        Err(_) => {
            tracing::error!("a solve panicked");
            Err(Problem::plain(Kind::Internal))
        }
    }
}
