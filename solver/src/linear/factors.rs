//! A basis as a product of sparse factors: L·U of the columns that are no slacks, worked out anew now and then, and a
//! change for each pivot and each new row since.
//!
//! A slack stands at its own row's position and needs no factor at all; so a basis of some thousand rows, most of which nobody needs,
//! costs no more than its few columns. Columns and rows that stand alone are peeled off first, which leaves little to
//! eliminate.
//!
//! Sources: Gilbert and Peierls, Sparse partial pivoting in time proportional to arithmetic operations, SIAM Journal on Scientific
//! and Statistical Computing 9 (1988) 862–874; Chvátal, Linear Programming (1983), chapter 7 (product form) and chapter 24
//! (triangular factors); both from memory.

use std::cmp::Reverse;

/// Entries smaller than this are rounding.
const NOTHING: f64 = 1e-13;
/// A column whose largest entry is smaller than this depends on the others.
const SINGULAR: f64 = 1e-11;
/// A pivot is not smaller than this part of the largest entry of its column.
const STABLE: f64 = 0.1;
/// So many changes are always borne before factors are worked out anew, and never more than so many.
const FEW_CHANGES: usize = 16;
const MOST_CHANGES: usize = 120;

/// Lists of entries, one after the other.
#[derive(Clone, Default, Debug)]
struct Lists {
    ends: Vec<usize>,
    entries: Vec<(usize, f64)>,
}

impl Lists {
    fn close(&mut self) {
        self.ends.push(self.entries.len());
    }

    fn list(&self, number: usize) -> &[(usize, f64)] {
        let start = number.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.entries[start..self.ends[number]]
    }
}

/// A step of the elimination: the row that was settled, which is the column's position too, and the entry there.
#[derive(Clone, Copy, Debug)]
struct Step {
    row: usize,
    pivot: f64,
}

/// What happened since the last factors.
#[derive(Clone, Copy, Debug)]
enum Change {
    /// Another column stands at a position, where it has this entry. Its others are listed.
    Column(usize, f64),
    /// A row came, with its slack at the last position. Its entries are listed by position.
    Row(usize),
}

/// The factors of a basis.
#[derive(Clone, Default, Debug)]
pub(super) struct Factors {
    size: usize,
    steps: Vec<Step>,
    /// For each step what has to be taken from rows not settled by then, and the entries in rows that were.
    lower: Lists,
    upper: Lists,
    changes: Vec<Change>,
    changed: Lists,
}

impl Factors {
    /// The factors of the basis of all slacks.
    pub fn unit(rows: usize) -> Factors {
        Factors {
            size: rows,
            ..Factors::default()
        }
    }

    /// The factors of a basis: columns, and the slacks of the rows that are not `free`. Tells for each column the
    /// row at which it stands; none where it depends on the others. The slacks of free rows that are left stand in.
    pub fn of(columns: &[&[(usize, f64)]], free: Vec<bool>) -> (Factors, Vec<Option<usize>>) {
        let mut elimination = Elimination::new(columns, free);
        elimination.peel();
        elimination.eliminate();
        (elimination.factors, elimination.places)
    }

    /// Whether it is time to work them out anew.
    pub fn are_long(&self) -> bool {
        let first = self.lower.entries.len() + self.upper.entries.len() + self.steps.len();
        self.changes.len() >= MOST_CHANGES
            || self.changes.len() >= FEW_CHANGES
                && self.changed.entries.len() > 2 * first + self.size
    }

    /// Adds a row whose slack becomes basic at a new, last position. `basic` are its coefficients by position.
    pub fn grow(&mut self, basic: &[(usize, f64)]) {
        self.changes.push(Change::Row(self.size));
        self.changed.entries.extend(basic);
        self.changed.close();
        self.size += 1;
    }

    /// Another column stands at a position: `entering` is the inverse times it.
    pub fn replace(&mut self, position: usize, entering: &[f64]) {
        self.changes
            .push(Change::Column(position, entering[position]));
        let others = entering.iter().copied().enumerate();
        let others = others.filter(|(at, value)| *at != position && value.abs() > NOTHING);
        self.changed.entries.extend(others);
        self.changed.close();
    }

