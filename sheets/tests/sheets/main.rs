//! Sheets of real plans: what they hold, how they are written, and the order of work on them.
//!
//! All stands in one binary, which links once and keeps every core busy until its last test.

mod cutting;
mod planned;
mod sheet;
mod steps;
