//! The document of fits, as it is written in JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::explain::Setting;
use crate::json::schema_of;
use crate::length::{Measure, Unit};
use crate::plan::{ObjectiveEntry, Status};

/// Widths of plain borders and sashing that make the patterns fit, and counts of repeats.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fits {
    /// Version of this document: 1.
    pub format: u32,
    /// The scenario's name.
    pub scenario: String,
    /// Unit of all lengths, the scenario's.
    pub unit: Unit,
    /// How many choices of widths there are, the widths as they are among them.
    pub choices: u64,
    /// How many of them were looked at within the time: those that change the widths least first.
    pub looked_at: u64,
    /// With how many of these every pattern that follows the widths ends at both seam lines without any scaling.
    pub closing: u64,
    /// Whether every choice was looked at, with every covering of its strips: no other choice then fits better. Where not, more
    /// may close than are counted.
    pub sure: bool,
    /// The widths as they are.
    pub now: Fit,
    /// The best of the others, the best first; each was really planned.
    pub fits: Vec<Fit>,
    /// For each kind of strip the counts of repeats that come nearest, without changing any width: of at most 200 kinds.
    pub repeats: Vec<Repeats>,
}

/// One choice of widths.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fit {
    /// The widths that could be others.
    pub widths: Vec<Width>,
    /// What to write where in the scenario to have these widths; nothing where they are as they are.
    pub set: Vec<Setting>,
    /// Finished width and height of the whole top, where one is described.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub finished: Option<[Measure; 2]>,
    /// Whether every pattern that follows the widths can end at both seam lines without any scaling.
    pub closes: bool,
    /// Strips that follow the widths on which sizes with different repeats have to follow each other for the best fit.
    pub mixing: usize,
    /// The smallest and the largest scale that a strip of the plan has, those that do not follow the widths among them.
    pub scale: [Measure; 2],
    /// Whether all terms below are proven.
    pub status: Status,
    /// Mismatch at the corners and overhang first, then hoopings and joints, then what the goal counts beside: of a plan for
    /// this order of terms, with no more scaling of the strips that follow than these widths need. Empty where there is no plan.
    pub objective: Vec<ObjectiveEntry>,
    /// Why there is no plan, in a sentence; empty where there is one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub trouble: String,
}

/// A width that could be another.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Width {
    /// What has it.
    pub of: WidthOf,
    /// The border's number, from the centre outward.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub border: Option<u32>,
    /// The width.
    pub width: Measure,
}

/// What has a width.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WidthOf {
    /// The left and right strips of a plain border.
    Sides,
    /// The top and bottom strips of a plain border.
    Ends,
    /// The sashing.
    Sashing,
}

/// Counts of one repeat on one kind of strip.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Repeats {
    /// Id of the first such strip.
    pub like: String,
    /// How many strips are alike.
    pub alike: usize,
    /// Finished length.
    pub length: Measure,
    /// The repeat.
    pub repeat: Measure,
    /// The nearest counts that the sizes with this repeat can add up to: the one that is whole, or else the most that is not too
    /// long and the fewest that are not too short. Empty where no hoop takes such a size.
    pub counts: Vec<Count>,
}

/// A count of repeats on a strip.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Count {
    /// How many repeats.
    pub repeats: i64,
    /// How they have to be stretched to end at both seam lines.
    pub scale: Measure,
    /// Whether every size with this repeat may be stretched so far.
    pub allowed: bool,
    /// How much longer the strip would have to be for a scale of 1; negative: shorter.
    pub longer: Measure,
    /// How far the pattern would miss a corner of the strip where it is not scaled and its neighbour ends at the seam line. Absent
    /// where the strip has no corner that counts, or would not be covered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mismatch: Option<Measure>,
}

/// The JSON Schema (2020-12) of the document of fits.
pub fn fits_schema() -> Value {
    schema_of::<Fits>()
}
