//! Work that takes its time: in its turn, on a thread of its own, and no longer than somebody waits for it.

use sashwright_solver::deadline::StopSignal;
use tokio::sync::oneshot;

use super::Service;
use super::problem::{Kind, Problem};
use super::queue::Queue;
use crate::solve::on_large_stack;

/// Gives the signal when it is dropped: when the answer is there, and when the client has gone before.
struct StopWhenDropped(StopSignal);

impl Drop for StopWhenDropped {
    fn drop(&mut self) {
        self.0.give();
    }
}

/// Waits for its turn and works on a thread of its own. Dropping the future leaves the queue or stops the work.
///
/// # Errors
/// The problem of the job; a full queue; an internal error where the job panics.
pub(super) async fn in_turn<T: Send + 'static>(
    queue: &Queue,
    job: impl FnOnce(&StopSignal) -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    let Some(waiting) = queue.enter() else {
        return Err(Problem::plain(Kind::QueueFull));
    };
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
