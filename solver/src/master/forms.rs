//! The goal's terms as linear forms over the columns of the master program.

use crate::exact::{Exact, gcd, round_half_up};
use crate::program::Linear;
use crate::scenario::Term;

/// Coefficients beyond this lose whole steps in the solver's floating point.
const LARGEST: i128 = 1 << 40;
/// Coefficients up to this are small enough to be told apart by it in every sum.
const HANDY: i128 = 1 << 22;

/// A quantity as the solver can minimise it: Σ over its stages of unit · form, the first stage counting before the
/// second.
///
/// Lengths that are no whole number of nanometres, such as 1/3 in, leave areas and costs with coefficients that have no
/// large common divisor, and differ by rounding alone from ones that have. There the first stage counts in such a
/// divisor, and the second what rounding adds: less than a divisor in any plan.
#[derive(Clone, Debug)]
pub struct Form {
    /// The stages, at most two.
    pub stages: Vec<Stage>,
    raw: Vec<(usize, i128)>,
}

/// A linear form in small whole numbers.
#[derive(Clone, Debug)]
pub struct Stage {
    /// The form.
    pub linear: Linear,
    /// What one step of it is worth.
    pub unit: i128,
    /// Whether the quantity is exactly unit · form. Otherwise it is never below that.
    pub exact: bool,
}

impl Form {
    /// The form with these coefficients, none negative, on columns that are never negative and add up to at most `most`.
    pub fn of(raw: Vec<(usize, i128)>, most: i128) -> Form {
        let raw: Vec<(usize, i128)> = raw.into_iter().filter(|(_, value)| *value != 0).collect();
        let largest = raw.iter().map(|(_, value)| *value).max().unwrap_or(1).max(1);
        let single = Stage::of(&raw);
        let in_two = || {
            let shifts = [44, 38, 34, 30, 26, 24, 22, 20, 18, 16, 14];
            shifts.into_iter().find_map(|shift| Form::in_two(&raw, largest >> shift, most))
        };
        if single.exact && largest / single.unit <= HANDY {
            return Form { stages: vec![single], raw };
        }
        let stages = in_two().unwrap_or(vec![single]);
        Form { stages, raw }
    }

    /// Two stages, the first in a divisor that all coefficients have but for `rounding`. `None` where there is no such divisor, or the second could outweigh a step of the first.
    fn in_two(raw: &[(usize, i128)], rounding: i128, most: i128) -> Option<Vec<Stage>> {
        let largest = raw.iter().map(|(_, value)| *value).max()?;
        // The largest value tells the divisor best: its rounding is shared among most steps.
        let refined = |divisor: i128| round_half_up(largest, round_half_up(largest, divisor).max(1));
        let unit = raw
            .iter()
            .fold(largest, |divisor, (_, value)| refined(rough_divisor(divisor, *value, rounding)));
        if unit <= 0 {
            return None;
        }
        let steps = |value: i128| round_half_up(value, unit).max(1);
        // A little less, so that what is left over is never negative.
        let unit = raw.iter().map(|(_, value)| value / steps(*value)).min()?;
        let split: Vec<(usize, i128, i128)> =
            raw.iter().map(|(column, value)| (*column, steps(*value), value - steps(*value) * unit)).collect();
        let rest = split.iter().map(|(_, _, rest)| *rest).max()?.checked_mul(most)?;
        let handy = split.iter().all(|(_, steps, _)| *steps <= HANDY);
        if !handy || rest >= unit {
            return None;
        }
        let small = |value: i128| i64::try_from(value).ok();
        let first: Option<Vec<(usize, i64)>> =
            split.iter().map(|(column, steps, _)| Some((*column, small(*steps)?))).collect();
        let second: Option<Vec<(usize, i64)>> =
            split.iter().map(|(column, _, rest)| Some((*column, small(*rest)?))).collect();
        let stage = |terms: Vec<(usize, i64)>, unit: i128| Stage {
            linear: Linear::of(terms),
            unit,
            exact: true,
        };
        Some(vec![stage(first?, unit), stage(second?, 1)])
    }

    /// The quantity at a point, exactly.
    pub fn value(&self, values: &[i64]) -> i128 {
        self.raw.iter().map(|(column, value)| i128::from(values[*column]) * value).sum()
    }

