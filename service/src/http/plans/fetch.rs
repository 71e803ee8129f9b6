//! Plans fetched again: the document by `GET /v1/plans/ID`, or a sheet by `GET /v1/plans/ID/sheet`.

use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::rejection::PathRejection;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;

use super::told::ForPlan;
use super::{later, tagged};
use crate::arguments::Paper;
use crate::http::Service;
use crate::http::client::Client;
use crate::http::form::{self, Form};
use crate::http::kept::KeptPlan;
use crate::http::paper::OnPaper;
use crate::http::problem::{Kind, Problem};
use crate::http::stored::stored;
use crate::http::tag::Tag;
use crate::http::turn::{in_turn, unless_closing};
use crate::question::Question;
use crate::solve::Planner;
use crate::store::{LateEnd, LateState};

/// `GET /v1/plans/ID`: a plan that was answered, once more.
pub(super) async fn get(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    headers: HeaderMap,
) -> Response {
    fetch(&service, &client, id, &headers, form::OF_A_PLAN, None).await
}

/// `GET /v1/plans/ID/sheet`: the same as a sheet.
pub(super) async fn sheet(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    OnPaper(paper): OnPaper,
    headers: HeaderMap,
) -> Response {
    fetch(&service, &client, id, &headers, form::OF_A_SHEET, paper).await
}

async fn fetch(
    service: &Arc<Service>,
    client: &Client,
    id: Result<Path<String>, PathRejection>,
    headers: &HeaderMap,
    offered: &'static [Form],
    paper: Option<Paper>,
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
        sent(service, client, kept, (form, paper), headers).await
    };
    unless_closing(service, answer).await.into_response()
}

/// A plan in a form, printed for some paper, or that the client has it already.
pub(in crate::http) async fn sent(
    service: &Arc<Service>,
    client: &Client,
    kept: Arc<KeptPlan>,
    (form, paper): (Form, Option<Paper>),
    headers: &HeaderMap,
) -> Result<Response, Problem> {
    let (bytes, tag) = in_form(service, client, kept, (form, paper)).await?;
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
    (form, paper): (Form, Option<Paper>),
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
    form.write(&question, &asked, &plan, paper)
}

/// A plan that is kept, in a form, printed for some paper.
pub(super) async fn in_form(
    service: &Arc<Service>,
    client: &Client,
    kept: Arc<KeptPlan>,
    (form, paper): (Form, Option<Paper>),
) -> Result<(Bytes, Tag), Problem> {
    if form == Form::Document {
        return Ok(kept.document());
    }
    let planner = service.planner.clone();
    let job =
        move |stop: &StopSignal| written_anew(&kept, (form, paper), planner, stop).map(tagged);
    in_turn(&service.sheets, client, job).await
}
