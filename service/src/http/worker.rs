//! Workers: they claim what was accepted, work on it with the lowest priority, and store what comes of it.
//!
//! A worker that is told to stop puts its work back. What it had claimed where the program ends without that is claimed anew when it
//! starts again.

use std::sync::Arc;
use std::time::Duration;

use sashwright_solver::deadline::StopSignal;
use tokio::sync::oneshot;

use super::Service;
use super::late;
use super::problem::Problem;
use super::stored::stored;
use crate::batch::{Planned, add_up, failed, plan_question};
use crate::solve::on_large_stack;
use crate::store::{Question, Work, now};

/// How long a worker sleeps where there is nothing to do and nobody wakes it.
const LONGEST_SLEEP: Duration = Duration::from_secs(60);
/// How long it waits before it asks a store again that failed.
const AFTER_FAILURE: Duration = Duration::from_secs(1);
/// How often results are looked over that are old enough to go.
const SWEEP: Duration = Duration::from_secs(60);

/// Starts the workers, and what lets old results go. They end once the service closes.
pub(super) fn start(service: &Arc<Service>) {
    for _ in 0..service.settings.workers {
        tokio::spawn(work(service.clone()));
    }
    tokio::spawn(sweep(service.clone()));
}

async fn work(service: Arc<Service>) {
    loop {
        if service.is_draining() {
            return;
        }
        match stored(&service, |store| store.claim()).await {
            Ok(Some(work)) => {
                // There may be more, for another worker.
                service.news.work.notify_one();
                do_work(&service, work).await;
            }
            Ok(None) => {
                tokio::select! {
                    () = service.news.work.notified() => {}
                    () = service.draining() => return,
                    () = tokio::time::sleep(LONGEST_SLEEP) => {}
                }
            }
            Err(_) => tokio::time::sleep(AFTER_FAILURE).await,
        }
    }
}

/// Lets results go that are old enough.
async fn sweep(service: Arc<Service>) {
    loop {
        let before = now() - service.settings.keep_results;
        let more = stored(&service, move |store| store.expire(before)).await;
        if !matches!(more, Ok(true)) {
            tokio::select! {
                () = tokio::time::sleep(SWEEP) => {}
                () = service.draining() => return,
            }
        }
    }
}

async fn do_work(service: &Arc<Service>, work: Work) {
    let done = match &work {
        Work::Question(question) => do_question(service, question).await,
        Work::Adding(batch) => do_adding(service, *batch).await,
        Work::Late(plan) => late::make(service, plan).await,
    };
    match done {
        Ok(true) => {}
        Ok(false) => {
            let back = stored(service, move |store| store.put_back(&work)).await;
            if back.is_err() {
                tracing::error!(
                    "work could not be put back: it is taken up when the program starts again"
                );
            }
        }
        Err(_) => {
            // The store failed, which is in the log. The work is still claimed, and would wait for the next start of the program.
            tokio::time::sleep(AFTER_FAILURE).await;
            let _ = stored(service, move |store| store.put_back(&work)).await;
        }
    }
    service.news.tell();
}

/// Works with low priority on a thread of its own, until the service closes. `None` where the work panicked.
pub(super) async fn at_leisure<T: Send + 'static>(
    service: &Service,
    stop: &StopSignal,
    job: impl FnOnce(&StopSignal) -> T + Send + 'static,
) -> Option<T> {
    let (send, mut answer) = oneshot::channel();
    let told = stop.clone();
    let started = on_large_stack(move || {
        crate::solve::give_way();
        let _ = send.send(job(&told));
    });
    if let Err(error) = started {
        tracing::error!(%error, "cannot start a solve");
        return None;
    }
    tokio::select! {
        answer = &mut answer => return answer.ok(),
        () = service.draining() => stop.give(),
    }
    answer.await.ok()
}

/// Works on a question of a batch. Says whether that is done; if not, it was stopped.
async fn do_question(service: &Arc<Service>, question: &Question) -> Result<bool, Problem> {
    let stop = StopSignal::new();
    let name = (question.batch_id.clone(), question.number);
    let working = service.news.begin(name.clone(), stop.clone());
    let (planner, scenario) = (service.planner.clone(), question.scenario.clone());
    let news = service.news.clone();
    let planned = at_leisure(service, &stop, move |stop| {
        plan_question(&planner, &scenario, stop, |deadline| {
            let heard = deadline.heard_by(move |objective| news.note(&name, objective));
            heard.giving_way()
        })
    });
    let ended = match planned.await {
        Some(Planned::Ended(ended)) => ended,
        Some(Planned::Stopped) => return Ok(false),
        None => {
            tracing::error!(
                batch = question.batch_id,
                question = question.number,
                "a solve panicked"
            );
            failed()
        }
    };
    let (batch, number) = (question.batch, question.number);
    stored(service, move |store| store.finish(batch, number, &ended)).await?;
    drop(working);
    // It may have been the last one.
    service.news.work.notify_one();
    Ok(true)
}

/// Adds up what came of a batch.
async fn do_adding(service: &Arc<Service>, batch: i64) -> Result<bool, Problem> {
    let stop = StopSignal::new();
    let store = service.store.clone();
    let summary = at_leisure(service, &stop, move |stop| {
        let Some(batch) = store.batch_numbered(batch)? else {
            return Ok(None);
        };
        let summary = add_up(&store, &batch, stop)?;
        Ok::<_, crate::store::StoreError>((!stop.given()).then_some(summary))
    });
    match summary.await {
        Some(Ok(Some(summary))) => {
            let finished = move |store: &crate::store::Store| {
                store.finish_batch(batch, &serde_json::to_string(&summary)?, now())
            };
            stored(service, finished).await?;
            Ok(true)
        }
        Some(Ok(None)) => Ok(false),
        Some(Err(error)) => {
            tracing::error!(%error, "a batch cannot be added up");
            tokio::time::sleep(AFTER_FAILURE).await;
            Ok(false)
        }
        None => {
            tracing::error!(batch, "a batch cannot be added up: that panicked");
            stored(service, move |store| {
                store.finish_batch(batch, "null", now())
            })
            .await?;
            Ok(true)
        }
    }
}
