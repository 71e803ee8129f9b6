//! The restricted master program: exact rows and columns, and the linear program in floating point that goes with them.

use crate::deadline::Deadline;
use crate::linear::{Outcome, Simplex};
use crate::program::Sense;

/// Binary places of the largest cost in parts: a bound is worked out in parts of a step so small that rounding is nothing,
/// and so large that sums stay within 64 bits.
const PLACES: u32 = 42;
/// Larger multipliers, in parts, are cut off; a bound stays a bound with any multipliers.
const LARGEST: f64 = (1_u64 << LARGEST_PLACES) as f64;
const LARGEST_PLACES: u32 = 50;

/// A column: a variable with whole bounds.
#[derive(Clone, Debug)]
pub struct Column {
    /// Row and coefficient.
    pub entries: Vec<(usize, i64)>,
    /// The least value.
    pub least: i64,
    /// The largest value.
    pub most: i64,
    /// Whether only whole values count. A column without is whole by itself once the others are.
    pub whole: bool,
    /// Which columns are settled first: low numbers before high ones.
    pub rank: u8,
    /// What one of it costs in the objective at hand.
    pub cost: i64,
    /// Whether a pricing problem bounds its reduced cost, together with that of all columns of its kind.
    pub priced: bool,
}

#[derive(Clone, Debug)]
struct Row {
    /// Coefficients and right-hand side are divided by this in the linear program, so that they stay near to 1.
    scale: f64,
    sense: Sense,
    /// `None` for a row that does not count at present.
    right: Option<i64>,
}

/// Rows, columns, and a linear program of them. Minimises.
#[derive(Clone, Debug)]
pub struct Model {
    rows: Vec<Row>,
    /// The columns.
    pub columns: Vec<Column>,
    simplex: Simplex,
    /// Costs are divided by this in the linear program.
    cost_scale: f64,
}

/// By how much a row that does not count may be passed: no sum of a row reaches it, once it is divided by the row's scale.
const FAR: f64 = (1 << 24) as f64;

impl Model {
    /// A program with these rows: senses, right-hand sides, and the size of their coefficients.
    pub fn new(rows: Vec<(Sense, Option<i64>, i64)>) -> Model {
        let right = |(sense, right, size): &(Sense, Option<i64>, i64)| {
            (*sense, right.unwrap_or(0) as f64 / *size as f64)
        };
        let mut simplex = Simplex::new(rows.iter().map(right));
        for (row, _) in rows
            .iter()
            .enumerate()
            .filter(|(_, (_, right, _))| right.is_none())
        {
            simplex.set_slack(row, FAR);
        }
        Model {
            simplex,
            rows: rows
                .into_iter()
                .map(|(sense, right, size)| Row {
                    scale: size as f64,
                    sense,
                    right,
                })
                .collect(),
            columns: Vec::new(),
            cost_scale: 1.0,
        }
    }

    /// Adds a row without terms and returns its number.
    pub fn add_row(&mut self, sense: Sense, right: i64) -> usize {
        self.rows.push(Row {
            scale: 1.0,
            sense,
            right: Some(right),
        });
        self.simplex.add_row(&[], sense, right as f64);
        self.rows.len() - 1
    }

    /// Adds a row over the columns there are.
    pub fn add_cut(&mut self, terms: &[(usize, i64)], least: i64) {
        let row = self.rows.len();
        let size = terms.iter().map(|(_, value)| value.unsigned_abs()).max();
        let scale = size.unwrap_or(1).max(1) as f64;
        self.rows.push(Row {
            scale,
            sense: Sense::AtLeast,
            right: Some(least),
        });
        let floats: Vec<(usize, f64)> = terms
            .iter()
            .map(|(column, value)| (*column, *value as f64 / scale))
            .collect();
        self.simplex
            .add_row(&floats, Sense::AtLeast, least as f64 / scale);
        for (column, value) in terms {
            self.columns[*column].entries.push((row, *value));
        }
    }

