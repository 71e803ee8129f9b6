//! The goal's terms as linear forms over the columns of the master program.

use crate::exact::{Exact, gcd};
use crate::program::Linear;
use crate::scenario::Term;

/// Coefficients beyond this lose whole steps in the solver's floating point.
const LARGEST: i128 = 1 << 40;

/// A quantity that never is below `unit` · `linear`, and equals it where `exact`.
#[derive(Clone, Debug)]
pub struct Form {
    /// The form in small whole numbers.
    pub linear: Linear,
    /// What one step of it is worth.
    pub unit: i128,
    /// Whether nothing was rounded.
    pub exact: bool,
    raw: Vec<(usize, i128)>,
}

impl Form {
    /// The form with these coefficients, none negative, on columns that are never negative. Coefficients too large for
    /// the solver are rounded down to multiples of a larger unit.
    pub fn of(raw: Vec<(usize, i128)>) -> Form {
        let raw: Vec<(usize, i128)> = raw.into_iter().filter(|(_, value)| *value != 0).collect();
        let largest = raw
            .iter()
            .map(|(_, value)| *value)
            .max()
            .unwrap_or(1)
            .max(1);
        let divisor = raw.iter().fold(0, |divisor, (_, value)| {
            if divisor == 0 {
                *value
            } else {
                gcd(divisor, *value)
            }
        });
        let mut unit = divisor.max(1);
        let exact = largest / unit <= LARGEST;
        if !exact {
            unit = largest / LARGEST + 1;
        }
        let small = |value: i128| i64::try_from(value / unit).unwrap_or(i64::MAX);
        Form {
            linear: Linear::of(raw.iter().map(|(column, value)| (*column, small(*value)))),
            unit,
            exact,
            raw,
        }
    }

    /// The quantity at a point, exactly.
    pub fn value(&self, values: &[i64]) -> i128 {
        self.raw
            .iter()
            .map(|(column, value)| i128::from(values[*column]) * value)
            .sum()
    }

    /// The most steps that a point whose quantity is `value` can have.
    pub fn steps_of(&self, value: i128) -> i128 {
        value.div_euclid(self.unit)
    }
}

/// Every term as a list of columns and what each counts: numbers, nanometres, square nanometres.
#[derive(Clone, Default, Debug)]
pub struct Terms {
    /// By term, in the order of [`Term::ALL`].
    lists: [Vec<(usize, i128)>; 6],
}

impl Terms {
    /// Adds to a term.
    pub fn add(&mut self, term: Term, column: usize, each: i128) {
        self.lists[term as usize].push((column, each));
    }

    /// The form of one term.
    pub fn form(&self, term: Term) -> Form {
        Form::of(self.lists[term as usize].clone())
    }

    /// The form of a weighted sum of terms; the weights are whole and not negative.
    pub fn weighted(&self, weights: &[(Term, i128)]) -> Form {
        let mut sums = std::collections::BTreeMap::new();
        for (term, weight) in weights {
            for (column, each) in &self.lists[*term as usize] {
                *sums.entry(*column).or_insert(0_i128) += each * weight;
            }
        }
        Form::of(sums.into_iter().collect())
    }
}

/// The weight of one of each term — a hooping, a nanometre, a square nanometre — where one unit of cost is split into
/// [`cost_parts`].
pub fn weight(term: Term, price: Exact, nanometres: i64) -> i128 {
    let per_unit = i128::from(nanometres);
    let scale = match term {
        Term::Hoopings | Term::Joints | Term::HoopChanges => per_unit * per_unit,
        Term::CornerMismatch | Term::Overhang => per_unit,
        Term::Stabilizer => 1,
    };
    // Prices have at most six decimals.
    price.numerator() * (1_000_000 / price.denominator()) * scale
}

/// Into how many whole parts a unit of cost is split.
pub fn cost_parts(nanometres: i64) -> i128 {
    1_000_000 * i128::from(nanometres) * i128::from(nanometres)
}
