//! The primal simplex method with bounds on variables, started from any basis: first the sum of what is outside its
//! bounds falls to nothing, then the objective falls. Rows, columns and bounds may change between two solves; the next one
//! starts where the last one ended.
//!
//! Sources: Chvátal, Linear Programming (1983), chapters 7, 8 and 13; Harris, Pivot selection methods of the Devex LP
//! code, Mathematical Programming 5 (1973) 1–28 (both from memory).

use crate::deadline::Deadline;
use crate::linear::inverse::Inverse;
use crate::linear::ratio::{self, FEASIBLE, Moving, Stop};
use crate::program::Sense;

/// A reduced cost nearer to 0 than this, relative to the largest cost, is 0.
pub(super) const OPTIMAL: f64 = 1e-9;
/// The inverse is worked out anew after so many pivots.
const FRESH: usize = 120;
/// After so many pivots without progress bounds are moved apart.
const DEGENERATE: usize = 60;
/// How often, at most.
const MOST_MOVED: usize = 3;
/// After so many pivots without progress the smallest index enters (Bland's rule), until there is some.
const STALLED: usize = 400;
/// Columns are looked at in blocks of at least so many for one to enter.
const BLOCK: usize = 400;

/// How a solve ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// At an optimum.
    Optimal,
    /// Some row or bound cannot be kept.
    Infeasible,
    /// The time was over, or the numbers went bad.
    Unfinished,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Place {
    Basic(usize),
    Lower,
    Upper,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Variable {
    Slack(usize),
    Column(usize),
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Bounds {
    pub least: f64,
    pub most: f64,
}

#[derive(Clone, Debug)]
pub(super) struct Column {
    pub entries: Vec<(usize, f64)>,
    pub cost: f64,
    pub bounds: Bounds,
    pub place: Place,
}

#[derive(Clone, Debug)]
pub(super) struct Row {
    right: f64,
    /// Bounds of the slack s in: row + s = right.
    pub bounds: Bounds,
    pub place: Place,
}

/// A linear program and a basis of it. Minimises.
#[derive(Clone, Default, Debug)]
pub struct Simplex {
    pub(super) rows: Vec<Row>,
    pub(super) columns: Vec<Column>,
    pub(super) basis: Vec<Variable>,
    /// Values of the basic variables, by position.
    pub(super) values: Vec<f64>,
    pub(super) inverse: Inverse,
    pivots: usize,
    /// The multiplier of each row after a solve: of the objective, or of the sum of what is outside.
    pub(super) multipliers: Vec<f64>,
    /// Where the search for an entering column goes on.
    next: usize,
}

impl Simplex {
    /// A program with rows of these senses and right-hand sides and no columns yet.
    pub fn new(rows: impl Iterator<Item = (Sense, f64)>) -> Simplex {
        let mut simplex = Simplex::default();
        for (position, (sense, right)) in rows.enumerate() {
            simplex.rows.push(Row {
                right,
                bounds: slack(sense),
                place: Place::Basic(position),
            });
            simplex.basis.push(Variable::Slack(position));
        }
        simplex.inverse = Inverse::unit(simplex.rows.len());
        simplex
    }

    /// Adds a column and returns its number. `least` is finite.
    pub fn add_column(&mut self, entries: Vec<(usize, f64)>, least: f64, most: f64) -> usize {
        self.columns.push(Column {
            entries,
            cost: 0.0,
            bounds: Bounds { least, most },
            place: Place::Lower,
        });
        self.columns.len() - 1
    }

    /// Adds a row over the columns there are.
    pub fn add_row(&mut self, terms: &[(usize, f64)], sense: Sense, right: f64) {
        let (row, position) = (self.rows.len(), self.basis.len());
        let mut basic = Vec::new();
        for (column, value) in terms {
            self.columns[*column].entries.push((row, *value));
            if let Place::Basic(at) = self.columns[*column].place {
                basic.push((at, *value));
            }
        }
        self.rows.push(Row {
            right,
            bounds: slack(sense),
            place: Place::Basic(position),
        });
        self.basis.push(Variable::Slack(row));
        self.inverse.grow(&basic);
    }

    /// Adds a coefficient to a column that was never basic.
    pub fn add_entry(&mut self, column: usize, row: usize, value: f64) {
        self.columns[column].entries.push((row, value));
    }

    /// Sets the right-hand side of a row.
    pub fn set_right(&mut self, row: usize, right: f64) {
        self.rows[row].right = right;
    }

    /// Sets the bounds of a column.
    pub fn set_bounds(&mut self, column: usize, least: f64, most: f64) {
        self.columns[column].bounds = Bounds { least, most };
    }

    /// Sets the cost of a column.
    pub fn set_cost(&mut self, column: usize, cost: f64) {
        self.columns[column].cost = cost;
    }

    /// The value of a column.
    pub fn value(&self, column: usize) -> f64 {
        let column = &self.columns[column];
        match column.place {
            Place::Basic(position) => self.values[position],
            Place::Lower => column.bounds.least,
            Place::Upper => column.bounds.most,
        }
    }

    /// The multiplier of each row: after [`Outcome::Optimal`] of the objective, after [`Outcome::Infeasible`] of the sum
    /// of what is outside its bounds.
    pub fn multipliers(&self) -> &[f64] {
        &self.multipliers
    }

    /// Minimises from the basis at hand.
    pub fn solve(&mut self, deadline: &Deadline) -> Outcome {
        self.recompute();
        let scale = self
            .columns
            .iter()
            .map(|column| column.cost.abs())
            .fold(1.0, f64::max);
        if let Some(outcome) = self.solve_dually(scale, deadline) {
            if outcome != Outcome::Infeasible || self.pivots < 30 {
                return outcome;
            }
            // A claim that rests on many pivots is looked at again with a fresh inverse.
            self.refresh();
            if let Some(outcome) = self.solve_dually(scale, deadline) {
                return outcome;
            }
        }
        let mut outcome = self.solve_primally(scale, true, deadline);
        for round in 0..MOST_MOVED {
            if outcome.is_some() {
                break;
            }
            let before = self.perturb(round);
            let moved = self.solve_primally(scale, false, deadline);
            self.restore(before);
            // The basis is optimal but for values that are outside their bounds again.
            outcome = match moved {
                Some(Outcome::Optimal) => self.solve_dually(scale, deadline),
                Some(Outcome::Unfinished) => moved,
                _ => None,
            };
            let last = round + 1 == MOST_MOVED;
            outcome = outcome.or_else(|| self.solve_primally(scale, !last, deadline));
        }
        outcome.unwrap_or(Outcome::Unfinished)
    }

    /// Solves by the primal method; `None` where it ends, as it may, since it makes no progress.
    fn solve_primally(
        &mut self,
        scale: f64,
        may_stall: bool,
        deadline: &Deadline,
    ) -> Option<Outcome> {
        let limit = 2_000 + 20 * (self.rows.len() + self.columns.len().min(20_000));
        let (mut stalled, mut costs, mut entering) = (0, Vec::new(), Vec::new());
        let mut verified = 0;
        let mut moving: Vec<Moving> = Vec::new();
        for step in 0..limit {
            if step % 32 == 31 && deadline.over() {
                return Some(Outcome::Unfinished);
            }
            if self.pivots >= FRESH {
                self.refresh();
                verified = 0;
            }
            let outside = self.costs(&mut costs);
            let mut multipliers = std::mem::take(&mut self.multipliers);
            self.inverse.before(&costs, &mut multipliers);
            self.multipliers = multipliers;
            let tolerance = if outside { OPTIMAL } else { OPTIMAL * scale };
            let Some((variable, reduced)) = self.entering(outside, tolerance, stalled > STALLED)
            else {
                // Before anything is said, rounding that has added up is taken out.
                if self.pivots > verified {
                    if outside {
                        self.refresh();
                    } else {
                        self.recompute();
                    }
                    verified = self.pivots;
                    continue;
                }
                return Some(if outside {
                    Outcome::Infeasible
                } else {
                    Outcome::Optimal
                });
            };
            self.column_of(variable, &mut entering);
            let (bounds, from_lower) = self.entering_bounds(variable);
            let direction = if from_lower { 1.0 } else { -1.0 };
            moving.clear();
            for (position, rate) in entering.iter().enumerate() {
                if *rate != 0.0 {
                    let bounds = self.bounds(self.basis[position]);
                    moving.push(Moving {
                        position,
                        value: self.values[position],
                        least: bounds.least,
                        most: bounds.most,
                        rate: -direction * rate,
                    });
                }
            }
            let own = bounds.most - bounds.least;
            let (length, stop) = if outside {
                ratio::infeasible(&moving, own, reduced.abs())
            } else {
                ratio::feasible(&moving, own)
            };
            stalled = if length > FEASIBLE { 0 } else { stalled + 1 };
            if may_stall && stalled > DEGENERATE {
                return None;
            }
            for basic in &moving {
                self.values[basic.position] += basic.rate * length;
            }
            match stop {
                Stop::Nothing => {
                    return Some(Outcome::Unfinished);
                }
                Stop::Own => self.place(
                    variable,
                    if from_lower {
                        Place::Upper
                    } else {
                        Place::Lower
                    },
                ),
                Stop::Basic(position, upper) => {
                    let start = if from_lower {
                        bounds.least
                    } else {
                        bounds.most
                    };
                    let value = start + direction * length;
                    self.exchange(position, upper, variable, value, &entering);
                }
            }
        }
        Some(Outcome::Unfinished)
    }

    /// Costs of the basic variables, and whether they are those of variables outside their bounds.
    fn costs(&self, costs: &mut Vec<f64>) -> bool {
        costs.clear();
        costs.resize(self.basis.len(), 0.0);
        let mut outside = false;
        for (position, variable) in self.basis.iter().enumerate() {
            let (bounds, value) = (self.bounds(*variable), self.values[position]);
            let tolerance = FEASIBLE * (1.0 + value.abs());
            if value < bounds.least - tolerance {
                costs[position] = -1.0;
                outside = true;
            } else if value > bounds.most + tolerance {
                costs[position] = 1.0;
                outside = true;
            }
        }
        if !outside {
            for (position, variable) in self.basis.iter().enumerate() {
                if let Variable::Column(column) = variable {
                    costs[position] = self.columns[*column].cost;
                }
            }
        }
        outside
    }

    /// A variable that is worth bringing in, and its reduced cost.
    fn entering(&mut self, outside: bool, tolerance: f64, bland: bool) -> Option<(Variable, f64)> {
        let worth = |place: Place, bounds: Bounds, reduced: f64| match place {
            Place::Basic(_) => false,
            _ if bounds.least == bounds.most => false,
            Place::Lower => reduced < -tolerance,
            Place::Upper => reduced > tolerance,
        };
        let mut best: Option<(Variable, f64)> = None;
        let mut see = |variable: Variable, reduced: f64| {
            if best.is_none_or(|(_, known)| reduced.abs() > known.abs()) {
                best = Some((variable, reduced));
            }
        };
        for (number, row) in self.rows.iter().enumerate() {
            let reduced = -self.multipliers[number];
            if worth(row.place, row.bounds, reduced) {
                see(Variable::Slack(number), reduced);
                if bland {
                    return best;
                }
            }
        }
        let count = self.columns.len();
        let block = BLOCK.max(count / 8);
        for passed in 0..count {
            let number = if bland {
                passed
            } else {
                (self.next + passed) % count
            };
            let column = &self.columns[number];
            if !matches!(column.place, Place::Basic(_)) {
                let cost = if outside { 0.0 } else { column.cost };
                let priced: f64 = column
                    .entries
                    .iter()
                    .map(|(row, value)| self.multipliers[*row] * value)
                    .sum();
                let reduced = cost - priced;
                if worth(column.place, column.bounds, reduced) {
                    if best.is_none_or(|(_, known)| reduced.abs() > known.abs()) {
                        best = Some((Variable::Column(number), reduced));
                    }
                    if bland {
                        return best;
                    }
                }
            }
            if passed % block == block - 1 && best.is_some() {
                self.next = (number + 1) % count;
                return best;
            }
        }
        best
    }

    pub(super) fn column_of(&self, variable: Variable, into: &mut Vec<f64>) {
        match variable {
            Variable::Slack(row) => self.inverse.times([(row, 1.0)].into_iter(), into),
            Variable::Column(column) => self
                .inverse
                .times(self.columns[column].entries.iter().copied(), into),
        }
    }

    pub(super) fn bounds(&self, variable: Variable) -> Bounds {
        match variable {
            Variable::Slack(row) => self.rows[row].bounds,
            Variable::Column(column) => self.columns[column].bounds,
        }
    }

    /// Bounds of a variable that is not basic, and whether it is at the lower one.
    pub(super) fn entering_bounds(&self, variable: Variable) -> (Bounds, bool) {
        let place = match variable {
            Variable::Slack(row) => self.rows[row].place,
            Variable::Column(column) => self.columns[column].place,
        };
        (self.bounds(variable), place != Place::Upper)
    }

    fn place(&mut self, variable: Variable, place: Place) {
        match variable {
            Variable::Slack(row) => self.rows[row].place = place,
            Variable::Column(column) => self.columns[column].place = place,
        }
    }

    /// Brings a variable in at a position; the one that was there goes to one of its bounds.
    pub(super) fn exchange(
        &mut self,
        position: usize,
        upper: bool,
        variable: Variable,
        value: f64,
        entering: &[f64],
    ) {
        let leaving = self.basis[position];
        self.place(leaving, if upper { Place::Upper } else { Place::Lower });
        let slack = match leaving {
            Variable::Slack(row) => Some(row),
            Variable::Column(_) => None,
        };
        self.inverse.pivot(position, entering, slack);
        if let Variable::Slack(row) = variable {
            self.inverse.slack_entered(row, position);
        }
        self.basis[position] = variable;
        self.place(variable, Place::Basic(position));
        self.values[position] = value;
        self.pivots += 1;
    }

    /// Works the inverse out anew from the slacks, bringing the basic columns in one by one at the largest pivot.
    fn refresh(&mut self) {
        let rows = self.rows.len();
        let columns: Vec<usize> = self
            .basis
            .iter()
            .filter_map(|variable| match variable {
                Variable::Column(column) => Some(*column),
                Variable::Slack(_) => None,
            })
            .collect();
        let stays: Vec<bool> = self
            .rows
            .iter()
            .map(|row| matches!(row.place, Place::Basic(_)))
            .collect();
        self.inverse = Inverse::unit(rows);
        self.basis = (0..rows).map(Variable::Slack).collect();
        let mut free: Vec<bool> = stays.iter().map(|stays| !stays).collect();
        let mut entering = Vec::new();
        for column in columns {
            self.column_of(Variable::Column(column), &mut entering);
            let best = (0..rows)
                .filter(|position| free[*position])
                .max_by(|one, other| {
                    entering[*one]
                        .abs()
                        .total_cmp(&entering[*other].abs())
                        .then(other.cmp(one))
                });
            let position = best.filter(|position| entering[*position].abs() > 1e-11);
            match position {
                Some(position) => {
                    let slack = match self.basis[position] {
                        Variable::Slack(row) => Some(row),
                        Variable::Column(_) => None,
                    };
                    self.inverse.pivot(position, &entering, slack);
                    self.basis[position] = Variable::Column(column);
                    self.columns[column].place = Place::Basic(position);
                    free[position] = false;
                }
                // The basis was singular: the column steps aside for a slack.
                None => self.columns[column].place = Place::Lower,
            }
        }
        for position in 0..rows {
            if let Variable::Slack(row) = self.basis[position] {
                self.rows[row].place = Place::Basic(position);
            }
        }
        self.pivots = 0;
        self.recompute();
    }

    /// The values of the basic variables from those of all others.
    pub(super) fn recompute(&mut self) {
        let mut right: Vec<f64> = self.rows.iter().map(|row| row.right).collect();
        for (number, row) in self.rows.iter_mut().enumerate() {
            // A slack rests on a bound that it has.
            row.place = match row.place {
                Place::Lower if row.bounds.least == f64::NEG_INFINITY => Place::Upper,
                Place::Upper if row.bounds.most == f64::INFINITY => Place::Lower,
                place => place,
            };
            right[number] -= match row.place {
                Place::Basic(_) => 0.0,
                Place::Lower => row.bounds.least,
                Place::Upper => row.bounds.most,
            };
        }
        for column in &mut self.columns {
            if column.place == Place::Upper && column.bounds.most == f64::INFINITY {
                column.place = Place::Lower;
            }
            let value = match column.place {
                Place::Basic(_) => 0.0,
                Place::Lower => column.bounds.least,
                Place::Upper => column.bounds.most,
            };
            if value != 0.0 {
                for (row, entry) in &column.entries {
                    right[*row] -= entry * value;
                }
            }
        }
        let mut values = std::mem::take(&mut self.values);
        self.inverse.times(
            right
                .into_iter()
                .enumerate()
                .filter(|(_, value)| *value != 0.0),
            &mut values,
        );
        self.values = values;
    }
}

fn slack(sense: Sense) -> Bounds {
    match sense {
        Sense::AtMost => Bounds {
            least: 0.0,
            most: f64::INFINITY,
        },
        Sense::AtLeast => Bounds {
            least: f64::NEG_INFINITY,
            most: 0.0,
        },
        Sense::Equal => Bounds {
            least: 0.0,
            most: 0.0,
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deadline::StopSignal;
    use std::time::Duration;

    fn deadline() -> Deadline {
        Deadline::after(Duration::from_secs(10), StopSignal::new())
    }

    /// Chvátal, Linear Programming (1983), page 13 (from memory): maximise 5x + 4y + 3z with three rows; optimum 13.
    #[test]
    fn a_textbook_program() {
        let rows = [5.0, 11.0, 8.0].map(|right| (Sense::AtMost, right));
        let mut simplex = Simplex::new(rows.into_iter());
        for (entries, cost) in [
            (vec![(0, 2.0), (1, 4.0), (2, 3.0)], -5.0),
            (vec![(0, 3.0), (1, 1.0), (2, 4.0)], -4.0),
            (vec![(0, 1.0), (1, 2.0), (2, 2.0)], -3.0),
        ] {
            let column = simplex.add_column(entries, 0.0, f64::INFINITY);
            simplex.set_cost(column, cost);
        }
        assert_eq!(simplex.solve(&deadline()), Outcome::Optimal);
        let found = [0, 1, 2].map(|column| simplex.value(column));
        assert!((5.0 * found[0] + 4.0 * found[1] + 3.0 * found[2] - 13.0).abs() < 1e-9);
        // A row, a bound and a column that come later: x at most 1 by a row, then z at least 2, which leaves no point.
        simplex.add_row(&[(0, 1.0)], Sense::AtMost, 1.0);
        assert_eq!(simplex.solve(&deadline()), Outcome::Optimal);
        assert!(simplex.value(0) <= 1.0 + 1e-9);
        simplex.set_bounds(2, 5.0, 6.0);
        assert_eq!(simplex.solve(&deadline()), Outcome::Infeasible);
    }
}
