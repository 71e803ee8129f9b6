//! Plans: made by `POST /v1/plans`, and fetched again by `GET /v1/plans/ID`, or as a sheet by `GET /v1/plans/ID/sheet`.

use std::sync::Arc;

use axum::Json;
use axum::body::{Body, Bytes};
use axum::extract::rejection::{PathRejection, QueryRejection};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{self, Scenario};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::json;

use super::Service;
use super::api::{Content, Group, Operation, Route};
use super::body;
use super::client::Client;
use super::digest::digest;
use super::form::{self, Form};
use super::kept::KeptPlan;
use super::late;
use super::prefer::{PREFERENCE_APPLIED, Wait};
use super::problem::{Kind, Problem};
use super::question::faulty_query;
use super::stored::stored;
use super::tag::Tag;
use super::turn::{in_turn, unless_closing};
use crate::question::{Planning, Question, ask};
use crate::solve::Planner;
use crate::store::{LateEnd, LatePlan, LateState};

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
    let on_the_way = [
        ("Location", "Where the plan will be."),
        ("Retry-After", "Seconds after which it may be there."),
    ];
    let underway = || {
        let example = include_str!("../../examples/underway.json");
        vec![Content::document("Underway", example)]
    };
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
            .answers_with(
                202,
                "The plan is late, and still made.",
                underway(),
                &on_the_way,
            )
            .answers_with(304, "The client has it already.", Vec::new(), &[tag])
            .problems(&[
                Kind::PlanNotKept,
                Kind::NotAcceptable,
                Kind::StoreFailed,
                Kind::FaultyScenario,
                Kind::CannotBeStitched,
                Kind::NotJson,
            ])
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
        .heeds(
            "Prefer",
            "With wait=N (RFC 7240) a plan that takes longer than N seconds is answered with 202, is made all the same, and can be fetched later; with respond-async alone at once.",
            json!({"type": "string"}),
        )
        .body("Scenario", "What is to be stitched, what is owned, and what counts.", include_str!("../../examples/scenario.json"))
        .answers_with(202, "The plan takes longer than the client waits for it.", underway(), &on_the_way)
        .answers_with(200, "The plan.", Content::forms(form::OF_A_PLAN, "Plan", example), &[tag, ("Content-Location", "Where the plan can be fetched again, for as long as it is kept.")])
        .problems(&[Kind::FaultyScenario, Kind::CannotBeStitched, Kind::NotAcceptable, Kind::StoreFailed])
        .works();
    let again = Operation::new(Group::Planning, "getPlan", "A plan once more").described(
        "Recent plans are kept in memory, within bounds; late ones are stored, until they expire.",
    );
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
#[derive(Clone, Copy, Default, Serialize, Deserialize, JsonSchema)]
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

    /// The plan of a scenario's text as one that is late.
    fn late(self, id: &str, scenario: &[u8]) -> Result<LatePlan, Problem> {
        let told = serde_json::to_string(&self).map_err(|error| {
            tracing::error!(%error, "the options of a plan cannot be written");
            Problem::plain(Kind::Internal)
        })?;
        Ok(LatePlan {
            id: id.into(),
            told,
            scenario: scenario.to_vec(),
        })
    }

    /// The name of the plan of a scenario's text. It says nothing of the scenario, and who does not have that cannot guess it.
    fn id(self, scenario: &[u8]) -> String {
        let told = [self.explain, self.materials, self.steps].map(u8::from);
        digest(&[&told, scenario])
    }
}

/// A plan in the form that was asked for.
pub(super) struct Answered {
    bytes: Bytes,
    tag: Tag,
    /// The plan document.
    pub(super) document: Bytes,
    /// Whether it can be fetched again.
    kept: bool,
}

/// `POST /v1/plans`: a scenario in, a plan out.
async fn post(
    State(service): State<Arc<Service>>,
    client: Client,
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
        let wait = Wait::wanted(&headers);
        let kept = (!wants_it_made(&headers)).then(|| service.kept.get(&id));
        let answered = match kept.flatten() {
            Some(kept) => {
                let document = kept.plan.clone();
                let (bytes, tag) = in_form(&service, &client, kept, form).await?;
                Some(Answered {
                    bytes,
                    tag,
                    document,
                    kept: true,
                })
            }
            None => new(&service, &client, told, form, &id, scenario, wait).await?,
        };
        let mut response = match answered {
            Some(answered) => answered.response(form, &id),
            None => later(&id),
        };
        if let Some(applied) = wait.and_then(Wait::applied) {
            response.headers_mut().insert(PREFERENCE_APPLIED, applied);
        }
        Ok(response)
    };
    unless_closing(&service, answer).await.into_response()
}

/// Plans a scenario in the client's turn; `None` where that takes longer than the client waits for it.
async fn new(
    service: &Arc<Service>,
    client: &Client,
    told: ForPlan,
    form: Form,
    id: &str,
    scenario: Vec<u8>,
    wait: Option<Wait>,
) -> Result<Option<Answered>, Problem> {
    let late = match wait {
        Some(wait) => Some((wait, told.late(id, &scenario)?)),
        None => None,
    };
    let work = {
        let (service, client, id) = (service.clone(), client.clone(), id.to_string());
        let queue = service.queue.clone();
        let job = move |stop: &StopSignal| {
            let made = made(&service, told, id, scenario, stop)?;
            made.in_form(form)
        };
        async move { in_turn(&queue, &client, job).await }
    };
    match late {
        Some((wait, late)) => late::within(service, client, wait, late, work).await,
        None => work.await.map(Some),
    }
}

