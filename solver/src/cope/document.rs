//! The document of fits, as it is written in JSON.

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::explain::Setting;
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
    /// With how many of these every strip's pattern ends at both seam lines without any scaling.
    pub closing: u64,
    /// The widths as they are.
    pub now: Fit,
    /// The best of the others, the best first; each was really planned.
    pub fits: Vec<Fit>,
    /// For each kind of strip the counts of repeats that come nearest, without changing any width.
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
    /// Finished width and height of the whole top.
    pub finished: [Measure; 2],
    /// Whether every strip's pattern ends at both seam lines without any scaling.
    pub closes: bool,
    /// The smallest and the largest scale that a strip of the plan has.
    pub scale: [Measure; 2],
    /// Whether all terms below are proven.
    pub status: Status,
    /// Mismatch at the corners and overhang first, then hoopings and joints, then what the goal counts beside: of the
    /// plan with no more scaling than these widths need. Empty where there is no plan.
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
    /// The nearest counts: the most that is not too long, and one more.
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
}

/// The JSON Schema (2020-12) of the document of fits.
pub fn fits_schema() -> Value {
    SchemaSettings::draft2020_12()
        .into_generator()
        .into_root_schema_for::<Fits>()
        .to_value()
}
