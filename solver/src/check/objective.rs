//! The goal's terms: their values recomputed, and what the plan claims of them.

use super::covering::Covering;
use super::place::Place;
use super::report::{Report, TOLERANCE, quoted};
use super::roll::Roll;
use super::work::{PARTS_OF_A_MINUTE, Work};
use crate::exact::Exact;
use crate::length::{Length, Measure};
use crate::plan::{HoopingEntry, ObjectiveEntry, Plan, Status};
use crate::scenario::{Goal, Price, Scenario, Term};

/// Areas may differ by a millionth of their value or of a square unit, costs by a millionth.
const MILLION: i128 = 1_000_000;

/// The recomputed values of all terms: counts, nanometres, square nanometres, or parts of a minute; `None` where one of the strips or
/// hoopings behind it cannot be made out.
pub(super) struct Values {
    hoopings: Option<i128>,
    joints: Option<i128>,
    corner_mismatch: Option<i128>,
    stabilizer: Option<i128>,
    overhang: Option<i128>,
    hoop_changes: Option<i128>,
    minutes: Option<i128>,
}

impl Values {
    pub(super) fn of(
        scenario: &Scenario,
        plan: &Plan,
        roll: &Roll<'_>,
        coverings: &[Option<Covering<'_>>],
        corner_mismatch: Option<Length>,
        work: Option<&Work>,
    ) -> Values {
        let planned = || {
            let known = roll.planned.iter().zip(coverings);
            known.filter_map(|(strip, covering)| strip.map(|_| covering.as_ref()))
        };
        let area = |hooping: &HoopingEntry| {
            let hoop = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop)?;
            let side = |frame: Length| {
                i128::from(frame.nanometres())
                    + 2 * i128::from(scenario.materials.stabilizer.margin.nanometres())
            };
            Some(side(hoop.frame[0]) * side(hoop.frame[1]))
        };
        let changes = plan.hoopings.windows(2);
        let changes = changes.filter(|pair| pair[0].hoop != pair[1].hoop).count();
        Values {
            hoopings: i128::try_from(plan.hoopings.len()).ok(),
            joints: planned()
                .map(|covering| i128::try_from(covering?.runs.len() - 1).ok())
                .sum(),
            corner_mismatch: corner_mismatch.map(|sum| i128::from(sum.nanometres())),
            stabilizer: plan.hoopings.iter().map(area).sum(),
            overhang: planned()
                .map(|covering| Some(i128::from(covering?.overhang.nanometres())))
                .sum(),
            hoop_changes: i128::try_from(changes).ok(),
            minutes: work.and_then(Work::in_all),
        }
    }

    fn get(&self, term: Term) -> Option<i128> {
        match term {
            Term::Hoopings => self.hoopings,
            Term::Joints => self.joints,
            Term::CornerMismatch => self.corner_mismatch,
            Term::Stabilizer => self.stabilizer,
            Term::Overhang => self.overhang,
            Term::HoopChanges => self.hoop_changes,
            Term::Minutes => self.minutes,
        }
    }
}

/// Nanometres, to a power, or parts of a minute in one unit of the term.
fn unit_of(term: Term, nanometres: i128) -> i128 {
    match term {
        Term::Hoopings | Term::Joints | Term::HoopChanges => 1,
        Term::CornerMismatch | Term::Overhang => nanometres,
        Term::Stabilizer => nanometres * nanometres,
        Term::Minutes => PARTS_OF_A_MINUTE,
    }
}

/// A recomputed value in the plan's units, and how far the printed one may lie from it: both over one denominator.
struct Asked {
    value: i128,
    denominator: i128,
    tolerance: i128,
}

