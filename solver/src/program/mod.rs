//! A linear integer program in exact numbers: what is handed to the solver, and what its answers are verified with.

mod bound;
mod minimise;
mod solve;

pub use bound::bound;
pub use minimise::{Minimum, minimise};
pub use solve::{Answer, solve};

use crate::deadline::Deadline;

/// The part of the time left that the solver is given: while it prepares itself it asks no clock, which took 0.4 s with ten thousand
/// columns.
const OF_TIME_LEFT: f64 = 0.5;

/// The limit to tell the solver, in seconds, once the program is built, which can take a while as well; `None` where the time is over.
fn seconds_for_solver(deadline: &Deadline) -> Option<f64> {
    let left = deadline.left().as_secs_f64();
    (left > 0.0).then_some(left * OF_TIME_LEFT)
}

/// A column: a variable with whole bounds.
#[derive(Clone, Debug)]
pub struct Column {
    /// The least value.
    pub least: i64,
    /// The largest value.
    pub most: i64,
    /// Whether only whole values count. A column without is whole by itself once the others are.
    pub whole: bool,
}

/// Which side of its right-hand side a row's sum has to be on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sense {
    /// Sum ≤ right-hand side.
    AtMost,
    /// Sum ≥ right-hand side.
    AtLeast,
    /// Sum = right-hand side.
    Equal,
}

/// A linear form: coefficients by column, each column at most once, no coefficient 0.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub struct Linear {
    /// Column and coefficient.
    pub terms: Vec<(usize, i64)>,
}

impl Linear {
    /// The form with these terms, added up where a column repeats.
    pub fn of(terms: impl IntoIterator<Item = (usize, i64)>) -> Linear {
        let mut sums = std::collections::BTreeMap::new();
        for (column, coefficient) in terms {
            *sums.entry(column).or_insert(0_i64) += coefficient;
        }
        sums.retain(|_, coefficient| *coefficient != 0);
        Linear {
            terms: sums.into_iter().collect(),
        }
    }

    /// Its value at a point.
    pub fn at(&self, values: &[i64]) -> i128 {
        let products = self
            .terms
            .iter()
            .map(|(column, coefficient)| i128::from(values[*column]) * i128::from(*coefficient));
        products.sum()
    }

    /// The greatest common divisor of its coefficients; 1 where there are none. Its values at whole points are
    /// multiples of it.
    pub fn divisor(&self) -> i64 {
        let divisor = self.terms.iter().fold(0_i128, |divisor, (_, coefficient)| {
            if divisor == 0 {
                i128::from(coefficient.abs())
            } else {
                crate::exact::gcd(divisor, i128::from(*coefficient))
            }
        });
        i64::try_from(divisor.max(1)).unwrap_or(1)
    }

    /// The form with every coefficient divided by a common divisor.
    pub fn divided(&self, divisor: i64) -> Linear {
        Linear {
            terms: self
                .terms
                .iter()
                .map(|(column, coefficient)| (*column, coefficient / divisor))
                .collect(),
        }
    }
}

/// A row: a linear form, a sense and a right-hand side.
#[derive(Clone, Debug)]
pub struct Row {
    /// The left-hand side.
    pub form: Linear,
    /// How the two sides compare.
    pub sense: Sense,
    /// The right-hand side.
    pub right: i64,
}

/// An integer program without its objective.
#[derive(Clone, Default, Debug)]
pub struct Program {
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows.
    pub rows: Vec<Row>,
}

impl Program {
    /// Adds a column of whole values from `least` to `most` and returns its number.
    pub fn whole(&mut self, least: i64, most: i64) -> usize {
        self.columns.push(Column {
            least,
            most,
            whole: true,
        });
        self.columns.len() - 1
    }

    /// Adds a column from 0 to `most` that is whole by itself once the others are.
    pub fn flow(&mut self, most: i64) -> usize {
        self.columns.push(Column {
            least: 0,
            most,
            whole: false,
        });
        self.columns.len() - 1
    }

    /// Adds the row `form sense right`.
    pub fn row(&mut self, terms: impl IntoIterator<Item = (usize, i64)>, sense: Sense, right: i64) {
        self.rows.push(Row {
            form: Linear::of(terms),
            sense,
            right,
        });
    }

    /// Whether a point fulfils every bound and every row, exactly.
    pub fn fulfilled_by(&self, values: &[i64]) -> bool {
        let bounds = self.columns.iter().zip(values);
        let rows = self.rows.iter().all(|row| {
            let (sum, right) = (row.form.at(values), i128::from(row.right));
            match row.sense {
                Sense::AtMost => sum <= right,
                Sense::AtLeast => sum >= right,
                Sense::Equal => sum == right,
            }
        });
        values.len() == self.columns.len()
            && rows
            && bounds
                .into_iter()
                .all(|(column, value)| (column.least..=column.most).contains(value))
    }
}
