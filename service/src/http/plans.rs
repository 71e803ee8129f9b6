//! Plans: made by `POST /v1/plans`, and fetched again by `GET /v1/plans/ID`, or as a sheet by `GET /v1/plans/ID/sheet`.

use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::rejection::{PathRejection, QueryRejection};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::json;

use super::Service;
use super::api::{Content, Group, Operation, Route};
use super::body;
use super::digest::digest;
use super::form::{self, Form};
use super::kept::KeptPlan;
use super::problem::{Kind, Problem};
use super::question::faulty_query;
use super::tag::Tag;
use super::turn::{in_turn, unless_closing};
use crate::question::{Planning, Question, ask};
use crate::solve::Planner;

pub(super) fn routes() -> Vec<Route> {
    let example = include_str!("../../examples/plan.json");
    let id = |operation: Operation| {
        let schema = json!({"type": "string", "maxLength": 100});
        operation.part(
            "id",
            "The plan's id, as Content-Location gave it.",
            schema,
            "c3494ca1a2cf8eeb8a11ded316fb55b8",
        )
    };
    let tag = ("ETag", "Changes where the bytes do (RFC 9110).");
    let fetched = |operation: Operation, offered: &[Form]| {
        id(operation)
            .heeds(
                "If-None-Match",
                "Tags that the client has: where it has this one, the answer is 304.",
                json!({"type": "string"}),
            )
            .answers_with(
                200,
                "The plan.",
                Content::forms(offered, "Plan", example),
                &[tag],
            )
            .answers_with(304, "The client has it already.", Vec::new(), &[tag])
            .problems(&[Kind::PlanNotKept, Kind::NotAcceptable])
            .works()
    };
    let made = Operation::new(Group::Planning, "makePlan", "Plan a scenario")
        .described("Which hoop and size for which stretch, in which order; each figure with the bound that is proven. Forms to print tell materials and steps in any case.")
        .query::<ForPlan>()
        .heeds(
            "Cache-Control",
            "With no-cache the scenario is planned, whether or not its plan is kept (RFC 9111).",
            json!({"type": "string"}),
        )
        .body("Scenario", "What is to be stitched, what is owned, and what counts.", include_str!("../../examples/scenario.json"))
        .answers_with(200, "The plan.", Content::forms(form::OF_A_PLAN, "Plan", example), &[tag, ("Content-Location", "Where the plan can be fetched again, for as long as it is kept.")])
        .problems(&[Kind::FaultyScenario, Kind::CannotBeStitched, Kind::NotAcceptable])
        .works();
    let again = Operation::new(Group::Planning, "getPlan", "A plan once more")
        .described("Recent plans are kept in memory, within bounds.");
    let as_sheet = Operation::new(Group::Planning, "getSheet", "A plan as sheets to print")
        .described("Pictures to scale, cut and shopping lists, and the order of work.");
    vec![
        Route::post("/v1/plans", post, made),
        Route::get("/v1/plans/{id}", get, fetched(again, form::OF_A_PLAN)),
        Route::get(
            "/v1/plans/{id}/sheet",
            sheet,
            fetched(as_sheet, form::OF_A_SHEET),
        ),
    ]
}

/// What a plan may be told beside the scenario.
#[derive(Clone, Copy, Default, Deserialize, JsonSchema)]
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

impl ForPlan {
    /// With what the form shows beside the plan, as the command line adds it.
    fn shown_by(self, form: Form) -> ForPlan {
        ForPlan {
            explain: self.explain,
            materials: self.materials || form.has_materials(),
            steps: self.steps || form.has_steps(),
        }
    }

    fn question(self, planner: Planner) -> Planning {
        Planning {
            planner,
            explain: self.explain,
            materials: self.materials,
            steps: self.steps,
        }
    }

    /// The name of the plan of a scenario's text. It says nothing of the scenario, and who does not have that cannot guess it.
    fn id(self, scenario: &[u8]) -> String {
        let told = [self.explain, self.materials, self.steps].map(u8::from);
        digest(&[&told, scenario])
    }
}

/// A plan in the form that was asked for.
struct Answered {
    bytes: Bytes,
    tag: Tag,
    /// Where it can be fetched again, if it is kept.
    id: Option<String>,
}

/// `POST /v1/plans`: a scenario in, a plan out.
async fn post(
    State(service): State<Arc<Service>>,
    told: Result<Query<ForPlan>, QueryRejection>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let told = match told {
        Ok(Query(told)) => told,
        Err(rejection) => {
            let known = "\"explain\" can be true or false, and so can \"materials\" and \"steps\"";
            return faulty_query(&rejection, known);
        }
    };
    let answer = async {
        let scenario = body::read(&service, &headers, body).await?;
        let form = Form::wanted(&headers, form::OF_A_PLAN)?;
        let told = told.shown_by(form);
        let id = told.id(&scenario);
        let kept = (!wants_it_made(&headers)).then(|| service.kept.get(&id));
        let answered = match kept.flatten() {
            Some(kept) => {
                let (bytes, tag) = in_form(&service, kept, form).await?;
                let id = Some(id);
                Answered { bytes, tag, id }
            }
            None => {
                let sharing = service.clone();
                let job = move |stop: &StopSignal| made(&sharing, told, form, id, scenario, stop);
                in_turn(&service.queue, job).await?
            }
        };
        let mut response = form.response(answered.bytes);
        if let Some(place) = answered.id.and_then(place_of) {
            let headers = response.headers_mut();
            headers.insert(header::CONTENT_LOCATION, place);
            headers.insert(header::ETAG, answered.tag.value());
        }
        Ok(response)
    };
    unless_closing(&service, answer).await.into_response()
}

