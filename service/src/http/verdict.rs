//! `POST /v1/scenarios/check`: whether a scenario can be planned as it stands, without planning it.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use sashwright_solver::fault::{Fault, FaultCode};
use sashwright_solver::{scenario, strips};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::json;

use super::api::{Content, Group, Operation, Route};
use super::client::Client;
use super::form::Form;
use super::problem::{Kind, Problem};
use super::question::{Nothing, faulty_query};
use super::turn::{in_turn, unless_closing};
use super::{Service, body};
use crate::question::as_json;
use crate::solve::Refusal;

/// Whether a scenario is without fault.
#[derive(Serialize, JsonSchema)]
pub(super) struct ScenarioVerdict {
    /// Whether it can be planned as it stands. Whether its strips can be stitched and its wishes kept, only a plan tells.
    valid: bool,
    /// Every fault, each with its place; empty where it is valid.
    faults: Vec<Fault>,
    /// How many strips it has to stitch; absent where it has faults.
    #[serde(skip_serializing_if = "Option::is_none")]
    strips: Option<usize>,
}

pub(super) fn routes() -> Vec<Route> {
    let operation = Operation::new(
        Group::Planning,
        "checkScenario",
        "Check a scenario without planning it",
    )
    .described("The answer is the same as that to a plan where it has faults, but takes no solve.")
    // Any JSON is judged, so that the schema of a scenario would ask too much.
    .any_body(
        json!({}),
        "What is meant as a scenario, with or without fault.",
        include_str!("../../examples/scenario.json"),
    )
    .answers(
        200,
        "The scenario was read: whether it has faults, and which.",
        vec![Content::document(
            "ScenarioVerdict",
            include_str!("../../examples/verdict.json"),
        )],
    )
    .problem(Kind::FaultyQuery)
    .works();
    vec![Route::post("/v1/scenarios/check", check, operation)]
}

async fn check(
    State(service): State<Arc<Service>>,
    client: Client,
    told: Result<Query<Nothing>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    if let Err(rejection) = told {
        return faulty_query(&rejection, "This path takes no query");
    }
    let answer = async {
        let document = body::read(&service, &headers, body).await?;
        let verdict = in_turn(&service.sheets, &client, move |_| verdict(&document)).await?;
        Ok(Form::Document.response(verdict))
    };
    unless_closing(&service, answer).await.into_response()
}

fn verdict(document: &[u8]) -> Result<Vec<u8>, Problem> {
    let verdict = match scenario::read(document) {
        Err(faults)
            if faults
                .iter()
                .any(|fault| fault.code == FaultCode::JsonSyntax) =>
        {
            return Err(Problem::refused(Refusal::Faulty(faults), 1));
        }
        Err(faults) => ScenarioVerdict {
            valid: false,
            faults,
            strips: None,
        },
        Ok(scenario) => ScenarioVerdict {
            valid: true,
            faults: Vec::new(),
            strips: Some(strips::of(&scenario).strips.len()),
        },
    };
    as_json(&verdict).map_err(|error| {
        tracing::error!(%error, "a verdict cannot be written");
        Problem::plain(Kind::Internal)
    })
}
