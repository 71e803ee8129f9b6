//! Problem documents (RFC 9457): every answer that is no success.

use axum::extract::Path;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::fault::Fault;
use serde::Serialize;

use super::form::VARY;
use crate::solve::Refusal;

/// Seconds after which a refused request may be worth another try.
const RETRY_AFTER: HeaderValue = HeaderValue::from_static("5");

/// What kind of problem it is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    NotFound,
    PlanNotKept,
    MethodNotAllowed,
    NotAcceptable,
    WrongMediaType,
    BodyTooLarge,
    BodyTooSlow,
    BodyBroken,
    NotJson,
    FaultyQuery,
    FaultyScenario,
    FaultyDocuments,
    CannotBeStitched,
    QueueFull,
    Closing,
    Internal,
}

impl Kind {
    const ALL: [Kind; 16] = [
        Kind::NotFound,
        Kind::PlanNotKept,
        Kind::MethodNotAllowed,
        Kind::NotAcceptable,
        Kind::WrongMediaType,
        Kind::BodyTooLarge,
        Kind::BodyTooSlow,
        Kind::BodyBroken,
        Kind::NotJson,
        Kind::FaultyQuery,
        Kind::FaultyScenario,
        Kind::FaultyDocuments,
        Kind::CannotBeStitched,
        Kind::QueueFull,
        Kind::Closing,
        Kind::Internal,
    ];

    /// Stable name, status, title, and what to do about it.
    fn told(self) -> (&'static str, StatusCode, &'static str, &'static str) {
        match self {
            Kind::NotFound => (
                "not-found",
                StatusCode::NOT_FOUND,
                "There is nothing at this path",
                "Send scenarios to POST /v1/plans; GET /v1/health tells whether the service is there.",
            ),
            Kind::PlanNotKept => (
                "plan-not-kept",
                StatusCode::NOT_FOUND,
                "The plan is not kept, or not kept any more",
                "Only recent plans are kept. Post the scenario again: the answer's Content-Location says where its plan is.",
            ),
            Kind::MethodNotAllowed => (
                "method-not-allowed",
                StatusCode::METHOD_NOT_ALLOWED,
                "This path does not answer that method",
                "Use a method that the Allow header lists.",
            ),
            Kind::NotAcceptable => (
                "not-acceptable",
                StatusCode::NOT_ACCEPTABLE,
                "The answer is not there in a form that the Accept field allows",
                "Name one of the media types that the detail lists, or leave the field out.",
            ),
            Kind::WrongMediaType => (
                "wrong-media-type",
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "The body is not sent as JSON",
                "Send the scenario as it is, uncompressed, with Content-Type: application/json.",
            ),
            Kind::BodyTooLarge => (
                "body-too-large",
                StatusCode::PAYLOAD_TOO_LARGE,
                "The body is too large",
                "Send a smaller scenario, or plan it with the command line.",
            ),
            Kind::BodyTooSlow => (
                "body-too-slow",
                StatusCode::REQUEST_TIMEOUT,
                "The body took too long to arrive",
                "Send the whole body at once.",
            ),
            Kind::BodyBroken => (
                "body-broken",
                StatusCode::BAD_REQUEST,
                "The body broke off",
                "Send the request again, with a Content-Length that fits or in well-formed chunks.",
            ),
            Kind::NotJson => (
                "not-json",
                StatusCode::BAD_REQUEST,
                "The body is not a JSON document",
                "Mend the text at the line and column that the fault names.",
            ),
            Kind::FaultyQuery => (
                "faulty-query",
                StatusCode::BAD_REQUEST,
                "The query part of the address cannot be read",
                "Leave it out, or give what the documentation of the path names.",
            ),
            Kind::FaultyScenario => (
                "faulty-scenario",
                StatusCode::UNPROCESSABLE_ENTITY,
                "The scenario has faults",
                "Each fault gives its place as a JSON Pointer, what was seen there, and what would mend it.",
            ),
            Kind::FaultyDocuments => (
                "faulty-documents",
                StatusCode::UNPROCESSABLE_ENTITY,
                "The documents have faults, or do not belong together",
                "Each fault gives its place as a JSON Pointer that begins with the name of the document.",
            ),
            Kind::CannotBeStitched => (
                "cannot-be-stitched",
                StatusCode::UNPROCESSABLE_ENTITY,
                "Strips cannot be stitched",
                "Each fault names a strip and its closest miss. With rules.allow_partial such strips are left out of the plan.",
            ),
            Kind::QueueFull => (
                "queue-full",
                StatusCode::SERVICE_UNAVAILABLE,
                "Too many requests are waiting",
                "Try again after the seconds that the Retry-After header gives.",
            ),
            Kind::Closing => (
                "closing",
                StatusCode::SERVICE_UNAVAILABLE,
                "The service is stopping",
                "Try again once it has been started anew.",
            ),
            Kind::Internal => (
                "internal",
                StatusCode::INTERNAL_SERVER_ERROR,
                "The service failed",
                "This is an error of the program, not of the scenario. Please report it, with the scenario if you may share it.",
            ),
        }
    }
}

