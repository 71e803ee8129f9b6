//! The printed numbers of each strip, against the recomputed ones.

use super::covering::Covering;
use super::geometry::Strip;
use super::place::Place;
use super::report::{Report, quoted};
use crate::exact::Exact;
use crate::length::{Length, Measure};
use crate::plan::{Plan, StripEntry};
use crate::scenario::{Align, Scenario};
use crate::strips::End;

/// A printed scale is for information, so three decimals of it suffice: it may be off by one part in 2000.
const SCALE_PARTS: i128 = 2000;

/// Checks the head of the plan: version, name and unit.
pub(super) fn check_head(scenario: &Scenario, plan: &Plan, report: &mut Report) {
    if plan.format != 1 {
        let message = format!("The plan's format is {}; it is 1.", plan.format);
        report.broken("/format", "wrong-format", message);
    }
    if plan.scenario != scenario.name {
        let message = format!(
            "The plan is for the scenario {}; this one is {}.",
            quoted(&plan.scenario),
            quoted(&scenario.name)
        );
        report.broken("/scenario", "wrong-scenario", message);
    }
    if plan.unit != scenario.unit {
        let message = format!(
            "The plan prints lengths in {}; the scenario's unit is {}.",
            plan.unit.symbol(),
            scenario.unit.symbol()
        );
        report.broken("/unit", "wrong-unit", message);
    }
}

/// Checks what an entry says of its strip before it comes to the runs.
pub(super) fn check_strip(
    scenario: &Scenario,
    strip: &Strip,
    entry: &StripEntry,
    place: Place<'_>,
    report: &mut Report,
) {
    let name = quoted(&strip.id);
    report.compare(
        place.at("length"),
        "wrong-length",
        format_args!("The finished length of the strip {name}"),
        &entry.length,
        strip.length,
    );
    report.compare(
        place.at("width"),
        "wrong-width",
        format_args!("The finished width of the strip {name}"),
        &entry.width,
        strip.width,
    );
    let design = scenario.designs.get(strip.design);
    if let Some(design) = design
        && design.id != entry.design
    {
        report.broken(
            place.at("design"),
            "wrong-design",
            format_args!(
                "The strip {name} has the design {} in the plan; it is to have {}.",
                quoted(&entry.design),
                quoted(&design.id)
            ),
        );
    }
}

/// Checks the numbers that follow from a strip's covering.
pub(super) fn check_covering(
    scenario: &Scenario,
    covering: &Covering<'_>,
    entry: &StripEntry,
    place: Place<'_>,
    report: &mut Report,
) {
    let name = quoted(&covering.strip.id);
    report.compare(
        place.at("overhang"),
        "wrong-overhang",
        format_args!("The overhang of the strip {name}"),
        &entry.overhang,
        covering.overhang,
    );
    check_scale(covering, &entry.scale, place.at("scale"), report);
    let strip = covering.strip;
    let seam = scenario.allowances.seam;
    let reach = seam + scenario.allowances.trim;
    // The rest of a strip has a seam at one end only.
    let ends = if strip.rest.is_some() { 1 } else { 2 };
    let trimmed = [strip.length + seam * ends, strip.width + seam * 2];
    let needed = i128::from((covering.stitched() + reach * ends).nanometres());
    // Of what is cut so many per cent are lost.
    let take_up = scenario.allowances.take_up;
    let kept = 100 * take_up.denominator() - take_up.numerator();
    let cut = (needed * 100 * take_up.denominator() + kept - 1) / kept;
    let cut = Length::from_nanometres(i64::try_from(cut).unwrap_or(i64::MAX));
    let cut = [cut, strip.width + reach * 2];
    for (field, rule, printed, exact) in [
        ("trimmed", "wrong-trimmed", &entry.trimmed, trimmed),
        ("cut", "wrong-cut", &entry.cut, cut),
    ] {
        for (side, word) in ["length", "width"].into_iter().enumerate() {
            report.compare(
                place.at(field).at(side),
                rule,
                format_args!("The {field} {word} of the strip {name}"),
                &printed[side],
                exact[side],
            );
        }
    }
    // Doubled, as half of the overhang may be half a nanometre.
    let overhang = i128::from(covering.overhang.nanometres());
    let mut twice_from = match (strip.rest.map(|rest| rest.butts), scenario.rules.align) {
        (Some(End::End), _) => -2 * overhang,
        (Some(End::Start), _) | (None, Align::Start) => 0,
        (None, Align::Centred) => -overhang,
    };
    let runs = place.at("runs");
    for (index, (run, printed)) in covering.runs.iter().zip(&entry.runs).enumerate() {
        let twice_to = twice_from + 2 * i128::from(run.length.nanometres());
        let (place, number) = (runs.at(index), index + 1);
        report.compare_half(
            place.at("from"),
            "wrong-from",
            format_args!("Where run {number} of the strip {name} begins"),
            &printed.from,
            twice_from,
        );
        report.compare_half(
            place.at("to"),
            "wrong-to",
            format_args!("Where run {number} of the strip {name} ends"),
            &printed.to,
            twice_to,
        );
        twice_from = twice_to;
    }
}

fn check_scale(covering: &Covering<'_>, printed: &Measure, place: Place<'_>, report: &mut Report) {
    let scale = covering.scale();
    let Ok(seen) = printed.exact() else {
        report.broken(
            place,
            "unreadable-number",
            format_args!("The number {printed} is far too large for a scale."),
        );
        return;
    };
    if !near(seen, scale, SCALE_PARTS) {
        let asked = Measure::from_ratio(scale.numerator(), scale.denominator());
        report.broken(
            place,
            "wrong-scale",
            format_args!(
                "The scale of the strip {} is printed as {printed}; it is {asked}.",
                quoted(&covering.strip.id)
            ),
        );
    }
}

/// Whether two numbers differ by at most one part in `parts`. Printed parts stay within 10^18 and those of a scale
/// within 10^12, so nothing here exceeds 10^34.
fn near(seen: Exact, exact: Exact, parts: i128) -> bool {
    let difference =
        seen.numerator() * exact.denominator() - exact.numerator() * seen.denominator();
    difference.abs() * parts <= seen.denominator() * exact.denominator()
}
