//! What came of a batch, row by row: page after page, or all that is there as lines while they are read from the store.

use std::io;
use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::rejection::{PathRejection, QueryRejection};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;

use super::document::{BatchKit, BatchResult, KitsPage, ResultsPage};
use super::state::written;
use super::{batch, of_a_batch};
use crate::http::Service;
use crate::http::api::{Content, Group, Operation, Route};
use crate::http::client::Client;
use crate::http::form::{self, Form};
use crate::http::problem::{Kind, Problem};
use crate::http::question::faulty_query;
use crate::http::stored::stored;
use crate::http::turn::unless_closing;
use crate::store::{BatchState, Store, StoreError};

/// Rows of a page, where nothing else is told, and at most.
const USUAL_PAGE: usize = 100;
const LONGEST_PAGE: usize = 1_000;
/// Past so many bytes of plans a page ends.
const LARGEST_PAGE: usize = 8 << 20;
/// Rows that are read at once for lines.
const LINES_AT_ONCE: usize = 50;
/// Pieces of lines that wait for a client to read them.
const PIECES: usize = 2;

pub(super) fn routes() -> Vec<Route> {
    let paged = |operation: Operation, component, example| {
        let contents = vec![
            Content::document(component, example),
            Content::text(Form::Lines),
        ];
        of_a_batch(operation)
            .answers_with(
                200,
                "A page of them, or all that are there as lines.",
                contents,
                &[(
                    "Link",
                    "Where the next page is, or will be: rel=\"next\" (RFC 8288).",
                )],
            )
            .problem(Kind::NotAcceptable)
    };
    let results = Operation::new(Group::Batches, "getResults", "How the plans of a batch ended")
        .described("In the order in which they ended: what is there once stays where it is, so that a page may be asked for while others are still being made.")
        .query::<ForResults>();
    let kits = Operation::new(Group::Batches, "getKits", "The kits of a batch")
        .described("Each kit, once for each of its hoop sets, with the number of the plan that it is stitched by.")
        .query::<ForKits>();
    vec![
        Route::get(
            "/v1/batches/{id}/results",
            self::results,
            paged(
                results,
                "ResultsPage",
                include_str!("../../../examples/results-page.json"),
            ),
        ),
        Route::get(
            "/v1/batches/{id}/kits",
            self::kits,
            paged(
                kits,
                "KitsPage",
                include_str!("../../../examples/kits-page.json"),
            ),
        ),
    ]
}

/// Which results are asked for.
#[derive(Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ForResults {
    /// Only those after this place.
    #[serde(default)]
    after: u32,
    /// How many at most, up to 1 000; 100 if absent. Lines are all that are there, unless told otherwise.
    #[serde(default)]
    #[schemars(range(min = 1, max = 1000))]
    limit: Option<u32>,
    /// Whether the plan documents are in it. A page with them ends past 8 MiB.
    #[serde(default)]
    plans: bool,
}

/// Which kits are asked for.
#[derive(Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ForKits {
    /// Only those after this number.
    #[serde(default)]
    after: u32,
    /// How many at most, up to 1 000; 100 if absent. Lines are all that are there, unless told otherwise.
    #[serde(default)]
    #[schemars(range(min = 1, max = 1000))]
    limit: Option<u32>,
}

/// How many rows of a page.
fn length(limit: Option<u32>) -> Result<usize, Problem> {
    let Some(limit) = limit else {
        return Ok(USUAL_PAGE);
    };
    let limit = usize::try_from(limit).unwrap_or(usize::MAX);
    if (1..=LONGEST_PAGE).contains(&limit) {
        return Ok(limit);
    }
    let detail = format!(
        "After the question mark: \"limit\" is {limit}. Give a number from 1 to {LONGEST_PAGE}."
    );
    Err(Problem::new(Kind::FaultyQuery, detail))
}

async fn results(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    told: Result<Query<ForResults>, QueryRejection>,
    headers: HeaderMap,
) -> Response {
    let told = match told {
        Ok(Query(told)) => told,
        Err(rejection) => {
            let known = "\"after\" and \"limit\" can be whole numbers, and \"plans\" true or false";
            return faulty_query(&rejection, known);
        }
    };
    let answer = async {
        let most = length(told.limit)?;
        let form = Form::wanted(&headers, form::OF_ROWS)?;
        let batch = batch(&service, &client, id).await?;
        let rows = move |store: &Store, batch: &BatchState, after, most| {
            results_after(store, batch, after, most, told.plans)
        };
        if form == Form::Lines {
            return Ok(lines(&service, batch, told.after.into(), told.limit, rows));
        }
        let path = format!("/v1/batches/{}/results", batch.id);
        let (closed, ended) = (batch.closed.is_some(), batch.ended);
        let after = i64::from(told.after);
        let page = stored(&service, move |store| rows(store, &batch, after, most)).await?;
        // What is closed gets no more; otherwise the next page may come yet.
        let last = page.last().map_or(after, |(place, _)| *place);
        let next = (!closed || last < ended).then(|| {
            let plans = if told.plans { "&plans=true" } else { "" };
            format!("{path}?after={last}&limit={most}{plans}")
        });
        let results = page.into_iter().map(|(_, result)| result).collect();
        linked(
            &ResultsPage {
                results,
                next: next.clone(),
            },
            next,
        )
    };
    unless_closing(&service, answer).await.into_response()
}

