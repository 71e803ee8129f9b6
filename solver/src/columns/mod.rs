//! The search by decomposition: covers and hoopings become columns of a linear program only when they are worth it.

mod atoms;
mod by_covers;
mod by_hoopings;
mod by_length;
mod centre;
mod corners;
mod costs;
mod crowd;
mod dealer;
mod dive;
mod dominance;
mod features;
mod generate;
mod listed;
mod look;
mod model;
mod no_waste;
mod phases;
mod reach;
mod rehoop;
mod restricted;
mod runs;
mod search;
mod settle;
mod split;
mod tree;

pub use dealer::FoundPlan;
pub use search::search;
