//! What a batch adds up to, once each of its questions has ended.

use std::collections::{BTreeMap, HashMap};
use std::time::Duration;

use sashwright_solver::check::{OrderCheck, Violation};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::job::{Gathering, Materials, OrderList};
use sashwright_solver::length::Measure;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::outcome::{Ending, Outcome};
use crate::store::{BatchState, KitRow, Store, StoreError, natural};

/// The most kits that cannot be made that a summary lists.
pub const MOST_LISTED: usize = 1_000;
/// The most reasons that are told of one of them.
const MOST_REASONS: usize = 5;
/// How long the cutting of everything may take.
const ORDER_TIME: Duration = Duration::from_secs(30);
/// Parts of a minute in which minutes are added up.
const PARTS: i128 = 100_000_000;

/// What a batch adds up to.
#[derive(Clone, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Summary {
    /// All kits together.
    pub totals: Totals,
    /// The kits of each hoop set, in the order of the sets' names; first those without one.
    pub by_hoop_set: Vec<SetTotals>,
    /// Kits that cannot be made with a hoop set, and why: at most 1 000 of them.
    pub cannot_be_made: Vec<CannotBeMade>,
    /// How many more there are that are not listed.
    pub more_cannot_be_made: u64,
    /// What is cut and bought for all copies that have a plan: one list for each unit that scenarios are in.
    pub orders: Vec<OrderList>,
}

/// What kits add up to. Hoopings, joints and minutes are those of the copies that have a plan.
#[derive(Clone, Debug, Serialize, Deserialize, JsonSchema)]
pub struct Totals {
    /// Kits, each counted once for each of its hoop sets.
    pub kits: u64,
    /// Their copies.
    pub copies: u64,
    /// Copies that have a plan.
    pub planned_copies: u64,
    /// Hoopings.
    pub hoopings: u64,
    /// Joints.
    pub joints: u64,
    /// Hands-on minutes.
    pub hands_on_minutes: Measure,
    /// Minutes at the machine; left out where stitches are not told of every size.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub machine_minutes: Option<Measure>,
}

/// What the kits of one hoop set add up to.
#[derive(Clone, Debug, Serialize, Deserialize, JsonSchema)]
pub struct SetTotals {
    /// The hoop set; left out of the kits that are made with their scenario's own hoops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hoop_set: Option<String>,
    /// What they add up to.
    #[serde(flatten)]
    pub totals: Totals,
}

/// A kit that cannot be made with a hoop set.
#[derive(Clone, Debug, Serialize, Deserialize, JsonSchema)]
pub struct CannotBeMade {
    /// The kit's id.
    pub kit: String,
    /// The hoop set; left out where it is made with its scenario's own hoops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hoop_set: Option<String>,
    /// How many were to be made.
    pub copies: u64,
    /// How its question ended.
    pub status: Ending,
    /// Why, at most five reasons.
    pub reasons: Vec<String>,
}

/// Adds up what came of a batch, all of whose questions have ended. What is there once `stop` is given is no answer.
///
/// # Errors
/// The store fails.
pub fn add_up(store: &Store, batch: &BatchState, stop: &StopSignal) -> Result<Summary, StoreError> {
    let outcomes = outcomes(store, batch)?;
    let mut of_sets: BTreeMap<Option<String>, Sum> = BTreeMap::new();
    let mut cannot_be_made = Vec::new();
    let mut more_cannot_be_made = 0;
    let mut asking: BTreeMap<i64, Asking> = BTreeMap::new();
    for row in store.every_kit(batch.number) {
        let row = row?;
        if stop.given() {
            break;
        }
        let Some(outcome) = outcomes.get(&row.question) else {
            continue;
        };
        // Where hoopings are shared, all copies of all kits are in the plan.
        let times = match (batch.shared, asking.contains_key(&row.question)) {
            (false, _) => natural(row.copies),
            (true, known) => u64::from(!known),
        };
        if outcome.status.has_plan() {
            let asking = asking.entry(row.question).or_insert_with(|| Asking {
                first: row.id.clone(),
                more: 0,
                copies: 0,
            });
            asking.more += u64::from(asking.copies > 0);
            asking.copies = asking.copies.saturating_add(times);
        }
        let of_set = of_sets.entry(row.hoop_set.clone()).or_default();
        of_set.add_kits(&row, outcome);
        of_set.add_work(outcome, times);
        if outcome.status.has_plan() {
            continue;
        }
        if cannot_be_made.len() < MOST_LISTED {
            cannot_be_made.push(cannot(row, outcome));
        } else {
            more_cannot_be_made += 1;
        }
    }
    let mut all = Sum::default();
    for of_set in of_sets.values() {
        all.add(of_set);
    }
    Ok(Summary {
        totals: all.told(),
        by_hoop_set: of_sets
            .into_iter()
            .map(|(hoop_set, sum)| SetTotals {
                hoop_set,
                totals: sum.told(),
            })
            .collect(),
        cannot_be_made,
        more_cannot_be_made,
        orders: orders(store, batch, &asking, stop)?,
    })
}

/// The kits that ask one question.
struct Asking {
    /// The first kit's id.
    first: String,
    /// How many more there are.
    more: u64,
    copies: u64,
}

impl Asking {
    /// What they are called in an order list.
    fn label(&self) -> String {
        match self.more {
            0 => self.first.clone(),
            more => format!("{} and {more} more", self.first),
        }
    }
}

