//! The search by decomposition: covers and hoopings become columns of a linear program only when they are worth it.

mod atoms;
mod crowd;
mod dive;
mod generate;
mod model;
mod restricted;
mod search;
mod tree;

pub use search::{FoundPlan, search};
