//! What a cutting comes to: a length, or a price where all that can be bought has one.

use super::stocks::Used;
use super::{is_near, shown};
use crate::check::place::Place;
use crate::check::report::{Report, TOLERANCE};
use crate::exact::Exact;
use crate::job::ClothCuts;
use crate::length::Unit;
use crate::scenario::Stocks;

/// Prices have four decimals at most.
const PARTS: i128 = 10_000;
/// A cost may differ by a millionth.
const MILLION: i128 = 1_000_000;

/// A price in parts; 0 where there is none.
fn parts(price: Option<Exact>) -> i128 {
    let parts = price.and_then(|price| price.times_rounded(PARTS));
    parts.unwrap_or(0)
}

/// Checks what counts, the value, and what is claimed of it.
pub(super) fn check(
    stocks: &Stocks,
    used: &Used,
    cuts: &ClothCuts,
    unit: Unit,
    place: Place<'_>,
    report: &mut Report,
) {
    let prices = stocks.bolts.iter().map(|bolt| bolt.price);
    let mut prices = prices.chain(stocks.sheets.iter().map(|sheet| sheet.price));
    // What is free is counted by its length.
    let priced = prices.all(|price| price.is_some_and(|price| price > Exact::ZERO));
    let counts = if priced { "price" } else { "length" };
    if cuts.counts != counts {
        let message = format!("What counts of this cloth is its {counts}.");
        report.broken(place.at("counts"), "wrong-counts", message);
    }
    let bolts = || stocks.bolts.iter().zip(&used.bolts);
    let sheets = || stocks.sheets.iter().zip(&used.sheets);
    let all = |costs: &mut dyn Iterator<Item = i128>| costs.fold(0, i128::saturating_add);
    let (value, denominator, tolerance) = if priced {
        let yard = i128::from(unit.yard_or_metre());
        let of_bolts = all(&mut bolts().map(|(bolt, long)| long.saturating_mul(parts(bolt.price))));
        let of_sheets = all(
            &mut sheets().map(|(sheet, count)| count.saturating_mul(parts(sheet.price) * yard))
        );
        let denominator = PARTS * yard;
        let value = of_bolts.saturating_add(of_sheets);
        (value, denominator, denominator / MILLION)
    } else {
        let of_bolts = all(&mut used.bolts.iter().copied());
        let of_sheets = all(&mut sheets()
            .map(|(sheet, count)| count.saturating_mul(i128::from(sheet.size[0].nanometres()))));
        let value = of_bolts.saturating_add(of_sheets);
        let tolerance = i128::from(TOLERANCE.nanometres());
        (value, i128::from(unit.nanometres()), tolerance)
    };
    if !is_near(&cuts.value, value, denominator, tolerance) {
        let asked = shown(value, denominator);
        report.broken(
            place.at("value"),
            "wrong-cutting-value",
            format_args!("The value is printed as {}; it is {asked}.", cuts.value),
        );
    }
    check_bound(cuts, place, report);
}

/// A bound is at most the value, and equal to it just where the cutting is proven. That it holds cannot be checked.
fn check_bound(cuts: &ClothCuts, place: Place<'_>, report: &mut Report) {
    let (Ok(value), Ok(bound)) = (cuts.value.exact(), cuts.bound.exact()) else {
        report.broken(
            place.at("bound"),
            "unreadable-number",
            format_args!("The number {} or the value is far too large.", cuts.bound),
        );
        return;
    };
    if bound > value || bound < Exact::ZERO {
        report.broken(
            place.at("bound"),
            "bound-above-value",
            format_args!(
                "The bound is {}; it lies from 0 to the value, {}.",
                cuts.bound, cuts.value
            ),
        );
    } else if cuts.proven != (bound == value) {
        let message = if cuts.proven {
            "Value and bound differ, so the cutting is not proven."
        } else {
            "Value and bound are equal, so the cutting is proven."
        };
        report.broken(place.at("proven"), "wrongly-proven", message);
    }
}