    /// The inverse times a sparse column of the program: by position.
    pub fn times(&self, entries: impl Iterator<Item = (usize, f64)>, into: &mut Vec<f64>) {
        into.clear();
        into.resize(self.size, 0.0);
        for (row, value) in entries {
            into[row] += value;
        }
        for (number, step) in self.steps.iter().enumerate() {
            let value = into[step.row];
            if value != 0.0 {
                take(into, self.lower.list(number), value);
            }
        }
        for (number, step) in self.steps.iter().enumerate().rev() {
            if into[step.row] != 0.0 {
                let value = into[step.row] / step.pivot;
                into[step.row] = value;
                take(into, self.upper.list(number), value);
            }
        }
        for (number, change) in self.changes.iter().enumerate() {
            let list = self.changed.list(number);
            match *change {
                Change::Column(position, pivot) => {
                    if into[position] != 0.0 {
                        let value = into[position] / pivot;
                        into[position] = value;
                        take(into, list, value);
                    }
                }
                Change::Row(position) => into[position] -= product(into, list),
            }
        }
    }

    /// A vector by position, times the inverse: by row.
    pub fn before(&self, costs: &[f64], into: &mut Vec<f64>) {
        into.clear();
        into.extend_from_slice(costs);
        self.backwards(into);
    }

    /// The row of the inverse at a position: by row of the program.
    pub fn row(&self, position: usize, into: &mut Vec<f64>) {
        into.clear();
        into.resize(self.size, 0.0);
        into[position] = 1.0;
        self.backwards(into);
    }

    fn backwards(&self, into: &mut [f64]) {
        for (number, change) in self.changes.iter().enumerate().rev() {
            let list = self.changed.list(number);
            match *change {
                Change::Column(position, pivot) => {
                    into[position] = (into[position] - product(into, list)) / pivot;
                }
                Change::Row(position) => {
                    let value = into[position];
                    if value != 0.0 {
                        take(into, list, value);
                    }
                }
            }
        }
        for (number, step) in self.steps.iter().enumerate() {
            into[step.row] = (into[step.row] - product(into, self.upper.list(number))) / step.pivot;
        }
        for (number, step) in self.steps.iter().enumerate().rev() {
            into[step.row] -= product(into, self.lower.list(number));
        }
    }
}

/// Takes a multiple of a list from a vector.
fn take(from: &mut [f64], list: &[(usize, f64)], times: f64) {
    for (at, value) in list {
        from[*at] -= value * times;
    }
}

fn product(of: &[f64], list: &[(usize, f64)]) -> f64 {
    list.iter().map(|(at, value)| of[*at] * value).sum()
}

/// The factors in the making.
struct Elimination<'c> {
    columns: &'c [&'c [(usize, f64)]],
    /// Rows that are not settled.
    free: Vec<bool>,
    /// The columns with an entry in each free row; those that are settled are still among them.
    of_row: Vec<Vec<usize>>,
    /// How many columns that are not settled have an entry in a row, and the entries of a column in free rows.
    in_row: Vec<usize>,
    in_column: Vec<usize>,
    places: Vec<Option<usize>>,
    /// Columns that nothing has to be done about any more.
    done: Vec<bool>,
    factors: Factors,
}