/// Checks `objective` and `status`.
pub(super) fn check(scenario: &Scenario, plan: &Plan, values: &Values, report: &mut Report) {
    let names: Vec<&str> = match &scenario.goal {
        Goal::Priorities(terms) => terms.iter().map(|term| term.name()).collect(),
        Goal::Prices(_) => vec!["cost"],
    };
    let seen: Vec<&str> = plan
        .objective
        .iter()
        .map(|entry| entry.term.as_str())
        .collect();
    let named_rightly = names == seen;
    if !named_rightly {
        let message = format!(
            "The goal has {} in this order; the objective does not list them so.",
            names.join(", ")
        );
        report.broken("/objective", "objective-terms", message);
    }
    let nanometres = i128::from(plan.unit.nanometres());
    let entries = Place::of("objective");
    for (index, entry) in plan.objective.iter().enumerate() {
        let place = entries.at(index);
        if named_rightly {
            let asked = match &scenario.goal {
                Goal::Priorities(terms) => term_value(terms[index], values, nanometres),
                Goal::Prices(prices) => {
                    let nanometres = i128::from(scenario.unit.nanometres());
                    match cost(prices, values, nanometres) {
                        Some(Ok(asked)) => Some(asked),
                        Some(Err(TooLarge)) => {
                            let message = "The cost of this plan is too large to be worked out.";
                            report.broken(place.at("value"), "unreadable-number", message);
                            None
                        }
                        None => None,
                    }
                }
            };
            if let Some(asked) = asked {
                check_value(entry, &asked, place, report);
            }
        }
        check_bound(entry, place, report);
    }
    let all_proven = plan.objective.iter().all(|entry| entry.proven);
    let asked = if all_proven {
        Status::Optimal
    } else {
        Status::Feasible
    };
    if plan.status != asked {
        let message = match asked {
            Status::Optimal => "All terms are proven, so the plan is optimal.",
            Status::Feasible => "Not all terms are proven, so the plan is feasible only.",
        };
        report.broken("/status", "wrong-status", message);
    }
}

fn term_value(term: Term, values: &Values, nanometres: i128) -> Option<Asked> {
    let value = values.get(term)?;
    let denominator = unit_of(term, nanometres);
    let tolerance = match term {
        Term::Hoopings | Term::Joints | Term::HoopChanges | Term::Minutes => 0,
        Term::CornerMismatch | Term::Overhang => i128::from(TOLERANCE.nanometres()),
        Term::Stabilizer => value.max(denominator) / MILLION,
    };
    Some(Asked {
        value,
        denominator,
        tolerance,
    })
}

/// The total is beyond 128 bits: only hoops of 100 m at prices of many digits come near it.
struct TooLarge;

/// The total cost, exact; `None` where a term of it cannot be made out.
fn cost(prices: &[Price], values: &Values, nanometres: i128) -> Option<Result<Asked, TooLarge>> {
    // One denominator for all: a millionth of a price, a square nanometre.
    let square = nanometres * nanometres;
    let mut total = Some(0_i128);
    for price in prices {
        let value = values.get(price.term)?;
        let add = || {
            let millionths = price.each.times_rounded(MILLION)?;
            let scale = square / unit_of(price.term, nanometres);
            millionths.checked_mul(value)?.checked_mul(scale)
        };
        total = total.and_then(|total| total.checked_add(add()?));
    }
    Some(total.map_or(Err(TooLarge), |value| {
        Ok(Asked {
            value,
            denominator: MILLION * square,
            tolerance: square,
        })
    }))
}

fn check_value(entry: &ObjectiveEntry, asked: &Asked, place: Place<'_>, report: &mut Report) {
    let exact = Measure::from_ratio(asked.value, asked.denominator);
    // Numbers beyond 18 digits cannot be read exactly; printed by the same rule they are the same.
    if entry.value == exact {
        return;
    }
    let close = entry.value.exact().ok().and_then(|seen| {
        let seen_upper = seen.numerator().checked_mul(asked.denominator)?;
        let asked_upper = asked.value.checked_mul(seen.denominator())?;
        let difference = seen_upper.checked_sub(asked_upper)?.checked_abs()?;
        Some(difference <= asked.tolerance.checked_mul(seen.denominator())?)
    });
    if close != Some(true) {
        let message = format!(
            "The value of {} is printed as {}; it is {exact}.",
            quoted(&entry.term),
            entry.value
        );
        report.broken(place.at("value"), "wrong-objective-value", message);
    }
}

/// A bound is at most the value, and equal to it just where the term is proven.
fn check_bound(entry: &ObjectiveEntry, place: Place<'_>, report: &mut Report) {
    let numbers: (Option<Exact>, Option<Exact>) =
        (entry.value.exact().ok(), entry.bound.exact().ok());
    let equal = match numbers {
        (Some(value), Some(bound)) => {
            if bound > value {
                let message = format!(
                    "The bound {} is above the value {}; no plan beats a bound.",
                    entry.bound, entry.value
                );
                report.broken(place.at("bound"), "bound-above-value", message);
                return;
            }
            bound == value
        }
        _ => entry.value == entry.bound,
    };
    if entry.proven != equal {
        let message = if equal {
            "Value and bound are equal, so the term is proven."
        } else {
            "Value and bound differ, so the term is not proven."
        };
        report.broken(place.at("proven"), "wrongly-proven", message);
    }
}
