//! The plan document, as it is written in JSON.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::explain::Explanation;
use crate::job::{ClothCuts, Materials, Steps};
use crate::json::schema_of;
use crate::length::{Measure, Unit};
use crate::strips::End;

/// A plan: which size is stitched on which stretch of which strip, in which hooping, in which order.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Version of this document: 1.
    pub format: u32,
    /// The scenario's name.
    pub scenario: String,
    /// Unit of all lengths, the scenario's.
    pub unit: Unit,
    /// Whether every term of the goal is proven.
    pub status: Status,
    /// The terms of the goal, in its order; one term `cost` where it gives prices.
    pub objective: Vec<ObjectiveEntry>,
    /// The planned strips, in the scenario's order.
    pub strips: Vec<StripEntry>,
    /// The hoopings, in the order of the work.
    pub hoopings: Vec<HoopingEntry>,
    /// Every counted corner.
    pub corners: Vec<CornerEntry>,
    /// How long the work takes and what thread it uses.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub work: Option<WorkEntry>,
    /// The strips that the plan leaves out, and why.
    pub unplanned: Vec<UnplannedEntry>,
    /// What she should know, in sentences.
    pub warnings: Vec<String>,
    /// Why it is so, where that was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub explanation: Option<Box<Explanation>>,
    /// How each cloth is cut, where that was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cutting: Option<Vec<ClothCuts>>,
    /// What to buy, where that was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub materials: Option<Materials>,
    /// What is done step after step, where that was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub steps: Option<Steps>,
}

/// What is known of a plan.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Every term is proven.
    Optimal,
    /// The plan is valid; not every term is proven.
    Feasible,
}

/// One term of the goal.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ObjectiveEntry {
    /// The term's name.
    pub term: String,
    /// Its value in this plan: a count, a length, an area, or a cost.
    pub value: Measure,
    /// What no valid plan can beat, among those whose earlier terms equal this plan's.
    pub bound: Measure,
    /// Whether value and bound are equal.
    pub proven: bool,
}

/// One planned strip.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StripEntry {
    /// The strip's id.
    pub id: String,
    /// Finished length.
    pub length: Measure,
    /// Finished width.
    pub width: Measure,
    /// Id of its design.
    pub design: String,
    /// How far the design is stretched along the strip; for information.
    pub scale: Measure,
    /// Stitching past the seam lines, both ends together.
    pub overhang: Measure,
    /// Length and width once squared up, seam allowance included.
    pub trimmed: [Measure; 2],
    /// Length and width as first cut.
    pub cut: [Measure; 2],
    /// Its runs, in order from its left or top end.
    pub runs: Vec<RunEntry>,
}

/// One run: the consecutive segments that a strip gets in one hooping.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RunEntry {
    /// Number of the hooping in which it is stitched.
    pub hooping: u32,
    /// Where its stitching begins, measured from the strip's finished start; negative within the overhang.
    pub from: Measure,
    /// Where its stitching ends.
    pub to: Measure,
    /// Its segments, in order.
    pub segments: Vec<SegmentEntry>,
}

/// One stitching of one size.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SegmentEntry {
    /// Id of the size.
    pub size: String,
    /// How many of its repeats are stitched.
    pub repeats: u32,
}

/// One hooping.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoopingEntry {
    /// Its place in the order of the work, from 1.
    pub number: u32,
    /// Id of the hoop.
    pub hoop: String,
    /// Whether strips lie along the second side of the hoop's field instead of the first.
    pub turned: bool,
    /// The piece of stabilizer, in the order of the hoop's frame.
    pub stabilizer: [Measure; 2],
    /// What is stitched in it, lane by lane.
    pub placements: Vec<Placement>,
}

/// Where a run lies in its hooping.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Placement {
    /// The strip's id.
    pub strip: String,
    /// Which of the strip's runs it is, from 1.
    pub run: u32,
    /// Number of the lane, from 1, from the lowest `across`.
    pub lane: u32,
    /// Where its stitching starts along the field, from the field's corner.
    pub along: Measure,
    /// Centre line of its lane across the field.
    pub across: Measure,
    /// Stitched length.
    pub length: Measure,
    /// Finished width.
    pub width: Measure,
    /// The run's ends that the next run will butt up to.
    #[serde(default)]
    pub open: Vec<End>,
    /// Whether the strip points against the along axis.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub reversed: bool,
}

/// One counted corner.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CornerEntry {
    /// Name of the quilt, where it is one of several: the beginning of its strips' ids.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quilt: Option<String>,
    /// Number of the border, from the centre outward.
    pub border: u32,
    /// The corner's name.
    pub corner: String,
    /// Ids of the two strips that meet there.
    pub strips: [String; 2],
    /// How far the pattern misses itself.
    pub mismatch: Measure,
}

/// How long the work takes at the scenario's rates, and what thread it uses. What rests on stitches is left out where
/// a size that is used does not say how many it has.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkEntry {
    /// Stitches of all runs; those of a part of a size in proportion, to the nearest stitch for each segment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stitches: Option<i64>,
    /// Minutes in which the machine stitches.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub machine_minutes: Option<Measure>,
    /// Minutes of work by hand: hoopings, placements, changes of thread and hoop.
    pub hands_on_minutes: Measure,
    /// Minutes at the machine and by hand together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<Measure>,
    /// How often another thread is put on within a run.
    pub thread_changes: i64,
    /// The thread that is used up.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thread: Option<ThreadEntry>,
}

/// Lengths of thread.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThreadEntry {
    /// Upper thread, all colours together.
    pub upper: Measure,
    /// Bobbin thread.
    pub bobbin: Measure,
}

/// A strip that the plan leaves out.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnplannedEntry {
    /// The strip's id.
    pub strip: String,
    /// Why no plan can hold it.
    pub reason: String,
}

/// Strips by their ids.
pub(crate) fn by_id(strips: &[StripEntry]) -> BTreeMap<&str, &StripEntry> {
    let strips = strips.iter();
    strips.map(|entry| (entry.id.as_str(), entry)).collect()
}

/// The JSON Schema (2020-12) of the plan document.
pub fn plan_schema() -> Value {
    schema_of::<Plan>()
}
