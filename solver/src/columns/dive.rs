//! Diving: rounds the linear program's point step by step and generates the columns that what is left needs. Finds points;
//! proves nothing.

use crate::columns::generate::Relaxed;
use crate::columns::restricted::Restricted;
use crate::deadline::Deadline;
use crate::hooping::kind::Openness;

/// Values nearer than this to a whole number count as whole.
const WHOLE: f64 = 1e-6;
/// The most roundings of one dive.
const DEEPEST: usize = 400;

/// Dives for a point that costs at most `most` in the form at hand; `attempt` makes each dive another one. Leaves the program
/// at the point that was found.
pub fn dive(
    of: &mut Restricted<'_, '_>,
    form: &[i64],
    most: i64,
    attempt: usize,
    deadline: &Deadline,
) -> Option<Vec<i64>> {
    for depth in 0..DEEPEST {
        of.left = Some(left(of));
        match of.relax(form, true, deadline) {
            Relaxed::Bound(_) => {}
            Relaxed::Empty | Relaxed::Unknown => return None,
        }
        if deadline.over() || of.model.objective() > most as f64 + WHOLE {
            return None;
        }
        if !round(of, attempt, depth) {
            let point = of.model.whole_point()?;
            return (of.model.cost_at(&point) <= i128::from(most)).then_some(point);
        }
    }
    None
}

/// Fixes what is whole, and rounds one value up; false where all are whole.
fn round(of: &mut Restricted<'_, '_>, attempt: usize, depth: usize) -> bool {
    let mut parts: Vec<(f64, usize, f64)> = Vec::new();
    for number in 0..of.model.columns.len() {
        let column = &of.model.columns[number];
        if !column.whole || column.rank == 0 {
            continue;
        }
        let value = of.model.value(number);
        let floor = (value + WHOLE).floor();
        let over = value - floor;
        if over > WHOLE && over < 1.0 - WHOLE {
            parts.push((over, number, floor + 1.0));
        }
        let (least, most) = (column.least, column.most);
        if floor as i64 > least {
            of.model.set_bounds(number, floor as i64, most);
        }
    }
    if parts.is_empty() {
        // Whole in what decides; the rest follows.
        return false;
    }
    // The nearest to the next whole number; the first dives differ in how soon they take the second or third nearest.
    parts.sort_by(|one, other| other.0.total_cmp(&one.0).then(one.1.cmp(&other.1)));
    let turned = (attempt >> depth.min(12)) & 3;
    let (_, number, up) = parts[turned.min(parts.len() - 1)];
    let most = of.model.columns[number].most;
    of.model.set_bounds(number, up as i64, most.max(up as i64));
    true
}

/// How many runs of each kind still have no place among what is fixed: at least, as far as strips in one run go.
fn left(of: &Restricted<'_, '_>) -> Vec<usize> {
    let mut left = vec![0.0_f64; of.kinds.list.len()];
    for column in &of.covers {
        let value = of.model.value(column.column);
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