    /// The most steps of the first stage that a point whose quantity is `value` can have.
    pub fn steps_of(&self, value: i128) -> i128 {
        value.div_euclid(self.stages[0].unit)
    }

    /// The least value where the stages so far are known to have at least so many steps, each with those before it at
    /// exactly so many.
    pub fn least(&self, steps: &[i128]) -> i128 {
        self.stages.iter().zip(steps).map(|(stage, steps)| stage.unit * steps).sum()
    }
}

impl Stage {
    /// One stage for all of a quantity. Coefficients too large for the solver are rounded down to a larger unit.
    fn of(raw: &[(usize, i128)]) -> Stage {
        let largest = raw.iter().map(|(_, value)| *value).max().unwrap_or(1).max(1);
        let divisor = raw.iter().fold(0, |divisor, (_, value)| if divisor == 0 { *value } else { gcd(divisor, *value) });
        let mut unit = divisor.max(1);
        let exact = largest / unit <= LARGEST;
        if !exact {
            unit = largest / LARGEST + 1;
        }
        let small = |value: i128| i64::try_from(value / unit).unwrap_or(i64::MAX);
        Stage {
            linear: Linear::of(raw.iter().map(|(column, value)| (*column, small(*value)))),
            unit,
            exact,
        }
    }
}

/// A divisor of both numbers but for remainders of up to `rounding` (Euclid's algorithm, stopped there).
fn rough_divisor(a: i128, b: i128, rounding: i128) -> i128 {
    let (mut a, mut b) = (a.max(b), a.min(b));
    while b > rounding {
        let rest = a % b;
        (a, b) = (b, rest.min(b - rest));
    }
    a
}

/// Every term as a list of columns and what each counts: numbers, nanometres, square nanometres.
#[derive(Clone, Debug)]
pub struct Terms {
    /// By term, in the order of [`Term::ALL`].
    lists: [Vec<(usize, i128)>; 6],
    /// The most that the columns of a term add up to.
    most: i128,
}

impl Terms {
    /// No terms yet, for a program whose counted columns add up to at most `most`.
    pub fn new(most: i128) -> Terms {
        Terms {
            lists: Default::default(),
            most,
        }
    }

    /// Adds to a term.
    pub fn add(&mut self, term: Term, column: usize, each: i128) {
        self.lists[term as usize].push((column, each));
    }

    /// The form of one term.
    pub fn form(&self, term: Term) -> Form {
        Form::of(self.lists[term as usize].clone(), self.most)
    }

    /// The form of a weighted sum of terms; the weights are whole and not negative.
    pub fn weighted(&self, weights: &[(Term, i128)]) -> Form {
        let mut sums = std::collections::BTreeMap::new();
        for (term, weight) in weights {
            for (column, each) in &self.lists[*term as usize] {
                *sums.entry(*column).or_insert(0_i128) += each * weight;
            }
        }
        Form::of(sums.into_iter().collect(), self.most)
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Pieces of 5 1/3 × 3 1/3, 3 2/3 × 2 2/3 and 3 2/3 × 3 1/3 in: 80, 44 and 55 times 2/9 in², but for rounding.
    #[test]
    fn thirds_of_an_inch_are_counted_in_two_stages() {
        let areas = [11_469_511_184_488_889, 6_308_231_057_488_889, 7_885_288_891_711_111];
        let form = Form::of(areas.into_iter().enumerate().collect(), 40);
        let steps: Vec<Vec<i64>> = form
            .stages
            .iter()
            .map(|stage| stage.linear.terms.iter().map(|(_, steps)| *steps).collect())
            .collect();
        assert_eq!(steps[0], [80, 44, 55]);
        let point = [3, 0, 7];
        let total: i128 = form.stages.iter().map(|stage| stage.unit * stage.linear.at(&point)).sum();
        assert_eq!(total, form.value(&point));
    }

    #[test]
    fn sixteenths_need_one_stage() {
        let sixteenth = 1_587_500_i128;
        let form = Form::of(vec![(0, 35 * sixteenth), (1, 0), (2, 14 * sixteenth)], 1000);
        assert_eq!(form.stages.len(), 1);
        assert_eq!(form.stages[0].linear, Linear::of([(0, 5), (2, 2)]));
    }
}
