//! What a plan is worth by the scenario's goal, exactly.

use sashwright_solver::length::{Length, Measure, Unit};
use sashwright_solver::scenario::{Goal, Scenario, Term};

/// The value of every term, in the order of [`Term::ALL`]; nanometres, square nanometres, ten-thousandths of a minute.
pub type Terms = [i128; Term::ALL.len()];

/// What counts, the smaller the better: terms in the goal's order, or the total cost in the first place. Each entry is
/// linear in the terms, so scores of parts add up to the score of the whole.
pub type Score = [i128; Term::ALL.len()];

/// Prices have at most 6 decimals.
const PRICE_PARTS: i128 = 1_000_000;

/// Times are kept to ten-thousandths of a minute.
pub const PARTS_OF_A_MINUTE: i128 = 10_000;

/// The sum of two scores.
pub fn plus(one: Score, other: Score) -> Score {
    std::array::from_fn(|index| one[index] + other[index])
}

/// The score of these terms.
pub fn score(scenario: &Scenario, terms: &Terms) -> Score {
    let mut score = Score::default();
    match &scenario.goal {
        Goal::Priorities(order) => {
            for (place, term) in order.iter().enumerate() {
                score[place] = terms[*term as usize];
            }
        }
        Goal::Prices(prices) => {
            for price in prices {
                let each = price.each.numerator() * (PRICE_PARTS / price.each.denominator());
                let nanometres = i128::from(scenario.unit.nanometres());
                // The cost is counted in parts of (price part / nm² per square unit).
                let parts = match price.term {
                    Term::Stabilizer => 1,
                    Term::CornerMismatch | Term::Overhang | Term::RollLength => nanometres,
                    Term::Hoopings | Term::Joints | Term::HoopChanges => nanometres * nanometres,
                    Term::Minutes => nanometres * nanometres / PARTS_OF_A_MINUTE,
                };
                score[0] += each * parts * terms[price.term as usize];
            }
        }
    }
    score
}

/// The goal's terms by name, each value as a plan prints it.
pub fn printed(scenario: &Scenario, score: &Score) -> Vec<(String, Measure)> {
    let square = |unit: Unit| i128::from(unit.nanometres()).pow(2);
    let unit = scenario.unit;
    match &scenario.goal {
        Goal::Priorities(order) => {
            let value = |(term, value): (&Term, &i128)| {
                let value = match term {
                    Term::Hoopings | Term::Joints | Term::HoopChanges => {
                        Measure::from_ratio(*value, 1)
                    }
                    Term::CornerMismatch | Term::Overhang | Term::RollLength => {
                        Length::from_nanometres(i64::try_from(*value).unwrap_or(i64::MAX))
                            .in_unit(unit)
                    }
                    Term::Stabilizer => Measure::from_ratio(*value, square(unit)),
                    Term::Minutes => Measure::from_ratio(*value, PARTS_OF_A_MINUTE),
                };
                (term.name().to_string(), value)
            };
            order.iter().zip(score).map(value).collect()
        }
        Goal::Prices(_) => {
            let cost = Measure::from_ratio(score[0], PRICE_PARTS * square(unit));
            vec![("cost".to_string(), cost)]
        }
    }
}
