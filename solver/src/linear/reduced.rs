//! Reduced costs of all variables, kept up to date from pivot to pivot.

use crate::linear::simplex::{Column, Place, Simplex, Variable};

/// A row with fewer entries than this part of all is gone through row by row.
const SPARSE: usize = 3;

/// The reduced costs of all variables; 0 for those that are basic.
pub(super) struct Reduced {
    pub columns: Vec<f64>,
    pub rows: Vec<f64>,
}

impl Reduced {
    pub fn of(&self, variable: Variable) -> f64 {
        match variable {
            Variable::Slack(number) => self.rows[number],
            Variable::Column(number) => self.columns[number],
        }
    }

    fn set(&mut self, variable: Variable, value: f64) {
        match variable {
            Variable::Slack(number) => self.rows[number] = value,
            Variable::Column(number) => self.columns[number] = value,
        }
    }
}

impl Simplex {
    /// Reduced costs by the objective and these multipliers.
    pub(super) fn reduced_costs(&self, multipliers: &[f64]) -> Reduced {
        let of_column = |column: &Column| match column.place {
            Place::Basic(_) => 0.0,
            Place::Lower | Place::Upper => column.cost - column.times(multipliers),
        };
        let rows = self.rows.iter().zip(multipliers);
        Reduced {
            columns: self.columns.iter().map(of_column).collect(),
            rows: rows
                .map(|(row, multiplier)| match row.place {
                    Place::Basic(_) => 0.0,
                    Place::Lower | Place::Upper => -multiplier,
                })
                .collect(),
        }
    }

    /// The entry in the pivot row, of which `row` are the slacks' entries, of every column that can move: that is neither basic nor
    /// fixed. Of the others 0.
    pub(super) fn pivot_row(&self, row: &[f64]) -> Vec<f64> {
        let moves = |column: &Column| {
            !matches!(column.place, Place::Basic(_)) && column.bounds.least < column.bounds.most
        };
        let used = row.iter().filter(|entry| **entry != 0.0).count();
        if used * SPARSE >= row.len() {
            let columns = self.columns.iter();
            return columns
                .map(|column| {
                    if moves(column) {
                        column.times(row)
                    } else {
                        0.0
                    }
                })
                .collect();
        }
        let mut entries = vec![0.0; self.columns.len()];
        for (of_row, entry) in self.by_row.iter().zip(row) {
            if *entry != 0.0 {
                for (column, value) in of_row {
                    entries[*column] += entry * value;
                }
            }
        }
        for (entry, column) in entries.iter_mut().zip(&self.columns) {
            if *entry != 0.0 && !moves(column) {
                *entry = 0.0;
            }
        }
        entries
    }

    /// What reduced costs become when one variable takes the place of another, before it does: the pivot row, and the entry in it
    /// of the variable that enters.
    pub(super) fn pivot_reduced(
        &self,
        reduced: &mut Reduced,
        row: &[f64],
        pivot_row: &[f64],
        [entering, leaving]: [Variable; 2],
        pivot: f64,
    ) {
        let ratio = reduced.of(entering) / pivot;
        if ratio != 0.0 {
            for (value, entry) in reduced.columns.iter_mut().zip(pivot_row) {
                *value -= ratio * entry;
            }
            for ((of, value), entry) in self.rows.iter().zip(&mut reduced.rows).zip(row) {
                if !matches!(of.place, Place::Basic(_)) {
                    *value -= ratio * entry;
                }
            }
        }
        reduced.set(leaving, -ratio);
        reduced.set(entering, 0.0);
    }
}
