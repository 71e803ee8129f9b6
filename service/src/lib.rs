//! The command line and the HTTP service of the planner.
//!
//! [`command`] holds one file for each command. [`text`] writes a plan for a person, [`http`] answers over HTTP, and
//! [`solve`] is the one way from a scenario document to a plan that both use.

pub mod arguments;
pub mod command;
pub mod files;
pub mod http;
pub mod solve;
pub mod text;
