//! Plans quilt borders and sashing that are stitched in embroidery hoops.
//!
//! The data flows one way: [`scenario`] → [`strips`] → covers and hoopings → integer program → [`plan`] → [`check`].
//! Lengths are whole nanometres throughout; floating point stays inside the linear programming solver, and what it
//! answers is verified in integers.

pub mod check;
pub mod deadline;
pub mod exact;
pub mod fault;
pub mod length;
pub mod plan;
mod planner;
pub mod scenario;
pub mod strips;

pub use planner::{NoPlan, plan as make_plan};
