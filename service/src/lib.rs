//! The command line and the HTTP service of the planner.
//!
//! [`command`] holds one file for each command. [`text`] writes answers for a person, [`http`] answers over HTTP, and
//! [`question`] is the one way from a document to an answer that both use.

pub mod arguments;
pub mod batch;
pub mod command;
pub mod files;
pub mod hex;
pub mod http;
pub mod keys;
pub mod question;
pub mod solve;
pub mod store;
pub mod text;
pub mod version;
