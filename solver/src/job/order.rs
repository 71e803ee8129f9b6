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
use super::shopping::{add, of_cloth, of_tape, of_thread, stitches, tape_used, total};
use crate::cutting::Lay;
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::{Length, Unit};
use crate::plan::Plan;
use crate::scenario::{Scenario, Stocks, Tape, Thread};

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
    more_kits: u64,
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
                }
            }
        }
        for warning in warnings {
            self.warn(warning);
        }
        if let Some((tape, needed)) = tape_used(scenario, plan) {
            let needed = needed.saturating_mul(copies.into());
            match self.tapes.iter_mut().find(|(other, _)| *other == tape) {
                Some((_, sum)) => *sum = sum.saturating_add(needed),
                None => self.tapes.push((tape, needed)),
            }
        }
        let thread = scenario.materials.thread;
        for (name, of_kit) in stitches(scenario, plan) {
            let all = Exact::new(
                of_kit.numerator() * i128::from(copies),
                of_kit.denominator(),
            );
            let all = all.unwrap_or(Exact::ZERO);
            let same =
                |(other, of, _): &&mut (String, Thread, Exact)| other == name && *of == thread;
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
                name = format!("{called} (of {label})");
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
        for ((sides, lay), gathered) in &self.kinds {
            let Ok(count) = u32::try_from(gathered.count) else {
                warnings.push(format!(
                    "Of {} {} pieces are cut alike, which is more than a cutting is made of.",
                    self.name, gathered.count
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
            1 => uses.push("1 more kit".into()),
            more => uses.push(format!("{more} more kits")),
        }
        uses
    }
}
