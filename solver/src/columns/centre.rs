//! A bound whose multipliers lie inside of all those that prove as much, so that few columns beside those of optimal points have no
//! reduced cost.

use crate::columns::generate::Bound;
use crate::columns::restricted::Restricted;
use crate::deadline::Deadline;
use crate::linear::Outcome;
use crate::random::{STEP, part, spread};

/// From so many sets of multipliers the middle is taken.
const SETS: u64 = 3;
/// How far a right-hand side is moved, up or down, for each of them.
const NUDGE: f64 = 5e-4;
/// The most rounds of pricing for one set.
const MOST_ROUNDS: usize = 100;

impl Restricted<'_, '_> {
    /// A bound on a form that is as good as a known one, rounded up: the middle of what the linear program says where the number of
    /// runs of each kind is slightly another, once one way and once another. Where that proves less it is the known one.
    pub fn centred(&mut self, form: &[i64], known: Bound, deadline: &Deadline) -> Bound {
        let mut sum: Vec<i128> = Vec::new();
        for set in 0..SETS {
            let rows = self.kind_rows.clone();
            for (kind, row) in rows.iter().enumerate() {
                let number = (kind as u64 * SETS + set + 1).wrapping_mul(STEP);
                let by = NUDGE * (2.0 * part(spread(number)) - 1.0);
                self.model.nudge(*row, by);
            }
            let multipliers = self.multipliers(form, known.places, deadline);
            for row in rows {
                self.model.nudge(row, 0.0);
            }
            let Some(multipliers) = multipliers else {
                return known;
            };
            sum.resize(multipliers.len(), 0);
            for (sum, of_set) in sum.iter_mut().zip(multipliers) {
                *sum += i128::from(of_set);
            }
        }
        let middle = sum.iter().map(|sum| sum.div_euclid(i128::from(SETS)));
        let multipliers: Vec<i64> = middle
            .map(|value| i64::try_from(value).unwrap_or(0))
            .collect();
        let centred = Bound {
            parts: self.proven(&multipliers, form, known.places),
            multipliers,
            places: known.places,
        };
        if centred.steps() >= known.steps() {
            centred
        } else {
            known
        }
    }

    /// The multipliers of the linear program over all hoopings, as it stands.
    fn multipliers(&mut self, form: &[i64], places: u32, deadline: &Deadline) -> Option<Vec<i64>> {
        for _ in 0..MOST_ROUNDS {
            if self.model.solve(deadline) != Outcome::Optimal {
                return None;
            }
            let multipliers = self.rounded(places, true);
            if !self.add_worthwhile_hoopings(&multipliers, form, places) {
                return Some(multipliers);
            }
        }
        None
    }
}
