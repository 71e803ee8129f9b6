//! Plans: made by `POST /v1/plans`, and fetched again by `GET /v1/plans/ID`, or as a sheet by `GET /v1/plans/ID/sheet`.

mod fetch;
mod make;
mod told;

use axum::Json;
use axum::body::Bytes;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::json;

use super::api::{Content, Group, Operation, Route};
use super::form::{self, Form};
use super::paper::ForSheet;
use super::problem::Kind;
use super::tag::Tag;
use fetch::{get, sheet};
use make::post;
use told::ForPlan;

pub(super) use fetch::sent;
pub(super) use make::{Made, made};

pub(super) fn routes() -> Vec<Route> {
    let example = include_str!("../../../examples/plan.json");
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
        let example = include_str!("../../../examples/underway.json");
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
        .body("Scenario", "What is to be stitched, what is owned, and what counts.", include_str!("../../../examples/scenario.json"))
        .answers_with(202, "The plan takes longer than the client waits for it.", underway(), &on_the_way)
        .leads_to(&[("plan", "getPlan"), ("sheet", "getSheet")])
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
            fetched(as_sheet, form::OF_A_SHEET).query::<ForSheet>(),
        ),
    ]
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
    /// Its id.
    id: String,
    /// Where it will be.
    plan: String,
}

/// That the plan is on its way, and where it will be (RFC 9110, section 15.3.3).
fn later(id: &str) -> Response {
    let underway = Underway {
        id: id.into(),
        plan: format!("/v1/plans/{id}"),
    };
    let mut response = (StatusCode::ACCEPTED, Json(underway)).into_response();
    let headers = response.headers_mut();
    headers.insert(header::RETRY_AFTER, LATER);
    headers.extend(place_of(id).map(|place| (header::LOCATION, place)));
    response
}

fn tagged(bytes: Vec<u8>) -> (Bytes, Tag) {
    let tag = Tag::of(&bytes);
    (bytes.into(), tag)
}

/// What the plan can be fetched at.
fn place_of(id: &str) -> Option<HeaderValue> {
    HeaderValue::try_from(format!("/v1/plans/{id}")).ok()
}
