//! The goal's terms as linear forms over the columns of the master program.

use crate::exact::{Exact, gcd, round_half_up};
use crate::program::Linear;
use crate::scenario::Term;
use crate::time::Time;

/// Coefficients beyond this lose whole steps in the solver's floating point.
const LARGEST: i128 = 1 << 40;
/// The most stages of a form.
const MOST_STAGES: usize = 4;
/// Coefficients up to this are small enough to be told apart by it in every sum.
const HANDY: i128 = 1 << 22;

/// A quantity as the solver can minimise it: Σ over its stages of unit · form, the earlier stages counting before
/// later ones.
///
/// Lengths that are no whole number of nanometres, such as 1/3 in, leave areas and costs with coefficients that have no
/// large common divisor, and differ by rounding alone from ones that have. There the first stage counts in such a
/// divisor, and the next what rounding adds: less than a divisor in any plan.
#[derive(Clone, Debug)]
pub struct Form {
    /// The stages.
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
        let mut stages = Vec::new();
        let mut rest = raw.clone();
        while stages.is_empty() || !rest.is_empty() {
            let single = Stage::of(&rest);
            let handy = single.exact && largest(&rest) / single.unit <= HANDY;
            let split = if handy || stages.len() >= MOST_STAGES {
                None
            } else {
                Stage::rough(&rest, most)
            };
            let (stage, left) = split.unwrap_or((single, Vec::new()));
            stages.push(stage);
            rest = left;
        }
        Form { stages, raw }
    }

    /// The quantity at a point, exactly.
    pub fn value(&self, values: &[i64]) -> i128 {
        self.raw
            .iter()
            .map(|(column, value)| i128::from(values[*column]) * value)
            .sum()
    }

    /// The most steps of the first stage that a point whose quantity is `value` can have.
    pub fn steps_of(&self, value: i128) -> i128 {
        value.div_euclid(self.stages[0].unit)
    }

    /// The least value where the stages so far are known to have at least so many steps, each with those before it at
    /// exactly so many.
    pub fn least(&self, steps: &[i128]) -> i128 {
        self.stages
            .iter()
            .zip(steps)
            .map(|(stage, steps)| stage.unit * steps)
            .sum()
    }
}

impl Stage {
    /// A stage in a divisor that all coefficients have but for rounding, and what it leaves of each. `None` where there
    /// is no such divisor, or what is left could outweigh a step.
    fn rough(raw: &[(usize, i128)], most: i128) -> Option<(Stage, Vec<(usize, i128)>)> {
        let largest = largest(raw);
        let mut of_largest = 1;
        for (_, value) in raw {
            let lower = rough_ratio(*value, largest, most)?;
            of_largest = of_largest / gcd(of_largest, lower) * lower;
            if of_largest > HANDY {
                return None;
            }
        }
        let steps = |value: i128| round_half_up(value * of_largest, largest).max(1);
        // A little less, so that what is left over is never negative.
        let unit = raw.iter().map(|(_, value)| value / steps(*value)).min()?;
        let left: Vec<(usize, i128)> = raw
            .iter()
            .map(|(column, value)| (*column, value - steps(*value) * unit))
            .collect();
        let outweighs = left
            .iter()
            .any(|(_, left)| left.checked_mul(most).is_none_or(|sum| sum >= unit));
        if outweighs || raw.iter().any(|(_, value)| steps(*value) > HANDY) {
            return None;
        }
        let small = |value: i128| i64::try_from(value).unwrap_or(i64::MAX);
        let stage = Stage {
            linear: Linear::of(
                raw.iter()
                    .map(|(column, value)| (*column, small(steps(*value)))),
            ),
            unit,
            exact: true,
        };
        Some((
            stage,
            left.into_iter().filter(|(_, left)| *left > 0).collect(),
        ))
    }

    /// One stage for all of a quantity. Coefficients too large for the solver are rounded down to a larger unit.
    fn of(raw: &[(usize, i128)]) -> Stage {
        let largest = largest(raw);
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
        Stage {
            linear: Linear::of(raw.iter().map(|(column, value)| (*column, small(*value)))),
            unit,
            exact,
        }
    }
}

/// The largest coefficient, at least 1.
fn largest(raw: &[(usize, i128)]) -> i128 {
    raw.iter()
        .map(|(_, value)| *value)
        .max()
        .unwrap_or(1)
        .max(1)
}

/// The lower part of the simplest fraction that is value / largest but for rounding: the first convergent of its
/// continued fraction that leaves far less than a step, even `most` times: what rounding leaves, and no simpler fraction
/// that happens to be near.
fn rough_ratio(value: i128, largest: i128, most: i128) -> Option<i128> {
    let (mut a, mut b) = (value, largest);
    let (mut before, mut now) = ((0, 1), (1, 0));
    while b != 0 {
        let quotient = a / b;
        (a, b) = (b, a % b);
        (before, now) = (
            now,
            (quotient * now.0 + before.0, quotient * now.1 + before.1),
        );
        let (upper, lower) = now;
        if lower > HANDY {
            return None;
        }
        let left = (value * lower - upper * largest).abs();
        if left.checked_mul(1000 * most)? < largest {
            return Some(lower);
        }
    }
    Some(now.1)
}

/// Every term as a list of columns and what each counts: numbers, nanometres, square nanometres, parts of a minute.
#[derive(Clone, Debug)]
pub struct Terms {
    /// By term, in the order of [`Term::ALL`].
    lists: [Vec<(usize, i128)>; Term::ALL.len()],
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

/// The weight of one of each term — a hooping, a nanometre, a square nanometre, a part of a minute — where one unit of cost is split into
/// [`cost_parts`].
pub fn weight(term: Term, price: Exact, nanometres: i64) -> i128 {
    let per_unit = i128::from(nanometres);
    let scale = match term {
        Term::Hoopings | Term::Joints | Term::HoopChanges => per_unit * per_unit,
        Term::CornerMismatch | Term::Overhang | Term::RollLength => per_unit,
        Term::Stabilizer => 1,
        // A square of 1 in or 1 mm has a whole number of ten-thousands of square nanometres.
        Term::Minutes => per_unit * per_unit / i128::from(Time::PARTS),
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
        let areas = [
            11_469_511_184_488_889,
            6_308_231_057_488_889,
            7_885_288_891_711_111,
        ];
        let form = Form::of(areas.into_iter().enumerate().collect(), 40);
        let steps: Vec<Vec<i64>> = form
            .stages
            .iter()
            .map(|stage| stage.linear.terms.iter().map(|(_, steps)| *steps).collect())
            .collect();
        assert_eq!(steps[0], [80, 44, 55]);
        let point = [3, 0, 7];
        let total: i128 = form
            .stages
            .iter()
            .map(|stage| stage.unit * stage.linear.at(&point))
            .sum();
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
