//! The primal simplex method: first the sum of what is outside its bounds falls to nothing, then the objective falls.
//!
//! While something is outside, what is to fall changes from pivot to pivot, and the variable with the largest reduced cost enters
//! of those looked at. After that reduced costs are kept up to date, and each is weighed by about how far its variable moves the others
//! (`weights.rs`): long chains of exchanges take few pivots so, where the largest reduced cost would take them one by one.

use crate::deadline::Deadline;
use crate::linear::ratio::{self, FEASIBLE, Moving, Stop};
use crate::linear::reduced::Reduced;
use crate::linear::simplex::{Bounds, OPTIMAL, Outcome, Place, Simplex, Variable};
use crate::linear::weights::Weights;

/// After so many pivots without progress bounds are moved apart.
const DEGENERATE: usize = 60;
/// After so many pivots without progress the smallest index enters (Bland's rule), until there is some.
const STALLED: usize = 400;
/// Columns are looked at in blocks of at least so many for one to enter.
const BLOCK: usize = 400;

/// Whether a variable at a bound, with these bounds and this reduced cost, is worth bringing in.
fn is_worth(place: Place, bounds: Bounds, reduced: f64, tolerance: f64) -> bool {
    match place {
        Place::Basic(_) => false,
        _ if bounds.least == bounds.most => false,
        Place::Lower => reduced < -tolerance,
        Place::Upper => reduced > tolerance,
    }
}

impl Simplex {
    /// Solves by the primal method; `None` where it ends, as it may, since it makes no progress.
    pub(super) fn solve_primally(
        &mut self,
        scale: f64,
        may_stall: bool,
        deadline: &Deadline,
    ) -> Option<Outcome> {
        let limit = 2_000 + 20 * (self.rows.len() + self.columns.len().min(20_000));
        let (mut stalled, mut costs, mut entering) = (0, Vec::new(), Vec::new());
        let (mut row, mut moving) = (Vec::new(), Vec::new());
        let mut verified = 0;
        // Where everything is within its bounds, and whether nothing was pivoted since they were worked out.
        let mut reduced: Option<Reduced> = None;
        let mut weights = Weights::new(self);
        for step in 0..limit {
            if step % 32 == 31 && deadline.over() {
                return Some(Outcome::Unfinished);
            }
            if self.factors.are_long() {
                self.refresh();
                verified = 0;
                reduced = None;
            }
            let outside = self.costs(&mut costs);
            if outside || reduced.is_none() {
                let mut multipliers = std::mem::take(&mut self.multipliers);
                self.factors.before(&costs, &mut multipliers);
                self.multipliers = multipliers;
                reduced = (!outside).then(|| self.reduced_costs(&self.multipliers));
            }
            let tolerance = if outside { OPTIMAL } else { OPTIMAL * scale };
            let bland = stalled > STALLED;
            let found = match &reduced {
                Some(reduced) => self.weighed(reduced, &weights, tolerance, bland),
                None => self.entering(tolerance, bland),
            };
            let Some((variable, slope)) = found else {
                // Before anything is said, rounding that has added up is taken out.
                if self.pivots > verified {
                    if outside {
                        self.refresh();
                    } else {
                        self.recompute();
                    }
                    verified = self.pivots;
                    reduced = None;
                    continue;
                }
                return Some(if outside {
                    Outcome::Infeasible
                } else {
                    Outcome::Optimal
                });
            };
            self.column_of(variable, &mut entering);
            let (bounds, from_lower) = self.entering_bounds(variable);
            let direction = if from_lower { 1.0 } else { -1.0 };
            self.moved_by(&entering, direction, &mut moving);
            let own = bounds.most - bounds.least;
            let (length, stop) = if outside {
                ratio::infeasible(&moving, own, slope.abs())
            } else {
                ratio::feasible(&moving, own)
            };
            stalled = if length > FEASIBLE { 0 } else { stalled + 1 };
            if may_stall && stalled > DEGENERATE {
                return None;
            }
            for basic in &moving {
                self.values[basic.position] += basic.rate * length;
            }
            match stop {
                Stop::Nothing => {
                    return Some(Outcome::Unfinished);
                }
                Stop::Own => self.place(
                    variable,
                    if from_lower {
                        Place::Upper
                    } else {
                        Place::Lower
                    },
                ),
                Stop::Basic(position, upper) => {
                    if let Some(reduced) = &mut reduced {
                        self.factors.row(position, &mut row);
                        let pivot_row = self.pivot_row(&row);
                        let (both, pivot) = ([variable, self.basis[position]], entering[position]);
                        self.pivot_reduced(reduced, &row, &pivot_row, both, pivot);
                        weights.pivot(self, &row, &pivot_row, both, pivot);
                    }
                    let start = if from_lower {
                        bounds.least
                    } else {
                        bounds.most
                    };
                    let value = start + direction * length;
                    self.exchange(position, upper, variable, value, &entering);
                }
            }
        }
        Some(Outcome::Unfinished)
    }