/// A problem, ready to be answered.
#[derive(Debug)]
pub(super) struct Problem {
    kind: Kind,
    detail: String,
    faults: Vec<Fault>,
}

/// The document's members, in the order of RFC 9457, and the list of faults.
#[derive(Serialize)]
struct Document<'a> {
    r#type: String,
    title: &'static str,
    status: u16,
    detail: &'a str,
    faults: &'a [Fault],
}

impl Problem {
    pub(super) fn new(kind: Kind, detail: impl Into<String>) -> Problem {
        Problem {
            kind,
            detail: detail.into(),
            faults: Vec::new(),
        }
    }

    /// A problem whose detail is the advice of its kind.
    pub(super) fn plain(kind: Kind) -> Problem {
        Problem::new(kind, kind.told().3)
    }

    fn with_faults(kind: Kind, detail: String, faults: Vec<Fault>) -> Problem {
        Problem {
            kind,
            detail,
            faults,
        }
    }
}

impl Problem {
    /// Why there is no answer to a question about so many documents.
    pub(super) fn refused(refusal: Refusal, documents: usize) -> Problem {
        let listed = |count: usize| match count {
            1 => "1 fault is listed under \"faults\"".to_string(),
            _ => format!("{count} faults are listed under \"faults\""),
        };
        match refusal {
            Refusal::Faulty(faults) => {
                use sashwright_solver::fault::FaultCode::JsonSyntax;
                let no_json = faults.iter().any(|fault| fault.code == JsonSyntax);
                let kind = if no_json {
                    Kind::NotJson
                } else if documents > 1 {
                    Kind::FaultyDocuments
                } else {
                    Kind::FaultyScenario
                };
                let what = if documents > 1 {
                    "The documents cannot be read"
                } else {
                    "The scenario cannot be read"
                };
                let detail = format!("{what}: {}.", listed(faults.len()));
                Problem::with_faults(kind, detail, faults)
            }
            Refusal::CannotBeStitched(faults) => {
                let detail = format!("There is no plan for all strips: {}.", listed(faults.len()));
                Problem::with_faults(Kind::CannotBeStitched, detail, faults)
            }
            Refusal::Stopped => Problem::plain(Kind::Closing),
            Refusal::Broken(violations) => {
                // What was broken is for the log; the client can do nothing with it.
                for violation in violations {
                    tracing::error!(
                        pointer = violation.pointer,
                        rule = violation.rule,
                        seen = violation.message,
                        "a plan broke a rule"
                    );
                }
                Problem::plain(Kind::Internal)
            }
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let (name, status, title, _) = self.kind.told();
        let document = Document {
            r#type: format!("/problems/{name}"),
            title,
            status: status.as_u16(),
            detail: &self.detail,
            faults: &self.faults,
        };
        // Texts and numbers alone always become JSON.
        let body = serde_json::to_vec_pretty(&document).unwrap_or_default();
        let kind = HeaderValue::from_static("application/problem+json");
        let mut response = (status, [(header::CONTENT_TYPE, kind)], body).into_response();
        if status == StatusCode::NOT_ACCEPTABLE {
            response.headers_mut().insert(header::VARY, VARY);
        }
        if status == StatusCode::SERVICE_UNAVAILABLE {
            response
                .headers_mut()
                .insert(header::RETRY_AFTER, RETRY_AFTER);
        }
        response
    }
}

/// `GET /problems/NAME`: what the `type` of a problem document points to, in words.
pub(super) async fn explain(Path(name): Path<String>) -> Result<String, Problem> {
    let kind = Kind::ALL.into_iter().find(|kind| kind.told().0 == name);
    let Some(kind) = kind else {
        return Err(Problem::plain(Kind::NotFound));
    };
    let (_, status, title, advice) = kind.told();
    Ok(format!(
        "{title} (HTTP status {}).\n{advice}\n",
        status.as_u16()
    ))
}
