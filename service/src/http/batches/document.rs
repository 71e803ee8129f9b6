//! What is told of a batch, as it is written in JSON.

use std::collections::BTreeMap;
use std::time::{Duration, UNIX_EPOCH};

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::value::RawValue;

use crate::batch::Outcome;
use crate::http::news::Outlook;
use crate::store::{BatchState, KitRow, ResultRow, Seconds, State, natural};
use sashwright_solver::plan::ObjectiveEntry;

/// How far a batch is.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct BatchStatus {
    /// Version of this document: 1.
    format: u32,
    /// The batch's id.
    id: String,
    /// Its name.
    name: String,
    /// How far it is.
    state: BatchStage,
    /// Whether strips of different kits may meet in one hooping.
    share_across_kits: bool,
    /// Kits, each counted once for each of its hoop sets.
    kits: u64,
    /// Their copies.
    copies: u64,
    /// The different plans.
    plans: PlanCounts,
    /// The plans that are being made.
    underway: Vec<UnderwayPlan>,
    /// When it was accepted (RFC 3339).
    accepted: String,
    /// When it was finished or cancelled (RFC 3339).
    #[serde(skip_serializing_if = "Option::is_none")]
    closed: Option<String>,
    /// Until when its results are kept (RFC 3339); there once it is finished or cancelled.
    #[serde(skip_serializing_if = "Option::is_none")]
    expires: Option<String>,
    /// Where its parts are.
    links: BatchLinks,
}

/// How far a batch is.
#[derive(Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(in crate::http) enum BatchStage {
    /// Nothing of it is done yet.
    Waiting,
    /// Some of it is done, or being done.
    Running,
    /// Every plan has ended, and they are added up.
    AddingUp,
    /// All of it is there.
    Finished,
    /// It was cancelled; what was done before is there.
    Cancelled,
}

/// How many of the different plans of a batch are there.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct PlanCounts {
    /// All of them.
    asked: u64,
    /// Those that have ended.
    ended: u64,
    /// Those that have ended with a plan.
    planned: u64,
}

/// A plan that is being made.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct UnderwayPlan {
    /// Its number in the batch, from 1.
    number: u64,
    /// The terms of the best plan so far, each with what no plan can beat; empty where none is known yet.
    objective: Vec<ObjectiveEntry>,
}

/// Where the parts of a batch are: paths of this service.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct BatchLinks {
    /// How its plans ended, in the order in which they did.
    results: String,
    /// Its kits, each with the number of its plan.
    kits: String,
    /// What it adds up to, and what to order, once it is finished.
    summary: String,
    /// What happens to it, as it happens.
    events: String,
}

/// A time as RFC 3339 writes it, in whole seconds.
fn time(seconds: Seconds) -> String {
    let since = Duration::from_secs(u64::try_from(seconds).unwrap_or(0));
    humantime::format_rfc3339_seconds(UNIX_EPOCH + since).to_string()
}

impl BatchStatus {
    /// Leaves out the plans that are being made.
    pub(super) fn without_underway(&mut self) {
        self.underway.clear();
    }

    pub(super) fn of(
        batch: &BatchState,
        underway: Vec<(i64, Outlook)>,
        keep_results: Seconds,
    ) -> BatchStatus {
        let part = |name: &str| format!("/v1/batches/{}/{name}", batch.id);
        BatchStatus {
            format: 1,
            id: batch.id.clone(),
            name: batch.name.clone(),
            state: match batch.state {
                State::Open if batch.ended == 0 && underway.is_empty() => BatchStage::Waiting,
                State::Open => BatchStage::Running,
                State::Adding => BatchStage::AddingUp,
                State::Finished => BatchStage::Finished,
                State::Cancelled => BatchStage::Cancelled,
            },
            share_across_kits: batch.shared,
            kits: natural(batch.rows),
            copies: natural(batch.copies),
            plans: PlanCounts {
                asked: natural(batch.questions),
                ended: natural(batch.ended),
                planned: natural(batch.planned),
            },
            underway: underway
                .into_iter()
                .map(|(number, outlook)| UnderwayPlan {
                    number: natural(number),
                    objective: outlook.objective,
                })
                .collect(),
            accepted: time(batch.accepted),
            closed: batch.closed.map(time),
            expires: batch
                .closed
                .map(|closed| time(closed.saturating_add(keep_results))),
            links: BatchLinks {
                results: part("results"),
                kits: part("kits"),
                summary: part("summary"),
                events: part("events"),
            },
        }
    }
}

/// How one of the different plans of a batch ended.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct BatchResult {
    /// Its place in the order in which they ended, from 1.
    place: u64,
    /// The plan's number in the batch, from 1: in the order in which the kits first ask for it.
    number: u64,
    /// How many copies are made by it. Where strips of different kits share hoopings, 1: all copies are in it.
    copies: u64,
    /// How it ended.
    #[serde(flatten)]
    outcome: Outcome,
    /// Where the plan is; left out where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    plan: Option<String>,
    /// Where the scenario is, with the hoops that it was planned for.
    scenario: String,
    /// The plan document itself, where it was asked for and there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<serde_json::Value>")]
    document: Option<Box<RawValue>>,
}

impl BatchResult {
    /// # Errors
    /// What is stored cannot be read.
    pub(super) fn of(
        batch: &str,
        row: ResultRow,
        document: Option<String>,
    ) -> Result<BatchResult, serde_json::Error> {
        let outcome: Outcome = serde_json::from_str(&row.outcome)?;
        let place = format!("/v1/batches/{batch}/plans/{}", row.number);
        Ok(BatchResult {
            place: natural(row.place),
            number: natural(row.number),
            copies: natural(row.copies),
            plan: outcome.status.has_plan().then(|| place.clone()),
            scenario: format!("{place}/scenario"),
            outcome,
            document: document.map(RawValue::from_string).transpose()?,
        })
    }
}

/// A kit of a batch with one of its hoop sets.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct BatchKit {
    /// Its number among these, from 1.
    number: u64,
    /// The kit's id.
    kit: String,
    /// The hoop set; left out where it is made with its scenario's own hoops.
    #[serde(skip_serializing_if = "Option::is_none")]
    hoop_set: Option<String>,
    /// How many are made.
    copies: u64,
    /// The kit's labels.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(default)]
    labels: BTreeMap<String, String>,
    /// The number of its plan.
    plan: u64,
    /// How that ended; left out while it has not.
    #[serde(skip_serializing_if = "Option::is_none")]
    status: Option<crate::batch::Ending>,
}

impl BatchKit {
    /// # Errors
    /// What is stored cannot be read.
    pub(super) fn of(row: KitRow) -> Result<BatchKit, serde_json::Error> {
        let status = row.status.map(serde_json::Value::from);
        Ok(BatchKit {
            number: natural(row.number),
            kit: row.id,
            hoop_set: row.hoop_set,
            copies: natural(row.copies),
            labels: serde_json::from_str(&row.labels)?,
            plan: natural(row.question),
            status: status.map(serde_json::from_value).transpose()?,
        })
    }
}

/// A page of results.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct ResultsPage {
    /// The results, in the order in which the plans ended.
    pub(super) results: Vec<BatchResult>,
    /// Where the next page is, or will be; left out once there is nothing more to come.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) next: Option<String>,
}

/// A page of kits.
#[derive(Serialize, JsonSchema)]
pub(in crate::http) struct KitsPage {
    /// The kits, each once for each of its hoop sets, in the batch's order.
    pub(super) kits: Vec<BatchKit>,
    /// Where the next page is; left out after the last one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) next: Option<String>,
}
