//! The comparison document, as it is written in JSON.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::json::schema_of;
use crate::length::{Measure, Unit};
use crate::plan::{ObjectiveEntry, Status, WorkEntry};

/// What each set of hoops brings for one scenario.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Comparison {
    /// Version of this document: 1.
    pub format: u32,
    /// The scenario's name.
    pub scenario: String,
    /// Unit of all lengths, the scenario's.
    pub unit: Unit,
    /// Whether every term of every row is proven, and so what the verdict says.
    pub status: Status,
    /// A row for each set of hoops that was compared.
    pub rows: Vec<ComparisonRow>,
    /// What follows from the rows.
    pub verdict: Verdict,
    /// Sets of hoops that would have a row, had the time not been over before there was a plan for them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unplanned: Vec<UnplannedSet>,
}

/// A set of hoops that there was no time for.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnplannedSet {
    /// Why it would have been compared.
    pub reason: Reason,
    /// Ids of the hoops, owned ones first, in the scenario's order.
    pub hoops: Vec<String>,
}

/// Why a set of hoops is compared.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// All owned hoops.
    AllOwned,
    /// One owned hoop by itself.
    OneAlone,
    /// All owned hoops but one.
    AllButOne,
    /// All owned hoops and a candidate.
    WithCandidate,
    /// Every set was asked for.
    EverySet,
    /// Looked at for the fewest hoops that reach the best.
    Fewest,
}

/// What one set of hoops brings.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ComparisonRow {
    /// Why this set is compared.
    pub reason: Reason,
    /// Ids of the hoops, owned ones first, in the scenario's order.
    pub hoops: Vec<String>,
    /// Ids of those that the best plan found makes use of.
    pub used: Vec<String>,
    /// Whether all terms are proven.
    pub status: Status,
    /// The terms of the goal for the strips that the set can take; empty where it can take none.
    pub objective: Vec<ObjectiveEntry>,
    /// How long the work takes, for the strips that the set can take.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub work: Option<WorkEntry>,
    /// Strips that it cannot take.
    pub refused: Vec<Refused>,
    /// Whether wishes cannot be kept with these hoops, so that there is no plan at all; `refused` then names the strips that stand in
    /// the way.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub wishes_fail: bool,
}

/// Strips that a set of hoops cannot take, for one reason.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Refused {
    /// How many they are.
    pub count: usize,
    /// Ids of the first 20 of them.
    pub strips: Vec<String>,
    /// Why, and what would mend it.
    pub reason: String,
}

/// What follows from the rows. Values are of the goal's first term.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Verdict {
    /// In sentences, the most important first.
    pub sentences: Vec<String>,
    /// The fewest hoops that take every strip that all owned hoops take, and reach the same value of the goal's first term.
    pub fewest: Option<Fewest>,
    /// What each owned hoop brings: the plan without it against the plan with all.
    pub brings: Vec<Difference>,
    /// What each candidate would bring: the plan with it against the plan with all owned hoops.
    pub would_bring: Vec<Difference>,
}

/// The fewest hoops that are enough.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fewest {
    /// Their ids: of several such sets the one with the smallest fields in all.
    pub hoops: Vec<String>,
    /// The other sets of as many hoops that are enough.
    pub others: Vec<Vec<String>>,
    /// The value that they reach.
    pub value: Measure,
    /// Whether no smaller set can do the same.
    pub proven: bool,
}

/// What one hoop more brings.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Difference {
    /// Id of the hoop.
    pub hoop: String,
    /// Strips that can be stitched only with it.
    pub strips: usize,
    /// Whether wishes can be kept only with it: without it there is no plan at all.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub wishes_fail: bool,
    /// For each term of the goal how much less its value is with it; negative where it is more. Empty where strips differ, so
    /// that the values cannot be compared.
    pub saves: Vec<Saving>,
    /// Whether all compared values are proven.
    pub proven: bool,
}

/// How much less a term's value is.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Saving {
    /// The term's name.
    pub term: String,
    /// How much less.
    pub less: Measure,
}

/// The JSON Schema (2020-12) of the comparison document.
pub fn comparison_schema() -> Value {
    schema_of::<Comparison>()
}
