//! The forms that an answer is given in, each with its media type: negotiated by `Accept`, written, and sent.

use axum::body::Body;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use mediatype::{MediaType, Name, Value, names, values};

use super::accept;
use super::problem::{Kind, Problem};
use crate::arguments::Paper;
use crate::question::{Question, Unprinted, as_json};

/// A form of an answer.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Form {
    /// The document.
    Document,
    /// Sheets to print, as one page; of a plan.
    Page,
    /// Sheets to print, as a PDF (RFC 8118); of a plan.
    Print,
    /// The cut list (RFC 4180); of a plan.
    CutList,
    /// Words for a person.
    Words,
    /// JSON, a document in each line; of what comes row by row.
    Lines,
    /// What is counted, for Prometheus.
    Counts,
}

/// What a plan is given as. In each list the first is given where nothing else is wanted.
pub(super) const OF_A_PLAN: &[Form] = &[
    Form::Document,
    Form::Page,
    Form::Print,
    Form::CutList,
    Form::Words,
];
/// What the sheet of a plan is given as.
pub(super) const OF_A_SHEET: &[Form] = &[Form::Page, Form::Print, Form::CutList, Form::Words];
/// What comes row by row is given as.
pub(super) const OF_ROWS: &[Form] = &[Form::Document, Form::Lines];
/// What every other answer is given as.
pub(super) const OF_AN_ANSWER: &[Form] = &[Form::Document, Form::Words];

/// All that is sent is UTF-8. JSON has no such parameter (RFC 8259, section 11), but clients that ask for it mean this.
const UTF_8: &[(Name<'static>, Value<'static>)] = &[(names::CHARSET, values::UTF_8)];

/// The media type of OpenMetrics 1.0.
const OPENMETRICS: Name<'static> = Name::new_unchecked("openmetrics-text");
/// The media type that newline-delimited JSON goes by; it is not registered.
const X_NDJSON: Name<'static> = Name::new_unchecked("x-ndjson");

/// What a page may load: nothing but the style that stands in it. Names out of a scenario are in it, escaped; should one ever not be,
/// it still runs nothing (Content Security Policy Level 3).
const PAGE_POLICY: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'",
);

impl Form {
    /// The form among those offered that the `Accept` field wants most.
    ///
    /// # Errors
    /// None of them is wanted: the problem that lists what there is.
    pub(super) fn wanted(headers: &HeaderMap, offered: &'static [Form]) -> Result<Form, Problem> {
        let field = accept::field(headers);
        let media: Vec<MediaType<'_>> = offered.iter().map(|form| form.media()).collect();
        let chosen = accept::choose(&field, &media).and_then(|place| offered.get(place));
        chosen.copied().ok_or_else(|| {
            let seen: String = field.chars().take(100).collect();
            let there: Vec<&str> = offered.iter().map(|form| form.content_type()).collect();
            let detail = format!(
                "The Accept field is {seen:?}. There is: {}.",
                there.join(", ")
            );
            Problem::new(Kind::NotAcceptable, detail)
        })
    }

    /// As it is negotiated.
    fn media(self) -> MediaType<'static> {
        let (kind, name) = match self {
            Form::Document => (names::APPLICATION, names::JSON),
            Form::Page => (names::TEXT, names::HTML),
            Form::Print => (names::APPLICATION, names::PDF),
            Form::CutList => (names::TEXT, names::CSV),
            Form::Words => (names::TEXT, names::PLAIN),
            Form::Lines => (names::APPLICATION, X_NDJSON),
            Form::Counts => (names::APPLICATION, OPENMETRICS),
        };
        MediaType::from_parts(kind, name, None, UTF_8)
    }

    /// As it is sent.
    pub(super) fn content_type(self) -> &'static str {
        match self {
            Form::Document => "application/json",
            Form::Page => "text/html; charset=utf-8",
            Form::Print => "application/pdf",
            Form::CutList => "text/csv; charset=utf-8",
            Form::Lines => "application/x-ndjson",
            Form::Counts => "application/openmetrics-text; version=1.0.0; charset=utf-8",
            Form::Words => "text/plain; charset=utf-8",
        }
    }

    /// Whether the form tells how cloths are cut and what is bought.
    pub(super) fn has_materials(self) -> bool {
        matches!(self, Form::Page | Form::Print | Form::CutList)
    }

    /// Whether the form tells what is done step after step.
    pub(super) fn has_steps(self) -> bool {
        matches!(self, Form::Page | Form::Print)
    }

    /// Writes the answer in this form; what is printed is for the paper that is told, or the usual one of the scenario's unit.
    ///
    /// # Errors
    /// The answer is too long to be printed; or it cannot be written so, which is an error of this program.
    pub(super) fn write<Q: Question>(
        self,
        question: &Q,
        asked: &Q::Asked,
        answer: &Q::Answer,
        paper: Option<Paper>,
    ) -> Result<Vec<u8>, Problem> {
        let written = match self {
            Form::Document => as_json(answer).map_err(|error| error.to_string()),
            Form::Page => question.page(asked, answer),
            Form::Print => match question.print(asked, answer, paper) {
                Err(Unprinted::TooLong(seen)) => {
                    let detail = format!(
                        "A PDF is too long: {seen}. Take text/html, and print what is needed from a browser."
                    );
                    return Err(Problem::new(Kind::NotAcceptable, detail));
                }
                Err(Unprinted::Impossible(why)) => Err(why),
                Ok(printed) => Ok(printed),
            },
            Form::CutList => question.cut_list(asked, answer),
            Form::Words => Ok(question.words(asked, answer).into_bytes()),
            Form::Counts => Err("an answer is not counted".into()),
            Form::Lines => Err("an answer that is no list of rows has no lines".into()),
        };
        written.map_err(|error| {
            tracing::error!(%error, "an answer cannot be written");
            Problem::plain(Kind::Internal)
        })
    }

    /// That the client has the answer in this form already (RFC 9110, section 15.4.5).
    pub(super) fn unchanged(self) -> Response {
        let mut response = self.response(Body::empty());
        *response.status_mut() = StatusCode::NOT_MODIFIED;
        response.headers_mut().remove(header::CONTENT_TYPE);
        response
    }

    /// The answer in this form, as it is sent.
    pub(super) fn response(self, body: impl Into<Body>) -> Response {
        let mut response = body.into().into_response();
        let headers = response.headers_mut();
        let kind = HeaderValue::from_static(self.content_type());
        headers.insert(header::CONTENT_TYPE, kind);
        headers.insert(header::VARY, VARY);
        let as_told = HeaderValue::from_static("nosniff");
        headers.insert(header::X_CONTENT_TYPE_OPTIONS, as_told);
        if self == Form::Page {
            headers.insert(header::CONTENT_SECURITY_POLICY, PAGE_POLICY);
        }
        response
    }
}

/// That another `Accept` field may be answered otherwise (RFC 9110, section 12.5.5).
pub(super) const VARY: HeaderValue = HeaderValue::from_static("accept");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forms_are_sent_as_what_they_are_negotiated_as() {
        for form in OF_A_PLAN {
            let sent = MediaType::parse(form.content_type()).expect("a media type");
            assert_eq!(sent.essence(), form.media().essence());
        }
    }
}