impl Answered {
    fn response(self, form: Form, id: &str) -> Response {
        let mut response = form.response(self.bytes);
        if self.kept
            && let Some(place) = place_of(id)
        {
            let headers = response.headers_mut();
            headers.insert(header::CONTENT_LOCATION, place);
            headers.insert(header::ETAG, self.tag.value());
        }
        response
    }
}

/// Seconds after which a late plan may be there.
const LATER: HeaderValue = HeaderValue::from_static("1");

/// A plan that is on its way.
#[derive(Serialize, JsonSchema)]
pub(super) struct Underway {
    /// Where it will be.
    plan: String,
}

/// That the plan is on its way, and where it will be (RFC 9110, section 15.3.3).
fn later(id: &str) -> Response {
    let underway = Underway {
        plan: format!("/v1/plans/{id}"),
    };
    let mut response = (StatusCode::ACCEPTED, Json(underway)).into_response();
    let headers = response.headers_mut();
    headers.insert(header::RETRY_AFTER, LATER);
    headers.extend(place_of(id).map(|place| (header::LOCATION, place)));
    response
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
pub(super) async fn in_form(
    service: &Arc<Service>,
    client: &Client,
    kept: Arc<KeptPlan>,
    form: Form,
) -> Result<(Bytes, Tag), Problem> {
    if form == Form::Document {
        return Ok(kept.document());
    }
    let planner = service.planner.clone();
    let job = move |stop: &StopSignal| written_anew(&kept, form, planner, stop).map(tagged);
    in_turn(&service.sheets, client, job).await
}

/// A plan that was made just now.
pub(super) struct Made {
    question: Planning,
    asked: Scenario,
    plan: Plan,
    kept: Arc<KeptPlan>,
    /// Whether it can be fetched again.
    stays: bool,
}

impl Made {
    /// The plan document.
    pub(super) fn document(self) -> Bytes {
        self.kept.plan.clone()
    }

    fn in_form(self, form: Form) -> Result<Answered, Problem> {
        let (bytes, tag) = match form {
            Form::Document => self.kept.document(),
            _ => tagged(form.write(&self.question, &self.asked, &self.plan)?),
        };
        Ok(Answered {
            bytes,
            tag,
            kept: self.stays,
            document: self.document(),
        })
    }
}

/// Plans a scenario, and keeps the plan under its name.
pub(super) fn made(
    service: &Service,
    told: ForPlan,
    id: String,
    scenario: Vec<u8>,
    stop: &StopSignal,
) -> Result<Made, Problem> {
    let question = told.question(service.planner.clone());
    let (asked, plan) = ask(&question, &scenario, stop.clone())
        .map_err(|refusal| Problem::refused(refusal, question.documents().len()))?;
    let document = Form::Document.write(&question, &asked, &plan)?;
    let kept = Arc::new(KeptPlan::new(id, scenario, document));
    // Where nobody waits any more the plan may have been cut short for that.
    let stays = !stop.given() && service.kept.keep(kept.clone());
    Ok(Made {
        question,
        asked,
        plan,
        kept,
        stays,
    })
}

fn tagged(bytes: Vec<u8>) -> (Bytes, Tag) {
    let tag = Tag::of(&bytes);
    (bytes.into(), tag)
}

/// What the plan can be fetched at.
fn place_of(id: &str) -> Option<HeaderValue> {
    HeaderValue::try_from(format!("/v1/plans/{id}")).ok()
}

/// `GET /v1/plans/ID`: a plan that was answered, once more.
async fn get(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    headers: HeaderMap,
) -> Response {
    fetch(&service, &client, id, &headers, form::OF_A_PLAN).await
}

/// `GET /v1/plans/ID/sheet`: the same as a sheet.
async fn sheet(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    headers: HeaderMap,
) -> Response {
    fetch(&service, &client, id, &headers, form::OF_A_SHEET).await
}

async fn fetch(
    service: &Arc<Service>,
    client: &Client,
    id: Result<Path<String>, PathRejection>,
    headers: &HeaderMap,
    offered: &'static [Form],
) -> Response {
    let answer = async {
        let Ok(Path(id)) = id else {
            return Err(Problem::plain(Kind::PlanNotKept));
        };
        let kept = match service.kept.get(&id) {
            Some(kept) => kept,
            None => match late(service, id.clone()).await? {
                Some(kept) => kept,
                None => return Ok(later(&id)),
            },
        };
        let form = Form::wanted(headers, offered)?;
        sent(service, client, kept, form, headers).await
    };
    unless_closing(service, answer).await.into_response()
}

/// A plan in a form, or that the client has it already.
pub(super) async fn sent(
    service: &Arc<Service>,
    client: &Client,
    kept: Arc<KeptPlan>,
    form: Form,
    headers: &HeaderMap,
) -> Result<Response, Problem> {
    let (bytes, tag) = in_form(service, client, kept, form).await?;
    let mut response = if tag.is_known(headers) {
        form.unchanged()
    } else {
        form.response(bytes)
    };
    let headers = response.headers_mut();
    headers.insert(header::ETAG, tag.value());
    headers.insert(header::CACHE_CONTROL, CACHE);
    Ok(response)
}

/// A late plan; `None` where it is not there yet.
async fn late(service: &Service, id: String) -> Result<Option<Arc<KeptPlan>>, Problem> {
    let name = id.clone();
    match stored(service, move |store| store.late(&name)).await? {
        None => Err(Problem::plain(Kind::PlanNotKept)),
        Some(LateState::Open) => Ok(None),
        Some(LateState::Closed(_, LateEnd::Problem(problem))) => Err(Problem::of_stored(&problem)),
        Some(LateState::Closed(scenario, LateEnd::Plan(plan))) => {
            Ok(Some(Arc::new(KeptPlan::new(id, scenario, plan))))
        }
    }
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
