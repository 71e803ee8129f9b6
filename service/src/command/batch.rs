//! `batch`: a run of kits, planned into a folder. Asked once more for the same file and folder, it goes on where it was.

mod folder;
mod progress;

use std::io::Write;
use std::path::Path;
use std::sync::Arc;

use sashwright_solver::batch::{self, Batch};
use serde::Serialize;
use sha2::{Digest, Sha256};

use self::folder::PlanFolder;
use self::progress::Progress;
use crate::arguments::Format;
use crate::batch::{Heard, Outcome, Summary, work_through};
use crate::command::{Exit, counted, fail, say_faults, write_result};
use crate::hex::digits;
use crate::store::{Accepted, BatchState, NewBatch, Room, Store, StoreError, now};
use crate::{files, solve, text};

/// No more room than there is.
const ALL: Room = Room {
    batches_each: usize::MAX,
    questions: usize::MAX,
};

/// Plans the batch in a file into a folder.
pub(super) fn run(
    path: &Path,
    into: &Path,
    format: Format,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Exit {
    if !matches!(format, Format::Text | Format::Json) {
        return fail(
            err,
            "A batch is told as text or json. Its plans are files in the folder, for the command plan to print.",
        );
    }
    let bytes = match files::read(path) {
        Ok(bytes) => bytes,
        Err(reason) => return fail(err, &reason),
    };
    let batch = match batch::read(&bytes) {
        Ok(batch) => batch,
        Err(faults) => {
            let (name, count) = (files::name(path), counted(faults.len(), "fault"));
            say_faults(err, &format!("The batch in {name} has {count}:"), &faults);
            return Exit::Faulty;
        }
    };
    let done = accepted(into, &bytes, &batch).and_then(|(store, batch)| {
        let run = Run {
            folder: PlanFolder::new(into)?,
            store: Arc::new(store),
            format,
        };
        run.through(&batch, out)
    });
    match done {
        Ok(text) => write_result(text.as_bytes(), out, err),
        Err(reason) => fail(err, &reason),
    }
}

/// The store in the folder, with this batch and no other that is unfinished.
fn accepted(into: &Path, bytes: &[u8], batch: &Batch) -> Result<(Store, BatchState), String> {
    let store = Store::open(into).map_err(|error| match error {
        StoreError::Taken(folder) => format!(
            "Another sashwright works with the folder {folder}. Wait until it is done, or give another folder with --into."
        ),
        error => failed(&error),
    })?;
    let hash: [u8; 32] = Sha256::digest(bytes).into();
    let key = digits(hash);
    let new = NewBatch {
        client: "",
        key: Some(&key),
        body: hash,
        batch,
        now: now(),
    };
    let others = store.load().map_err(|error| failed(&error))?.batches;
    let id = match store.accept(&new, ALL).map_err(|error| failed(&error))? {
        Accepted::Before(id) => id,
        Accepted::New(id) if others > 0 => {
            store.cancel(&id, now()).map_err(|error| failed(&error))?;
            return Err(format!(
                "In the folder {} another batch is not finished. Run that one to its end, or give another folder with --into.",
                into.display()
            ));
        }
        Accepted::New(id) => id,
        Accepted::OtherBody | Accepted::TooManyOfClient | Accepted::Full => {
            return Err("The store refused the batch, which is an error of this program.".into());
        }
    };
    let state = store.batch(&id).map_err(|error| failed(&error))?;
    let state = state.ok_or("The store lost the batch, which is an error of this program.")?;
    Ok((store, state))
}

fn failed(error: &StoreError) -> String {
    format!(
        "Cannot keep the batch: {error}. What was done before is kept; run the same command again."
    )
}

/// A batch that is worked on.
struct Run {
    folder: PlanFolder,
    store: Arc<Store>,
    format: Format,
}

/// How a plan of the batch ended, as a line.
#[derive(Serialize)]
struct Line<'o> {
    number: i64,
    #[serde(flatten)]
    outcome: &'o Outcome,
}

impl Run {
    /// Works until all is done, with results on `out` as they come where it is for programs; the rest of what is to be said.
    fn through(&self, batch: &BatchState, out: &mut dyn Write) -> Result<String, String> {
        let threads = solve::cores();
        let heard = work_through(&self.store, &solve::planner(), threads)
            .map_err(|error| format!("Cannot start the work: {error}."))?;
        let progress = Progress::new(batch);
        let mut idle = 0;
        while idle < threads
            && let Ok(heard) = heard.recv()
        {
            match heard {
                Heard::Outlook(number, objective) => progress.outlook(number, &objective),
                Heard::Ended(question, ended) => {
                    let outcome: Outcome = serde_json::from_str(&ended.outcome)
                        .map_err(|error| failed(&error.into()))?;
                    self.folder.put_plan(
                        question.number,
                        &question.scenario,
                        ended.plan.as_deref(),
                    )?;
                    if self.format == Format::Json {
                        let number = question.number;
                        let line = serde_json::to_string(&Line {
                            number,
                            outcome: &outcome,
                        });
                        let line = line.map_err(|error| failed(&error.into()))?;
                        // A reader that has gone away does not end the work.
                        let _ = writeln!(out, "{line}").and_then(|()| out.flush());
                    }
                    progress.ended(question.number, &outcome);
                }
                Heard::Idle(done) => {
                    done.map_err(|error| failed(&error))?;
                    idle += 1;
                }
            }
        }
        progress.done();
        self.finished(&batch.id)
    }

    /// Writes what the batch adds up to.
    fn finished(&self, id: &str) -> Result<String, String> {
        let batch = self.store.batch(id).map_err(|error| failed(&error))?;
        let finished = batch.and_then(|batch| Some((batch.summary.clone()?, batch)));
        let Some((summary, batch)) = finished else {
            return Err("A solve failed, and with it its thread. What was done before is kept; run the same command again.".into());
        };
        self.folder.put_missing(&self.store, &batch)?;
        self.folder.put_summary(&summary)?;
        self.folder.put_kits(&self.store, &batch)?;
        if self.format == Format::Json {
            return Ok(String::new());
        }
        let summary: Summary =
            serde_json::from_str(&summary).map_err(|error| failed(&error.into()))?;
        let mut text = text::batch(&batch.name, &summary);
        text.push_str(&format!("\nThe plans are in {}.\n", self.folder.name()));
        Ok(text)
    }
}
