//! A planner that runs until it is told to stop or may finish.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, mpsc};
use std::time::{Duration, Instant};

use sashwright_solver::NoPlan;

use super::PATIENCE;
use crate::http::{Service, Settings};
use crate::solve::Planner;
use crate::text::tests::plan;

/// A planner that tells when it begins and how it ends, and runs until it is stopped or may finish.
pub(super) struct Slow {
    pub(super) begun: mpsc::Receiver<()>,
    pub(super) ended_by_stop: mpsc::Receiver<bool>,
    pub(super) finish: Arc<AtomicBool>,
}

pub(super) fn slow() -> (Planner, Slow) {
    let (begin, begun) = mpsc::channel();
    let (end, ended_by_stop) = mpsc::channel();
    let finish = Arc::new(AtomicBool::new(false));
    let (may_finish, senders) = (finish.clone(), Mutex::new((begin, end)));
    let planner: Planner = Arc::new(move |_, deadline| {
        let (begin, end) = senders.lock().expect("unpoisoned").clone();
        let _ = begin.send(());
        let limit = Instant::now() + PATIENCE;
        while !deadline.stopped() && !may_finish.load(Ordering::Relaxed) {
            assert!(Instant::now() < limit, "nobody stopped the solve");
            std::thread::sleep(Duration::from_millis(2));
        }
        let _ = end.send(deadline.stopped());
        if deadline.stopped() {
            Err(NoPlan::Stopped)
        } else {
            Ok(plan())
        }
    });
    let slow = Slow {
        begun,
        ended_by_stop,
        finish,
    };
    (planner, slow)
}

/// Waits without blocking the runtime, on which the request under test runs.
pub(super) async fn hear<T>(receiver: &mpsc::Receiver<T>) -> T {
    let limit = Instant::now() + PATIENCE;
    loop {
        if let Ok(heard) = receiver.try_recv() {
            return heard;
        }
        assert!(Instant::now() < limit, "nothing heard");
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
}

/// Waits until that many solves run and that many requests wait.
pub(super) async fn until_load(service: &Service, load: (usize, usize)) {
    let limit = Instant::now() + PATIENCE;
    while service.queue.load() != load {
        assert!(Instant::now() < limit, "{:?}", service.queue.load());
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
}

pub(super) fn one_at_once(waiting: usize) -> Settings {
    Settings {
        solves: 1,
        waiting,
        drain: Duration::ZERO,
        ..Settings::default()
    }
}
