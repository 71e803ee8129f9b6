//! Oracles: what the planner is compared with.
