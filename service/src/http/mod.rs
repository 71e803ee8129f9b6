//! The HTTP service: a document goes in, an answer or a problem document comes out.

mod accept;
mod access_log;
mod api;
mod batches;
mod body;
mod client;
mod connections;
mod cross_origin;
mod digest;
mod form;
mod health;
mod kept;
mod late;
mod metrics;
mod news;
mod paper;
mod plans;
mod prefer;
mod problem;
mod question;
mod queue;
mod serve;
mod signals;
mod stage;
mod stored;
mod tag;
#[cfg(test)]
mod tests;
mod tls;
mod turn;
mod verdict;
mod worker;

use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;

use axum::Router;
use axum::http::{HeaderValue, Uri};
use axum::middleware::from_fn_with_state;
use tokio::sync::Semaphore;

use crate::keys::Keys;
use crate::solve::{Planner, cores, workers};
use crate::store::{Room, Seconds, Store};
use api::Route;
use connections::Connections;
use kept::Kept;
use metrics::Metrics;
use news::News;
use problem::{Kind, Problem};
use queue::Queue;
use stage::{Course, Stage};

pub use cross_origin::origin;
pub use serve::{Door, serve, serve_until};
pub use tls::Tls;

/// Batches that are read or wait for it: with [`Settings::largest_batch`] this bounds the memory that their texts take.
const BATCHES_WAITING: usize = 8;

/// Requests that may wait for each solve that can run, where nothing else is told.
pub const WAITING_FOR_EACH: usize = 4;

/// How much the service takes on at once.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Solves that run at once.
    pub solves: usize,
    /// Requests that may wait for their solve to begin; one more is refused.
    pub waiting: usize,
    /// Requests of one client that may be solved or wait.
    pub inside_each: usize,
    /// Late plans of one client that may be under way.
    pub late_each: usize,
    /// Questions of batches that are worked on at once, with the lowest priority.
    pub workers: usize,
    /// The largest batch, in bytes.
    pub largest_batch: usize,
    /// How much of batches may wait.
    pub room: Room,
    /// How long results of batches and late plans are kept once they are there, in seconds.
    pub keep_results: Seconds,
    /// Whether a batch is shown to the client only that sent it.
    pub batches_apart: bool,
    /// Streams of events at once.
    pub event_streams: usize,
    /// How long requests that are running get to finish once the service is told to stop.
    pub drain: Duration,
    /// Connections held at once; more wait in the system's own queue.
    pub connections: usize,
    /// Those of one address; more are closed.
    pub connections_each: usize,
    /// How long a connection may take over the head of a request, or lie idle between two.
    pub head_time: Duration,
    /// How long the other side may take nothing of what is written to it.
    pub write_time: Duration,
    /// The web pages that may ask from a browser, by their origins (scheme, host and port).
    pub origins: Vec<HeaderValue>,
    /// Bodies that are read at once: with [`Settings::largest_body`] this bounds the memory they take.
    pub bodies: usize,
    /// The largest body, in bytes.
    pub largest_body: usize,
    /// How long the reading of one body may take.
    pub body_time: Duration,
    /// Plans that are kept, to be fetched again.
    pub kept_plans: usize,
    /// The bytes that the texts of those plans and their scenarios may have together.
    pub kept_bytes: usize,
}

impl Default for Settings {
    /// A solve for each core and four requests waiting for each, all of which may be one client's; bodies of 2 MiB, read within 30 s;
    /// 1 000 plans in 64 MiB; batches of 16 MiB, 20 of a client, 100 000 questions in all, whose results are kept for a week; 1 024
    /// connections, 256 of one address; no web pages.
    fn default() -> Settings {
        let cores = cores();
        Settings {
            solves: cores,
            waiting: WAITING_FOR_EACH * cores,
            inside_each: (1 + WAITING_FOR_EACH) * cores,
            late_each: 100,
            workers: workers(),
            largest_batch: 16 << 20,
            room: Room {
                batches_each: 20,
                questions: 100_000,
            },
            keep_results: 7 * 24 * 3600,
            batches_apart: false,
            event_streams: 256,
            drain: Duration::from_secs(10),
            connections: 1024,
            connections_each: 256,
            head_time: Duration::from_secs(30),
            write_time: Duration::from_secs(30),
            origins: Vec::new(),
            bodies: 64,
            largest_body: 2 << 20,
            body_time: Duration::from_secs(30),
            kept_plans: 1000,
            kept_bytes: 64 << 20,
        }
    }
}

