//! Diving: rounds the linear program's point step by step and generates the columns that what is left needs. Finds points;
//! proves nothing.

use crate::columns::generate::{NEAR, Precision, Relaxed};
use crate::columns::restricted::Restricted;
use crate::columns::split::FIRST;
use crate::deadline::Deadline;
use crate::hooping::kind::Openness;
use crate::linear::Outcome;

/// Values nearer than this to a whole number count as whole.
const WHOLE: f64 = 1e-6;
/// The most linear programs of one dive.
const DEEPEST: usize = 600;
/// The most roundings of one dive that are taken back.
const MOST_TURNS: usize = 25;

/// Dives from the point of the linear program at hand for a whole one that costs at most `most` in the same form; `attempt` makes each
/// dive another one. Leaves the program at the point that was found.
pub fn dive(
    of: &mut Restricted<'_, '_>,
    form: &[i64],
    most: i64,
    attempt: usize,
    deadline: &Deadline,
) -> Option<Vec<i64>> {
    // Columns that were rounded up, with their bounds before and the bounds of what was fixed along with them.
    let mut path: Vec<Rounded> = Vec::new();
    let mut turned_back = 0;
    // Columns are looked for only where the last roundings cost something.
    let within = most as f64 + WHOLE;
    let mut enough = (of.model.objective() + NEAR).min(within);
    for _ in 0..DEEPEST {
        of.left = Some(left(of));
        let reached =
            of.model.solve(deadline) == Outcome::Optimal && of.model.objective() <= enough;
        let dead = !reached
            && match of.relax(form, Precision::Within(within), deadline) {
                Relaxed::Bound(_) => {
                    enough = (of.model.objective() + NEAR).min(within);
                    of.model.objective() > within
                }
                Relaxed::Empty | Relaxed::Unknown => true,
            };
        if deadline.over() {
            return None;
        }
        if dead {
            // The last rounding was too much: this column is not rounded up here.
            turned_back += 1;
            let last = path.pop()?;
            if turned_back > MOST_TURNS {
                return None;
            }
            for (column, least, most) in last.fixed.into_iter().rev() {
                of.model.set_bounds(column, least, most);
            }
            let least = of.model.columns[last.column].least;
            of.model
                .set_bounds(last.column, least, last.floor.max(least));
            continue;
        }
        match round(of, attempt, path.len()) {
            Some(rounded) => path.push(rounded),
            None => {
                let point = of.model.whole_point()?;
                return (of.model.cost_at(&point) <= i128::from(most)).then_some(point);
            }
        }
    }
    None
}

/// What one rounding fixed.
struct Rounded {
    /// The column that was rounded up, and the whole number below its value.
    column: usize,
    floor: i64,
    /// Columns with their bounds before.
    fixed: Vec<(usize, i64, i64)>,
}

/// Fixes what is whole, and rounds one value up; `None` where all are whole.
fn round(of: &mut Restricted<'_, '_>, attempt: usize, step: usize) -> Option<Rounded> {
    let mut parts: Vec<(u8, f64, usize, i64)> = Vec::new();
    let mut fixed = Vec::new();
    for number in 0..of.model.columns.len() {
        let column = &of.model.columns[number];
        if !column.whole || column.rank == FIRST {
            continue;
        }
        let value = of.model.value(number);
        let floor = (value + WHOLE).floor();
        let over = value - floor;
        if over > WHOLE {
            parts.push((column.rank, over, number, floor as i64));
        }
        let (least, most) = (column.least, column.most);
        if floor as i64 > least {
            fixed.push((number, least, most));
            of.model.set_bounds(number, floor as i64, most);
        }
    }
    // Covers first; then what is nearest to the next whole number. Dives differ in how soon they take the second or third
    // nearest.
    parts.sort_by(|one, other| {
        (one.0, other.1)
            .partial_cmp(&(other.0, one.1))
            .unwrap_or(std::cmp::Ordering::Equal)
            .then(one.2.cmp(&other.2))
    });
    if parts.is_empty() {
        parts.extend(implied(of));
    }
    let of_rank = parts
        .iter()
        .filter(|part| Some(part.0) == parts.first().map(|first| first.0));
    let turned = (attempt >> step.min(12)) & 3;
    let choice = turned.min(of_rank.count().saturating_sub(1));
    let (_, _, number, floor) = *parts.get(choice)?;
    let (least, most) = (
        of.model.columns[number].least,
        of.model.columns[number].most,
    );
    fixed.push((number, least, most));
    of.model.set_bounds(number, floor + 1, most.max(floor + 1));
    Some(Rounded {
        column: number,
        floor,
        fixed,
    })
}

/// The first column that has to be whole as well, though it follows from the others, and is not: whether a hoop is used may be so in part where
/// it is used for few hoopings. With what is over, its number, and the whole number below.
fn implied(of: &Restricted<'_, '_>) -> Option<(u8, f64, usize, i64)> {
    let columns = of.model.columns.iter().enumerate();
    let mut first = columns.filter(|(_, column)| column.whole && column.rank == FIRST);
    first.find_map(|(number, column)| {
        let value = of.model.value(number);
        let floor = (value + WHOLE).floor();
        let over = value - floor;
        (over > WHOLE).then_some((column.rank, over, number, floor as i64))
    })
}

/// How many runs of each kind still have no place among what is fixed: at least, as far as strips in one run go.
fn left(of: &Restricted<'_, '_>) -> Vec<usize> {
    let mut left = vec![0.0_f64; of.kinds.list.len()];
    for column in &of.covers {
        let value = of.model.value(column.column) * of.strips_each(column.class) as f64;
        if value > WHOLE {
            for kind in of.run_kinds(column.class, &column.cover) {
                left[kind] += value;
            }
        }
    }
    for column in &of.hoopings {
        let fixed = of.model.columns[column.column].least;
        for kind in column.pattern.lanes.iter().flatten().filter(|_| fixed > 0) {
            left[*kind] -= fixed as f64;
        }
    }
    // Places that are over serve the next smaller runs.
    let mut closed: Vec<usize> = (0..left.len())
        .filter(|kind| of.kinds.list[*kind].openness == Openness::Closed)
        .collect();
    closed.sort_by_key(|kind| std::cmp::Reverse((of.kinds.list[*kind].length, *kind)));
    let mut over = 0.0;
    for kind in closed {
        left[kind] -= over;
        over = (-left[kind]).max(0.0);
    }
    left.into_iter()
        .map(|count| count.max(0.0).ceil() as usize)
        .collect()
}
