//! Which totals there can be: sums of what single levels and sheets cost. A bound between two of them is the next one.

use crate::cutting::model::Model;
use crate::exact::gcd;

/// Totals are listed up to so many steps of their common divisor.
const MOST_STEPS: i128 = 2_000_000;

/// The totals there can be.
#[derive(Clone, Debug)]
pub struct Totals {
    /// What all costs are multiples of; 0 where everything is free.
    step: i128,
    /// Whether so many steps are a total; empty where they are too many to list.
    reached: Vec<bool>,
}

impl Totals {
    /// The totals of a model, up to `most`.
    pub fn of(model: &Model, most: i128) -> Totals {
        let levels = model.spots.iter().map(|spot| spot.cost);
        let mut costs: Vec<i128> = levels
            .chain(model.sheets.iter().map(|sheet| sheet.cost))
            .collect();
        costs.sort_unstable();
        costs.dedup();
        costs.retain(|cost| *cost > 0);
        let step = costs.iter().copied().fold(0, gcd);
        let mut reached = Vec::new();
        if step > 0 && most / step < MOST_STEPS / i128::try_from(costs.len()).unwrap_or(1) {
            let steps = usize::try_from(most / step).unwrap_or(0);
            reached = vec![false; steps + 1];
            reached[0] = true;
            for at in 1..=steps {
                reached[at] = costs.iter().any(|cost| {
                    let back = usize::try_from(cost / step).unwrap_or(usize::MAX);
                    at.checked_sub(back).is_some_and(|before| reached[before])
                });
            }
        }
        Totals { step, reached }
    }

    /// The least total that is no less than a bound; the bound itself beyond what is listed.
    pub fn lift(&self, bound: i128) -> i128 {
        if self.step == 0 || bound <= 0 {
            return bound.max(0);
        }
        let steps = (bound + self.step - 1) / self.step;
        let listed = usize::try_from(steps).ok().and_then(|steps| {
            let rest = self.reached.get(steps..)?;
            let further = rest.iter().position(|reached| *reached)?;
            i128::try_from(steps + further).ok()
        });
        listed.unwrap_or(steps) * self.step
    }
}
