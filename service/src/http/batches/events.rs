//! `GET /v1/batches/ID/events`: what happens to a batch, as it happens, as server-sent events (HTML Living Standard, section 9.2).

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::extract::rejection::PathRejection;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use sashwright_solver::exact::Exact;
use sashwright_solver::length::Measure;
use sashwright_solver::plan::ObjectiveEntry;
use serde::Serialize;
use serde_json::json;
use tokio::sync::mpsc::{self, Sender};
use tokio_stream::wrappers::ReceiverStream;

use super::document::{BatchResult, BatchStatus};
use super::state::status;
use super::{batch, of_a_batch};
use crate::http::Service;
use crate::http::api::{Content, Group, Operation, Route};
use crate::http::client::Client;
use crate::http::news::Outlook;
use crate::http::problem::{Kind, Problem};
use crate::http::stored::stored;
use crate::http::turn::unless_closing;
use crate::store::{BatchState, natural};

/// The field with which a client says what it has heard last.
const LAST_EVENT_ID: HeaderName = HeaderName::from_static("last-event-id");
/// The shortest time between two looks at a batch: what changes more often is told once.
const PAUSE: Duration = Duration::from_millis(200);
/// Results that are read at once.
const PAGE: usize = 100;
/// Events that wait for a client to read them.
const WAITING: usize = 8;

pub(super) fn routes() -> Vec<Route> {
    let operation = of_a_batch(Operation::new(
        Group::Batches,
        "getEvents",
        "What happens to a batch, as it happens",
    ))
    .described("Server-sent events, each with a JSON document: `result` for each plan that has ended, those before as well, its id being its place; `incumbent` for a plan that is being made, with the best value so far, its bound and the gap between them; `status` where the batch's state or counts have changed. After the `status` that it is finished or cancelled the stream ends. A comment every 15 seconds keeps it open.")
    .heeds(
        "Last-Event-ID",
        "The place of the last result that the client has heard of: the stream goes on after it.",
        json!({"type": "string", "pattern": "^[0-9]+$"}),
    )
    .answers(200, "The events.", vec![Content::events()])
    .problems(&[Kind::FaultyHeader, Kind::QueueFull]);
    vec![Route::get("/v1/batches/{id}/events", get, operation)]
}

/// How far a plan is that is being made.
#[derive(Serialize)]
struct Incumbent {
    /// The plan's number in the batch.
    number: u64,
    /// The terms of the best plan so far.
    objective: Vec<Gap>,
}

/// A term, and how far it may be from the best.
#[derive(Serialize)]
struct Gap {
    #[serde(flatten)]
    entry: ObjectiveEntry,
    /// (value − bound) / value, in per cent, as is usual in integer programming; 0 where it is proven.
    gap: Measure,
}

impl Gap {
    fn of(entry: ObjectiveEntry) -> Gap {
        let exact = |measure: &Measure| measure.exact().unwrap_or(Exact::ZERO);
        let (value, bound) = (exact(&entry.value), exact(&entry.bound));
        let difference =
            value.numerator() * bound.denominator() - bound.numerator() * value.denominator();
        let divisor = value.numerator() * bound.denominator();
        let gap = match divisor {
            0 => Measure::whole(0),
            _ => Measure::from_ratio(difference * 100, divisor),
        };
        Gap { entry, gap }
    }
}

/// What a stream has told so far.
struct Told {
    /// The last result's place.
    place: i64,
    /// What is told of plans that are being made: of each how often.
    outlooks: BTreeMap<i64, u64>,
    status: String,
}

async fn get(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    headers: HeaderMap,
) -> Response {
    let answer = async {
        let place = heard(&headers)?;
        let batch = batch(&service, &client, id).await?;
        let Ok(permit) = service.event_streams.clone().try_acquire_owned() else {
            return Err(Problem::plain(Kind::QueueFull));
        };
        let (send, events) = mpsc::channel(WAITING);
        let telling = service.clone();
        tokio::spawn(async move {
            let _permit = permit;
            let told = Told {
                place,
                outlooks: BTreeMap::new(),
                status: String::new(),
            };
            // The stream ends where nobody hears it, the service closes or the store fails; a client that was not done comes again.
            tokio::select! {
                _ = tell(&telling, batch, told, &send) => {}
                () = telling.draining() => {}
                () = send.closed() => {}
            }
        });
        let events = Sse::new(ReceiverStream::new(events)).keep_alive(KeepAlive::default());
        let mut response = events.into_response();
        let headers = response.headers_mut();
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
        // Some proxies would keep events until they have enough of them.
        let unbuffered = HeaderName::from_static("x-accel-buffering");
        headers.insert(unbuffered, HeaderValue::from_static("no"));
        Ok(response)
    };
    unless_closing(&service, answer).await.into_response()
}