/// What all requests share.
pub struct Service {
    planner: Planner,
    settings: Settings,
    queue: Queue,
    /// As many sheets of plans that are kept are written at once as there are solves, and none waits for a solve.
    sheets: Queue,
    kept: Kept,
    bodies: Semaphore,
    store: Arc<Store>,
    news: Arc<News>,
    /// Batches are large, and read one at a time.
    batch_bodies: Queue,
    event_streams: Arc<Semaphore>,
    /// Where there are none, anybody may ask.
    keys: Option<RwLock<Arc<Keys>>>,
    connections: Connections,
    course: Arc<Course>,
    metrics: Metrics,
}

impl Service {
    /// A service that plans with `planner`, and keeps in `store` what nobody waits for.
    pub fn new(
        planner: Planner,
        settings: Settings,
        store: Store,
        keys: Option<Keys>,
    ) -> Arc<Service> {
        let queue = || Queue::new(settings.solves, settings.waiting, settings.inside_each);
        Arc::new(Service {
            planner,
            queue: queue(),
            sheets: queue(),
            store: Arc::new(store),
            news: Arc::default(),
            batch_bodies: Queue::new(1, BATCHES_WAITING, BATCHES_WAITING),
            event_streams: Arc::new(Semaphore::new(settings.event_streams)),
            kept: Kept::new(settings.kept_plans, settings.kept_bytes),
            bodies: Semaphore::new(settings.bodies),
            keys: keys.map(|keys| RwLock::new(Arc::new(keys))),
            connections: Connections::new(settings.connections, settings.connections_each),
            course: Arc::new(Course::new()),
            metrics: Metrics::new(),
            settings,
        })
    }

    /// Takes other keys in place of those that are there; where nobody needs one, that stays so.
    pub fn replace_keys(&self, keys: Keys) {
        if let Some(known) = &self.keys {
            *known.write().unwrap_or_else(PoisonError::into_inner) = Arc::new(keys);
        }
    }

    /// The keys of those who may ask, where they need one.
    fn keys(&self) -> Option<Arc<Keys>> {
        let known = self.keys.as_ref()?.read();
        Some(known.unwrap_or_else(PoisonError::into_inner).clone())
    }

    /// Takes up nothing new: the service is about to stop.
    pub fn drain(&self) {
        self.course.enter(Stage::Draining);
    }

    /// Ends every running and waiting request with a problem document.
    pub fn close(&self) {
        self.course.enter(Stage::Closing);
    }

    /// Whether [`Service::drain`] or [`Service::close`] has been called.
    fn is_draining(&self) -> bool {
        self.course.is_at(Stage::Draining)
    }

    /// Returns once [`Service::drain`] or [`Service::close`] has been called.
    async fn draining(&self) {
        self.course.reaches(Stage::Draining).await;
    }

    /// Returns once [`Service::close`] has been called.
    async fn closed(&self) {
        self.course.reaches(Stage::Closing).await;
    }
}

/// Every route of the service.
fn routes() -> Vec<Route> {
    let mut routes = plans::routes();
    routes.extend(question::routes());
    routes.extend(verdict::routes());
    routes.extend(batches::routes());
    routes.extend(health::routes());
    routes.extend(metrics::routes());
    routes.extend(problem::routes());
    routes.extend(api::own_routes());
    routes
}

/// The service as it is served.
pub fn router(service: Arc<Service>) -> Router {
    let router = api::router(routes())
        .fallback(nothing_here)
        .layer(from_fn_with_state(service.clone(), client::admit));
    // What a browser asks before it asks has no key with it.
    let router = match cross_origin::layer(&service.settings.origins) {
        Some(layer) => router.layer(layer),
        None => router,
    };
    router
        .layer(from_fn_with_state(service.clone(), access_log::log))
        .with_state(service)
}

async fn nothing_here(uri: Uri) -> Problem {
    let path = uri.path().chars().take(100).collect::<String>();
    Problem::new(
        Kind::NotFound,
        format!(
            "There is nothing at {path}. Plans are made by POST /v1/plans; /docs tells the rest."
        ),
    )
}
