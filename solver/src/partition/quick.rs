//! A search that learns nothing but which rows fail, and goes through many nodes in a short time.
//!
//! The row that has the fewest columns left is settled first (Knuth, Dancing links, Millennial Perspectives in Computer Science (2000)
//! 187–214, from memory); of several the one that was left without any most often so far (Boussemart, Hemery, Lecoutre and Sais, Boosting
//! systematic search by weighting constraints, ECAI 2004, 146–150, from memory). The first column tried is one whose other rows have few
//! left too, so that rows with many choices come last. Where that leads nowhere soon, the search begins anew with another order.

use std::cmp::Reverse;

use crate::deadline::Deadline;
use crate::partition::larger::Larger;
use crate::partition::{Entries, luby, promise};
use crate::random::SplitMix64;

/// A search that has come to so many nodes begins anew; some may take 2, 4, 8, … times as many.
const BEGINS_ANEW: usize = 10_000;
/// With more columns than this in a point none is looked for: each is one level of the search.
const DEEPEST: usize = 1_000;
/// So many nodes go by until the clock is asked.
const ASKED_EVERY: usize = 256;

/// By column its rows, and by row its columns, each with how often it is held.
pub struct Table {
    rows: Lists,
    columns: Lists,
}

impl Table {
    /// The table of columns for so many rows.
    pub fn of(rows: usize, columns: &[Entries]) -> Table {
        let mut of_row: Vec<Vec<(u32, u32)>> = vec![Vec::new(); rows];
        for (number, column) in (0..).zip(columns) {
            for (row, times) in column {
                of_row[*row as usize].push((number, *times));
            }
        }
        Table {
            rows: Lists::of(columns.iter().cloned()),
            columns: Lists::of(of_row.into_iter()),
        }
    }
}

/// Lists of pairs, one after the other.
struct Lists {
    pairs: Vec<(u32, u32)>,
    /// Where each list begins, and where the last one ends.
    begins: Vec<usize>,
}

impl Lists {
    fn of(lists: impl Iterator<Item = Vec<(u32, u32)>>) -> Lists {
        let (mut pairs, mut begins) = (Vec::new(), vec![0]);
        for list in lists {
            pairs.extend(list);
            begins.push(pairs.len());
        }
        Lists { pairs, begins }
    }

    fn of_number(&self, number: usize) -> &[(u32, u32)] {
        &self.pairs[self.begins[number]..self.begins[number + 1]]
    }
}

/// The search.
pub struct Quick<'p> {
    /// By column: its rows, each with how often it is held.
    rows: &'p Lists,
    /// By row: its columns, each with how often it holds the row.
    columns: &'p Lists,
    larger: Supply<'p>,
    /// How often each row is still to be held.
    asks: Vec<u32>,
    /// How many columns are left for each row; `SETTLED` where it asks for none.
    fits: Vec<u32>,
    /// How often each row was left without columns so far.
    failed: Vec<u32>,
    /// Whether each column may still be chosen.
    is_open: Vec<bool>,
    /// The columns that were closed, in order.
    closed: Vec<u32>,
    chosen: Vec<u32>,
    /// The most that were chosen so far.
    deepest: Vec<u32>,
    /// The columns to try at every level, one level after the other: the most promising last.
    choices: Vec<(u64, u32)>,
    random: SplitMix64,
    /// How many nodes are left until it begins anew, and how often it has begun.
    left: usize,
    begun: usize,
}

const SETTLED: u32 = u32::MAX;

/// How much more than the mean larger columns may hold, as it is used up.
struct Supply<'p> {
    left: u32,
    /// Above this more is wanted.
    enough: u32,
    over: &'p [u32],
    /// The larger columns, the largest first; so many of them are closed.
    largest: Vec<u32>,
    shut: usize,
}

impl<'p> Supply<'p> {
    fn of(larger: &'p Larger) -> Supply<'p> {
        let over = larger.over.as_slice();
        let mut largest: Vec<u32> = (0..over.len() as u32).collect();
        largest.retain(|column| over[*column as usize] > 0);
        largest.sort_by_key(|column| (Reverse(over[*column as usize]), *column));
        Supply {
            left: larger.most,
            enough: larger.most - larger.least,
            over,
            largest,
            shut: 0,
        }
    }

    /// The next column that holds more than is left.
    fn next_too_large(&mut self) -> Option<u32> {
        let next = self.largest.get(self.shut).copied();
        let column = next.filter(|column| self.over[*column as usize] > self.left)?;
        self.shut += 1;
        Some(column)
    }
}

impl<'p> Quick<'p> {
    /// A search, unless it is clear that there is no point.
    pub fn begin(
        asked: &[u32],
        table: &'p Table,
        larger: &'p Larger,
        seed: u64,
    ) -> Option<Quick<'p>> {
        let Table { rows, columns } = table;
        let count = rows.begins.len() - 1;
        let fits = (0..asked.len()).map(|row| columns.of_number(row).len() as u32);
        let mut search = Quick {
            rows,
            columns,
            larger: Supply::of(larger),
            asks: asked.to_vec(),
            fits: fits.collect(),
            failed: vec![0; asked.len()],
            is_open: vec![true; count],
            closed: Vec::new(),
            chosen: Vec::new(),
            deepest: Vec::new(),
            choices: Vec::new(),
            random: SplitMix64::new(seed),
            left: 0,
            begun: 0,
        };
        let mut all = (0..asked.len()).all(|row| search.close_columns_of(row));
        all = all && search.close_too_large();
        all.then_some(search)
    }