async fn kits(
    State(service): State<Arc<Service>>,
    client: Client,
    id: Result<Path<String>, PathRejection>,
    told: Result<Query<ForKits>, QueryRejection>,
    headers: HeaderMap,
) -> Response {
    let told = match told {
        Ok(Query(told)) => told,
        Err(rejection) => {
            return faulty_query(&rejection, "\"after\" and \"limit\" can be whole numbers");
        }
    };
    let answer = async {
        let most = length(told.limit)?;
        let form = Form::wanted(&headers, form::OF_ROWS)?;
        let batch = batch(&service, &client, id).await?;
        if form == Form::Lines {
            let after = told.after.into();
            return Ok(lines(&service, batch, after, told.limit, kits_after));
        }
        let path = format!("/v1/batches/{}/kits", batch.id);
        let (after, all) = (i64::from(told.after), batch.rows);
        let page = stored(&service, move |store| {
            kits_after(store, &batch, after, most)
        })
        .await?;
        let last = page.last().map(|(number, _)| *number);
        let next = last
            .filter(|last| *last < all)
            .map(|last| format!("{path}?after={last}&limit={most}"));
        let kits = page.into_iter().map(|(_, kit)| kit).collect();
        linked(
            &KitsPage {
                kits,
                next: next.clone(),
            },
            next,
        )
    };
    unless_closing(&service, answer).await.into_response()
}

/// A page, and where the next one is.
fn linked(page: &impl Serialize, next: Option<String>) -> Result<Response, Problem> {
    let mut response = written(page)?;
    let link = next.and_then(|next| HeaderValue::try_from(format!("<{next}>; rel=\"next\"")).ok());
    let headers = response.headers_mut();
    headers.extend(link.map(|link| (header::LINK, link)));
    Ok(response)
}

/// Rows, each with the number to go on after.
type Rows<T> = Result<Vec<(i64, T)>, StoreError>;

/// Results after a place; fewer than asked for where their plans are large.
fn results_after(
    store: &Store,
    batch: &BatchState,
    after: i64,
    most: usize,
    plans: bool,
) -> Rows<BatchResult> {
    let mut results = Vec::new();
    let mut bytes = 0;
    for row in store.results(batch.number, after, most)? {
        let place = row.place;
        let document = match plans {
            true => store
                .planned(batch.number, row.number)?
                .and_then(|(_, plan)| plan),
            false => None,
        };
        bytes += document.as_ref().map_or(0, String::len);
        results.push((place, BatchResult::of(&batch.id, row, document)?));
        if bytes > LARGEST_PAGE {
            break;
        }
    }
    Ok(results)
}

/// Kits after a number.
fn kits_after(store: &Store, batch: &BatchState, after: i64, most: usize) -> Rows<BatchKit> {
    let rows = store.kits(batch.number, after, most)?.into_iter();
    rows.map(|row| Ok((row.number, BatchKit::of(row)?)))
        .collect()
}

/// All rows that are there after a number, or so many of them, each as a line (JSON). They are read while the client reads them, never
/// more than a few ahead. A service that is told to stop goes on with it for as long as with any other answer.
fn lines<T: Serialize + Send + 'static>(
    service: &Arc<Service>,
    batch: BatchState,
    after: i64,
    limit: Option<u32>,
    rows: impl Fn(&Store, &BatchState, i64, usize) -> Rows<T> + Clone + Send + 'static,
) -> Response {
    let (send, pieces) = mpsc::channel::<io::Result<Bytes>>(PIECES);
    let service = service.clone();
    tokio::spawn(async move {
        let _answering = service.course.answering();
        let mut after = after;
        let mut left = limit.map_or(usize::MAX, |limit| {
            usize::try_from(limit).unwrap_or(usize::MAX)
        });
        while left > 0 {
            let (rows, batch) = (rows.clone(), batch.clone());
            let most = left.min(LINES_AT_ONCE);
            let piece = move |store: &Store| {
                let rows = rows(store, &batch, after, most)?;
                let last = rows.last().map(|(number, _)| *number);
                let mut piece = Vec::new();
                for (_, row) in &rows {
                    serde_json::to_writer(&mut piece, row)?;
                    piece.push(b'\n');
                }
                Ok((last, rows.len(), piece))
            };
            let piece = match stored(&service, piece).await {
                Ok((Some(last), count, piece)) => {
                    after = last;
                    left -= count;
                    Ok(piece.into())
                }
                Ok((None, _, _)) => return,
                Err(_) => Err(io::Error::other("the store failed")),
            };
            // What is not read, or not in time, breaks the answer off, so that it is not taken for all there is.
            let broken = piece.is_err();
            tokio::select! {
                sent = send.send(piece) => if sent.is_err() || broken { return },
                () = service.closed() => {
                    let _ = send.send(Err(io::Error::other("the service stops"))).await;
                    return;
                }
            }
        }
    });
    let body = Body::from_stream(ReceiverStream::new(pieces));
    let mut response = Form::Lines.response(body);
    response
        .headers_mut()
        .insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
}