    /// The basic variables that move when a variable enters, in a direction: `entering` is the inverse times its column.
    fn moved_by(&self, entering: &[f64], direction: f64, moving: &mut Vec<Moving>) {
        moving.clear();
        for (position, rate) in entering.iter().enumerate() {
            if *rate != 0.0 {
                let bounds = self.bounds(self.basis[position]);
                moving.push(Moving {
                    position,
                    value: self.values[position],
                    least: bounds.least,
                    most: bounds.most,
                    rate: -direction * rate,
                });
            }
        }
    }

    /// Costs of the basic variables, and whether they are those of variables outside their bounds.
    fn costs(&self, costs: &mut Vec<f64>) -> bool {
        costs.clear();
        costs.resize(self.basis.len(), 0.0);
        let mut outside = false;
        for (position, variable) in self.basis.iter().enumerate() {
            let (bounds, value) = (self.bounds(*variable), self.values[position]);
            let tolerance = FEASIBLE * (1.0 + value.abs());
            if value < bounds.least - tolerance {
                costs[position] = -1.0;
                outside = true;
            } else if value > bounds.most + tolerance {
                costs[position] = 1.0;
                outside = true;
            }
        }
        if !outside {
            for (position, variable) in self.basis.iter().enumerate() {
                if let Variable::Column(column) = variable {
                    costs[position] = self.columns[*column].cost;
                }
            }
        }
        outside
    }

    /// A variable that lowers the sum of what is outside, and by how much.
    fn entering(&mut self, tolerance: f64, bland: bool) -> Option<(Variable, f64)> {
        let mut best: Option<(Variable, f64)> = None;
        for (number, row) in self.rows.iter().enumerate() {
            let reduced = -self.multipliers[number];
            if is_worth(row.place, row.bounds, reduced, tolerance) {
                if best.is_none_or(|(_, known)| reduced.abs() > known.abs()) {
                    best = Some((Variable::Slack(number), reduced));
                }
                if bland {
                    return best;
                }
            }
        }
        let count = self.columns.len();
        let block = BLOCK.max(count / 8);
        for passed in 0..count {
            let number = if bland {
                passed
            } else {
                (self.next + passed) % count
            };
            let column = &self.columns[number];
            if !matches!(column.place, Place::Basic(_)) {
                let reduced = -column.times(&self.multipliers);
                if is_worth(column.place, column.bounds, reduced, tolerance) {
                    if best.is_none_or(|(_, known)| reduced.abs() > known.abs()) {
                        best = Some((Variable::Column(number), reduced));
                    }
                    if bland {
                        return best;
                    }
                }
            }
            if passed % block == block - 1 && best.is_some() {
                self.next = (number + 1) % count;
                return best;
            }
        }
        best
    }

    /// The variable that lowers the objective most for its weight, and its reduced cost.
    fn weighed(
        &self,
        reduced: &Reduced,
        weights: &Weights,
        tolerance: f64,
        bland: bool,
    ) -> Option<(Variable, f64)> {
        let rows = self.rows.iter().zip(&reduced.rows).zip(&weights.rows);
        let rows = rows.enumerate().map(|(number, ((row, reduced), weight))| {
            let variable = Variable::Slack(number);
            (variable, row.place, row.bounds, *reduced, *weight)
        });
        let columns = self.columns.iter().zip(&reduced.columns);
        let columns = columns.zip(&weights.columns).enumerate();
        let columns = columns.map(|(number, ((column, reduced), weight))| {
            let variable = Variable::Column(number);
            (variable, column.place, column.bounds, *reduced, *weight)
        });
        let mut best: Option<(Variable, f64)> = None;
        let mut most = 0.0;
        for (variable, place, bounds, reduced, weight) in rows.chain(columns) {
            if !is_worth(place, bounds, reduced, tolerance) {
                continue;
            }
            if bland {
                return Some((variable, reduced));
            }
            let worth = reduced * reduced / weight;
            if worth > most {
                (best, most) = (Some((variable, reduced)), worth);
            }
        }
        best
    }
}
