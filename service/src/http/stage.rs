//! How the service comes to its end: first it takes up nothing new, then it ends what is left.

use std::sync::Arc;

use tokio::sync::watch;

/// Where the service is on its way.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Stage {
    /// It answers.
    Running,
    /// It finishes the requests that it has, and takes up no other work.
    Draining,
    /// Whatever is left ends.
    Closing,
}

/// What is told of the way, and how many requests are being answered.
pub(super) struct Course {
    stage: watch::Sender<Stage>,
    requests: watch::Sender<usize>,
}

/// A request that is being answered, for as long as this lives.
pub(super) struct Answering(Arc<Course>);

impl Course {
    pub(super) fn new() -> Course {
        Course {
            stage: watch::Sender::new(Stage::Running),
            requests: watch::Sender::new(0),
        }
    }

    /// Goes on to a stage; never back.
    pub(super) fn enter(&self, stage: Stage) {
        self.stage.send_if_modified(|now| {
            let later = stage > *now;
            *now = stage.max(*now);
            later
        });
    }

    /// Whether a stage is reached.
    pub(super) fn is_at(&self, stage: Stage) -> bool {
        *self.stage.borrow() >= stage
    }

    /// Returns once a stage is reached.
    pub(super) async fn reaches(&self, stage: Stage) {
        // The sender lives in `self`, so waiting ends only when the stage is there.
        let _ = self.stage.subscribe().wait_for(|now| *now >= stage).await;
    }

    /// Counts a request, or an answer that is still being written.
    pub(super) fn answering(self: &Arc<Course>) -> Answering {
        self.requests.send_modify(|count| *count += 1);
        Answering(self.clone())
    }

    /// How many requests are being answered.
    pub(super) fn requests(&self) -> usize {
        *self.requests.borrow()
    }

    /// Returns once no request is being answered.
    pub(super) async fn no_requests(&self) {
        let _ = self
            .requests
            .subscribe()
            .wait_for(|count| *count == 0)
            .await;
    }
}

impl Drop for Answering {
    fn drop(&mut self) {
        self.0.requests.send_modify(|count| *count -= 1);
    }
}