/// What is ordered for all plans: they are read one after the other.
fn orders(
    store: &Store,
    batch: &BatchState,
    asking: &BTreeMap<i64, Asking>,
    stop: &StopSignal,
) -> Result<Vec<OrderList>, StoreError> {
    let mut gathered: Vec<(Gathering, OrderCheck)> = Vec::new();
    for (number, asking) in asking {
        if stop.given() {
            break;
        }
        let Some((scenario, Some(plan))) = store.planned(batch.number, *number)? else {
            continue;
        };
        let plan: Plan = serde_json::from_str(&plan)?;
        let Ok(scenario) = scenario::read(scenario.as_bytes()) else {
            tracing::error!(
                batch = batch.id,
                number,
                "a scenario that is stored cannot be read"
            );
            continue;
        };
        let unit = scenario.unit;
        let known = gathered.iter().position(|(of, _)| of.unit() == unit);
        let place = known.unwrap_or_else(|| {
            gathered.push((Gathering::new(unit), OrderCheck::new(unit)));
            gathered.len() - 1
        });
        let (list, check) = &mut gathered[place];
        list.add(&asking.label(), &scenario, &plan, asking.copies);
        check.add(&scenario, &plan, asking.copies);
    }
    let lists = gathered.into_iter().map(|(list, check)| {
        let list = list.order(&Deadline::after(ORDER_TIME, stop.clone()));
        let violations = check.check(&list);
        if violations.is_empty() || stop.given() {
            list
        } else {
            tracing::error!(
                batch = batch.id,
                ?violations,
                "an order list breaks its own rules"
            );
            withheld(list, &violations)
        }
    });
    Ok(lists.collect())
}

/// Nothing of a list that the independent check refuses, and why.
fn withheld(list: OrderList, violations: &[Violation]) -> OrderList {
    let faults = violations.iter().take(MOST_REASONS);
    let faults = faults.map(|fault| format!(" {}: {}", fault.pointer, fault.message));
    let faults: String = faults.collect();
    OrderList {
        cutting: Vec::new(),
        materials: Materials {
            purchases: Vec::new(),
            price: None,
        },
        warnings: vec![format!(
            "This program made an order list that breaks its own rules, so it is not given out. Please report this:{faults}"
        )],
        ..list
    }
}

/// How each question of a batch ended, by its number.
fn outcomes(store: &Store, batch: &BatchState) -> Result<HashMap<i64, Outcome>, StoreError> {
    let rows = store.every_result(batch.number).map(|row| {
        let row = row?;
        Ok((row.number, serde_json::from_str(&row.outcome)?))
    });
    rows.collect()
}

fn cannot(row: KitRow, outcome: &Outcome) -> CannotBeMade {
    let reasons = outcome.faults.iter().take(MOST_REASONS);
    let reasons = reasons.map(|fault| format!("{} {}", fault.message, fault.mend));
    CannotBeMade {
        kit: row.id,
        hoop_set: row.hoop_set,
        copies: natural(row.copies),
        status: outcome.status,
        reasons: reasons.collect(),
    }
}

/// What is added up so far.
#[derive(Default)]
struct Sum {
    kits: u64,
    copies: u64,
    planned_copies: u64,
    has_plan: bool,
    hoopings: u64,
    joints: u64,
    /// In parts of a minute.
    hands_on: i128,
    machine: i128,
    /// Whether stitches are not told somewhere.
    machine_unknown: bool,
}

impl Sum {
    /// Counts a row's kits.
    fn add_kits(&mut self, row: &KitRow, outcome: &Outcome) {
        let copies = natural(row.copies);
        self.kits += 1;
        self.copies = self.copies.saturating_add(copies);
        if outcome.status.has_plan() {
            self.planned_copies = self.planned_copies.saturating_add(copies);
        }
    }

    /// Counts the work by a plan that is followed so many times.
    fn add_work(&mut self, outcome: &Outcome, times: u64) {
        if !outcome.status.has_plan() || times == 0 {
            return;
        }
        self.has_plan = true;
        let add = |sum: &mut u64, each: u64| *sum = sum.saturating_add(each.saturating_mul(times));
        add(&mut self.hoopings, outcome.hoopings);
        add(&mut self.joints, outcome.joints);
        let add = |sum: &mut i128, each: &Option<Measure>| {
            let parts = each.as_ref().and_then(|minutes| minutes.exact().ok());
            let parts = parts.and_then(|minutes| minutes.times_rounded(PARTS));
            *sum = sum.saturating_add(parts.unwrap_or(0).saturating_mul(times.into()));
            parts.is_some()
        };
        add(&mut self.hands_on, &outcome.hands_on_minutes);
        self.machine_unknown |= !add(&mut self.machine, &outcome.machine_minutes);
    }

    fn add(&mut self, other: &Sum) {
        self.kits += other.kits;
        self.copies = self.copies.saturating_add(other.copies);
        self.planned_copies = self.planned_copies.saturating_add(other.planned_copies);
        self.hoopings = self.hoopings.saturating_add(other.hoopings);
        self.joints = self.joints.saturating_add(other.joints);
        self.hands_on = self.hands_on.saturating_add(other.hands_on);
        self.machine = self.machine.saturating_add(other.machine);
        self.machine_unknown |= other.machine_unknown;
        self.has_plan |= other.has_plan;
    }

    fn told(&self) -> Totals {
        let minutes = |parts| Measure::from_ratio(parts, PARTS);
        Totals {
            kits: self.kits,
            copies: self.copies,
            planned_copies: self.planned_copies,
            hoopings: self.hoopings,
            joints: self.joints,
            hands_on_minutes: minutes(self.hands_on),
            machine_minutes: (self.has_plan && !self.machine_unknown)
                .then(|| minutes(self.machine)),
        }
    }
}
