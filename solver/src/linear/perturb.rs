//! Bounds moved apart a little where many pivots in a row lead nowhere: at a degenerate vertex each bound then gives way at
//! a step of its own. Before anything is said of the program the bounds are moved back.
//!
//! Source: Gill, Murray, Saunders and Wright, A practical anti-cycling procedure for linearly constrained optimization,
//! Mathematical Programming 45 (1989) 437–474 (from memory; here all shifts are made at once, and taken back by the dual
//! method).

use crate::linear::simplex::{Bounds, Simplex, Variable};
use crate::random::{STEP, part, spread};

/// A bound is moved by so much, up to twice.
const SHIFT: f64 = 1e-6;

/// The bounds as they were.
pub(super) struct Before {
    rows: Vec<Bounds>,
    columns: Vec<Bounds>,
}

impl Simplex {
    /// Moves the bounds of all basic variables outwards.
    pub(super) fn perturb(&mut self, round: usize) -> Before {
        let before = Before {
            rows: self.rows.iter().map(|row| row.bounds).collect(),
            columns: self.columns.iter().map(|column| column.bounds).collect(),
        };
        for position in 0..self.basis.len() {
            let bounds = match self.basis[position] {
                Variable::Slack(row) => &mut self.rows[row].bounds,
                Variable::Column(column) => &mut self.columns[column].bounds,
            };
            bounds.least -= SHIFT * (1.0 + apart(position, 2 * round));
            bounds.most += SHIFT * (1.0 + apart(position, 2 * round + 1));
        }
        before
    }

    /// Moves the bounds back.
    pub(super) fn restore(&mut self, before: Before) {
        for (row, bounds) in self.rows.iter_mut().zip(before.rows) {
            row.bounds = bounds;
        }
        for (column, bounds) in self.columns.iter_mut().zip(before.columns) {
            column.bounds = bounds;
        }
        self.recompute();
    }
}

/// A number between 0 and 1 that is another one for each position and round.
fn apart(position: usize, round: usize) -> f64 {
    let number = (position as u64).wrapping_mul(STEP);
    part(spread(number.wrapping_add(round as u64).wrapping_add(STEP)))
}
