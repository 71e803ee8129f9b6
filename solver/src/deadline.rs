//! One deadline, made at the start and honoured in every loop.

use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crate::plan::ObjectiveEntry;

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

/// Is told how far a solve is: of the best plan so far each term with its value and bound.
type Listener = dyn Fn(&[ObjectiveEntry]) + Send + Sync;

/// The moment at which a solve has to have its answer ready.
#[derive(Clone)]
pub struct Deadline {
    end: Instant,
    stop: StopSignal,
    listener: Option<Arc<Listener>>,
    gives_way: bool,
}

impl fmt::Debug for Deadline {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Deadline")
            .field("end", &self.end)
            .field("stop", &self.stop)
            .field("heard", &self.listener.is_some())
            .finish()
    }
}

/// Longer than anything takes.
const NEVER: Duration = Duration::from_secs(1 << 30);

impl Deadline {
    /// For work that ends by a count of steps, not by the clock.
    pub fn never() -> Deadline {
        Deadline::after(NEVER, StopSignal::new())
    }

    /// A deadline `limit` from now, or as soon as `stop` is given.
    pub fn after(limit: Duration, stop: StopSignal) -> Deadline {
        Deadline {
            end: Instant::now() + limit,
            stop,
            listener: None,
            gives_way: false,
        }
    }

    /// The same deadline, of which `listener` is told how far the solve is each time that something better is found or proven. It is
    /// called from the solve's own thread, which waits for it; it changes nothing of the answer.
    pub fn heard_by(
        self,
        listener: impl Fn(&[ObjectiveEntry]) + Send + Sync + 'static,
    ) -> Deadline {
        Deadline {
            listener: Some(Arc::new(listener)),
            ..self
        }
    }

    /// The same deadline, for work that nobody waits for: whenever it is asked, whoever else wants the core has it first. The lowest
    /// priority alone leaves a core to others only once a slice of time is over, which can be longer than a small plan takes.
    pub fn giving_way(self) -> Deadline {
        Deadline {
            gives_way: true,
            ..self
        }
    }

    /// Tells the listener, where there is one, what `entries` works out.
    pub(crate) fn tell(&self, entries: impl FnOnce() -> Vec<ObjectiveEntry>) {
        if let Some(listener) = &self.listener {
            listener(&entries());
        }
    }

    /// The same deadline, but no earlier than `least` from now: for what has to be known in any case, and takes moments. It is told to stop all
    /// the same.
    pub fn at_least(&self, least: Duration) -> Deadline {
        Deadline {
            end: self.end.max(Instant::now() + least),
            ..self.clone()
        }
    }

    /// The same signal, with at most `limit` left from now.
    pub fn at_most(&self, limit: Duration) -> Deadline {
        Deadline {
            end: self.end.min(Instant::now() + limit),
            ..self.clone()
        }
    }

    /// The same without a listener: for what is solved on the way to the answer.
    pub(crate) fn unheard(self) -> Deadline {
        Deadline {
            listener: None,
            ..self
        }
    }

    /// Whether the time is over.
    pub fn over(&self) -> bool {
        if self.gives_way {
            std::thread::yield_now();
        }
        self.stop.given() || Instant::now() >= self.end
    }

    /// Whether the time has been over for so long already: for what is begun late rather than not at all.
    pub fn long_over(&self, late: Duration) -> bool {
        self.stop.given() || Instant::now() >= self.end + late
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
