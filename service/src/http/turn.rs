//! Work that takes its time: in its turn, on a thread of its own, and no longer than somebody waits for it.

use sashwright_solver::deadline::StopSignal;
use tokio::sync::oneshot;

use super::Service;
use super::client::Client;
use super::problem::{Kind, Problem};
use super::queue::{NoPlace, Queue, Waiting};
use crate::solve::on_large_stack;

/// Gives the signal when it is dropped: when the answer is there, and when the client has gone before.
struct StopWhenDropped(StopSignal);

impl Drop for StopWhenDropped {
    fn drop(&mut self) {
        self.0.give();
    }
}

/// Waits for the client's turn and works on a thread of its own. Dropping the future leaves the queue or stops the work.
///
/// # Errors
/// The problem of the job; no place in the queue; an internal error where the job panics.
pub(super) async fn in_turn<T: Send + 'static>(
    queue: &Queue,
    client: &Client,
    job: impl FnOnce(&StopSignal) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    in_place(enter(queue, client)?, job).await
}

/// A place in the queue.
///
/// # Errors
/// There is none.
pub(super) fn enter(queue: &Queue, client: &Client) -> Result<Waiting, Problem> {
    queue.enter(client).map_err(|no_place| {
        Problem::plain(match no_place {
            NoPlace::Full => Kind::QueueFull,
            NoPlace::TooManyOfClient => Kind::TooManyWaiting,
        })
    })
}

/// The same as [`in_turn`] from a place in the queue.
///
/// # Errors
/// The problem of the job; an internal error where the job panics.
pub(super) async fn in_place<T: Send + 'static>(
    waiting: Waiting,
    job: impl FnOnce(&StopSignal) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    let Some(turn) = waiting.turn().await else {
        return Err(Problem::plain(Kind::Closing));
    };
    let guard = StopWhenDropped(StopSignal::new());
    let stop = guard.0.clone();
    let (send, answer) = oneshot::channel();
    let started = on_large_stack(move || {
        let answer = job(&stop);
        // Whoever hears the answer finds the place in the queue free. Nobody may be left to hear it.
        drop(turn);
        let _ = send.send(answer);
    });
    if let Err(error) = started {
        tracing::error!(%error, "cannot start a solve");
        return Err(Problem::plain(Kind::QueueFull));
    }
    answer.await.unwrap_or_else(|_| {
        tracing::error!("a solve panicked");
        Err(Problem::plain(Kind::Internal))
    })
}

/// The answer, or that the service is stopping where that comes first.
pub(super) async fn unless_closing<T>(
    service: &Service,
    answer: impl Future<Output = Result<T, Problem>>,
) -> Result<T, Problem> {
    tokio::select! {
        answer = answer => answer,
        () = service.closed() => Err(Problem::plain(Kind::Closing)),
    }
}
