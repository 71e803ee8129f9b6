//! What follows from the rows: the fewest hoops that are enough, and what each one brings.

use crate::compare::rows::{Bench, Known};
use crate::compare::sets::{HoopSet, MOST_FOR_EVERY_SET, of_size};
use crate::compare::words;
use crate::compare::{ComparisonRow, Difference, Fewest, Reason, Saving, Verdict};
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::Measure;
use crate::plan::ObjectiveEntry;
use crate::planner::NoPlan;
use crate::scenario::Goal;

/// The smallest sets that reach what all owned hoops reach.
pub struct FewestSets {
    /// The sets, the one with the smallest fields first; at least one.
    pub sets: Vec<HoopSet>,
    /// Whether it is proven that no set of fewer hoops does.
    pub proven: bool,
}

/// The value of a plan's first term.
fn first(known: &Known) -> Option<&ObjectiveEntry> {
    known.objective.first()
}

/// Looks for the fewest hoops that take the strips that all owned ones take, and reach the same value of the goal's first term.
///
/// # Errors
/// The solve was told to stop, or a plan broke a rule.
pub fn fewest(bench: &mut Bench<'_>, deadline: &Deadline) -> Result<Option<FewestSets>, NoPlan> {
    let owned = bench.scenario.hoops.len();
    let all: HoopSet = (0..owned).collect();
    let Some(best) = bench.known(&all).cloned() else {
        return Ok(None);
    };
    let Some(aim) = first(&best).cloned() else {
        return Ok(None);
    };
    let mut quick = bench.scenario.clone();
    if let Goal::Priorities(terms) = &mut quick.goal {
        terms.truncate(1);
    }
    let mut quick = Bench::new(&quick, deadline);
    let mut proven = aim.proven;
    for size in 1..best.used.len() + usize::from(owned <= MOST_FOR_EVERY_SET) {
        let sets = if owned <= MOST_FOR_EVERY_SET {
            of_size(owned, size)
        } else if size == 1 {
            (0..owned).map(|hoop| vec![hoop]).collect()
        } else {
            // Too many to look at.
            proven = false;
            break;
        };
        let unknown = sets.iter().filter(|set| bench.known(set).is_none());
        let half = deadline.at_most(deadline.left() / 2);
        quick.plan(unknown, &half)?;
        let mut reach = Vec::new();
        for set in sets {
            let known = bench.known(&set).or_else(|| quick.known(&set));
            match known.map(|known| reaches(known, &best, &aim)) {
                Some(Some(true)) => reach.push(set),
                Some(Some(false)) => {}
                Some(None) | None => proven = false,
            }
        }
        if !reach.is_empty() {
            // Those of this size that are not known to reach it are no smaller sets.
            let smaller = if size == best.used.len() || aim.proven {
                proven_below(bench, &quick, owned, size, &best, &aim)
            } else {
                false
            };
            reach.sort_by_key(|set| (bench.fields(set), set.clone()));
            return Ok(Some(FewestSets {
                sets: reach,
                proven: aim.proven && smaller,
            }));
        }
    }
    let sets = vec![best.used.clone()];
    Ok(Some(FewestSets { sets, proven }))
}

/// Whether every set of fewer hoops is proven not to be enough.
fn proven_below(
    bench: &Bench<'_>,
    quick: &Bench<'_>,
    owned: usize,
    size: usize,
    best: &Known,
    aim: &ObjectiveEntry,
) -> bool {
    (1..size).flat_map(|size| of_size(owned, size)).all(|set| {
        let known = bench.known(&set).or_else(|| quick.known(&set));
        known.is_some_and(|known| reaches(known, best, aim) == Some(false))
    })
}

/// Whether a set is as good as all owned hoops; `None` where that is not known.
fn reaches(known: &Known, best: &Known, aim: &ObjectiveEntry) -> Option<bool> {
    if known.wishes_fail || known.left_out() > best.left_out() {
        return Some(false);
    }
    let entry = first(known)?;
    let (value, bound) = (entry.value.exact().ok()?, entry.bound.exact().ok()?);
    let aim = aim.value.exact().ok()?;
    if value <= aim {
        Some(true)
    } else if bound > aim {
        Some(false)
    } else {
        None
    }
}

/// The verdict on rows that have been planned.
pub fn of(bench: &Bench<'_>, rows: &[ComparisonRow], fewest: Option<FewestSets>) -> Verdict {
    let owned = bench.scenario.hoops.len();
    let all: HoopSet = (0..owned).collect();
    let Some(best) = bench.known(&all) else {
        return Verdict {
            sentences: Vec::new(),
            fewest: None,
            brings: Vec::new(),
            would_bring: Vec::new(),
        };
    };
    let without =
        |hoop: usize| -> HoopSet { all.iter().copied().filter(|other| *other != hoop).collect() };
    let brings = (0..owned).filter_map(|hoop| {
        let known = bench.known(&without(hoop))?;
        Some(difference(bench, hoop, known, best))
    });
    let candidates = owned..owned + bench.scenario.candidates.len();
    let would_bring = candidates.filter_map(|hoop| {
        let with: HoopSet = all.iter().copied().chain([hoop]).collect();
        Some(difference(bench, hoop, best, bench.known(&with)?))
    });
    let fewest = fewest.and_then(|fewest| {
        let value = first(best)?.value.clone();
        let mut ids = fewest.sets.iter().map(|set| bench.ids(set));
        Some(Fewest {
            hoops: ids.next()?,
            others: ids.collect(),
            value,
            proven: fewest.proven,
        })
    });
    let mut verdict = Verdict {
        sentences: Vec::new(),
        fewest,
        brings: brings.collect(),
        would_bring: would_bring.collect(),
    };
    let all_row = rows.iter().find(|row| row.reason == Reason::AllOwned);
    if let Some(all_row) = all_row {
        verdict.sentences = words::sentences(bench.scenario, rows, all_row, &verdict);
    }
    verdict
}

/// What a hoop brings: the plan with it against the one without.
fn difference(bench: &Bench<'_>, hoop: usize, without: &Known, with: &Known) -> Difference {
    let id = bench.ids(&vec![hoop]).remove(0);
    let wishes_fail = without.wishes_fail && !with.wishes_fail;
    // Where wishes fail nothing is planned, and the strips that stand in the way are not all.
    let planned = !without.wishes_fail && !with.wishes_fail;
    let strips = if planned {
        without.left_out().saturating_sub(with.left_out())
    } else {
        0
    };
    let pairs = without.objective.iter().zip(&with.objective);
    let comparable = planned && without.left_out() == with.left_out();
    let saves: Vec<Saving> = pairs
        .filter(|_| comparable)
        .filter_map(|(without, with)| {
            Some(Saving {
                term: with.term.clone(),
                less: less(without.value.exact().ok()?, with.value.exact().ok()?)?,
            })
        })
        .collect();
    Difference {
        hoop: id,
        strips,
        wishes_fail,
        saves,
        proven: without.proven() && with.proven(),
    }
}

/// How much less the second number is.
pub fn less(first: Exact, second: Exact) -> Option<Measure> {
    let lower = first.denominator().checked_mul(second.denominator())?;
    let upper = first
        .numerator()
        .checked_mul(second.denominator())?
        .checked_sub(second.numerator().checked_mul(first.denominator())?)?;
    Some(Measure::from_ratio(upper, lower))
}