/// Whether the client wants no plan that is kept (RFC 9111, section 5.2.1.4).
fn wants_it_made(headers: &HeaderMap) -> bool {
    let lines = headers.get_all(header::CACHE_CONTROL).iter();
    let mut directives = lines
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(','));
    directives.any(|directive| directive.trim().eq_ignore_ascii_case("no-cache"))
}

/// A plan that is kept, in a form.
async fn in_form(
    service: &Arc<Service>,
    kept: Arc<KeptPlan>,
    form: Form,
) -> Result<(Bytes, Tag), Problem> {
    if form == Form::Document {
        return Ok(kept.document());
    }
    let planner = service.planner.clone();
    let job = move |stop: &StopSignal| written_anew(&kept, form, planner, stop).map(tagged);
    in_turn(&service.sheets, job).await
}

/// Plans a scenario, and keeps the plan under its name.
fn made(
    service: &Service,
    told: ForPlan,
    form: Form,
    id: String,
    scenario: Vec<u8>,
    stop: &StopSignal,
) -> Result<Answered, Problem> {
    let question = told.question(service.planner.clone());
    let (asked, plan) = ask(&question, &scenario, stop.clone())
        .map_err(|refusal| Problem::refused(refusal, question.documents().len()))?;
    let document = Form::Document.write(&question, &asked, &plan)?;
    let kept = KeptPlan::new(id.clone(), scenario, document);
    let (bytes, tag) = match form {
        Form::Document => kept.document(),
        _ => tagged(form.write(&question, &asked, &plan)?),
    };
    // Where nobody waits any more the plan may have been cut short for that.
    let id = (!stop.given() && service.kept.keep(kept)).then_some(id);
    Ok(Answered { bytes, tag, id })
}

fn tagged(bytes: Vec<u8>) -> (Bytes, Tag) {
    let tag = Tag::of(&bytes);
    (bytes.into(), tag)
}

/// What the plan can be fetched at.
fn place_of(id: String) -> Option<HeaderValue> {
    HeaderValue::try_from(format!("/v1/plans/{id}")).ok()
}

/// `GET /v1/plans/ID`: a plan that was answered, once more.
async fn get(
    State(service): State<Arc<Service>>,
    id: Result<Path<String>, PathRejection>,
    headers: HeaderMap,
) -> Response {
    fetch(&service, id, &headers, form::OF_A_PLAN).await
}

/// `GET /v1/plans/ID/sheet`: the same as a sheet.
async fn sheet(
    State(service): State<Arc<Service>>,
    id: Result<Path<String>, PathRejection>,
    headers: HeaderMap,
) -> Response {
    fetch(&service, id, &headers, form::OF_A_SHEET).await
}

async fn fetch(
    service: &Arc<Service>,
    id: Result<Path<String>, PathRejection>,
    headers: &HeaderMap,
    offered: &'static [Form],
) -> Response {
    let answer = async {
        let kept = id.ok().and_then(|Path(id)| service.kept.get(&id));
        let kept = kept.ok_or_else(|| Problem::plain(Kind::PlanNotKept))?;
        let form = Form::wanted(headers, offered)?;
        let (bytes, tag) = in_form(service, kept, form).await?;
        let mut response = if tag.is_known(headers) {
            form.unchanged()
        } else {
            form.response(bytes)
        };
        let headers = response.headers_mut();
        headers.insert(header::ETAG, tag.value());
        headers.insert(header::CACHE_CONTROL, CACHE);
        Ok(response)
    };
    unless_closing(service, answer).await.into_response()
}

/// A later plan of the same scenario may be another one, and names in it are for nobody else (RFC 9111, section 5.2.2).
const CACHE: HeaderValue = HeaderValue::from_static("private, no-cache");

/// A plan that is kept in another form, with what that form shows beside the plan.
fn written_anew(
    kept: &KeptPlan,
    form: Form,
    planner: Planner,
    stop: &StopSignal,
) -> Result<Vec<u8>, Problem> {
    let internal = |what: &dyn std::fmt::Display| {
        tracing::error!(%what, "a plan that is kept cannot be read");
        Problem::plain(Kind::Internal)
    };
    let asked = scenario::read(&kept.scenario)
        .map_err(|faults| internal(&format!("{} faults", faults.len())))?;
    let mut plan: Plan = serde_json::from_slice(&kept.plan).map_err(|error| internal(&error))?;
    let question = ForPlan::default().shown_by(form).question(planner);
    let deadline = Deadline::after(question.limit(&asked), stop.clone());
    question
        .add_missing(&asked, &mut plan, &deadline)
        .map_err(|refusal| Problem::refused(refusal, question.documents().len()))?;
    form.write(&question, &asked, &plan)
}
