//! Branch and bound over a program all of whose columns are at hand: finds a point of at most a given cost, or proves that
//! there is none.
//!
//! Whether a branch is cut off is decided in floating point and then verified in whole numbers; a branch that cannot be
//! verified leaves the search without a proof, never with a wrong one.

use crate::columns::model::{Model, PLACES};
use crate::deadline::Deadline;
use crate::linear::Outcome;

/// Values nearer than this to a whole number count as whole in the choice of a branch.
const WHOLE: f64 = 1e-6;

/// What came of a search.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Found {
    /// A point that was accepted.
    Point(Vec<i64>),
    /// There is no point that could be accepted.
    None,
    /// The search ended early, or something could not be verified.
    Unknown,
}

/// What is said of a point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Verdict {
    /// It will do.
    Accepted,
    /// It will not do.
    Rejected,
    /// It will not do, but perhaps it would on a closer look.
    Doubtful,
}

/// How much a search may do.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// The most branches.
    pub nodes: usize,
    /// The most points that are offered.
    pub offers: usize,
}

/// A search for a point that costs at most `most`.
pub struct Tree<'m> {
    model: &'m mut Model,
    most: i64,
    left: Effort,
    accept: &'m mut dyn FnMut(&[i64]) -> Verdict,
    deadline: &'m Deadline,
    doubtful: bool,
    point: Option<Vec<i64>>,
}

/// Looks for a point of `model` that costs at most `most` and is accepted.
pub fn search(
    model: &mut Model,
    most: i64,
    effort: Effort,
    accept: &mut dyn FnMut(&[i64]) -> Verdict,
    deadline: &Deadline,
) -> Found {
    let mut tree = Tree {
        model,
        most,
        left: effort,
        accept,
        deadline,
        doubtful: false,
        point: None,
    };
    tree.branch();
    match tree.point {
        Some(point) => Found::Point(point),
        None if tree.doubtful => Found::Unknown,
        None => Found::None,
    }
}

impl Tree<'_> {
    fn ended(&self) -> bool {
        self.point.is_some() || self.left.nodes == 0 || self.left.offers == 0
    }

    fn branch(&mut self) {
        if self.left.nodes == 0 || self.left.offers == 0 || self.deadline.over() {
            self.left.nodes = 0;
            self.doubtful = true;
            return;
        }
        self.left.nodes -= 1;
        match self.model.solve(self.deadline) {
            Outcome::Unfinished => {
                self.doubtful = true;
                return;
            }
            Outcome::Infeasible => {
                let multipliers = self.model.multipliers();
                self.doubtful |= self.model.proves(&multipliers, false, true) <= 0;
                return;
            }
            Outcome::Optimal => {
                if self.model.objective() > self.most as f64 + WHOLE {
                    let multipliers = self.model.multipliers();
                    let proven = self.model.proves(&multipliers, true, true);
                    if proven > i128::from(self.most) << PLACES {
                        return;
                    }
                }
            }
        }
        match self.fractional() {
            Some((column, value)) => {
                let up = value - value.floor() >= 0.4;
                let (down, above) = (value.floor() as i64, value.ceil() as i64);
                let (least, most) = self.bounds(column);
                if up {
                    self.within(column, above, most);
                    self.within(column, least, down);
                } else {
                    self.within(column, least, down);
                    self.within(column, above, most);
                }
            }
            None => self.offer(),
        }
    }

    fn bounds(&self, column: usize) -> (i64, i64) {
        let column = &self.model.columns[column];
        (column.least, column.most)
    }

    /// Branches with a column between two bounds.
    fn within(&mut self, column: usize, least: i64, most: i64) {
        if self.ended() {
            self.doubtful |= self.point.is_none();
            return;
        }
        let before = self.bounds(column);
        if least > most {
            return;
        }
        self.model.set_bounds(column, least, most);
        self.branch();
        self.model.set_bounds(column, before.0, before.1);
    }

    /// The column to branch on: of the lowest rank, the one nearest to its next whole number.
    fn fractional(&self) -> Option<(usize, f64)> {
        let mut best: Option<(u8, f64, usize, f64)> = None;
        for (number, column) in self.model.columns.iter().enumerate() {
            if !column.whole || column.least == column.most {
                continue;
            }
            let value = self.model.value(number);
            let over = value - value.floor();
            if over < WHOLE || over > 1.0 - WHOLE {
                continue;
            }
            let better = best.is_none_or(|(rank, known, _, _)| {
                column.rank < rank || column.rank == rank && over > known + 1e-9
            });
            if better {
                best = Some((column.rank, over, number, value));
            }
        }
        best.map(|(_, _, number, value)| (number, value))
    }

    /// Offers the point of the linear program. Where it is not accepted the search goes on around it.
    fn offer(&mut self) {
        let Some(point) = self.model.whole_point() else {
            self.doubtful = true;
            return;
        };
        if self.model.cost_at(&point) > i128::from(self.most) {
            // The solver believes that it costs less than it does.
            self.doubtful = true;
            return;
        }
        self.left.offers -= 1;
        match (self.accept)(&point) {
            Verdict::Accepted => {
                self.point = Some(point);
                return;
            }
            Verdict::Doubtful => self.doubtful = true,
            Verdict::Rejected => {}
        }
        // Other points: one column after the other differs, and those before it do not.
        let free: Vec<usize> = (0..self.model.columns.len())
            .filter(|number| {
                let column = &self.model.columns[*number];
                column.whole && column.rank > 0 && column.least < column.most
            })
            .collect();
        let bounds: Vec<(i64, i64)> = free.iter().map(|column| self.bounds(*column)).collect();
        // Columns in use first: most of the others can only be 0.
        let (used, idle): (Vec<usize>, Vec<usize>) =
            (0..free.len()).partition(|at| point[free[*at]] > 0);
        for at in used.into_iter().chain(idle) {
            let (column, value) = (free[at], point[free[at]]);
            let (least, most) = bounds[at];
            self.within(column, least, value - 1);
            self.within(column, value + 1, most);
            if self.ended() {
                break;
            }
            self.model.set_bounds(column, value, value);
        }
        for (column, (least, most)) in free.iter().zip(bounds) {
            self.model.set_bounds(*column, least, most);
        }
    }
}
