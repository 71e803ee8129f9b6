//! The replan document, as it is written in JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::json::schema_of;
use crate::length::{Measure, Unit};
use crate::plan::{Plan, SegmentEntry};
use crate::strips::End;

/// What now? What is left to do, and what changes.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Replan {
    /// Version of this document: 1.
    pub format: u32,
    /// The scenario's name.
    pub name: String,
    /// Unit of all lengths, the scenario's.
    pub unit: Unit,
    /// Whether what is left is the rest of the old plan: the same runs in the same hoopings in the same order.
    pub same: bool,
    /// What changes, and why.
    pub changes: Vec<Change>,
    /// What cannot be taken up, and what can be done.
    pub warnings: Vec<Warning>,
    /// The next hooping; absent where nothing is left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<NextStep>,
    /// How many hoopings are left, the next one among them.
    pub hoopings_left: u64,
    /// The scenario of what is left: with it and its plan the next question goes on. Left out where just the next step is asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Option<serde_json::Map<String, Value>>")]
    pub scenario: Option<Value>,
    /// The plan of what is left. Left out where just the next step is asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plan: Option<Box<Plan>>,
}

/// Something that is no longer as it was planned.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "ReplanChange")]
pub struct Change {
    /// What changes.
    pub what: What,
    /// Id of the strip that it is about, as the new plan or the quilt names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strip: Option<String>,
    /// What changes and why, in a sentence.
    pub sentence: String,
}

/// Kinds of changes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// A strip is stitched anew from its beginning.
    StartsAnew,
    /// A strip, or what is left of it, has another length.
    Length,
    /// What is left of a strip is scaled otherwise.
    Scale,
    /// A strip is stitched in other runs.
    Runs,
    /// Runs lie in other hoopings, or these come in another order.
    Hoopings,
    /// A hoop or a size is gone.
    Equipment,
}

/// Something that does not come out as it should.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Warning {
    /// Id of the strip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strip: Option<String>,
    /// By how much the stitching misses the seam line: past it, or, negative, short of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<Measure>,
    /// What it is and what can be done, in sentences.
    pub sentence: String,
}

/// The next hooping, with all that is to be done for it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NextStep {
    /// Id of the hoop.
    pub hoop: String,
    /// Whether strips lie along the second side of the hoop's field.
    pub turned: bool,
    /// The piece of stabilizer, in the order of the hoop's frame.
    pub stabilizer: [Measure; 2],
    /// What is stitched in it, lane by lane.
    pub runs: Vec<NextRun>,
}

/// A run of the next hooping.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NextRun {
    /// The strip's id.
    pub strip: String,
    /// Which of the strip's runs in the new plan it is.
    pub run: u32,
    /// Number of the lane.
    pub lane: u32,
    /// Where its stitching starts along the field.
    pub along: Measure,
    /// Centre line of its lane across the field.
    pub across: Measure,
    /// Stitched length.
    pub length: Measure,
    /// How far the design is scaled along the strip.
    pub scale: Measure,
    /// What is stitched, in order from the strip's left or top end.
    pub segments: Vec<SegmentEntry>,
    /// The ends that butt up to what is stitched already.
    pub butts_up: Vec<End>,
    /// The ends that stay open for the run that follows.
    pub leave_open: Vec<End>,
    /// Whether the strip points against the along axis.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub reversed: bool,
}

/// The JSON Schema (2020-12) of the replan document.
pub fn replan_schema() -> Value {
    schema_of::<Replan>()
}
