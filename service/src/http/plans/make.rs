//! `POST /v1/plans`: a scenario in, a plan out.

use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::deadline::StopSignal;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::Scenario;

use super::fetch::in_form;
use super::told::ForPlan;
use super::{Answered, later, tagged};
use crate::http::client::Client;
use crate::http::form::{self, Form};
use crate::http::kept::KeptPlan;
use crate::http::prefer::{PREFERENCE_APPLIED, Wait};
use crate::http::problem::Problem;
use crate::http::question::faulty_query;
use crate::http::turn::{in_turn, unless_closing};
use crate::http::{Service, body, late};
use crate::question::{Planning, Question, ask};

/// Answers with a plan that is kept, or makes one.
pub(super) async fn post(
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
                let (bytes, tag) = in_form(&service, &client, kept, (form, None)).await?;
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

/// Whether the client wants no plan that is kept (RFC 9111, section 5.2.1.4).
fn wants_it_made(headers: &HeaderMap) -> bool {
    let lines = headers.get_all(header::CACHE_CONTROL).iter();
    let mut directives = lines
        .filter_map(|line| line.to_str().ok())
        .flat_map(|line| line.split(','));
    directives.any(|directive| directive.trim().eq_ignore_ascii_case("no-cache"))
}

/// A plan that was made just now.
pub(in crate::http) struct Made {
    question: Planning,
    asked: Scenario,
    plan: Plan,
    kept: Arc<KeptPlan>,
    /// Whether it can be fetched again.
    stays: bool,
}

impl Made {
    /// The plan document.
    pub(in crate::http) fn document(self) -> Bytes {
        self.kept.plan.clone()
    }

    fn in_form(self, form: Form) -> Result<Answered, Problem> {
        let (bytes, tag) = match form {
            Form::Document => self.kept.document(),
            _ => tagged(form.write(&self.question, &self.asked, &self.plan, None)?),
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
pub(in crate::http) fn made(
    service: &Service,
    told: ForPlan,
    id: String,
    scenario: Vec<u8>,
    stop: &StopSignal,
) -> Result<Made, Problem> {
    let question = told.question(service.planner.clone());
    let (asked, plan) = ask(&question, &scenario, stop.clone())
        .map_err(|refusal| Problem::refused(refusal, question.documents().len()))?;
    let document = Form::Document.write(&question, &asked, &plan, None)?;
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