impl<'c> Elimination<'c> {
    fn new(columns: &'c [&'c [(usize, f64)]], free: Vec<bool>) -> Elimination<'c> {
        let rows = free.len();
        let mut of_row = vec![Vec::new(); rows];
        let mut in_column = vec![0; columns.len()];
        for (number, column) in columns.iter().enumerate() {
            for (row, _) in column.iter().filter(|(row, _)| free[*row]) {
                of_row[*row].push(number);
                in_column[number] += 1;
            }
        }
        Elimination {
            columns,
            in_row: of_row.iter().map(Vec::len).collect(),
            of_row,
            in_column,
            places: vec![None; columns.len()],
            done: vec![false; columns.len()],
            free,
            factors: Factors::unit(rows),
        }
    }

    /// Settles columns with one entry in free rows, and rows with an entry in one column, until there are none. Nothing is
    /// eliminated here: an entry of such a column in a settled row stays what it is.
    fn peel(&mut self) {
        let mut columns: Vec<usize> = (0..self.columns.len())
            .filter(|column| self.in_column[*column] == 1)
            .collect();
        let mut rows: Vec<usize> = (0..self.free.len())
            .filter(|row| self.in_row[*row] == 1)
            .collect();
        loop {
            let (column, row) = if let Some(column) = columns.pop() {
                if self.done[column] || self.in_column[column] != 1 {
                    continue;
                }
                let mut entries = self.columns[column].iter();
                let Some((row, value)) = entries.find(|(row, _)| self.free[*row]) else {
                    continue;
                };
                if value.abs() <= SINGULAR {
                    continue;
                }
                (column, *row)
            } else if let Some(row) = rows.pop() {
                if !self.free[row] || self.in_row[row] != 1 {
                    continue;
                }
                let mut of_row = self.of_row[row].iter();
                let Some(column) = of_row.find(|column| !self.done[**column]) else {
                    continue;
                };
                if !self.is_stable(*column, row) {
                    continue;
                }
                (*column, row)
            } else {
                return;
            };
            self.settle(column, row, self.columns[column]);
            for (other, _) in self.columns[column] {
                if self.free[*other] && self.in_row[*other] == 1 {
                    rows.push(*other);
                }
            }
            for other in &self.of_row[row] {
                if !self.done[*other] && self.in_column[*other] == 1 {
                    columns.push(*other);
                }
            }
        }
    }

    /// Whether an entry of a column is large enough among those in free rows.
    fn is_stable(&self, column: usize, row: usize) -> bool {
        let (mut own, mut largest) = (0.0, SINGULAR / STABLE);
        for (at, value) in self.columns[column] {
            if *at == row {
                own = value.abs();
            }
            if self.free[*at] {
                largest = f64::max(largest, value.abs());
            }
        }
        own >= STABLE * largest
    }

    /// Settles a column, of which these are the entries after all steps so far, at a row.
    fn settle(&mut self, column: usize, row: usize, entries: &[(usize, f64)]) {
        self.done[column] = true;
        self.places[column] = Some(row);
        self.free[row] = false;
        let of_pivot = entries.iter().filter(|(at, _)| *at == row);
        let pivot: f64 = of_pivot.map(|(_, value)| value).sum();
        self.factors.steps.push(Step { row, pivot });
        for (at, value) in entries.iter().filter(|(at, _)| *at != row) {
            if self.free[*at] {
                self.factors.lower.entries.push((*at, value / pivot));
            } else {
                self.factors.upper.entries.push((*at, *value));
            }
        }
        self.factors.lower.close();
        self.factors.upper.close();
        for (at, _) in self.columns[column] {
            self.in_row[*at] = self.in_row[*at].saturating_sub(1);
        }
        for other in &self.of_row[row] {
            self.in_column[*other] = self.in_column[*other].saturating_sub(1);
        }
    }

    /// Settles what is left, columns with few entries first, each at a stable entry in a row that few others have.
    fn eliminate(&mut self) {
        let mut left: Vec<usize> = (0..self.columns.len())
            .filter(|column| !self.done[*column])
            .collect();
        left.sort_by_key(|column| (self.in_column[*column], *column));
        // What was peeled off has no entry in what is left, but in settled rows.
        let peeled = self.factors.steps.len();
        let mut values = vec![0.0; self.free.len()];
        let (mut touched, mut entries) = (Vec::new(), Vec::new());
        for column in left {
            touched.clear();
            for (row, value) in self.columns[column] {
                values[*row] += value;
                touched.push(*row);
            }
            for number in peeled..self.factors.steps.len() {
                let value = values[self.factors.steps[number].row];
                if value != 0.0 {
                    let list = self.factors.lower.list(number);
                    take(&mut values, list, value);
                    touched.extend(list.iter().map(|(row, _)| *row));
                }
            }
            entries.clear();
            // Zero once it is listed, so that a row that was touched twice is listed once.
            for row in &touched {
                let value = std::mem::take(&mut values[*row]);
                if value.abs() > NOTHING {
                    entries.push((*row, value));
                }
            }
            if let Some(row) = self.pivot(&entries) {
                self.settle(column, row, &entries);
            }
        }
    }

    fn pivot(&self, entries: &[(usize, f64)]) -> Option<usize> {
        let free = || entries.iter().filter(|(row, _)| self.free[*row]);
        let largest = free().map(|(_, value)| value.abs()).fold(0.0, f64::max);
        if largest <= SINGULAR {
            return None;
        }
        free()
            .filter(|(_, value)| value.abs() >= STABLE * largest)
            .min_by_key(|(row, _)| (self.in_row[*row], Reverse(self.of_row[*row].len()), *row))
            .map(|(row, _)| *row)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::Drawn;

    fn column(drawn: &mut Drawn, rows: usize, own: usize) -> Vec<(usize, f64)> {
        let mut entries = vec![(own, 1.0 + drawn.index(3) as f64)];
        for _ in 0..drawn.index(4) {
            let row = drawn.index(rows);
            if entries.iter().all(|(known, _)| *known != row) {
                entries.push((row, drawn.index(7) as f64 - 3.0));
            }
        }
        entries
    }

    /// Factors, changes and new rows are verified by multiplying back: the basis times what comes out is what went in.
    #[test]
    fn what_comes_out_times_the_basis_is_what_went_in() {
        let mut drawn = Drawn(5);
        for round in 0..200 {
            let rows = 2 + drawn.index(30);
            let mut free = vec![false; rows];
            let mut columns = Vec::new();
            for (row, free) in free.iter_mut().enumerate() {
                if drawn.index(3) > 0 {
                    *free = true;
                    columns.push(column(&mut drawn, rows, row));
                }
            }
            let lists: Vec<&[(usize, f64)]> = columns.iter().map(Vec::as_slice).collect();
            let (mut factors, places) = Factors::of(&lists, free);
            let mut basis: Vec<Vec<(usize, f64)>> = (0..rows).map(|row| vec![(row, 1.0)]).collect();
            for (column, place) in columns.iter().zip(places) {
                if let Some(row) = place {
                    basis[row].clone_from(column);
                }
            }
            let mut into = Vec::new();
            for _ in 0..drawn.index(12) {
                if drawn.index(4) == 0 {
                    let new = basis.len();
                    let at = drawn.index(new);
                    basis[at].push((new, 2.0));
                    basis.push(vec![(new, 1.0)]);
                    factors.grow(&[(at, 2.0)]);
                    continue;
                }
                let count = basis.len();
                let own = drawn.index(count);
                let entering = column(&mut drawn, count, own);
                factors.times(entering.iter().copied(), &mut into);
                let best =
                    (0..count).max_by(|one, other| into[*one].abs().total_cmp(&into[*other].abs()));
                let at = best.expect("a row");
                factors.replace(at, &into);
                basis[at] = entering;
            }
            let wanted: Vec<f64> = basis.iter().map(|_| drawn.index(9) as f64 - 4.0).collect();
            factors.times(wanted.iter().copied().enumerate(), &mut into);
            let mut back = vec![0.0; basis.len()];
            for (column, value) in basis.iter().zip(&into) {
                take(&mut back, column, -value);
            }
            let near = |one: &[f64], other: &[f64]| {
                one.iter()
                    .zip(other)
                    .all(|(one, other)| (one - other).abs() < 1e-6)
            };
            assert!(near(&back, &wanted), "round {round}: {back:?} {wanted:?}");
            factors.before(&wanted, &mut into);
            let back: Vec<f64> = basis.iter().map(|column| product(&into, column)).collect();
            assert!(near(&back, &wanted), "round {round}: {back:?} {wanted:?}");
        }
    }

    /// Of two columns that are the same one has no place.
    #[test]
    fn a_column_that_depends_on_the_others_has_no_place() {
        let column: &[(usize, f64)] = &[(0, 1.0), (1, 2.0)];
        let (_, places) = Factors::of(&[column, column], vec![true, true]);
        assert_eq!(places.iter().flatten().count(), 1);
    }
}
