//! `POST /v1/batches`: a batch is accepted, whole or not at all.

use std::sync::Arc;

use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use sashwright_solver::batch::{self, Batch};
use sashwright_solver::deadline::StopSignal;
use serde_json::json;
use sha2::{Digest, Sha256};

use super::document::BatchStatus;
use super::numbered;
use super::state::{LATER, status};
use crate::http::Service;
use crate::http::api::{Content, Group, Operation, Route};
use crate::http::body;
use crate::http::client::Client;
use crate::http::problem::{Kind, Problem};
use crate::http::stored::stored;
use crate::http::turn::{enter, in_place, unless_closing};
use crate::store::{Accepted, NewBatch, now};

/// The field's name; `http` has no constant for it.
const IDEMPOTENCY_KEY: HeaderName = HeaderName::from_static("idempotency-key");
/// The longest key, in characters.
const LONGEST_KEY: usize = 255;

pub(super) fn routes() -> Vec<Route> {
    let operation = Operation::new(Group::Batches, "makeBatch", "Plan a run of kits")
        .described("The batch is stored, and its plans are made while nobody waits. Each different scenario with its hoops is planned once, and counted for all kits that ask for it.")
        .heeds(
            "Idempotency-Key",
            "Any text of 1 to 255 printable characters, such as a UUID. The same batch sent again with the same key is the batch that is there; another one is refused.",
            json!({"type": "string", "minLength": 1, "maxLength": LONGEST_KEY}),
        )
        .body("Batch", "The kits, their scenarios, and who has which hoops.", include_str!("../../../examples/batch.json"))
        .answers_with(
            202,
            "It is accepted.",
            vec![Content::document("BatchStatus", include_str!("../../../examples/batch-status.json"))],
            &[("Location", "Where the batch is."), ("Retry-After", "Seconds after which there may be more.")],
        )
        .leads_to(&[
            ("batch", "getBatch"),
            ("results", "getResults"),
            ("kits", "getKits"),
            ("summary", "getSummary"),
            ("events", "getEvents"),
            ("cancel", "cancelBatch"),
        ])
        .problems(&[Kind::FaultyBatch, Kind::FaultyHeader, Kind::KeyUsedBefore, Kind::TooManyBatches, Kind::TooManyWaiting, Kind::StoreFailed])
        .works();
    vec![Route::post("/v1/batches", post, operation)]
}

async fn post(
    State(service): State<Arc<Service>>,
    client: Client,
    headers: HeaderMap,
    body: Body,
) -> Response {
    let answer = async {
        let key = key(&headers)?;
        // A place among those who wait before the body is read: so many bodies are in memory at most.
        let place = enter(&service.batch_bodies, &client)?;
        let largest = service.settings.largest_batch;
        let body = body::read_up_to(&service, &headers, body, largest).await?;
        let hash = Sha256::digest(&body).into();
        let batch = in_place(place, move |_: &StopSignal| read(&body)).await?;
        let room = service.settings.room;
        let owner = client.clone();
        let accepted = stored(&service, move |store| {
            store.accept(
                &NewBatch {
                    client: &owner.0,
                    key: key.as_deref(),
                    body: hash,
                    batch: &batch,
                    now: now(),
                },
                room,
            )
        });
        let id = match accepted.await? {
            Accepted::New(id) | Accepted::Before(id) => id,
            Accepted::OtherBody => return Err(Problem::plain(Kind::KeyUsedBefore)),
            Accepted::TooManyOfClient => return Err(Problem::plain(Kind::TooManyBatches)),
            Accepted::Full => return Err(Problem::plain(Kind::QueueFull)),
        };
        service.news.work.notify_one();
        let batch = numbered(&service, &client, id).await?;
        accepted_at(&status(&service, &batch), &batch.id)
    };
    unless_closing(&service, answer).await.into_response()
}

/// That a batch is accepted, and where it is (RFC 9110, section 15.3.3).
fn accepted_at(status: &BatchStatus, id: &str) -> Result<Response, Problem> {
    let mut response = super::state::written(status)?;
    *response.status_mut() = StatusCode::ACCEPTED;
    let headers = response.headers_mut();
    let place = HeaderValue::try_from(format!("/v1/batches/{id}"));
    headers.extend(place.ok().map(|place| (header::LOCATION, place)));
    headers.insert(header::RETRY_AFTER, LATER);
    Ok(response)
}

/// The Idempotency-Key, where one is sent.
fn key(headers: &HeaderMap) -> Result<Option<String>, Problem> {
    let mut keys = headers.get_all(IDEMPOTENCY_KEY).iter();
    let Some(key) = keys.next() else {
        return Ok(None);
    };
    let readable = key
        .to_str()
        .ok()
        .filter(|key| (1..=LONGEST_KEY).contains(&key.len()));
    match (readable, keys.next()) {
        (Some(key), None) => Ok(Some(key.into())),
        _ => Err(Problem::plain(Kind::FaultyHeader)),
    }
}

fn read(document: &[u8]) -> Result<Batch, Problem> {
    batch::read(document).map_err(|faults| Problem::faulty(Kind::FaultyBatch, "The batch", faults))
}
