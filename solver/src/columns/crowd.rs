//! What numbers of hoopings and runs cannot be dealt out, since two runs of one strip never share a hooping.
//!
//! The master program counts places and runs, whose strips it does not know. Give each run of a class a worth: then one
//! hooping can hold at most what the best choice of runs for its places is worth, with no more runs of a class than it
//! has strips; and all hoopings together have to hold what all runs are worth. A point that breaks this for some worths is
//! cut off by them. The worths come from a linear program (Benders decomposition: Benders, Numerische Mathematik 4 (1962)
//! 238–252, from memory); the cut holds for any.

use std::collections::BTreeMap;

use crate::columns::restricted::Restricted;
use crate::deadline::Deadline;
use crate::hooping::pattern::Pattern;
use crate::linear::{Outcome, Simplex};
use crate::program::Sense;

/// The largest worth of a run.
const LARGEST: f64 = 720.0;
/// Hoopings with more places than this are judged place by place.
const MOST_PLACES: usize = 10;
/// Values smaller than this are nothing.
const NOTHING: f64 = 1e-7;

/// A run that has a worth: of a class whose strips are split, or of any strip in one run.
type Sort = (Option<usize>, usize);

/// What runs are worth, by class (none for strips in one run) and kind.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Worths(BTreeMap<Sort, i64>);

/// A row that every point that can be dealt out fulfils: Σ coefficient · column ≥ least.
#[derive(Clone, Debug)]
pub struct Cut {
    /// Column and coefficient.
    pub terms: Vec<(usize, i64)>,
    /// The right-hand side.
    pub least: i64,
}

impl Worths {
    /// The cut over the columns of a program.
    pub fn cut(&self, of: &Restricted<'_, '_>) -> Cut {
        let mut terms = Vec::new();
        for column in &of.hoopings {
            terms.push((column.column, self.of_pattern(of, &column.pattern)));
        }
        for column in &of.covers {
            let kinds = of.run_kinds(column.class, &column.cover);
            let sum: i64 = kinds
                .iter()
                .map(|kind| {
                    self.0
                        .get(&sort(column.class, &kinds, *kind))
                        .copied()
                        .unwrap_or(0)
                })
                .sum();
            terms.push((column.column, -sum * of.strips_each(column.class)));
        }
        terms.retain(|(_, value)| *value != 0);
        Cut { terms, least: 0 }
    }

    /// The most that one hooping can hold.
    fn of_pattern(&self, of: &Restricted<'_, '_>, pattern: &Pattern) -> i64 {
        let kinds = &of.kinds.list;
        let mut places = Vec::new();
        for place in pattern.lanes.iter().flatten() {
            let mut best: BTreeMap<Option<usize>, i64> = BTreeMap::new();
            for ((class, kind), worth) in &self.0 {
                if place == kind || kinds[*place].takes(&kinds[*kind]) {
                    let known = best.entry(*class).or_default();
                    *known = (*known).max(*worth);
                }
            }
            places.push(best);
        }
        places.retain(|best| !best.is_empty());
        let top = |best: &BTreeMap<Option<usize>, i64>| best.values().copied().max().unwrap_or(0);
        if places.len() > MOST_PLACES {
            return places.iter().map(top).sum();
        }
        let mut left: BTreeMap<usize, usize> = BTreeMap::new();
        for class in places.iter().flat_map(|best| best.keys()).flatten() {
            left.insert(*class, of.classes[*class].members.len());
        }
        places.sort_by_key(|best| std::cmp::Reverse(top(best)));
        let rest: Vec<i64> = (0..=places.len())
            .map(|at| places[at..].iter().map(top).sum())
            .collect();
        let mut most = 0;
        hold_most(&places, &rest, 0, 0, &mut left, &mut most);
        most
    }
}

