//! What is happening to batches at this moment: which questions are worked on, how far each is, and that something has changed.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use sashwright_solver::deadline::StopSignal;
use sashwright_solver::plan::ObjectiveEntry;
use tokio::sync::{Notify, watch};

/// A question of a batch: the batch's id, and the question's number in it.
pub(super) type Name = (String, i64);

/// What is known of everything that is worked on.
#[derive(Default)]
pub(super) struct News {
    running: Mutex<BTreeMap<Name, Running>>,
    changed: watch::Sender<()>,
    /// Wakes one worker: there may be something to claim.
    pub(super) work: Notify,
}

/// A question that is worked on.
struct Running {
    stop: StopSignal,
    outlook: Outlook,
}

/// The best that is known of a question that is worked on.
#[derive(Clone, Default)]
pub(super) struct Outlook {
    /// Counts what was told.
    pub(super) told: u64,
    /// The terms of the best plan so far, each with its bound.
    pub(super) objective: Vec<ObjectiveEntry>,
}

/// That a question is worked on, for as long as this lives.
pub(super) struct Working {
    news: Arc<News>,
    name: Name,
}

impl News {
    /// Notes that a question is worked on; `stop` ends that.
    pub(super) fn begin(self: &Arc<News>, name: Name, stop: StopSignal) -> Working {
        let outlook = Outlook::default();
        self.running()
            .insert(name.clone(), Running { stop, outlook });
        self.tell();
        Working {
            news: self.clone(),
            name,
        }
    }

    /// Notes how far the work on a question is.
    pub(super) fn note(&self, name: &Name, objective: &[ObjectiveEntry]) {
        let mut running = self.running();
        let Some(running) = running.get_mut(name) else {
            return;
        };
        if running.outlook.objective != objective {
            running.outlook.told += 1;
            running.outlook.objective = objective.to_vec();
            self.tell();
        }
    }

    /// Each question of a batch that is worked on, with what is known of it.
    pub(super) fn of_batch(&self, batch: &str) -> Vec<(i64, Outlook)> {
        let running = self.running();
        let of_batch = running.range((batch.to_string(), 0)..);
        of_batch
            .take_while(|((of, _), _)| of == batch)
            .map(|((_, number), running)| (*number, running.outlook.clone()))
            .collect()
    }

    /// Ends the work on all questions of a batch.
    pub(super) fn stop_batch(&self, batch: &str) {
        let running = self.running();
        let of_batch = running.range((batch.to_string(), 0)..);
        for (_, running) in of_batch.take_while(|((of, _), _)| of == batch) {
            running.stop.give();
        }
    }

    /// How many questions are worked on.
    pub(super) fn load(&self) -> usize {
        self.running().len()
    }

    /// Says that something has changed.
    pub(super) fn tell(&self) {
        self.changed.send_replace(());
    }

    /// Hears of every change from now on; of several at once only that there was one.
    pub(super) fn listen(&self) -> watch::Receiver<()> {
        self.changed.subscribe()
    }

    fn running(&self) -> MutexGuard<'_, BTreeMap<Name, Running>> {
        // Nothing that is done with the map can panic halfway.
        self.running.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Drop for Working {
    fn drop(&mut self) {
        self.news.running().remove(&self.name);
        self.news.tell();
    }
}
