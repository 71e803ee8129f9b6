//! The folder that a batch is planned into: plans, their scenarios, the kits and the summary as files.

use std::fs;
use std::path::{Path, PathBuf};

use crate::files::Target;
use crate::store::{BatchState, Store, StoreError};

/// The folder of a batch.
pub(super) struct PlanFolder {
    folder: PathBuf,
    plans: PathBuf,
}

impl PlanFolder {
    /// The folder, made where it is not there.
    ///
    /// # Errors
    /// A sentence that says why it cannot be.
    pub(super) fn new(folder: &Path) -> Result<PlanFolder, String> {
        let plans = folder.join("plans");
        fs::create_dir_all(&plans)
            .map_err(|error| format!("Cannot write into {}: {error}.", plans.display()))?;
        Ok(PlanFolder {
            folder: folder.to_path_buf(),
            plans,
        })
    }

    /// As messages name it.
    pub(super) fn name(&self) -> String {
        self.plans.display().to_string()
    }

    /// Writes a question's scenario, and its plan where there is one: `12.scenario.json` and `12.plan.json`.
    pub(super) fn put_plan(
        &self,
        number: i64,
        scenario: &str,
        plan: Option<&str>,
    ) -> Result<(), String> {
        if let Some(plan) = plan {
            put(
                &self.plans.join(format!("{number}.plan.json")),
                plan.as_bytes(),
            )?;
        }
        // The scenario comes last: where it is, the plan is too, whenever this program was killed.
        put(&self.scenario_file(number), scenario.as_bytes())
    }

    fn scenario_file(&self, number: i64) -> PathBuf {
        self.plans.join(format!("{number}.scenario.json"))
    }

    /// Writes the files of questions that ended in an earlier run which did not come to that.
    pub(super) fn put_missing(&self, store: &Store, batch: &BatchState) -> Result<(), String> {
        for number in 1..=batch.questions {
            if self.scenario_file(number).exists() {
                continue;
            }
            let planned = store.planned(batch.number, number).map_err(unreadable)?;
            if let Some((scenario, plan)) = planned {
                self.put_plan(number, &scenario, plan.as_deref())?;
            }
        }
        Ok(())
    }

    /// Writes what the batch adds up to: `summary.json`.
    pub(super) fn put_summary(&self, summary: &str) -> Result<(), String> {
        put(&self.folder.join("summary.json"), summary.as_bytes())
    }

    /// Writes which plan is whose: `kits.csv` (RFC 4180).
    pub(super) fn put_kits(&self, store: &Store, batch: &BatchState) -> Result<(), String> {
        let failed = |error: csv::Error| format!("Cannot write the kits: {error}.");
        let mut table = csv::Writer::from_writer(Vec::new());
        let head = ["kit", "hoop set", "copies", "plan", "status", "labels"];
        table.write_record(head).map_err(failed)?;
        for row in store.every_kit(batch.number) {
            let row = row.map_err(unreadable)?;
            let fields = [
                row.id,
                row.hoop_set.unwrap_or_default(),
                row.copies.to_string(),
                row.question.to_string(),
                row.status.unwrap_or_default(),
                row.labels,
            ];
            table.write_record(fields).map_err(failed)?;
        }
        let table = table
            .into_inner()
            .map_err(|error| failed(error.into_error().into()))?;
        put(&self.folder.join("kits.csv"), &table)
    }
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), String> {
    Target::new(path)?.write(bytes)
}

fn unreadable(error: StoreError) -> String {
    format!("Cannot read what was kept: {error}.")
}
