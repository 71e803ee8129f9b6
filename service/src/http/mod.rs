//! The HTTP service: a document goes in, an answer or a problem document comes out.

mod accept;
mod access_log;
mod api;
mod body;
mod digest;
mod form;
mod health;
mod kept;
mod plans;
mod problem;
mod question;
mod queue;
mod serve;
mod tag;
#[cfg(test)]
mod tests;
mod turn;
mod verdict;

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::http::Uri;
use axum::middleware::from_fn;
use tokio::sync::{Semaphore, watch};

use crate::solve::Planner;
use api::Route;
use kept::Kept;
use problem::{Kind, Problem};
use queue::Queue;

pub use serve::{serve, serve_until};

/// How much the service takes on at once.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Solves that run at once.
    pub solves: usize,
    /// Requests that may wait for their solve to begin; one more is refused.
    pub waiting: usize,
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
    /// A solve for each core and four requests waiting for each; bodies of 2 MiB, read within 30 s; 1 000 plans in 64 MiB.
    fn default() -> Settings {
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        Settings {
            solves: cores,
            waiting: 4 * cores,
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
    closing: watch::Sender<bool>,
}

impl Service {
    /// A service that plans with `planner`.
    pub fn new(planner: Planner, settings: Settings) -> Arc<Service> {
        Arc::new(Service {
            planner,
            queue: Queue::new(settings.solves, settings.waiting),
            sheets: Queue::new(settings.solves, settings.waiting),
            kept: Kept::new(settings.kept_plans, settings.kept_bytes),
            bodies: Semaphore::new(settings.bodies),
            closing: watch::Sender::new(false),
            settings,
        })
    }

    /// Ends every running and waiting request with a problem document: the service is about to stop.
    pub fn close(&self) {
        self.closing.send_replace(true);
    }

    /// Returns once [`Service::close`] has been called.
    async fn closed(&self) {
        // The sender lives in `self`, so waiting ends only when the value is there.
        let _ = self.closing.subscribe().wait_for(|closing| *closing).await;
    }
}

/// Every route of the service.
fn routes() -> Vec<Route> {
    let mut routes = plans::routes();
    routes.extend(question::routes());
    routes.extend(verdict::routes());
    routes.extend(health::routes());
    routes.extend(problem::routes());
    routes.extend(api::own_routes());
    routes
}

/// The service as it is served.
pub fn router(service: Arc<Service>) -> Router {
    api::router(routes())
        .fallback(nothing_here)
        .with_state(service)
        .layer(from_fn(access_log::log))
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
