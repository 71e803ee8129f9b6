//! `POST /v1/plans`: a scenario in, a plan out.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::StopSignal;
use tokio::sync::oneshot;

use super::Service;
use super::body;
use super::problem::{Kind, Problem};
use crate::solve::{on_large_stack, plan_as_json, plan_document};

/// Gives the signal when it is dropped: when the answer is there, and when the client has gone before.
struct StopWhenDropped(StopSignal);

impl Drop for StopWhenDropped {
    fn drop(&mut self) {
        self.0.give();
    }
}

/// Answers with the plan document or a problem document.
pub(super) async fn post(
    State(service): State<Arc<Service>>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let answer = async {
        let document = body::read(&service, &headers, body).await?;
        solve(&service, document).await
    };
    let answer = tokio::select! {
        answer = answer => answer,
        () = service.closed() => Err(Problem::plain(Kind::Closing)),
    };
    match answer {
        Ok(plan) => {
            let kind = HeaderValue::from_static("application/json");
            ([(header::CONTENT_TYPE, kind)], plan).into_response()
        }
        Err(problem) => problem.into_response(),
    }
}

/// Waits for its turn and solves on a thread of its own. Dropping the future leaves the queue or stops the solve.
async fn solve(service: &Service, document: Vec<u8>) -> Result<Vec<u8>, Problem> {
    let Some(waiting) = service.queue.enter() else {
        return Err(Problem::plain(Kind::QueueFull));
    };
    let Some(turn) = waiting.turn().await else {
        return Err(Problem::plain(Kind::Closing));
    };
    let guard = StopWhenDropped(StopSignal::new());
    let (stop, planner) = (guard.0.clone(), service.planner.clone());
    let (send, answer) = oneshot::channel();
    let started = on_large_stack(move || {
        let planned = plan_document(&document, &planner, stop);
        let answer = planned.map(|(_, plan)| plan_as_json(&plan));
        // Whoever hears the answer finds the place in the queue free. Nobody may be left to hear it.
        drop(turn);
        let _ = send.send(answer);
    });
    if let Err(error) = started {
        tracing::error!(%error, "cannot start a solve");
        return Err(Problem::plain(Kind::QueueFull));
    }
    match answer.await {
        Ok(Ok(Ok(plan))) => Ok(plan),
        Ok(Ok(Err(error))) => {
            tracing::error!(%error, "a plan cannot be written");
            Err(Problem::plain(Kind::Internal))
        }
        Ok(Err(refusal)) => Err(refusal.into()),
        Err(_) => {
            tracing::error!("a solve panicked");
            Err(Problem::plain(Kind::Internal))
        }
    }
}
