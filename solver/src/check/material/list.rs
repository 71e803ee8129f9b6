//! The shopping list: what is bought of each cloth, of tape and of thread, and what it costs.

use super::stocks::Used;
use super::wanted::Cloth;
use super::{is_near, shown, used_up};
use crate::check::place::Place;
use crate::check::report::{Report, TOLERANCE, quoted};
use crate::exact::Exact;
use crate::job::{Material, Materials, Purchase, PurchaseUnit};
use crate::length::{Length, Measure, Unit};
use crate::plan::Plan;
use crate::scenario::{Scenario, Stocks};

/// Prices have four decimals at most.
const PARTS: i128 = 10_000;
/// Printed prices and amounts may differ by a millionth.
const MILLION: i128 = 1_000_000;

/// A line that has to be there.
pub(super) struct Line<'a> {
    pub(super) material: Material,
    pub(super) name: &'a str,
    pub(super) stock: Option<&'a str>,
    /// Width of a bolt, or both sides of a sheet.
    pub(super) size: Vec<Length>,
    pub(super) amount: Amount,
    pub(super) price_each: Option<Exact>,
}

/// How much is needed.
#[derive(Clone, Copy)]
pub(super) enum Amount {
    /// So many, sold by the piece.
    Count(i128),
    /// So many nanometres, sold by the yard or metre.
    Length(i128),
    /// So many nanometres, sold in rolls or spools of so many.
    Rolls(i128, i128),
}

impl Amount {
    /// What it is printed as, over what, and how far it may be off.
    fn needed(self, unit: Unit) -> (i128, i128, i128) {
        match self {
            Amount::Count(count) => (count, 1, 0),
            Amount::Length(long) | Amount::Rolls(long, _) => (
                long,
                i128::from(unit.nanometres()),
                i128::from(TOLERANCE.nanometres()),
            ),
        }
    }

    /// What is bought: so many of the parts that a unit has, the least that is enough.
    fn bought(self, unit: Unit) -> (i128, i128, PurchaseUnit) {
        let enough = |needed: i128, each: i128| -(-needed).div_euclid(each.max(1));
        match self {
            Amount::Count(count) => (count, 1, PurchaseUnit::Piece),
            Amount::Rolls(long, roll) => (enough(long, roll), 1, PurchaseUnit::Piece),
            Amount::Length(long) => {
                // Yards are cut to the next eighth, metres to the next tenth (common practice).
                let (parts, sold) = match unit {
                    Unit::Inch => (8, PurchaseUnit::Yard),
                    Unit::Millimetre => (10, PurchaseUnit::Metre),
                };
                let whole = i128::from(unit.yard_or_metre());
                (enough(long.saturating_mul(parts), whole), parts, sold)
            }
        }
    }
}

/// Checks the shopping list. `used` tells what is cut of each cloth, where the plan says so.
pub(super) fn check(
    scenario: &Scenario,
    plan: &Plan,
    cloths: &[Cloth<'_>],
    used: &[Option<Used>],
    materials: &Materials,
    report: &mut Report,
) {
    let mut lines: Vec<Line<'_>> = Vec::new();
    for (cloth, used) in cloths.iter().zip(used) {
        if let Some(used) = used {
            lines.extend(of_cloth(cloth.material, cloth.name, &cloth.stocks, used));
        }
    }
    lines.extend(used_up::tape(scenario, plan));
    lines.extend(used_up::threads(scenario, plan));
    check_lines(&lines, materials, scenario.unit, report);
}

/// Checks that the list has these lines and no others, and their sum.
pub(super) fn check_lines(
    lines: &[Line<'_>],
    materials: &Materials,
    unit: Unit,
    report: &mut Report,
) {
    let root = Place::of("materials");
    let place = root.at("purchases");
    let mut seen = vec![false; lines.len()];
    for (index, purchase) in materials.purchases.iter().enumerate() {
        let place = place.at(index);
        let found = lines.iter().zip(&seen).position(|(line, seen)| {
            let (_, _, sold) = line.amount.bought(unit);
            let same = line.material == purchase.material && line.name == purchase.name;
            let kind = line.stock.is_none()
                || (sold == PurchaseUnit::Piece) == (purchase.unit == PurchaseUnit::Piece);
            same && kind && line.stock == purchase.stock.as_deref() && !seen
        });
        match found {
            Some(which) => {
                seen[which] = true;
                check_line(&lines[which], purchase, unit, place, report);
            }
            None => report.broken(
                place,
                "needless-purchase",
                format_args!(
                    "Nothing, or nothing further, is needed of {} ({}).",
                    quoted(&purchase.name),
                    quoted(purchase.stock.as_deref().unwrap_or_default())
                ),
            ),
        }
    }
    for (line, seen) in lines.iter().zip(&seen) {
        if !seen {
            report.broken(
                place,
                "purchase-missing",
                format_args!(
                    "The list says nothing of {} ({}), and it is needed.",
                    quoted(line.name),
                    quoted(line.stock.unwrap_or_default())
                ),
            );
        }
    }
    check_total(materials, root, report);
}

/// What is bought of a cloth.
pub(super) fn of_cloth<'c>(
    material: Material,
    name: &'c str,
    stocks: &'c Stocks,
    used: &Used,
) -> Vec<Line<'c>> {
    let line = |stock: &'c str, size: Vec<Length>, amount: Amount, price_each| Line {
        material,
        name,
        stock: Some(stock),
        size,
        amount,
        price_each,
    };
    let sheets = stocks.sheets.iter().zip(&used.sheets);
    let sheets = sheets
        .filter(|(_, count)| **count > 0)
        .map(|(sheet, count)| {
            line(
                &sheet.id,
                sheet.size.to_vec(),
                Amount::Count(*count),
                sheet.price,
            )
        });
    let bolts = stocks.bolts.iter().zip(&used.bolts);
    let bolts = bolts.filter(|(_, long)| **long > 0).map(|(bolt, long)| {
        line(
            &bolt.id,
            vec![bolt.width],
            Amount::Length(*long),
            bolt.price,
        )
    });
    sheets.chain(bolts).collect()
}

