//! The search by decomposition: covers and hoopings become columns of a linear program only when they are worth it.

mod atoms;
mod corners;
mod crowd;
mod dealer;
mod dive;
mod features;
mod generate;
mod model;
mod restricted;
mod search;
mod tree;

pub use dealer::FoundPlan;
pub use search::search;
