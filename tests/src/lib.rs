//! Oracles: what the planner is compared with.
//!
//! [`oracle`] finds the true optimum of a tiny scenario by trying everything; it shares no code with the planner beyond
//! the documents, the exact lengths and the quilt geometry. [`generator`] draws scenarios to compare on, and
//! [`bin_packing`] writes instances with a published optimum as scenarios,
//! [`lengths`] those of a shop's work, and [`answer`] says what every answer has to keep to.

pub mod agreement;
pub mod answer;
pub mod bin_packing;
pub mod edit;
pub mod failures;
pub mod generator;
pub mod lengths;
pub mod oracle;
pub mod random;