fn check_line(
    line: &Line<'_>,
    purchase: &Purchase,
    unit: Unit,
    place: Place<'_>,
    report: &mut Report,
) {
    let name = quoted(&purchase.name);
    if purchase.size.len() == line.size.len() {
        for (side, (printed, exact)) in purchase.size.iter().zip(&line.size).enumerate() {
            report.compare(
                place.at("size").at(side),
                "wrong-purchase-size",
                format_args!("The size of what is bought of {name}"),
                printed,
                *exact,
            );
        }
    } else {
        report.broken(
            place,
            "wrong-purchase-size",
            format_args!(
                "The size of what is bought of {name} has {} numbers.",
                line.size.len()
            ),
        );
    }
    let needed = line.amount.needed(unit);
    check_number(purchase, "needed", &purchase.needed, needed, place, report);
    let (count, parts, sold) = line.amount.bought(unit);
    check_number(
        purchase,
        "buy",
        &purchase.buy,
        (count, parts, 0),
        place,
        report,
    );
    let each = line.price_each.and_then(|price| price.times_rounded(PARTS));
    let prices = [
        (
            "price_each",
            &purchase.price_each,
            each.map(|each| (each, PARTS)),
        ),
        (
            "price",
            &purchase.price,
            each.map(|each| (each.saturating_mul(count), PARTS * parts)),
        ),
    ];
    for (field, seen, asked) in prices {
        match (seen, asked) {
            (Some(seen), Some((value, denominator))) => {
                let asked = (value, denominator, denominator / MILLION);
                check_number(purchase, field, seen, asked, place, report);
            }
            (None, None) => {}
            (seen, _) => report_price(seen.is_some(), field, name, place, report),
        }
    }
    if purchase.unit != sold {
        report.broken(
            place.at("unit"),
            "wrong-unit-of-sale",
            format_args!("{name} is not sold in this unit."),
        );
    }
}

/// Compares a printed number with `(value, denominator, tolerance)`.
fn check_number(
    purchase: &Purchase,
    field: &'static str,
    seen: &Measure,
    (value, denominator, tolerance): (i128, i128, i128),
    place: Place<'_>,
    report: &mut Report,
) {
    if is_near(seen, value, denominator, tolerance) {
        return;
    }
    let rule = match field {
        "needed" => "wrong-needed",
        "buy" => "wrong-buy",
        _ => "wrong-price",
    };
    report.broken(
        place.at(field),
        rule,
        format_args!(
            "Of {}, \"{field}\" is printed as {seen}; it is {}.",
            quoted(&purchase.name),
            shown(value, denominator)
        ),
    );
}

fn report_price(
    told: bool,
    field: &'static str,
    name: impl std::fmt::Display,
    place: Place<'_>,
    report: &mut Report,
) {
    if told {
        let message = format!("The scenario tells no price of {name}, and the list does.");
        report.broken(place.at(field), "wrong-price", message);
    } else {
        let message = format!("The scenario tells the price of {name}; \"{field}\" is missing.");
        report.broken(place, "wrong-price", message);
    }
}

/// The price of all is told just where every line has one, and is their sum.
fn check_total(materials: &Materials, root: Place<'_>, report: &mut Report) {
    let prices = materials.purchases.iter().map(|purchase| {
        let price = purchase.price.as_ref()?.exact().ok()?;
        price.times_rounded(MILLION * MILLION)
    });
    let all = prices.collect::<Option<Vec<i128>>>();
    let sum = all
        .filter(|prices| !prices.is_empty())
        .map(|prices| prices.into_iter().fold(0, i128::saturating_add));
    let denominator = MILLION * MILLION;
    match (&materials.price, sum) {
        (Some(seen), Some(sum)) if is_near(seen, sum, denominator, MILLION) => {}
        (None, None) => {}
        (Some(seen), Some(sum)) => report.broken(
            root.at("price"),
            "wrong-total-price",
            format_args!(
                "The price of all is printed as {seen}; it is {}.",
                shown(sum, denominator)
            ),
        ),
        (Some(_), None) => report.broken(
            root.at("price"),
            "wrong-total-price",
            "Not all that is bought has a price, so there is none of all.",
        ),
        (None, Some(_)) => report.broken(
            root,
            "wrong-total-price",
            "All that is bought has a price, and the price of all is missing.",
        ),
    }
}
