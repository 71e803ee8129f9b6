//! The explanation document, as it is written in JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::compare::Saving;
use crate::json::schema_of;
use crate::length::{Measure, Unit};
use crate::plan::{ObjectiveEntry, SegmentEntry, Status};

/// Why a plan has as many hoopings and joints as it has, where there is room left, and what one change would save.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Explanation {
    /// Version of this document: 1.
    pub format: u32,
    /// The scenario's name.
    pub scenario: String,
    /// Unit of all lengths, the scenario's.
    pub unit: Unit,
    /// Whether every term of the explained plan is proven.
    pub status: Status,
    /// The terms of the explained plan.
    pub objective: Vec<ObjectiveEntry>,
    /// What every valid plan needs, and why: hoopings first, the highest bound before lower ones, then joints, for at most 12 kinds of
    /// alike strips.
    pub bounds: Vec<Bound>,
    /// Hoopings of the plan with room left: those where a strip fits, then the others, the largest room first; at most 20, of the
    /// first 2 000 hoopings, or of those that could be looked at in the time.
    pub room: Vec<Room>,
    /// What one change to the scenario would bring, the best first. Each was tried by itself.
    pub changes: Vec<Change>,
}

/// Why no valid plan needs fewer.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Because {
    /// All strips were planned for the fewest hoopings, whatever else the goal counts.
    AllStrips,
    /// Some of the strips were planned by themselves: leaving strips out never takes more hoopings.
    SomeStrips,
    /// Runs of one strip never share a hooping.
    RunsOfOneStrip,
    /// The rule `share_hoopings` is false: each run has a hooping of its own.
    NoSharing,
    /// The strips with the gaps between them take up more than so many fields.
    Area,
    /// The strips are longer than any run of them.
    LongestRun,
}

/// What every valid plan needs at least, for one reason.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bound {
    /// The reason.
    pub because: Because,
    /// `hoopings` or `joints`.
    pub term: String,
    /// No valid plan has fewer.
    pub at_least: u64,
    /// Whether the explained plan has just as many.
    pub reached: bool,
    /// How many strips this is about.
    pub count: usize,
    /// Ids of the first 20 of them.
    pub strips: Vec<String>,
    /// Where the longest run matters: no run of these strips is longer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub longest: Option<LongestRun>,
    /// The same in a sentence.
    pub sentence: String,
}

/// The longest run that a strip can have in any covering of it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LongestRun {
    /// Its stitched length.
    pub length: Measure,
    /// What it is stitched with.
    pub segments: Vec<SegmentEntry>,
    /// Id of the hoop with the smallest field that takes it.
    pub hoop: String,
}

/// Room that is left in a hooping, its lanes as they are.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Room {
    /// Number of the hooping in the plan.
    pub hooping: u32,
    /// Id of its hoop.
    pub hoop: String,
    /// Whether strips lie along the second side of the hoop's field.
    pub turned: bool,
    /// Width of the widest stitching without margins that one more lane could hold, all gaps kept; 0 where there is no room.
    pub beside: Measure,
    /// Length of the field along the lanes: how long that stitching could be.
    pub along: Measure,
    /// Lanes with room along them.
    pub lanes: Vec<LaneRoom>,
    /// Whole strips of the scenario that would fit as well, each in one run with both ends closed, without moving a run to
    /// another lane; the longest first.
    pub fits: Vec<Fitting>,
}

/// Room along a lane.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LaneRoom {
    /// Number of the lane.
    pub lane: u32,
    /// Length of the longest stitching without margins that the lane could hold as well, all gaps kept.
    pub free: Measure,
    /// The widest strip that lies in the lane now.
    pub width: Measure,
}

/// Strips of the scenario that would fit in the room of a hooping: one more like one that is there to be stitched anyway.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fitting {
    /// Id of the first such strip.
    pub like: String,
    /// How many strips of the scenario are alike.
    pub alike: usize,
    /// Finished length.
    pub length: Measure,
    /// Finished width.
    pub width: Measure,
    /// Stitched length.
    pub stitched: Measure,
    /// What it would be stitched with.
    pub segments: Vec<SegmentEntry>,
    /// So many of them fit at once, by themselves; found by filling lane after lane, so that even more may.
    pub count: usize,
    /// Number of the lane in which the first would lie; none where it would have a lane of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lane: Option<u32>,
}

/// What came of trying a change.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// More strips can be stitched, or the plan found is better by the goal.
    Better,
    /// Proven: no better plan with it, and none worse.
    Same,
    /// Proven: the best plan with it is worse than the explained one.
    Worse,
    /// Not settled within the time.
    Open,
}

/// One change to the scenario, and what it would bring.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// The member of the scenario that is changed: `turn`, `gap`, …
    pub what: String,
    /// Id of the hoop or the size whose member it is; of a wish its name and place: `alike at /wishes/1`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
    /// What to write where, to have the scenario with the change.
    pub set: Vec<Setting>,
    /// What came of it.
    pub outcome: Outcome,
    /// The terms of the plan with the change; empty where no plan was found.
    pub objective: Vec<ObjectiveEntry>,
    /// For each term how much less its value is than in the explained plan; negative where it is more. Empty where other
    /// strips are stitched, so that values cannot be compared.
    pub saves: Vec<Saving>,
    /// So many strips more can be stitched.
    pub strips: usize,
    /// The same in a sentence.
    pub sentence: String,
    /// What to mind before making the change (common practice of the trade).
    pub caution: String,
}

/// A value for a member of the scenario.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// Where it goes (JSON Pointer, RFC 6901); objects on the way are made where they are absent.
    pub pointer: String,
    /// The value.
    pub value: Value,
}

/// The JSON Schema (2020-12) of the explanation document.
pub fn explanation_schema() -> Value {
    schema_of::<Explanation>()
}
