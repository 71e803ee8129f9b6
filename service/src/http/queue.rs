//! The queue in front of the solves: a few at once, a few waiting, and no more.

use std::sync::Arc;

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

/// Places for requests that are solved or wait for it.
pub(super) struct Queue {
    /// One for each request that is solved or waits.
    places: Arc<Semaphore>,
    /// One for each solve that runs.
    solves: Arc<Semaphore>,
    size: usize,
    at_once: usize,
}

/// A place in the queue; dropping it leaves the queue.
pub(super) struct Waiting {
    place: OwnedSemaphorePermit,
    solves: Arc<Semaphore>,
}

/// The right to run one solve; held by its thread until that ends, whether or not its client still waits.
pub(super) struct Turn {
    _place: OwnedSemaphorePermit,
    _solve: OwnedSemaphorePermit,
}

impl Queue {
    pub(super) fn new(at_once: usize, waiting: usize) -> Queue {
        let size = at_once.saturating_add(waiting).min(Semaphore::MAX_PERMITS);
        let at_once = at_once.min(Semaphore::MAX_PERMITS);
        Queue {
            places: Arc::new(Semaphore::new(size)),
            solves: Arc::new(Semaphore::new(at_once)),
            size,
            at_once,
        }
    }

    /// A place in the queue, where one is free.
    pub(super) fn enter(&self) -> Option<Waiting> {
        let place = self.places.clone().try_acquire_owned().ok()?;
        Some(Waiting {
            place,
            solves: self.solves.clone(),
        })
    }

    /// How many solves run and how many requests wait for one, at this moment.
    pub(super) fn load(&self) -> (usize, usize) {
        let inside = self.size.saturating_sub(self.places.available_permits());
        let running = self.at_once.saturating_sub(self.solves.available_permits());
        (running, inside.saturating_sub(running))
    }
}

impl Waiting {
    /// Waits for its turn, first come, first served. `None` would mean that the queue was closed, which none does.
    pub(super) async fn turn(self) -> Option<Turn> {
        let solve = self.solves.acquire_owned().await.ok()?;
        Some(Turn {
            _place: self.place,
            _solve: solve,
        })
    }
}
