//! One order list for many plans: all pieces of all kits are cut from the same cloths together, and what is bought is rounded up once.
//!
//! What is gathered are kinds of pieces with their counts, so that a thousand copies of a kit take no more room than one.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::cuts::{Kind, MOST_KINDS, Source, cut_kinds, largest_first};
use super::document::{ClothCuts, Material, Materials, Purchase};
use super::needs;
use super::shopping::{add, of_cloth, of_tape, of_thread, stitches, tape_used, thread_used, total};
use crate::cutting::Lay;
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::{Length, Unit};
use crate::plan::Plan;
use crate::scenario::{Scenario, Stocks, Tape, Thread};

/// The longest that all pieces of a cloth may be together, in nanometres: a million kilometres, far from the end of the numbers.
const LONGEST: i128 = 1_000_000_000_000_000_000;

/// Of a kind of piece so many kits are named; of the others it is told how many they are.
const MOST_NAMED: usize = 20;

/// What is cut and bought for many kits together.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderList {
    /// The unit of its lengths.
    pub unit: Unit,
    /// How each cloth is cut. Where a cloth has more than 500 kinds of pieces it is cut in several parts, each with the cloth's name and its
    /// number in parentheses.
    pub cutting: Vec<ClothCuts>,
    /// What to buy.
    pub materials: Materials,
    /// What could not be cut, or differs from kit to kit.
    pub warnings: Vec<String>,
}

/// The JSON Schema (2020-12) of order lists.
pub fn order_schema() -> Value {
    crate::json::schema_of::<OrderList>()
}

/// What many kits need, as it is added up.
pub struct Gathering {
    unit: Unit,
    cloths: Vec<GatheredCloth>,
    tapes: Vec<(Tape, i128)>,
    threads: Vec<(String, Thread, Exact)>,
    warnings: Vec<String>,
}

/// A cloth and what is cut from it.
struct GatheredCloth {
    material: Material,
    /// The name that its scenarios give it, and the one that it has in the list.
    called: String,
    name: String,
    stocks: Stocks,
    kinds: BTreeMap<([Length; 2], Lay), Gathered>,
}

/// Pieces that are cut alike.
#[derive(Default)]
struct Gathered {
    count: u64,
    /// The kits that need them, and how many each.
    kits: Vec<(String, u64)>,
    /// Kits that are not named, and how many they need together.
    more_kits: u64,
    more: u64,
}

impl Gathering {
    /// Nothing so far. Every kit that is added has scenarios of this unit.
    pub fn new(unit: Unit) -> Gathering {
        Gathering {
            unit,
            cloths: Vec::new(),
            tapes: Vec::new(),
            threads: Vec::new(),
            warnings: Vec::new(),
        }
    }

    /// The unit of its scenarios.
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// Adds what so many copies of a kit take. `label` names the kit in the list.
    ///
    /// A cloth is the same in two kits where its name is and whatever it is cut from; pieces on hand are there once for all kits.
    pub fn add(&mut self, label: &str, scenario: &Scenario, plan: &Plan, copies: u64) {
        let mut warnings = Vec::new();
        for cloth in needs::of(scenario, plan, &mut warnings) {
            let of_kit = by_kind(&cloth.needs);
            let stocks = cloth.stocks.into_owned();
            let gathered = self.cloth(label, cloth.material, cloth.name, stocks);
            for (kind, count) in of_kit {
                let count = count.saturating_mul(copies);
                let of_kind = gathered.kinds.entry(kind).or_default();
                of_kind.count = of_kind.count.saturating_add(count);
                if of_kind.kits.len() < MOST_NAMED {
                    of_kind.kits.push((label.into(), count));
                } else {
                    of_kind.more_kits += 1;
                    of_kind.more = of_kind.more.saturating_add(count);
                }
            }
        }
        for warning in warnings {
            self.warn(warning);
        }
        if let Some((tape, needed)) = tape_used(scenario, plan) {
            let needed = needed.saturating_mul(copies.into());
            // What is bought is the same where its roll and price are, however much each run takes.
            let same = |(other, _): &&mut (Tape, i128)| {
                (other.roll, other.price) == (tape.roll, tape.price)
            };
            match self.tapes.iter_mut().find(same) {
                Some((_, sum)) => *sum = sum.saturating_add(needed),
                None => self.tapes.push((tape, needed)),
            }
        }
        let thread = scenario.materials.thread;
        for (name, of_kit) in stitches(scenario, plan) {
            let of_kit = thread_used(&thread, of_kit);
            let all = of_kit.numerator().saturating_mul(copies.into());
            let all = Exact::new(all, of_kit.denominator()).unwrap_or(of_kit);
            // What is bought is the same where its spool and price are, however it is stitched with.
            let same = |(other, of, _): &&mut (String, Thread, Exact)| {
                other == name && (of.spool, of.price) == (thread.spool, thread.price)
            };
            match self.threads.iter_mut().find(same) {
                Some((.., sum)) => *sum = add(*sum, all).unwrap_or(*sum),
                None => self.threads.push((name.into(), thread, all)),
            }
        }
    }

