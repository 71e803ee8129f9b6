//! A whole batch on the threads of this program, until it is finished.

use std::sync::Arc;
use std::sync::mpsc::{self, Receiver, Sender};

use sashwright_solver::deadline::StopSignal;
use sashwright_solver::plan::ObjectiveEntry;

use super::summary::add_up;
use super::work::{Planned, failed, plan_question};
use crate::solve::{Planner, on_large_stack};
use crate::store::{Ended, Question, Store, StoreError, Work, now};

/// What is heard of a batch while it is worked on.
pub enum Heard {
    /// How far a question is, by its number: the best plan so far.
    Outlook(i64, Vec<ObjectiveEntry>),
    /// A question has ended, and that is stored.
    Ended(Question, Ended),
    /// A worker has nothing more to do, or failed.
    Idle(Result<(), StoreError>),
}

/// Works on all that the store has to do, on so many threads. What happens is heard of until each of them is idle; the store is
/// to hold nothing else than the one batch.
///
/// # Errors
/// The system has no room for a thread.
pub fn work_through(
    store: &Arc<Store>,
    planner: &Planner,
    threads: usize,
) -> std::io::Result<Receiver<Heard>> {
    let (send, heard) = mpsc::channel();
    for _ in 0..threads {
        let (store, planner, send) = (store.clone(), planner.clone(), send.clone());
        on_large_stack(move || {
            let done = work(&store, &planner, &send);
            // Where nobody listens any more there is nothing to say.
            let _ = send.send(Heard::Idle(done));
        })?;
    }
    Ok(heard)
}

fn work(store: &Arc<Store>, planner: &Planner, send: &Sender<Heard>) -> Result<(), StoreError> {
    while let Some(work) = store.claim()? {
        let question = match work {
            Work::Question(question) => question,
            Work::Adding(number) => {
                if let Some(batch) = store.batch_numbered(number)? {
                    let summary = add_up(store, &batch, &StopSignal::new())?;
                    store.finish_batch(number, &serde_json::to_string(&summary)?, now())?;
                }
                continue;
            }
            Work::Late(_) => continue,
        };
        let (telling, number) = (send.clone(), question.number);
        let stop = StopSignal::new();
        let planned = plan_question(planner, &question.scenario, &stop, |deadline| {
            deadline.heard_by(move |objective| {
                let _ = telling.send(Heard::Outlook(number, objective.to_vec()));
            })
        });
        let ended = match planned {
            Planned::Ended(ended) => ended,
            // Nobody gives the signal: what is said to be stopped has failed.
            Planned::Stopped => failed(),
        };
        store.finish(question.batch, question.number, &ended)?;
        let _ = send.send(Heard::Ended(question, ended));
    }
    Ok(())
}