    /// Searches so many nodes more: whether there is a point, where that is known.
    pub fn run(&mut self, nodes: usize, deadline: &Deadline) -> Option<bool> {
        let mut left = nodes;
        while left > 0 && !deadline.over() {
            self.begun += 1;
            self.left = left.min(BEGINS_ANEW * luby(self.begun));
            left -= self.left;
            let said = self.go_on(deadline);
            if said.is_some() {
                return said;
            }
        }
        None
    }

    /// The columns of the point that was found.
    pub fn chosen(&self) -> Vec<usize> {
        numbers(&self.chosen)
    }

    /// The most columns that were chosen so far.
    pub fn deepest(&self) -> Vec<usize> {
        numbers(&self.deepest)
    }

    /// Goes on from here: whether there is a point, where that is known. Leaves all as it was, unless a point is found.
    fn go_on(&mut self, deadline: &Deadline) -> Option<bool> {
        if self.left == 0 || self.left.is_multiple_of(ASKED_EVERY) && deadline.over() {
            return None;
        }
        self.left -= 1;
        // Not with `min_by_key`: this is much of the work, and several rows are compared at once so.
        let fewest = self.fits.iter().copied().fold(SETTLED, u32::min);
        if fewest == SETTLED {
            return Some(true);
        }
        if self.chosen.len() >= DEEPEST {
            return None;
        }
        if self.chosen.len() > self.deepest.len() {
            self.deepest.clone_from(&self.chosen);
        }
        let rows = (0..self.fits.len()).filter(|row| self.fits[*row] == fewest);
        let row = rows.max_by_key(|row| (self.failed[*row], Reverse(*row)))?;
        let (first, closed, shut) = (self.choices.len(), self.closed.len(), self.larger.shut);
        self.list_choices(row);
        let mut found = Some(false);
        while self.choices.len() > first && found == Some(false) {
            let Some((_, column)) = self.choices.pop() else {
                break;
            };
            found = self.with(column, deadline);
            // What was tried with this column is not tried again beside others.
            if found == Some(false) && !self.close(column) {
                break;
            }
        }
        if found != Some(true) {
            self.choices.truncate(first);
            self.reopen(closed, shut);
        }
        found
    }

    /// Goes on with a column chosen.
    fn with(&mut self, column: u32, deadline: &Deadline) -> Option<bool> {
        let (closed, shut) = (self.closed.len(), self.larger.shut);
        self.chosen.push(column);
        for (row, times) in self.rows.of_number(column as usize) {
            self.asks[*row as usize] -= times;
        }
        self.larger.left -= self.larger.over[column as usize];
        let rows = self.rows.of_number(column as usize).iter();
        let mut can_be = rows
            .copied()
            .all(|(row, _)| self.close_columns_of(row as usize));
        can_be = can_be && self.close_too_large();
        let found = if can_be {
            self.go_on(deadline)
        } else {
            Some(false)
        };
        if found == Some(true) {
            return found;
        }
        self.chosen.pop();
        for (row, times) in self.rows.of_number(column as usize) {
            let row = *row as usize;
            if self.fits[row] == SETTLED {
                // All its columns were closed by then.
                self.fits[row] = 0;
            }
            self.asks[row] += times;
        }
        self.larger.left += self.larger.over[column as usize];
        self.reopen(closed, shut);
        found
    }

    /// The open columns of a row, the most promising last.
    fn list_choices(&mut self, row: usize) {
        let first = self.choices.len();
        for (column, _) in self.columns.of_number(row) {
            if self.is_open[*column as usize] {
                let larger = &self.larger;
                let is_wanted = larger.left > larger.enough && larger.over[*column as usize] > 0;
                let rows = self.rows.of_number(*column as usize);
                let promise = promise(rows, |row| self.fits[row as usize], &mut self.random);
                let promise = u64::from(is_wanted) << 63 | promise;
                self.choices.push((promise, *column));
            }
        }
        self.choices[first..].sort_unstable();
    }

    /// Closes the columns that hold a row more often than it asks. False where that leaves none to some row: then not all are closed.
    fn close_columns_of(&mut self, row: usize) -> bool {
        let asks = self.asks[row];
        for (column, times) in self.columns.of_number(row) {
            if *times > asks && !self.close(*column) {
                return false;
            }
        }
        if asks == 0 {
            self.fits[row] = SETTLED;
        }
        true
    }

    /// Closes the columns that hold more than larger ones still may. False as above.
    fn close_too_large(&mut self) -> bool {
        while let Some(column) = self.larger.next_too_large() {
            if !self.close(column) {
                return false;
            }
        }
        true
    }

    /// Closes a column. False where that leaves none to some row.
    fn close(&mut self, column: u32) -> bool {
        let mut all = true;
        if std::mem::replace(&mut self.is_open[column as usize], false) {
            self.closed.push(column);
            for (row, _) in self.rows.of_number(column as usize) {
                let fits = &mut self.fits[*row as usize];
                *fits -= 1;
                if *fits == 0 && self.asks[*row as usize] > 0 {
                    self.failed[*row as usize] += 1;
                    all = false;
                }
            }
        }
        all
    }

    /// Opens all columns again that were closed since.
    fn reopen(&mut self, closed: usize, shut: usize) {
        for column in self.closed.drain(closed..) {
            self.is_open[column as usize] = true;
            for (row, _) in self.rows.of_number(column as usize) {
                self.fits[*row as usize] += 1;
            }
        }
        self.larger.shut = shut;
    }
}

fn numbers(columns: &[u32]) -> Vec<usize> {
    columns.iter().map(|column| *column as usize).collect()
}
