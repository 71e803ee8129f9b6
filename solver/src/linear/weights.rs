//! Weights of variables for the primal method: about the square of how far all others move when one does.
//!
//! Source: Harris, Pivot selection methods of the Devex LP code, Mathematical Programming 5 (1973) 1–28; Forrest and
//! Goldfarb, Steepest-edge simplex algorithms for linear programming, Mathematical Programming 57 (1992) 341–374 (both from
//! memory).

use crate::linear::simplex::{Place, Simplex, Variable};

/// Weights that have grown so much say little: they begin anew.
const LARGEST: f64 = 1e7;

/// A weight for each variable; those of basic ones do not count.
pub(super) struct Weights {
    pub columns: Vec<f64>,
    pub rows: Vec<f64>,
}

impl Weights {
    /// All weights are one: the variables that are not basic now are what movements are measured in.
    pub fn new(of: &Simplex) -> Weights {
        Weights {
            columns: vec![1.0; of.columns.len()],
            rows: vec![1.0; of.rows.len()],
        }
    }

    fn of(&mut self, variable: Variable) -> &mut f64 {
        match variable {
            Variable::Slack(number) => &mut self.rows[number],
            Variable::Column(number) => &mut self.columns[number],
        }
    }

    /// One variable takes the place of another: the pivot row, and the entry in it of the variable that enters.
    pub fn pivot(
        &mut self,
        of: &Simplex,
        row: &[f64],
        pivot_row: &[f64],
        [entering, leaving]: [Variable; 2],
        pivot: f64,
    ) {
        let weight = *self.of(entering);
        if weight > LARGEST {
            *self = Weights::new(of);
            return;
        }
        let each = weight / (pivot * pivot);
        for (known, entry) in self.columns.iter_mut().zip(pivot_row) {
            *known = known.max(entry * entry * each);
        }
        let rows = of.rows.iter().zip(&mut self.rows).zip(row);
        for ((row, known), entry) in rows {
            if !matches!(row.place, Place::Basic(_)) {
                *known = known.max(entry * entry * each);
            }
        }
        *self.of(leaving) = each.max(1.0);
    }
}