/// The place of the last result that the client has heard of.
fn heard(headers: &HeaderMap) -> Result<i64, Problem> {
    let Some(last) = headers.get(LAST_EVENT_ID) else {
        return Ok(0);
    };
    let place = last.to_str().ok().and_then(|last| last.parse::<u32>().ok());
    place
        .map(i64::from)
        .ok_or_else(|| Problem::plain(Kind::FaultyHeader))
}

/// Why there is nothing more to tell.
enum End {
    /// All is told.
    Told,
    /// Nobody hears it.
    Gone,
    /// The store failed, or holds what cannot be read.
    Failed,
}

impl From<Problem> for End {
    fn from(_: Problem) -> End {
        End::Failed
    }
}

type Events = Sender<Result<Event, Infallible>>;

/// Tells of a batch until all is told.
async fn tell(
    service: &Arc<Service>,
    mut batch: BatchState,
    mut told: Told,
    events: &Events,
) -> Result<(), End> {
    let mut news = service.news.listen();
    loop {
        // What is heard from here on is looked at in the next turn.
        news.borrow_and_update();
        let number = batch.number;
        let now = stored(service, move |store| store.batch_numbered(number)).await?;
        batch = now.ok_or(End::Told)?;
        tell_results(service, &batch, &mut told, events).await?;
        let underway = service.news.of_batch(&batch.id);
        tell_outlooks(&underway, &mut told, events).await?;
        let status = status(service, &batch);
        tell_status(status, &mut told, events).await?;
        if batch.closed.is_some() {
            return Ok(());
        }
        tokio::time::sleep(PAUSE).await;
        if news.changed().await.is_err() {
            return Ok(());
        }
    }
}

async fn tell_results(
    service: &Arc<Service>,
    batch: &BatchState,
    told: &mut Told,
    events: &Events,
) -> Result<(), End> {
    loop {
        let (number, after) = (batch.number, told.place);
        let rows = stored(service, move |store| store.results(number, after, PAGE)).await?;
        let more = rows.len() == PAGE;
        for row in rows {
            told.place = row.place;
            let place = row.place.to_string();
            let result = BatchResult::of(&batch.id, row, None).map_err(|error| {
                tracing::error!(%error, "what is stored cannot be read");
                End::Failed
            })?;
            send(events, Event::default().event("result").id(place), &result).await?;
        }
        if !more {
            return Ok(());
        }
    }
}

async fn tell_outlooks(
    underway: &[(i64, Outlook)],
    told: &mut Told,
    events: &Events,
) -> Result<(), End> {
    told.outlooks
        .retain(|number, _| underway.iter().any(|(other, _)| other == number));
    for (number, outlook) in underway {
        let before = told.outlooks.insert(*number, outlook.told);
        if outlook.told == 0 || before == Some(outlook.told) {
            continue;
        }
        let incumbent = Incumbent {
            number: natural(*number),
            objective: outlook.objective.iter().cloned().map(Gap::of).collect(),
        };
        send(events, Event::default().event("incumbent"), &incumbent).await?;
    }
    Ok(())
}

async fn tell_status(mut status: BatchStatus, told: &mut Told, events: &Events) -> Result<(), End> {
    // How far single plans are is told by events of their own.
    status.without_underway();
    let text = serde_json::to_string(&status).map_err(|_| End::Failed)?;
    if text == told.status {
        return Ok(());
    }
    told.status = text;
    send(events, Event::default().event("status"), &status).await
}

async fn send(events: &Events, event: Event, document: &impl Serialize) -> Result<(), End> {
    let event = event.json_data(document).map_err(|_| End::Failed)?;
    events.send(Ok(event)).await.map_err(|_| End::Gone)
}
