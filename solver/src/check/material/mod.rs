//! What a plan says of its cloths and of what is bought, worked out anew from the two documents: which pieces there have to be, how
//! they lie, what that takes, and what it costs.

mod list;
mod parts;
mod pieces;
mod plain;
mod stocks;
mod together;
mod used_up;
mod value;
mod wanted;

use std::collections::BTreeSet;

use super::place::Place;
use super::report::{Report, quoted};
use crate::job::ClothCuts;
use crate::length::Measure;
use crate::plan::Plan;
use crate::scenario::Scenario;
use stocks::Used;
pub use together::OrderCheck;
use wanted::Cloth;

/// Of a cloth with more kinds of pieces than this a plan may say nothing.
const MOST_KINDS: usize = 500;

/// Checks `cutting` and `materials`, where the plan has them.
pub(super) fn check(scenario: &Scenario, plan: &Plan, report: &mut Report) {
    if plan.cutting.is_none() && plan.materials.is_none() {
        return;
    }
    let Some(cuttings) = &plan.cutting else {
        report.broken(
            Place::of("materials"),
            "list-without-cutting",
            "The plan says what to buy, and not how it is cut; the one follows from the other.",
        );
        return;
    };
    let cloths = wanted::cloths(scenario, plan);
    let place = Place::of("cutting");
    let mut used: Vec<Option<Used>> = cloths.iter().map(|_| None).collect();
    for (index, cuts) in cuttings.iter().enumerate() {
        let place = place.at(index);
        let of = |cloth: &Cloth<'_>| cloth.material == cuts.material && cloth.name == cuts.cloth;
        let Some(which) = cloths.iter().position(of) else {
            report.broken(
                place.at("cloth"),
                "unknown-cloth",
                format_args!(
                    "The scenario has no cloth {} for this.",
                    quoted(&cuts.cloth)
                ),
            );
            continue;
        };
        if used[which].is_some() {
            report.broken(
                place.at("cloth"),
                "cloth-listed-twice",
                format_args!(
                    "The cloth {} is listed before; a plan lists each once.",
                    quoted(&cuts.cloth)
                ),
            );
            continue;
        }
        used[which] = Some(of_cloth(
            &cloths[which],
            scenario,
            plan,
            cuts,
            place,
            report,
        ));
    }
    for (cloth, used) in cloths.iter().zip(&used) {
        if used.is_none() && !may_be_left_out(cloth, plan) {
            report.broken(
                place,
                "cloth-missing",
                format_args!(
                    "Pieces are cut from the cloth {}, and the plan does not say how.",
                    quoted(cloth.name)
                ),
            );
        }
    }
    if let Some(materials) = &plan.materials {
        list::check(scenario, plan, &cloths, &used, materials, report);
    }
}

/// Checks how one cloth is cut. Answers with what is used of it.
fn of_cloth(
    cloth: &Cloth<'_>,
    scenario: &Scenario,
    plan: &Plan,
    cuts: &ClothCuts,
    place: Place<'_>,
    report: &mut Report,
) -> Used {
    let kinds = pieces::check(cloth, scenario, plan, cuts, place, report);
    stocks::check(cloth, &kinds, cuts, scenario.unit, place, report)
}

/// Whether a plan need not say how a cloth is cut: nothing can be cut, the pieces are too many, or what can be bought does not take
/// all of them and what is on hand may not be enough. But for the first it has to be told.
fn may_be_left_out(cloth: &Cloth<'_>, plan: &Plan) -> bool {
    if !cloth.has_stocks() || cloth.is_without_pieces() {
        return true;
    }
    let kinds: BTreeSet<_> = cloth.wanted.iter().map(|wanted| wanted.sides).collect();
    let bought = |wanted: &wanted::Wanted| cloth.fits_what_is_bought(wanted);
    // The parts of a strip fit the bolt that it is sewn from.
    let parts = cloth.long.iter().map(|long| long.fewest_parts());
    let parts = parts
        .map(|parts| parts.unwrap_or(MOST_KINDS + 1))
        .sum::<usize>();
    let few = kinds.len() + parts <= MOST_KINDS;
    let silent = cloth.wanted.iter().all(bought) && few;
    !silent && is_told(cloth, plan)
}

/// Whether one of the plan's warnings is about a cloth.
fn is_told(cloth: &Cloth<'_>, plan: &Plan) -> bool {
    let mut warnings = plan.warnings.iter();
    warnings.any(|warning| warning.contains(cloth.name))
}

/// Whether a printed number is `value / denominator`, give or take `tolerance / denominator`. The denominator is positive.
fn is_near(seen: &Measure, value: i128, denominator: i128, tolerance: i128) -> bool {
    let near = || {
        let seen = seen.exact().ok()?;
        let upper = seen.numerator().checked_mul(denominator)?;
        let apart = upper.checked_sub(value.checked_mul(seen.denominator())?)?;
        Some(apart.checked_abs()? <= tolerance.checked_mul(seen.denominator())?)
    };
    near().unwrap_or(false)
}

/// `value / denominator` as it is printed, however large.
fn shown(value: i128, denominator: i128) -> Measure {
    const LARGEST: i128 = 1_000_000_000_000_000_000_000_000;
    Measure::from_ratio(value.clamp(-LARGEST, LARGEST), denominator)
}
