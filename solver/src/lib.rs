//! Plans quilt borders and sashing that are stitched in embroidery hoops.
//!
//! The data flows one way: [`scenario`] → [`strips`] → covers and hoopings → search → [`plan`] → [`check`].
//! Lengths are whole nanometres throughout; floating point stays inside linear programs, and what they answer is
//! verified in integers.

pub mod batch;
mod bounds;
pub mod check;
mod classes;
mod columns;
pub mod compare;
pub mod cope;
mod cover;
pub mod cutting;
pub mod deadline;
mod deal;
mod draft;
#[cfg(test)]
mod drawn;
pub mod exact;
pub mod explain;
pub mod fault;
mod first;
mod hooping;
pub mod job;
pub mod json;
mod kept;
pub mod length;
mod linear;
mod master;
mod optimise;
mod partition;
pub mod plan;
mod planner;
mod program;
mod random;
mod repeated;
pub mod replan;
mod roll;
pub mod scenario;
mod several;
pub mod strips;
mod sums_of_steps;
mod task;
pub mod time;
mod wishes;

pub use planner::{NoPlan, plan as make_plan, plan_by_lists};
