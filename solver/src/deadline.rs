//! One deadline, made at the start and honoured in every loop.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Tells a running solve that nobody waits for its answer any more.
#[derive(Clone, Default, Debug)]
pub struct StopSignal(Arc<AtomicBool>);

impl StopSignal {
    /// A signal that has not been given.
    pub fn new() -> StopSignal {
        StopSignal::default()
    }

    /// Gives the signal; every deadline that listens to it is over at once.
    pub fn give(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    /// Whether the signal has been given.
    pub fn given(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// The moment at which a solve has to have its answer ready.
#[derive(Clone, Debug)]
pub struct Deadline {
    end: Instant,
    stop: StopSignal,
}

impl Deadline {
    /// A deadline `limit` from now, or as soon as `stop` is given.
    pub fn after(limit: Duration, stop: StopSignal) -> Deadline {
        Deadline {
            end: Instant::now() + limit,
            stop,
        }
    }

    /// The same signal, with at most `limit` left from now.
    pub fn at_most(&self, limit: Duration) -> Deadline {
        Deadline {
            end: self.end.min(Instant::now() + limit),
            stop: self.stop.clone(),
        }
    }

    /// Whether the time is over.
    pub fn over(&self) -> bool {
        self.stop.given() || Instant::now() >= self.end
    }

    /// The time that is left; zero when it is over.
    pub fn left(&self) -> Duration {
        if self.stop.given() {
            return Duration::ZERO;
        }
        self.end.saturating_duration_since(Instant::now())
    }

    /// Whether the solve was told to stop, as opposed to having used its time.
    pub fn stopped(&self) -> bool {
        self.stop.given()
    }
}