    /// The cloth of that name that is cut from these stocks.
    fn cloth(
        &mut self,
        label: &str,
        material: Material,
        called: &str,
        stocks: Stocks,
    ) -> &mut GatheredCloth {
        let alike = |cloth: &GatheredCloth| cloth.material == material && cloth.called == called;
        let known = self
            .cloths
            .iter()
            .position(|cloth| alike(cloth) && cloth.stocks == stocks);
        let place = known.unwrap_or_else(|| {
            let mut name = called.to_string();
            if self.cloths.iter().any(alike) {
                let taken = |name: &str| self.cloths.iter().any(|cloth| cloth.name == name);
                let mut names = (1..).map(|number| match number {
                    1 => format!("{called} (of {label})"),
                    _ => format!("{called} (of {label}, {number})"),
                });
                name = names.find(|name| !taken(name)).unwrap_or(name);
                self.warn(format!(
                    "What {called} is cut from is not the same in all kits: it stands in the list once for each, such as {name:?}."
                ));
            }
            self.cloths.push(GatheredCloth {
                material,
                called: called.into(),
                name,
                stocks,
                kinds: BTreeMap::new(),
            });
            self.cloths.len() - 1
        });
        &mut self.cloths[place]
    }

    /// Notes a warning, once.
    fn warn(&mut self, warning: String) {
        if !self.warnings.contains(&warning) && self.warnings.len() < super::MOST_WARNINGS {
            self.warnings.push(warning);
        }
    }

    /// One cutting of each cloth, and one shopping list.
    pub fn order(mut self, deadline: &Deadline) -> OrderList {
        self.cloths.sort_by_key(|cloth| cloth.material);
        let (unit, mut warnings) = (self.unit, self.warnings);
        let mut cutting = Vec::new();
        let mut purchases: Vec<Purchase> = Vec::new();
        for (number, cloth) in self.cloths.iter().enumerate() {
            let left = u32::try_from(self.cloths.len() - number).unwrap_or(1);
            let share = deadline.at_most(deadline.left() / left);
            let cuts = cloth.cut(unit, &share, &mut warnings);
            let parts: Vec<&ClothCuts> = cuts.iter().collect();
            purchases.extend(of_cloth(
                &cloth.stocks,
                cloth.material,
                &cloth.name,
                &parts,
                unit,
            ));
            cutting.extend(cuts);
        }
        purchases.extend(
            self.tapes
                .iter()
                .map(|(tape, needed)| of_tape(tape, *needed, unit)),
        );
        let threads = self.threads.iter();
        purchases.extend(threads.map(|(name, thread, all)| of_thread(thread, name, *all, unit)));
        OrderList {
            unit,
            cutting,
            materials: total(purchases),
            warnings,
        }
    }
}

/// How many pieces of each kind there are.
fn by_kind(needs: &[needs::Need]) -> BTreeMap<([Length; 2], Lay), u64> {
    let mut kinds = BTreeMap::new();
    for need in needs {
        *kinds.entry((need.sides, need.lay)).or_insert(0) += 1;
    }
    kinds
}

impl GatheredCloth {
    /// How it is cut: at once, or, where its kinds of pieces are too many for that, those of like size together.
    fn cut(&self, unit: Unit, deadline: &Deadline, warnings: &mut Vec<String>) -> Vec<ClothCuts> {
        let mut kinds = Vec::new();
        // Laid end to end, with each piece on a level of its own.
        let mut longest: i128 = 0;
        for ((sides, lay), gathered) in &self.kinds {
            let long = i128::from(sides[0].max(sides[1]).nanometres());
            longest = longest.saturating_add(long.saturating_mul(gathered.count.into()));
            let count = u32::try_from(gathered.count).ok();
            let Some(count) = count.filter(|_| longest <= LONGEST) else {
                warnings.push(format!(
                    "Of {} so many pieces are cut that no cutting is made of them. Share the kits out among several batches.",
                    self.name
                ));
                return Vec::new();
            };
            kinds.push(Kind {
                sides: *sides,
                lay: *lay,
                count,
                uses: gathered.uses(),
            });
        }
        largest_first(&mut kinds);
        let parts = kinds.len().div_ceil(MOST_KINDS);
        if parts > 1 {
            warnings.push(format!(
                "Of {} {} kinds of pieces are cut: in {parts} parts, those of like size together, so that a little less might do.",
                self.name,
                kinds.len()
            ));
        }
        let mut stocks = self.stocks.clone();
        let mut cuttings = Vec::new();
        for (number, kinds) in kinds.chunks(MOST_KINDS).enumerate() {
            let name = match parts {
                1 => self.name.clone(),
                _ => format!("{} ({})", self.name, number + 1),
            };
            let source = Source {
                material: self.material,
                name: &name,
                stocks: &stocks,
            };
            let left = u32::try_from(parts - number).unwrap_or(1);
            let share = deadline.at_most(deadline.left() / left);
            cuttings.extend(cut_kinds(source, kinds.to_vec(), unit, &share, warnings));
            // What is on hand is cut up once.
            stocks.on_hand.clear();
        }
        cuttings
    }
}

impl Gathered {
    /// What the pieces are for, in words.
    fn uses(&self) -> Vec<String> {
        let kits = self.kits.iter();
        let mut uses: Vec<String> = kits
            .map(|(label, count)| format!("{count} for {label}"))
            .collect();
        match self.more_kits {
            0 => {}
            1 => uses.push(format!("{} for 1 more kit", self.more)),
            kits => uses.push(format!("{} for {kits} more kits", self.more)),
        }
        uses
    }
}
