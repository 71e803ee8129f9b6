//! A linear program with bounds on variables, and a basis of it to start from. Rows, columns and bounds may change between two
//! solves; the next one starts where the last one ended: by the dual method where bounds were narrowed or the program is small, else by
//! the primal one.
//!
//! Source: Chvátal, Linear Programming (1983), chapters 7, 8 and 13 (from memory).

use crate::deadline::Deadline;
use crate::linear::factors::Factors;
use crate::program::Sense;

/// A reduced cost nearer to 0 than this, relative to the largest cost, is 0.
pub(super) const OPTIMAL: f64 = 1e-9;
/// A program of so many rows is small.
const FEW_ROWS: usize = 200;
/// How often bounds are moved apart, at most.
const MOST_MOVED: usize = 3;
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

impl Column {
    /// A vector by row, times the column.
    pub fn times(&self, rows: &[f64]) -> f64 {
        let entries = self.entries.iter();
        entries.map(|(row, value)| rows[*row] * value).sum()
    }
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
    /// The entries of the columns once more, row by row.
    pub(super) by_row: Vec<Vec<(usize, f64)>>,
    pub(super) basis: Vec<Variable>,
    /// Values of the basic variables, by position.
    pub(super) values: Vec<f64>,
    pub(super) factors: Factors,
    pub(super) pivots: usize,
    /// The multiplier of each row after a solve: of the objective, or of the sum of what is outside.
    pub(super) multipliers: Vec<f64>,
    /// Where the search for an entering column goes on.
    pub(super) next: usize,
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
        simplex.by_row = vec![Vec::new(); simplex.rows.len()];
        simplex.factors = Factors::unit(simplex.rows.len());
        simplex
    }

    /// Adds a column and returns its number. `least` is finite.
    pub fn add_column(&mut self, entries: Vec<(usize, f64)>, least: f64, most: f64) -> usize {
        for (row, value) in &entries {
            self.by_row[*row].push((self.columns.len(), *value));
        }
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
        self.by_row.push(terms.to_vec());
        self.basis.push(Variable::Slack(row));
        self.factors.grow(&basic);
    }

    /// Adds a coefficient to a column that was never basic.
    pub fn add_entry(&mut self, column: usize, row: usize, value: f64) {
        self.columns[column].entries.push((row, value));
        self.by_row[row].push((column, value));
    }

    /// Sets the right-hand side of a row.
    pub fn set_right(&mut self, row: usize, right: f64) {
        self.rows[row].right = right;
    }

    /// Lets a row that is an upper bound be passed by so much. (A right-hand side that is as large says the same, but among numbers near to 1
    /// its rounding is more than a value may be off.)
    pub fn set_slack(&mut self, row: usize, by: f64) {
        self.rows[row].bounds.least = -by;
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
        // New columns leave everything within its bounds: from there the primal method has the shorter way. In small programs that makes
        // no odds, and the points of the dual one have more whole values, as it begins with new columns at the upper of their bounds.
        let dually = self.rows.len() <= FEW_ROWS || self.worst().is_some();
        if dually && let Some(outcome) = self.solve_dually(scale, deadline) {
            if outcome != Outcome::Infeasible || self.pivots == 0 {
                return outcome;
            }
            // A claim is made with fresh factors only: where numbers are of very different size a few pivots are enough to spoil it.
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

    pub(super) fn column_of(&self, variable: Variable, into: &mut Vec<f64>) {
        match variable {
            Variable::Slack(row) => self.factors.times([(row, 1.0)].into_iter(), into),
            Variable::Column(column) => self
                .factors
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

    pub(super) fn place(&mut self, variable: Variable, place: Place) {
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
        self.factors.replace(position, entering);
        self.basis[position] = variable;
        self.place(variable, Place::Basic(position));
        self.values[position] = value;
        self.pivots += 1;
    }

    /// Works the factors out anew. False where the basis was singular, so that a column stepped aside for a slack.
    pub(super) fn refresh(&mut self) -> bool {
        let basic: Vec<usize> = self
            .basis
            .iter()
            .filter_map(|variable| match variable {
                Variable::Column(column) => Some(*column),
                Variable::Slack(_) => None,
            })
            .collect();
        let is_free = |row: &Row| !matches!(row.place, Place::Basic(_));
        let free: Vec<bool> = self.rows.iter().map(is_free).collect();
        let lists = basic
            .iter()
            .map(|column| self.columns[*column].entries.as_slice());
        let (factors, places) = Factors::of(&lists.collect::<Vec<_>>(), free);
        self.factors = factors;
        self.basis = (0..self.rows.len()).map(Variable::Slack).collect();
        for (column, place) in basic.into_iter().zip(&places) {
            self.columns[column].place = Place::Lower;
            if let Some(position) = place {
                self.basis[*position] = Variable::Column(column);
                self.columns[column].place = Place::Basic(*position);
            }
        }
        for position in 0..self.basis.len() {
            if let Variable::Slack(row) = self.basis[position] {
                self.rows[row].place = Place::Basic(position);
            }
        }
        self.pivots = 0;
        self.recompute();
        places.iter().all(Option::is_some)
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
        self.factors.times(
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