    /// Adds a whole column that counts the columns of a set, and the row that ties it to them. Returns the column.
    pub fn add_count(&mut self, set: &[usize], most: i64) -> usize {
        let row = self.rows.len();
        self.rows.push(Row {
            scale: 1.0,
            sense: Sense::Equal,
            right: Some(0),
        });
        let terms: Vec<(usize, f64)> = set.iter().map(|column| (*column, 1.0)).collect();
        self.simplex.add_row(&terms, Sense::Equal, 0.0);
        for column in set {
            self.columns[*column].entries.push((row, 1));
        }
        self.add(Column {
            entries: vec![(row, -1)],
            least: 0,
            most,
            whole: true,
            rank: 0,
            cost: 0,
            priced: false,
        })
    }

    /// Adds a coefficient to a column that has none in this row and is not basic yet.
    pub fn add_entry(&mut self, column: usize, row: usize, value: i64) {
        self.columns[column].entries.push((row, value));
        self.simplex.add_entry(column, row, value as f64);
    }

    /// Adds a column and returns its number.
    pub fn add(&mut self, column: Column) -> usize {
        let entries = column.entries.iter();
        let most = if column.whole {
            column.most as f64
        } else {
            f64::INFINITY
        };
        let number = self.simplex.add_column(
            entries
                .map(|(row, value)| (*row, *value as f64 / self.rows[*row].scale))
                .collect(),
            column.least as f64,
            most,
        );
        self.simplex
            .set_cost(number, column.cost as f64 / self.cost_scale);
        self.columns.push(column);
        number
    }

    /// Sets the right-hand side of a row; `None` where it does not count. Such a row is an upper bound.
    pub fn set_right(&mut self, row: usize, right: Option<i64>) {
        self.rows[row].right = right;
        let scaled = right.unwrap_or(0) as f64 / self.rows[row].scale;
        self.simplex.set_right(row, scaled);
        self.simplex
            .set_slack(row, if right.is_some() { 0.0 } else { FAR });
    }

    /// Moves the right-hand side of a row that counts, in the linear program alone: from where it is in truth.
    pub fn nudge(&mut self, row: usize, by: f64) {
        let of = &self.rows[row];
        if let Some(right) = of.right {
            self.simplex.set_right(row, right as f64 / of.scale + by);
        }
    }

    /// Sets what every column costs; none costs more than `largest`.
    pub fn set_costs(&mut self, costs: impl Iterator<Item = i64>, largest: i64) {
        self.cost_scale = largest.max(1) as f64;
        for (number, cost) in costs.enumerate() {
            self.columns[number].cost = cost;
            self.simplex.set_cost(number, cost as f64 / self.cost_scale);
        }
    }

    /// Sets the bounds of a column.
    pub fn set_bounds(&mut self, column: usize, least: i64, most: i64) {
        let of = &mut self.columns[column];
        (of.least, of.most) = (least, most);
        let upper = if of.whole { most as f64 } else { f64::INFINITY };
        self.simplex.set_bounds(column, least as f64, upper);
    }

    /// Solves the linear program from where it stands.
    pub fn solve(&mut self, deadline: &Deadline) -> Outcome {
        self.simplex.solve(deadline)
    }

    /// The value of a column in the linear program.
    pub fn value(&self, column: usize) -> f64 {
        self.simplex.value(column)
    }

    /// The objective of the linear program.
    pub fn objective(&self) -> f64 {
        let columns = self.columns.iter().enumerate();
        let costly = columns.filter(|(_, column)| column.cost != 0);
        costly
            .map(|(number, column)| column.cost as f64 * self.value(number))
            .sum()
    }

    /// Into how many parts a step of the objective is divided, as a power of two; fewer where steps are small against costs.
    pub fn places(&self, objective: bool) -> u32 {
        let costs = self.columns.iter().map(|column| column.cost.unsigned_abs());
        let largest = if objective {
            costs.max().unwrap_or(1)
        } else {
            1
        };
        let of_costs = PLACES.saturating_sub(largest.max(1).ilog2());
        let values = self.simplex.multipliers().iter();
        let values = values.zip(&self.rows);
        let scale = if objective { self.cost_scale } else { 1.0 };
        let largest = values.map(|(value, row)| value.abs() * scale / row.scale);
        let largest = largest.fold(1.0, f64::max).min(LARGEST);
        // 2^exponent > largest
        let exponent = (largest.log2().floor() as u32).saturating_add(1);
        of_costs.min(LARGEST_PLACES.saturating_sub(exponent)).max(2)
    }