/// Tries the runs that each place can hold, from `at` on.
fn hold_most(
    places: &[BTreeMap<Option<usize>, i64>],
    rest: &[i64],
    at: usize,
    worth: i64,
    left: &mut BTreeMap<usize, usize>,
    most: &mut i64,
) {
    if worth + rest[at] <= *most {
        return;
    }
    let Some(best) = places.get(at) else {
        *most = worth;
        return;
    };
    for (class, of_class) in best {
        if let Some(class) = class {
            let Some(count) = left.get_mut(class).filter(|count| **count > 0) else {
                continue;
            };
            *count -= 1;
        }
        hold_most(places, rest, at + 1, worth + of_class, left, most);
        if let Some(count) = class.and_then(|class| left.get_mut(&class)) {
            *count += 1;
        }
    }
    hold_most(places, rest, at + 1, worth, left, most);
}

fn sort(class: usize, kinds: &[usize], kind: usize) -> Sort {
    ((kinds.len() > 1).then_some(class), kind)
}

/// Worths that cut a point off, if there are any; `value` gives the columns' values.
pub fn separate(
    of: &Restricted<'_, '_>,
    value: &dyn Fn(usize) -> f64,
    deadline: &Deadline,
) -> Option<Worths> {
    let mut demand: BTreeMap<Sort, f64> = BTreeMap::new();
    for column in &of.covers {
        let value = value(column.column) * of.strips_each(column.class) as f64;
        if value > NOTHING {
            let kinds = of.run_kinds(column.class, &column.cover);
            for kind in &kinds {
                *demand.entry(sort(column.class, &kinds, *kind)).or_default() += value;
            }
        }
    }
    let sorts: Vec<(Sort, f64)> = demand.into_iter().collect();
    let mut rows: Vec<(Sense, f64)> = sorts
        .iter()
        .map(|(_, demand)| (Sense::AtLeast, *demand))
        .collect();
    let mut columns: Vec<Vec<(usize, f64)>> = Vec::new();
    let kinds = &of.kinds.list;
    for column in &of.hoopings {
        let count = value(column.column);
        if count <= NOTHING {
            continue;
        }
        let mut places: BTreeMap<usize, f64> = BTreeMap::new();
        for place in column.pattern.lanes.iter().flatten() {
            *places.entry(*place).or_default() += 1.0;
        }
        let mut class_rows: BTreeMap<usize, usize> = BTreeMap::new();
        for (place, many) in places {
            let place_row = rows.len();
            rows.push((Sense::AtMost, many * count));
            for (row, ((class, kind), _)) in sorts.iter().enumerate() {
                if place != *kind && !kinds[place].takes(&kinds[*kind]) {
                    continue;
                }
                let mut entries = vec![(row, 1.0), (place_row, 1.0)];
                if let Some(class) = class {
                    let class_row = *class_rows.entry(*class).or_insert_with(|| {
                        let strips = of.classes[*class].members.len() as f64;
                        rows.push((Sense::AtMost, strips * count));
                        rows.len() - 1
                    });
                    entries.push((class_row, 1.0));
                }
                columns.push(entries);
            }
        }
    }
    let mut simplex = Simplex::new(rows.into_iter());
    for entries in columns {
        simplex.add_column(entries, 0.0, f64::INFINITY);
    }
    if simplex.solve(deadline) != Outcome::Infeasible {
        return None;
    }
    let multipliers = &simplex.multipliers()[..sorts.len()];
    let worths = whole(multipliers)?;
    let worths = sorts
        .iter()
        .zip(worths)
        .map(|((sort, _), worth)| (*sort, worth));
    let worths = Worths(worths.filter(|(_, worth)| *worth > 0).collect());
    let cut = worths.cut(of);
    let sum: f64 = cut
        .terms
        .iter()
        .map(|(column, factor)| *factor as f64 * value(*column))
        .sum();
    (sum < cut.least as f64 - 1e-4).then_some(worths)
}

/// Small whole numbers in the same proportions.
fn whole(multipliers: &[f64]) -> Option<Vec<i64>> {
    let largest = multipliers.iter().copied().fold(0.0, f64::max);
    if largest < NOTHING {
        return None;
    }
    let scaled = |by: f64| {
        multipliers
            .iter()
            .map(move |value| value.max(0.0) / largest * by)
    };
    let exact = (1..=24)
        .map(f64::from)
        .find(|by| scaled(*by).all(|value| (value - value.round()).abs() < 1e-5));
    let by = exact.unwrap_or(LARGEST);
    Some(scaled(by).map(|value| value.round() as i64).collect())
}
