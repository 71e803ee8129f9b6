//! The plan: its document, and how it is made from what the search decided.

mod build;
mod document;
mod laid;
mod layout;
mod objective;
mod warnings;
mod work;

pub(crate) use build::write;
pub(crate) use document::by_id;
pub(crate) use objective::objective;
pub(crate) use warnings::named;

pub use document::{
    CornerEntry, HoopingEntry, ObjectiveEntry, Placement, Plan, RunEntry, SegmentEntry, Status,
    StripEntry, ThreadEntry, UnplannedEntry, WorkEntry, plan_schema,
};
