//! What to buy: cloth by length or by the piece, tape and thread.

use std::collections::BTreeMap;

use crate::exact::Exact;
use crate::job::document::{
    ClothCuts, CutStock, Material, Materials, Purchase, PurchaseUnit, StockKind,
};
use crate::job::needs::Cloth;
use crate::length::{Length, Measure, Unit};
use crate::plan::Plan;
use crate::scenario::{Scenario, Stocks, Tape, Thread};

/// Yards are cut to the next eighth (common practice).
const EIGHTHS: i128 = 8;
/// Metres are cut to the next tenth (common practice).
const TENTHS: i128 = 10;

impl PurchaseUnit {
    /// What cloth is bought by beside a unit of length.
    fn beside(unit: Unit) -> PurchaseUnit {
        match unit {
            Unit::Inch => PurchaseUnit::Yard,
            Unit::Millimetre => PurchaseUnit::Metre,
        }
    }

    /// The parts of it that are sold.
    fn parts(self) -> i128 {
        match self {
            PurchaseUnit::Yard => EIGHTHS,
            PurchaseUnit::Metre => TENTHS,
            PurchaseUnit::Piece => 1,
        }
    }
}

/// The shopping list for a plan and the cuttings of its cloths.
pub fn shopping(
    scenario: &Scenario,
    plan: &Plan,
    cloths: &[Cloth<'_>],
    cuttings: &[ClothCuts],
) -> Materials {
    let unit = scenario.unit;
    let mut purchases = Vec::new();
    for cuts in cuttings {
        let cloth = cloths
            .iter()
            .find(|cloth| cloth.material == cuts.material && cloth.name == cuts.cloth);
        if let Some(cloth) = cloth {
            purchases.extend(of_cloth(
                &cloth.stocks,
                cuts.material,
                cloth.name,
                &[cuts],
                unit,
            ));
        }
    }
    let tape = tape_used(scenario, plan).map(|(tape, needed)| of_tape(&tape, needed, unit));
    purchases.extend(tape);
    let thread = &scenario.materials.thread;
    for (name, stitches) in stitches(scenario, plan) {
        let needed = thread_used(thread, stitches);
        purchases.push(of_thread(thread, name, needed, unit));
    }
    total(purchases)
}

/// A shopping list with the prices of all its lines together.
pub fn total(purchases: Vec<Purchase>) -> Materials {
    let prices = purchases
        .iter()
        .map(|purchase| purchase.price.as_ref()?.exact().ok());
    let total = prices.collect::<Option<Vec<Exact>>>().and_then(|prices| {
        let sum = prices.into_iter().try_fold(Exact::ZERO, add);
        sum.map(|sum| Measure::from_ratio(sum.numerator(), sum.denominator()))
    });
    Materials {
        price: total.filter(|_| !purchases.is_empty()),
        purchases,
    }
}

/// The sum of two numbers.
pub fn add(a: Exact, b: Exact) -> Option<Exact> {
    Exact::new(
        a.numerator() * b.denominator() + b.numerator() * a.denominator(),
        a.denominator() * b.denominator(),
    )
}

/// So much of something that is sold in parts of a unit: what to buy, and its price.
fn bought(
    needed: i128,
    nanometres: i128,
    unit: PurchaseUnit,
    price: Option<Exact>,
) -> (Measure, Option<Measure>) {
    let parts = unit.parts();
    let enough = needed.saturating_mul(parts).saturating_add(nanometres - 1);
    let count = enough.div_euclid(nanometres);
    let price = price.map(|price| {
        let all = price.numerator().saturating_mul(count);
        Measure::from_ratio(all, price.denominator() * parts)
    });
    (Measure::from_ratio(count, parts), price)
}

fn printed(price: Option<Exact>) -> Option<Measure> {
    price.map(|price| Measure::from_ratio(price.numerator(), price.denominator()))
}

/// The bolts and sheets of a cloth that its cuttings use.
pub fn of_cloth(
    stocks: &Stocks,
    material: Material,
    name: &str,
    cuttings: &[&ClothCuts],
    unit: Unit,
) -> Vec<Purchase> {
    let used = |name: &str, kind: StockKind| {
        let stocks = cuttings.iter().flat_map(|cuts| &cuts.stocks);
        let stocks = stocks.filter(move |stock| stock.kind == kind && stock.stock == name);
        stocks.collect::<Vec<&CutStock>>()
    };
    let mut purchases = Vec::new();
    for sheet in &stocks.sheets {
        let count: i128 = used(&sheet.id, StockKind::Sheet)
            .iter()
            .map(|stock| i128::from(stock.copies))
            .sum();
        if count > 0 {
            let (buy, price) = bought(count, 1, PurchaseUnit::Piece, sheet.price);
            purchases.push(Purchase {
                material,
                name: name.into(),
                stock: Some(sheet.id.clone()),
                size: sheet.size.iter().map(|side| side.in_unit(unit)).collect(),
                needed: Measure::from_ratio(count, 1),
                buy,
                unit: PurchaseUnit::Piece,
                price_each: printed(sheet.price),
                price,
            });
        }
    }
    for bolt in &stocks.bolts {
        let lengths = used(&bolt.id, StockKind::Bolt);
        let lengths = lengths.iter().filter_map(|stock| stock.length.length(unit));
        let needed: Length = lengths.sum();
        if needed > Length::ZERO {
            let sold = PurchaseUnit::beside(unit);
            let each = i128::from(unit.yard_or_metre());
            let (buy, price) = bought(i128::from(needed.nanometres()), each, sold, bolt.price);
            purchases.push(Purchase {
                material,
                name: name.into(),
                stock: Some(bolt.id.clone()),
                size: vec![bolt.width.in_unit(unit)],
                needed: needed.in_unit(unit),
                buy,
                unit: sold,
                price_each: printed(bolt.price),
                price,
            });
        }
    }
    purchases
}

/// The tape, and how many nanometres of it a plan uses.
pub fn tape_used(scenario: &Scenario, plan: &Plan) -> Option<(Tape, i128)> {
    let tape = scenario.materials.tape?;
    let runs: usize = plan.strips.iter().map(|strip| strip.runs.len()).sum();
    let needed = i128::from(tape.each_run.nanometres()) * i128::try_from(runs).ok()?;
    Some((tape, needed))
}

/// So many nanometres of tape.
pub fn of_tape(tape: &Tape, needed: i128, unit: Unit) -> Purchase {
    by_roll(Material::Tape, "tape", needed, tape.roll, tape.price, unit)
}

/// The nanometres of thread for so many stitches, by the rule of the plan's `work`. The denominators are at most a million, 20 threads and the
/// repeats of a size, so that nothing is rounded here.
pub fn thread_used(thread: &Thread, stitches: Exact) -> Exact {
    let each_stitch = i128::from((thread.stitch + thread.thickness).nanometres());
    let more = thread.extra.numerator() + thread.extra.denominator();
    // Only so many copies of so large plans that nobody makes them reach the end of the numbers.
    let all = stitches.numerator().saturating_mul(each_stitch * more);
    Exact::new(all, stitches.denominator() * thread.extra.denominator()).unwrap_or(Exact::ZERO)
}

/// So many nanometres of a thread, rounded up.
pub fn of_thread(thread: &Thread, name: &str, needed: Exact, unit: Unit) -> Purchase {
    let up = needed.numerator().saturating_add(needed.denominator() - 1);
    let needed = up.div_euclid(needed.denominator());
    by_roll(
        Material::Thread,
        name,
        needed,
        thread.spool,
        thread.price,
        unit,
    )
}

/// Something that is used by length and bought by the roll or spool, or by length where its size is not known.
fn by_roll(
    material: Material,
    name: &str,
    needed: i128,
    roll: Option<Length>,
    price: Option<Exact>,
    unit: Unit,
) -> Purchase {
    let (sold, each) = match roll {
        Some(roll) => (PurchaseUnit::Piece, roll.nanometres()),
        None => (PurchaseUnit::beside(unit), unit.yard_or_metre()),
    };
    let (buy, total) = bought(needed, i128::from(each), sold, price);
    Purchase {
        material,
        name: name.into(),
        stock: None,
        size: Vec::new(),
        needed: Measure::from_ratio(needed, i128::from(unit.nanometres())),
        buy,
        unit: sold,
        price_each: printed(price),
        price: total,
    }
}

/// The stitches of the upper threads by name, and of the bobbin's; nothing where stitches are not told. Where a size does not tell the
/// stitches of each of its design's threads, they are shared among them alike, for want of anything better.
pub fn stitches<'s>(scenario: &'s Scenario, plan: &Plan) -> Vec<(&'s str, Exact)> {
    let Some(all) = plan.work.as_ref().and_then(|work| work.stitches) else {
        return Vec::new();
    };
    let mut by_name: BTreeMap<&str, Exact> = BTreeMap::new();
    for strip in &plan.strips {
        let Some(design) = scenario
            .designs
            .iter()
            .find(|design| design.id == strip.design)
        else {
            continue;
        };
        let names: Vec<&str> = match &design.threads[..] {
            [] => vec!["upper thread"],
            threads => threads.iter().map(String::as_str).collect(),
        };
        // What is shared alike, and what is told of each thread.
        let mut own: i128 = 0;
        let mut told = vec![0; names.len()];
        for segment in strip.runs.iter().flat_map(|run| &run.segments) {
            let size = design.sizes.iter().find(|size| size.id == segment.size);
            let Some((size, stitches)) = size.and_then(|size| Some((size, size.stitches?))) else {
                continue;
            };
            let part = |stitches: u64| {
                let stitches = i128::from(stitches) * i128::from(segment.repeats);
                crate::exact::round_half_up(stitches, size.repeats.into())
            };
            match &size.by_thread[..] {
                [] => own += part(stitches),
                each => {
                    for (told, stitches) in told.iter_mut().zip(each) {
                        *told += part(*stitches);
                    }
                }
            }
        }
        for (name, told) in names.iter().zip(told) {
            let count = i128::try_from(names.len()).unwrap_or(1);
            let share = Exact::new(own + told * count, count);
            let known = by_name.get(name).copied().unwrap_or(Exact::ZERO);
            if let Some(sum) = share.and_then(|share| add(known, share)) {
                by_name.insert(name, sum);
            }
        }
    }
    let bobbin = Exact::new(i128::from(all), 1).map(|all| ("bobbin thread", all));
    by_name.into_iter().chain(bobbin).collect()
}
