//! `GET /metrics`: what the service counts, as Prometheus reads it (OpenMetrics 1.0 text).

use std::sync::Arc;
use std::sync::atomic::AtomicU64;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::Response;
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::metrics::info::Info;
use prometheus_client::registry::{Registry, Unit};

use super::Service;
use super::api::{Content, Group, Operation, Route};
use super::form::Form;
use super::problem::{Kind, Problem};
use super::stored::stored;
use crate::version;

/// Seconds at which durations are told apart: from what is kept to the longest solves.
const BUCKETS: [f64; 12] = [
    0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.5, 1.0, 5.0, 10.0, 60.0,
];

/// Which requests are counted together. A route is told as it stands in the interface, never as the client wrote it, so that there are no
/// more of them than the interface has.
#[derive(Clone, PartialEq, Eq, Hash, Debug, EncodeLabelSet)]
struct OfRoute {
    route: String,
    method: String,
    status: u16,
}

/// Which durations are told apart.
#[derive(Clone, PartialEq, Eq, Hash, Debug, EncodeLabelSet)]
struct Timed {
    route: String,
    method: String,
}

/// What is counted from one request to the next.
pub(super) struct Metrics {
    requests: Family<OfRoute, Counter>,
    seconds: Family<Timed, Histogram>,
    /// Seconds since 1970 at which the program began.
    began: f64,
}

impl Metrics {
    pub(super) fn new() -> Metrics {
        let since = SystemTime::now().duration_since(UNIX_EPOCH);
        Metrics {
            requests: Family::default(),
            seconds: Family::new_with_constructor(|| Histogram::new(BUCKETS)),
            began: since.map_or(0.0, |since| since.as_secs_f64()),
        }
    }

    /// Counts a request that was answered.
    pub(super) fn answered(
        &self,
        route: Option<&str>,
        method: &str,
        status: StatusCode,
        after: Duration,
    ) {
        // A client may invent methods.
        let method = match method {
            "GET" | "HEAD" | "POST" | "DELETE" | "OPTIONS" => method,
            _ => "other",
        };
        let (route, method) = (route.unwrap_or("none").to_string(), method.to_string());
        let of = OfRoute {
            route: route.clone(),
            method: method.clone(),
            status: status.as_u16(),
        };
        self.requests.get_or_create(&of).inc();
        let timed = self.seconds.get_or_create(&Timed { route, method });
        timed.observe(after.as_secs_f64());
    }
}

/// The route of a request, as it stands in the interface.
pub(super) fn route_of(request: &Request) -> Option<String> {
    let path = request.extensions().get::<MatchedPath>();
    path.map(|path| path.as_str().to_string())
}

pub(super) fn routes() -> Vec<Route> {
    let operation = Operation::new(Group::Watching, "getMetrics", "What the service counts")
        .described("For Prometheus and what reads the same text (OpenMetrics 1.0).")
        .answers(200, "What is counted.", vec![Content::text(Form::Counts)])
        .problems(&[Kind::StoreFailed, Kind::Internal]);
    vec![Route::get("/metrics", get, operation)]
}

async fn get(State(service): State<Arc<Service>>) -> Result<Response, Problem> {
    let load = stored(&service, |store| store.load()).await?;
    let (solving, waiting) = service.queue.load();
    let (plans, bytes) = service.kept.load();
    let (connections, refused) = service.connections.load();
    let mut all = Registry::default();
    let began = Gauge::<f64, AtomicU64>::default();
    began.set(service.metrics.began);
    // The name that process metrics have everywhere (common practice).
    all.register_with_unit(
        "process_start_time",
        "When the program began, since 1970",
        Unit::Seconds,
        began,
    );
    let registry = all.sub_registry_with_prefix("sashwright");
    let build = Info::new([("version", version::VERSION), ("build", version::BUILD)]);
    registry.register("build", "Which program this is", build);
    let requests = service.metrics.requests.clone();
    registry.register("requests", "Requests that were answered", requests);
    let seconds = service.metrics.seconds.clone();
    registry.register_with_unit("request", "How long answers took", Unit::Seconds, seconds);
    let whole = |number: usize| i64::try_from(number).unwrap_or(i64::MAX);
    let long = |number: u64| i64::try_from(number).unwrap_or(i64::MAX);
    let closed = Counter::<u64>::default();
    closed.inc_by(refused);
    registry.register(
        "connections_refused",
        "Connections of addresses that had too many",
        closed,
    );
    let gauges = [
        (
            "connections_open",
            "Connections that are open",
            whole(connections),
        ),
        (
            "requests_open",
            "Requests that are being answered",
            whole(service.course.requests()),
        ),
        (
            "solves_running",
            "Questions that are worked on",
            whole(solving),
        ),
        (
            "solves_waiting",
            "Questions that wait for their turn",
            whole(waiting),
        ),
        (
            "plans_kept",
            "Plans that can be fetched again",
            whole(plans),
        ),
        ("plans_kept_bytes", "The bytes of their texts", whole(bytes)),
        (
            "batches_open",
            "Batches that are not finished",
            long(load.batches),
        ),
        (
            "batch_plans_open",
            "Plans of batches that have not ended",
            long(load.questions),
        ),
        (
            "batch_plans_running",
            "Those among them that are being made",
            whole(service.news.load()),
        ),
        (
            "late_plans_open",
            "Late plans that are not there yet",
            long(load.late),
        ),
    ];
    for (name, help, value) in gauges {
        let gauge = Gauge::<i64>::default();
        gauge.set(value);
        registry.register(name, help, gauge);
    }
    let mut text = String::new();
    encode(&mut text, &all).map_err(|error| {
        tracing::error!(%error, "what is counted cannot be written");
        Problem::plain(Kind::Internal)
    })?;
    let mut response = Form::Counts.response(text);
    response
        .headers_mut()
        .insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    Ok(response)
}
