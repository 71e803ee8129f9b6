//! The plan: its document, and how it is made from what the search decided.

mod build;
mod document;
mod layout;
mod objective;
mod warnings;

pub(crate) use build::write;
pub(crate) use objective::objective;

pub use document::{
    CornerEntry, HoopingEntry, ObjectiveEntry, Placement, Plan, RunEntry, SegmentEntry, Status,
    StripEntry, UnplannedEntry, plan_schema,
};
