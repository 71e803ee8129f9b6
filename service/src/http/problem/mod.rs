//! Problem documents (RFC 9457): every answer that is no success.

mod kind;

use std::time::Duration;

use axum::extract::Path;
use axum::extract::rejection::PathRejection;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::fault::{Fault, FaultCode};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::json;

use super::api::{Content, Group, Operation, Route};
use super::form::{Form, VARY};
use crate::solve::{Refusal, log_broken};

pub(super) use kind::Kind;

/// The media type of a problem document (RFC 9457, section 6.1).
pub(super) const MEDIA_TYPE: &str = "application/problem+json";

/// Seconds after which a refused request may be worth another try.
const RETRY_AFTER: HeaderValue = HeaderValue::from_static("5");

/// A problem, ready to be answered.
#[derive(Debug)]
pub(super) struct Problem {
    kind: Kind,
    detail: String,
    faults: Vec<Fault>,
    /// Seconds after which another try may do.
    after: Option<u64>,
}

/// A problem as it is stored.
#[derive(Serialize, Deserialize)]
struct Stored {
    /// The name of its kind.
    name: String,
    detail: String,
    faults: Vec<Fault>,
}

/// Why there is no answer (RFC 9457).
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Problem")]
pub(super) struct Document {
    /// Kind of the problem: a path of this service, at which it is explained; stable.
    r#type: String,
    /// What the problem is, in a few words; the same for each of its kind.
    title: String,
    /// The HTTP status.
    status: u16,
    /// What was seen, and what would do.
    detail: String,
    /// Every fault of the documents, each with its place; empty where the problem is none of the documents.
    faults: Vec<Fault>,
}

impl Problem {
    pub(super) fn new(kind: Kind, detail: impl Into<String>) -> Problem {
        Problem {
            kind,
            detail: detail.into(),
            faults: Vec::new(),
            after: None,
        }
    }

    /// The problem, and after how long another try will do.
    pub(super) fn after(mut self, wait: Duration) -> Problem {
        let seconds = wait.as_secs() + u64::from(wait.subsec_nanos() > 0);
        self.after = Some(seconds);
        self
    }

    /// A problem whose detail is the advice of its kind.
    pub(super) fn plain(kind: Kind) -> Problem {
        Problem::new(kind, kind.told().mend)
    }

    /// The problem as it is stored (JSON).
    pub(super) fn stored(&self) -> String {
        let stored = Stored {
            name: self.kind.told().name.into(),
            detail: self.detail.clone(),
            faults: self.faults.clone(),
        };
        // Texts alone always become JSON.
        serde_json::to_string(&stored).unwrap_or_default()
    }

    /// A problem that was stored.
    pub(super) fn of_stored(stored: &str) -> Problem {
        let read = serde_json::from_str::<Stored>(stored)
            .ok()
            .and_then(|stored| {
                let mut kinds = Kind::ALL.into_iter();
                let kind = kinds.find(|kind| kind.told().name == stored.name)?;
                Some(Problem::with_faults(kind, stored.detail, stored.faults))
            });
        read.unwrap_or_else(|| {
            tracing::error!("a problem that is stored cannot be read");
            Problem::plain(Kind::Internal)
        })
    }

    /// The problem of a document that cannot be read, called as the sentence begins with it; no JSON is a problem of its own.
    pub(super) fn faulty(kind: Kind, document: &str, faults: Vec<Fault>) -> Problem {
        let no_json = faults
            .iter()
            .any(|fault| fault.code == FaultCode::JsonSyntax);
        let kind = if no_json { Kind::NotJson } else { kind };
        let detail = format!("{document} cannot be read: {}.", listed(faults.len()));
        Problem::with_faults(kind, detail, faults)
    }

    fn with_faults(kind: Kind, detail: String, faults: Vec<Fault>) -> Problem {
        Problem {
            kind,
            detail,
            faults,
            after: None,
        }
    }
}

impl Problem {
    /// Why there is no answer to a question about so many documents.
    pub(super) fn refused(refusal: Refusal, documents: usize) -> Problem {
        match refusal {
            Refusal::Faulty(faults) => {
                if documents > 1 {
                    Problem::faulty(Kind::FaultyDocuments, "The documents", faults)
                } else {
                    Problem::faulty(Kind::FaultyScenario, "The scenario", faults)
                }
            }
            Refusal::CannotBeStitched(faults) => {
                let detail = format!("There is no plan for all strips: {}.", listed(faults.len()));
                Problem::with_faults(Kind::CannotBeStitched, detail, faults)
            }
            Refusal::Stopped => Problem::plain(Kind::Closing),
            Refusal::Broken(violations) => {
                log_broken(&violations);
                Problem::plain(Kind::Internal)
            }
        }
    }
}

/// How many faults there are, and where.
fn listed(count: usize) -> String {
    match count {
        1 => "1 fault is listed under \"faults\"".into(),
        _ => format!("{count} faults are listed under \"faults\""),
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let told = self.kind.told();
        let document = Document {
            r#type: format!("/problems/{}", told.name),
            title: told.title.into(),
            status: told.status.as_u16(),
            detail: self.detail,
            faults: self.faults,
        };
        // Texts and numbers alone always become JSON.
        let body = serde_json::to_vec_pretty(&document).unwrap_or_default();
        let kind = HeaderValue::from_static(MEDIA_TYPE);
        let mut response = (told.status, [(header::CONTENT_TYPE, kind)], body).into_response();
        if told.status == StatusCode::NOT_ACCEPTABLE {
            response.headers_mut().insert(header::VARY, VARY);
        }
        if self.kind.says_when() {
            let after = self.after.map_or(RETRY_AFTER, HeaderValue::from);
            response.headers_mut().insert(header::RETRY_AFTER, after);
        }
        response
    }
}

pub(super) fn routes() -> Vec<Route> {
    let names = Kind::ALL.map(|kind| kind.told().name);
    let operation = Operation::new(Group::About, "getProblem", "What a kind of problem is")
        .described("Where the type of a problem document points to.")
        .part(
            "name",
            "The last part of the type.",
            json!({"enum": names}),
            "queue-full",
        )
        .answers(
            200,
            "What it is, where it comes from, and what would do.",
            vec![Content::text(Form::Words)],
        )
        .problem(Kind::NotFound);
    vec![Route::get("/problems/{name}", explain, operation)]
}

/// `GET /problems/NAME`: what the `type` of a problem document points to, in words.
async fn explain(name: Result<Path<String>, PathRejection>) -> Result<String, Problem> {
    let named =
        |Path(name): Path<String>| Kind::ALL.into_iter().find(|kind| kind.told().name == name);
    let Some(kind) = name.ok().and_then(named) else {
        return Err(Problem::plain(Kind::NotFound));
    };
    let told = kind.told();
    Ok(format!(
        "{} (HTTP status {}).\n{}\n{}\n",
        told.title,
        told.status.as_u16(),
        told.cause,
        told.mend
    ))
}
