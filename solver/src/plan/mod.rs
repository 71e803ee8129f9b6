//! The plan: its document, and how it is made from what the search decided.

mod document;

pub use document::{
    CornerEntry, HoopingEntry, ObjectiveEntry, Placement, Plan, RunEntry, SegmentEntry, Status,
    StripEntry, UnplannedEntry, plan_schema,
};