    /// The multipliers of the rows in parts of 2^-`places`, with signs that make a bound of them.
    pub fn multipliers(&self, places: u32, objective: bool) -> Vec<i64> {
        let unit = (1_u64 << places) as f64 * if objective { self.cost_scale } else { 1.0 };
        let rounded = self.simplex.multipliers().iter().zip(&self.rows);
        let rounded = rounded.map(|(value, row)| {
            let value = if value.is_finite() { *value } else { 0.0 };
            let parts = (value * unit / row.scale).clamp(-LARGEST, LARGEST).round() as i64;
            match (row.sense, row.right) {
                (_, None) => 0,
                (Sense::AtLeast, _) => parts.max(0),
                (Sense::AtMost, _) => parts.min(0),
                (Sense::Equal, _) => parts,
            }
        });
        rounded.collect()
    }

    /// The reduced cost of a column in parts of 2^-`places`; without places costs do not count.
    pub fn reduced(&self, column: usize, multipliers: &[i64], places: Option<u32>) -> i128 {
        let of = &self.columns[column];
        let cost = places.map_or(0, |places| i128::from(of.cost) << places);
        let priced = of.entries.iter();
        let priced = priced.map(|(row, value)| i128::from(multipliers[*row]) * i128::from(*value));
        cost - priced.sum::<i128>()
    }

    /// What the multipliers prove of all points, in parts, as far as the rows and the columns go that no pricing problem
    /// bounds; with `all`, of all columns there are. (Weak duality of Lagrangian relaxation, as in
    /// [`crate::program::bound`].)
    pub fn proves(&self, multipliers: &[i64], places: Option<u32>, all: bool) -> i128 {
        let rows = self.rows.iter().zip(multipliers);
        let rows = rows
            .map(|(row, multiplier)| i128::from(*multiplier) * i128::from(row.right.unwrap_or(0)));
        let mut total: i128 = rows.sum();
        for (number, column) in self.columns.iter().enumerate() {
            if column.priced && !all {
                continue;
            }
            let reduced = self.reduced(number, multipliers, places);
            let at = if reduced >= 0 {
                column.least
            } else {
                column.most
            };
            total += reduced * i128::from(at);
        }
        total
    }

    /// The number of rows.
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// The value of each column, to the nearest whole number.
    pub fn rounded(&self) -> Vec<i64> {
        let columns = 0..self.columns.len();
        columns
            .map(|column| self.value(column).round() as i64)
            .collect()
    }

    /// The values of the columns as whole numbers, where these are a point of the program: exactly.
    pub fn whole_point(&self) -> Option<Vec<i64>> {
        let values = self.rounded();
        let mut sums = vec![0_i128; self.rows.len()];
        for (column, value) in self.columns.iter().zip(&values) {
            if !(column.least..=column.most).contains(value) {
                return None;
            }
            if *value != 0 {
                for (row, entry) in &column.entries {
                    sums[*row] += i128::from(*entry) * i128::from(*value);
                }
            }
        }
        let holds = |(row, sum): (&Row, &i128)| {
            row.right.is_none_or(|right| match row.sense {
                Sense::AtMost => *sum <= i128::from(right),
                Sense::AtLeast => *sum >= i128::from(right),
                Sense::Equal => *sum == i128::from(right),
            })
        };
        self.rows.iter().zip(&sums).all(holds).then_some(values)
    }

    /// The objective at a whole point.
    pub fn cost_at(&self, values: &[i64]) -> i128 {
        let columns = self.columns.iter().zip(values);
        columns
            .map(|(column, value)| i128::from(column.cost) * i128::from(*value))
            .sum()
    }
}
