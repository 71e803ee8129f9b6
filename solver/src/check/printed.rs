//! The printed numbers of each strip, against the recomputed ones.

use super::covering::Covering;
use super::report::{Report, quoted};
use crate::exact::Exact;
use crate::length::{Length, Measure};
use crate::plan::{Plan, StripEntry};
use crate::scenario::{Align, Scenario};

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
    strip: &super::geometry::Strip,
    entry: &StripEntry,
    pointer: &str,
    report: &mut Report,
) {
    let name = quoted(&strip.id);
    let what = |of: &str| format!("The finished {of} of the strip {name}");
    let at = |field: &str| format!("{pointer}/{field}");
    report.compare(
        at("length"),
        "wrong-length",
        what("length"),
        &entry.length,
        strip.length,
    );
    report.compare(
        at("width"),
        "wrong-width",
        what("width"),
        &entry.width,
        strip.width,
    );
    let design = scenario.designs.get(strip.design);
    if let Some(design) = design
        && design.id != entry.design
    {
        let message = format!(
            "The strip {name} has the design {} in the plan; it is to have {}.",
            quoted(&entry.design),
            quoted(&design.id)
        );
        report.broken(at("design"), "wrong-design", message);
    }
}

/// Checks the numbers that follow from a strip's covering.
pub(super) fn check_covering(
    scenario: &Scenario,
    covering: &Covering<'_>,
    entry: &StripEntry,
    pointer: &str,
    report: &mut Report,
) {
    let name = quoted(&covering.strip.id);
    let at = |field: &str| format!("{pointer}/{field}");
    report.compare(
        at("overhang"),
        "wrong-overhang",
        format_args!("The overhang of the strip {name}"),
        &entry.overhang,
        covering.overhang,
    );
    check_scale(covering, &entry.scale, at("scale"), report);
    let strip = covering.strip;
    let seams = scenario.allowances.seam * 2;
    let reach = (scenario.allowances.seam + scenario.allowances.trim) * 2;
    let sizes: [(&'static str, &'static str, &[Measure; 2], [Length; 2]); 2] = [
        (
            "trimmed",
            "wrong-trimmed",
            &entry.trimmed,
            [strip.length + seams, strip.width + seams],
        ),
        (
            "cut",
            "wrong-cut",
            &entry.cut,
            [covering.stitched() + reach, strip.width + reach],
        ),
    ];
    for (field, rule, printed, exact) in sizes {
        for (side, word) in ["length", "width"].into_iter().enumerate() {
            let what = format!("The {field} {word} of the strip {name}");
            let pointer = format!("{pointer}/{field}/{side}");
            report.compare(pointer, rule, &what, &printed[side], exact[side]);
        }
    }
    // Doubled, as half of the overhang may be half a nanometre.
    let mut twice_from = match scenario.rules.align {
        Align::Centred => -i128::from(covering.overhang.nanometres()),
        Align::Start => 0,
    };
    for (index, (run, printed)) in covering.runs.iter().zip(&entry.runs).enumerate() {
        let twice_to = twice_from + 2 * i128::from(run.length.nanometres());
        let place = |field: &str| format!("{pointer}/runs/{index}/{field}");
        let what = |end: &str| format!("Where run {} of the strip {name} {end}", index + 1);
        report.compare_half(
            place("from"),
            "wrong-from",
            what("begins"),
            &printed.from,
            twice_from,
        );
        report.compare_half(place("to"), "wrong-to", what("ends"), &printed.to, twice_to);
        twice_from = twice_to;
    }
}

fn check_scale(covering: &Covering<'_>, printed: &Measure, pointer: String, report: &mut Report) {
    let scale = covering.scale();
    let Ok(seen) = printed.exact() else {
        let message = format!("The number {printed} is far too large for a scale.");
        report.broken(pointer, "unreadable-number", message);
        return;
    };
    if !near(seen, scale, SCALE_PARTS) {
        let asked = Measure::from_ratio(scale.numerator(), scale.denominator());
        let message = format!(
            "The scale of the strip {} is printed as {printed}; it is {asked}.",
            quoted(&covering.strip.id)
        );
        report.broken(pointer, "wrong-scale", message);
    }
}

/// Whether two numbers differ by at most one part in `parts`. Printed parts stay within 10^18 and those of a scale
/// within 10^12, so nothing here exceeds 10^34.
fn near(seen: Exact, exact: Exact, parts: i128) -> bool {
    let difference =
        seen.numerator() * exact.denominator() - exact.numerator() * seen.denominator();
    difference.abs() * parts <= seen.denominator() * exact.denominator()
}
