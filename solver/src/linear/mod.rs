//! Linear programs in floating point: fast, warm-started, and never believed. Whatever they answer is verified in whole
//! numbers by those who ask.

mod dual;
mod inverse;
mod perturb;
mod ratio;
mod simplex;

pub use simplex::{Outcome, Simplex};
