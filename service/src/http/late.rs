//! Plans that take longer than their client waits for: stored, and made all the same, to be fetched later.

use std::sync::Arc;

use sashwright_solver::deadline::StopSignal;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;

use super::Service;
use super::client::Client;
use super::plans::{self, Answered, Made};
use super::prefer::Wait;
use super::problem::{Kind, Problem};
use super::stored::stored;
use super::worker::at_leisure;
use crate::store::{LateEnd, LatePlan, now};

/// Work that ends when nobody waits for it any more.
struct Attended<T>(JoinHandle<T>);

impl<T> Drop for Attended<T> {
    fn drop(&mut self) {
        self.0.abort();
    }
}

/// The answer where it comes in time; `None` where it is late, is stored, and will be there later.
///
/// # Errors
/// The problem of the work, or that there is no room for a late plan.
pub(super) async fn within(
    service: &Arc<Service>,
    client: &Client,
    wait: Wait,
    late: LatePlan,
    work: impl Future<Output = Result<Answered, Problem>> + Send + 'static,
) -> Result<Option<Answered>, Problem> {
    let mut work = Attended(tokio::spawn(work));
    tokio::select! {
        biased;
        answer = &mut work.0 => return in_time(answer).map(Some),
        () = tokio::time::sleep(wait.0) => {}
    }
    // From here on the work no longer depends on this request: should the client go now, it is accepted or it is not, but nothing that is
    // accepted stays undone.
    let (tell, told) = oneshot::channel();
    tokio::spawn(go_on(service.clone(), client.clone(), late, work, tell));
    told.await
        .unwrap_or_else(|_| Err(Problem::plain(Kind::Internal)))
}

fn in_time(
    answer: Result<Result<Answered, Problem>, tokio::task::JoinError>,
) -> Result<Answered, Problem> {
    answer.unwrap_or_else(|_| Err(Problem::plain(Kind::Internal)))
}

/// Stores that a plan is late, says so, and stores what comes of it.
async fn go_on(
    service: Arc<Service>,
    client: Client,
    late: LatePlan,
    mut work: Attended<Result<Answered, Problem>>,
    tell: oneshot::Sender<Result<Option<Answered>, Problem>>,
) {
    let id = late.id.clone();
    let most = service.settings.late_each;
    let accept =
        move |store: &crate::store::Store| store.accept_late(&client.0, &late, most, now());
    match stored(&service, accept).await {
        Ok(true) => {}
        Ok(false) => {
            let _ = tell.send(Err(Problem::plain(Kind::TooManyWaiting)));
            return;
        }
        Err(problem) => {
            let _ = tell.send(Err(problem));
            return;
        }
    }
    let _ = tell.send(Ok(None));
    let answer = tokio::select! {
        answer = &mut work.0 => in_time(answer),
        // It stays claimed, and is claimed anew when the program starts again.
        () = service.draining() => return,
    };
    let end = match answer {
        Ok(answered) => LateEnd::Plan(answered.document.to_vec()),
        Err(problem) => LateEnd::Problem(problem.stored()),
    };
    // A failure is in the log; the plan is made anew when the program starts again.
    let _ = stored(&service, move |store| store.finish_late(&id, &end, now())).await;
}

/// Makes a late plan that was left by an earlier run of the program. Says whether that is done; if not, it was stopped.
///
/// # Errors
/// The store failed.
pub(super) async fn make(service: &Arc<Service>, late: &LatePlan) -> Result<bool, Problem> {
    let stop = StopSignal::new();
    let sharing = service.clone();
    let (id, told, scenario) = (late.id.clone(), late.told.clone(), late.scenario.clone());
    let made = at_leisure(service, &stop, move |stop| {
        let told = serde_json::from_str(&told).map_err(|error| {
            tracing::error!(%error, "the options of a late plan cannot be read");
            Problem::plain(Kind::Internal)
        })?;
        plans::made(&sharing, told, id, scenario, stop).map(Made::document)
    });
    let made = made.await;
    if stop.given() {
        return Ok(false);
    }
    let end = match made {
        Some(Ok(document)) => LateEnd::Plan(document.to_vec()),
        Some(Err(problem)) => LateEnd::Problem(problem.stored()),
        None => LateEnd::Problem(Problem::plain(Kind::Internal).stored()),
    };
    let id = late.id.clone();
    stored(service, move |store| store.finish_late(&id, &end, now())).await?;
    Ok(true)
}
