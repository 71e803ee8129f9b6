//! The dual simplex method: for a basis that is optimal but for values outside their bounds, as it is left behind when
//! bounds are narrowed.

use crate::deadline::Deadline;
use crate::linear::ratio::FEASIBLE;
use crate::linear::reduced::Reduced;
use crate::linear::simplex::{Bounds, OPTIMAL, Outcome, Place, Simplex, Variable};

/// Smaller entries of the pivot row are not taken.
const PIVOT: f64 = 1e-8;
/// After so many pivots the primal method takes over.
const MOST_PIVOTS: usize = 600;

impl Simplex {
    /// Solves by the dual method where the basis allows it; `None` where the primal one has to go on.
    pub(super) fn solve_dually(&mut self, scale: f64, deadline: &Deadline) -> Option<Outcome> {
        let mut reduced = self.reduced(OPTIMAL * scale)?;
        let (mut entering, mut row) = (Vec::new(), Vec::new());
        for step in 0..MOST_PIVOTS {
            if step % 32 == 31 && deadline.over() {
                return Some(Outcome::Unfinished);
            }
            if self.factors.are_long() && !self.refresh() {
                return None;
            }
            let Some((position, upper)) = self.worst() else {
                // The primal method has the last word: it sees at once that nothing is left to do.
                return None;
            };
            self.factors.row(position, &mut row);
            let leaving_up = if upper { -1.0 } else { 1.0 };
            let pivot_row = self.pivot_row(&row);
            let Some(variable) = self.dual_entering(&reduced, &row, &pivot_row, leaving_up) else {
                // Nothing can bring the value back within its bounds: the row proves it.
                self.multipliers = row.iter().map(|value| -leaving_up * value).collect();
                return Some(Outcome::Infeasible);
            };
            self.column_of(variable, &mut entering);
            let pivot = entering[position];
            if pivot.abs() < PIVOT {
                return None;
            }
            let bounds = self.bounds(self.basis[position]);
            let goal = if upper { bounds.most } else { bounds.least };
            let length = (self.values[position] - goal) / pivot;
            let leaving = self.basis[position];
            self.pivot_reduced(&mut reduced, &row, &pivot_row, [variable, leaving], pivot);
            for (value, rate) in self.values.iter_mut().zip(&entering) {
                *value -= rate * length;
            }
            let (bounds, from_lower) = self.entering_bounds(variable);
            let start = if from_lower {
                bounds.least
            } else {
                bounds.most
            };
            self.exchange(position, upper, variable, start + length, &entering);
        }
        None
    }

    /// Reduced costs, columns with two bounds put where theirs belong; `None` where some variable would have to enter.
    fn reduced(&mut self, tolerance: f64) -> Option<Reduced> {
        let mut costs = vec![0.0; self.basis.len()];
        for (position, variable) in self.basis.iter().enumerate() {
            if let Variable::Column(column) = variable {
                costs[position] = self.columns[*column].cost;
            }
        }
        let mut multipliers = Vec::new();
        self.factors.before(&costs, &mut multipliers);
        let reduced = self.reduced_costs(&multipliers);
        let wrong = |place: Place, value: f64| match place {
            Place::Lower => value < -tolerance,
            Place::Upper => value > tolerance,
            Place::Basic(_) => false,
        };
        let mut moved = false;
        for (column, value) in self.columns.iter_mut().zip(&reduced.columns) {
            let fixed = column.bounds.least == column.bounds.most;
            if fixed || !wrong(column.place, *value) {
                continue;
            }
            if column.bounds.most == f64::INFINITY {
                return None;
            }
            column.place = match column.place {
                Place::Lower => Place::Upper,
                _ => Place::Lower,
            };
            moved = true;
        }
        for (row, value) in self.rows.iter().zip(&reduced.rows) {
            if row.bounds.least != row.bounds.most && wrong(row.place, *value) {
                return None;
            }
        }
        if moved {
            self.recompute();
        }
        Some(reduced)
    }

    /// The basic variable that is furthest outside its bounds, and whether above.
    pub(super) fn worst(&self) -> Option<(usize, bool)> {
        let mut worst: Option<(f64, usize, bool)> = None;
        for (position, variable) in self.basis.iter().enumerate() {
            let (bounds, value) = (self.bounds(*variable), self.values[position]);
            let tolerance = FEASIBLE * (1.0 + value.abs());
            let (over, upper) = if value > bounds.most {
                (value - bounds.most, true)
            } else {
                (bounds.least - value, false)
            };
            if over > tolerance && worst.is_none_or(|(known, ..)| over > known) {
                worst = Some((over, position, upper));
            }
        }
        worst.map(|(_, position, upper)| (position, upper))
    }

    /// The variable whose reduced cost is used up first.
    fn dual_entering(
        &self,
        reduced: &Reduced,
        row: &[f64],
        pivot_row: &[f64],
        leaving_up: f64,
    ) -> Option<Variable> {
        let mut best: Option<(f64, f64, Variable)> = None;
        let mut see = |variable: Variable, place: Place, bounds: Bounds, value: f64, entry: f64| {
            let helps = match place {
                Place::Basic(_) => false,
                Place::Lower => entry * leaving_up < -PIVOT,
                Place::Upper => entry * leaving_up > PIVOT,
            };
            if !helps || bounds.least == bounds.most {
                return;
            }
            let ratio = value.abs() / entry.abs();
            let better = best.is_none_or(|(least, largest, _)| {
                ratio < least - FEASIBLE || ratio < least + FEASIBLE && entry.abs() > largest
            });
            if better {
                best = Some((ratio, entry.abs(), variable));
            }
        };
        let columns = self.columns.iter().zip(&reduced.columns).zip(pivot_row);
        for (number, ((of, value), entry)) in columns.enumerate() {
            see(
                Variable::Column(number),
                of.place,
                of.bounds,
                *value,
                *entry,
            );
        }
        let rows = self.rows.iter().zip(&reduced.rows).zip(row);
        for (number, ((of, value), entry)) in rows.enumerate() {
            see(Variable::Slack(number), of.place, of.bounds, *value, *entry);
        }
        best.map(|(_, _, variable)| variable)
    }
}
