//! The inverse of a basis, of which only the columns that differ from a unit vector are stored.
//!
//! A row whose slack is basic has a unit vector for a column. Most rows of a master program are of that kind (places
//! that nobody needs), so that a basis of some thousand rows costs no more than the few that are tight.

/// One column of the inverse.
#[derive(Clone, Debug)]
enum Stored {
    /// 1 at a position, 0 elsewhere.
    Unit(usize),
    /// All entries, by position.
    Dense(Vec<f64>),
}

/// The inverse, column by column: entry (position, row).
#[derive(Clone, Default, Debug)]
pub(super) struct Inverse {
    columns: Vec<Stored>,
}

/// Entries smaller than this are rounding.
const NOTHING: f64 = 1e-13;

impl Inverse {
    /// The inverse of the basis of all slacks.
    pub fn unit(rows: usize) -> Inverse {
        Inverse {
            columns: (0..rows).map(Stored::Unit).collect(),
        }
    }

    /// Adds a row whose slack becomes basic at a new, last position. `basic` are its coefficients by position.
    pub fn grow(&mut self, basic: &[(usize, f64)]) {
        let position = self.columns.len();
        for column in &mut self.columns {
            if let Stored::Dense(entries) = column {
                let sum: f64 = basic.iter().map(|(at, value)| value * entries[*at]).sum();
                entries.push(-sum);
            }
        }
        self.columns.push(Stored::Unit(position));
    }

    /// Inverse times a sparse column of the program: by position.
    pub fn times(&self, entries: impl Iterator<Item = (usize, f64)>, into: &mut Vec<f64>) {
        into.clear();
        into.resize(self.columns.len(), 0.0);
        for (row, value) in entries {
            match &self.columns[row] {
                Stored::Unit(position) => into[*position] += value,
                Stored::Dense(column) => {
                    for (sum, entry) in into.iter_mut().zip(column) {
                        *sum += value * entry;
                    }
                }
            }
        }
    }

    /// A vector by position, times the inverse: by row.
    pub fn before(&self, costs: &[f64], into: &mut Vec<f64>) {
        let costly: Vec<(usize, f64)> = costs
            .iter()
            .copied()
            .enumerate()
            .filter(|(_, cost)| *cost != 0.0)
            .collect();
        into.clear();
        into.extend(self.columns.iter().map(|column| {
            match column {
                Stored::Unit(position) => costs[*position],
                Stored::Dense(entries) => costly
                    .iter()
                    .map(|(position, cost)| cost * entries[*position])
                    .sum(),
            }
        }));
    }

    /// The row of the inverse at a position: by row of the program.
    pub fn row(&self, position: usize, into: &mut Vec<f64>) {
        into.clear();
        into.extend(self.columns.iter().map(|column| match column {
            Stored::Unit(at) => f64::from(u8::from(*at == position)),
            Stored::Dense(entries) => entries[position],
        }));
    }

    /// The column `entering` (inverse times it) takes the place at `position`, where the slack of `leaving_slack` was,
    /// if it was a slack's.
    pub fn pivot(&mut self, position: usize, entering: &[f64], leaving_slack: Option<usize>) {
        let pivot = entering[position];
        let touched: Vec<(usize, f64)> = entering
            .iter()
            .copied()
            .enumerate()
            .filter(|(at, value)| *at != position && value.abs() > NOTHING)
            .collect();
        for column in &mut self.columns {
            if let Stored::Dense(entries) = column {
                let value = entries[position];
                if value.abs() <= NOTHING {
                    entries[position] = 0.0;
                    continue;
                }
                let scaled = value / pivot;
                for (at, change) in &touched {
                    entries[*at] -= change * scaled;
                }
                entries[position] = scaled;
            }
        }
        if let Some(row) = leaving_slack {
            let mut entries = vec![0.0; self.columns.len()];
            for (at, change) in &touched {
                entries[*at] = -change / pivot;
            }
            entries[position] = 1.0 / pivot;
            self.columns[row] = Stored::Dense(entries);
        }
    }

    /// The slack of a row has become basic at a position.
    pub fn slack_entered(&mut self, row: usize, position: usize) {
        self.columns[row] = Stored::Unit(position);
    }
}
