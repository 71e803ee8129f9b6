//! A run of kits: many scenarios, each with the hoops of whoever stitches it, in so many copies.
//!
//! [`read`] turns a batch document into a [`Batch`]: its kits, and the different questions that have to be answered for them. Kits with the
//! same scenario and the same hoops ask one question, whose plan is made once and counted for all of them. Where strips of different kits
//! may meet in a hooping, all kits of a hoop set ask one question together.

mod document;
mod hoop_set;
mod pool;
mod questions;
mod schema;
mod shared;

pub use document::{Batch, Kit, MOST_COPIES, MOST_KITS, Row, read};
pub use questions::{Asked, MOST_QUESTIONS};
pub use schema::{batch_schema, batch_schema_beside};
