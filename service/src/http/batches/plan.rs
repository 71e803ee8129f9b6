//! `GET /v1/batches/ID/plans/N`: a plan of a batch in any form, and the scenario that it was planned for.

use std::sync::Arc;

use axum::extract::rejection::PathRejection;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{IntoResponse, Response};
use serde_json::json;

use super::{numbered, of_a_batch};
use crate::arguments::Paper;
use crate::http::Service;
use crate::http::api::{Content, Group, Operation, Route};
use crate::http::client::Client;
use crate::http::form::{self, Form};
use crate::http::kept::KeptPlan;
use crate::http::paper::{ForSheet, OnPaper};
use crate::http::plans::sent;
use crate::http::problem::{Kind, Problem};
use crate::http::stored::stored;
use crate::http::turn::unless_closing;

pub(super) fn routes() -> Vec<Route> {
    let of_a_plan = |operation: Operation| {
        of_a_batch(operation)
            .part(
                "number",
                "The plan's number in the batch.",
                json!({"type": "string", "pattern": "^[0-9]+$"}),
                "1",
            )
            .heeds(
                "If-None-Match",
                "Tags that the client has: where it has this one, the answer is 304.",
                json!({"type": "string"}),
            )
    };
    let tag = ("ETag", "Changes where the bytes do (RFC 9110).");
    let example = include_str!("../../../examples/plan.json");
    let given = |operation: Operation, offered| {
        of_a_plan(operation)
            .answers_with(
                200,
                "The plan.",
                Content::forms(offered, "Plan", example),
                &[tag],
            )
            .answers_with(304, "The client has it already.", Vec::new(), &[tag])
            .problem(Kind::NotAcceptable)
            .works()
    };
    let plan = Operation::new(Group::Batches, "getBatchPlan", "A plan of a batch")
        .described("The plan of one of the different scenarios of the batch, for the hoops that it was asked for.");
    let sheet = Operation::new(
        Group::Batches,
        "getBatchSheet",
        "A plan of a batch as sheets to print",
    )
    .described("Pictures to scale, cut and shopping lists, and the order of work.");
    let scenario = of_a_plan(Operation::new(
        Group::Batches,
        "getBatchScenario",
        "A scenario of a batch",
    ))
    .described(
        "What was planned: the scenario with the hoops of the set, as any other request takes it.",
    )
    .answers_with(
        200,
        "The scenario.",
        vec![Content::document(
            "Scenario",
            include_str!("../../../examples/scenario.json"),
        )],
        &[tag],
    )
    .answers_with(304, "The client has it already.", Vec::new(), &[tag]);
    vec![
        Route::get(
            "/v1/batches/{id}/plans/{number}",
            self::plan,
            given(plan, form::OF_A_PLAN),
        ),
        Route::get(
            "/v1/batches/{id}/plans/{number}/sheet",
            self::sheet,
            given(sheet, form::OF_A_SHEET).query::<ForSheet>(),
        ),
        Route::get(
            "/v1/batches/{id}/plans/{number}/scenario",
            self::scenario,
            scenario,
        ),
    ]
}

/// The batch's id and the plan's number.
type Place = Result<Path<(String, String)>, PathRejection>;

async fn plan(
    State(service): State<Arc<Service>>,
    client: Client,
    place: Place,
    headers: HeaderMap,
) -> Response {
    fetch(&service, &client, place, &headers, form::OF_A_PLAN, None).await
}

async fn sheet(
    State(service): State<Arc<Service>>,
    client: Client,
    place: Place,
    OnPaper(paper): OnPaper,
    headers: HeaderMap,
) -> Response {
    fetch(&service, &client, place, &headers, form::OF_A_SHEET, paper).await
}

async fn fetch(
    service: &Arc<Service>,
    client: &Client,
    place: Place,
    headers: &HeaderMap,
    offered: &'static [Form],
    paper: Option<Paper>,
) -> Response {
    let answer = async {
        let (scenario, plan) = planned(service, client, place).await?;
        let plan = plan.ok_or_else(|| Problem::plain(Kind::BatchNotKept))?;
        let form = Form::wanted(headers, offered)?;
        let kept = KeptPlan::new(String::new(), scenario.into_bytes(), plan.into_bytes());
        sent(service, client, Arc::new(kept), (form, paper), headers).await
    };
    unless_closing(service, answer).await.into_response()
}

async fn scenario(
    State(service): State<Arc<Service>>,
    client: Client,
    place: Place,
    headers: HeaderMap,
) -> Response {
    let answer = async {
        let (scenario, _) = planned(&service, &client, place).await?;
        // The document of what is kept is sent as it is.
        let kept = KeptPlan::new(String::new(), Vec::new(), scenario.into_bytes());
        let form = (Form::Document, None);
        sent(&service, &client, Arc::new(kept), form, &headers).await
    };
    unless_closing(&service, answer).await.into_response()
}

/// The scenario of a question, and its plan where there is one.
async fn planned(
    service: &Arc<Service>,
    client: &Client,
    place: Place,
) -> Result<(String, Option<String>), Problem> {
    let missing = || Problem::plain(Kind::BatchNotKept);
    let Path((id, number)) = place.map_err(|_| missing())?;
    let batch = numbered(service, client, id).await?.number;
    let number: i64 = number.parse().map_err(|_| missing())?;
    let found = stored(service, move |store| store.planned(batch, number)).await?;
    found.ok_or_else(missing)
}
