//! `POST` of a document to a question that is no plan: it is answered, in its turn.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::StopSignal;
use schemars::JsonSchema;
use serde::Deserialize;

use super::Service;
use super::api::{Content, Group, Operation, Route};
use super::body;
use super::client::Client;
use super::form::{self, Form};
use super::problem::{Kind, Problem};
use super::turn::{in_turn, unless_closing};
use crate::question::{Comparing, Coping, Explaining, Question, Replanning, ask};

pub(super) fn routes() -> Vec<Route> {
    let asked = |id, summary, description| {
        Operation::new(Group::Planning, id, summary)
            .described(description)
            .problems(&[
                Kind::FaultyQuery,
                Kind::FaultyScenario,
                Kind::CannotBeStitched,
                Kind::NotAcceptable,
            ])
            .works()
    };
    let of_any = |operation: Operation| {
        let example = include_str!("../../examples/scenario.json");
        let description = "What is to be stitched, what is owned, and what counts.";
        operation.body("Scenario", description, example)
    };
    let answer = |component, example| Content::forms(form::OF_AN_ANSWER, component, example);
    let compare = of_any(asked(
        "compareHoops",
        "Compare hoops",
        "What each hoop brings, what could be done without, what a candidate would save.",
    ))
    .query::<ForComparison>()
    .answers(
        200,
        "The comparison.",
        answer("Comparison", include_str!("../../examples/comparison.json")),
    );
    let explain = of_any(asked(
        "explainPlan",
        "Explain the plan of a scenario",
        "What every plan needs, where there is room left, what one change would save.",
    ))
    .answers(
        200,
        "The explanation.",
        answer(
            "Explanation",
            include_str!("../../examples/explanation.json"),
        ),
    );
    let cope = asked("findFits", "Make it fit", "Widths of coping strips and sashing with which the patterns become whole repeats. The scenario leaves at least one width open.")
        .body("Scenario", "A scenario that leaves widths open by cope.", include_str!("../../examples/coping.json"))
        .answers(200, "The widths that fit, the best first.", answer("Fits", include_str!("../../examples/fits.json")));
    let replan = Operation::new(Group::Planning, "replan", "What now?")
        .described("What is left of a plan after some work, what changes, and the next step.")
        .query::<ForReplan>()
        .body(
            "ReplanQuestion",
            "The scenario, its plan, and how far the work has come.",
            include_str!("../../examples/replan-question.json"),
        )
        .answers(
            200,
            "What is left.",
            answer("Replan", include_str!("../../examples/replan.json")),
        )
        .problems(&[
            Kind::FaultyDocuments,
            Kind::CannotBeStitched,
            Kind::NotAcceptable,
        ])
        .works();
    vec![
        Route::post("/v1/comparisons", self::compare, compare),
        Route::post("/v1/explanations", about::<Explaining>, explain),
        Route::post("/v1/fits", about::<Coping>, cope),
        Route::post("/v1/replans", self::replan, replan),
    ]
}

/// A query that says nothing.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Nothing {}

/// `POST` of a scenario to a question that is told nothing beside it: `/v1/explanations`, `/v1/fits`.
async fn about<Q: Question + Default>(
    State(service): State<Arc<Service>>,
    client: Client,
    told: Result<Query<Nothing>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    match told {
        Ok(Query(Nothing {})) => post(&service, &client, Q::default(), &headers, body).await,
        Err(rejection) => faulty_query(&rejection, "This path takes no query"),
    }
}

/// What a replan may be told beside the documents.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ForReplan {
    /// Whether just the next step is told.
    #[serde(default)]
    next: bool,
}

/// `POST /v1/replans`: a scenario, its plan and the progress in, what is left out.
async fn replan(
    State(service): State<Arc<Service>>,
    client: Client,
    told: Result<Query<ForReplan>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    match told {
        Ok(Query(ForReplan { next })) => {
            post(
                &service,
                &client,
                Replanning { only_next: next },
                &headers,
                body,
            )
            .await
        }
        Err(rejection) => faulty_query(&rejection, "\"next\" can be true or false"),
    }
}

/// What a comparison may be told beside the scenario.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ForComparison {
    /// Whether every set of hoops is compared.
    #[serde(default)]
    every_set: bool,
}

/// `POST /v1/comparisons`: a scenario in, what each set of hoops brings out.
async fn compare(
    State(service): State<Arc<Service>>,
    client: Client,
    told: Result<Query<ForComparison>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    match told {
        Ok(Query(ForComparison { every_set })) => {
            post(&service, &client, Comparing { every_set }, &headers, body).await
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
    client: &Client,
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
            form.write(&question, &asked, &answer, None)
        };
        Ok(form.response(in_turn(&service.queue, client, job).await?))
    };
    unless_closing(service, answer).await.into_response()
}
