//! Linear programs in floating point: fast, warm-started, and never believed. Whatever they answer is verified in whole
//! numbers by those who ask.

mod dual;
mod factors;
mod perturb;
mod primal;
mod ratio;
mod reduced;
mod simplex;
mod weights;

pub use simplex::{Outcome, Simplex};
