//! What is cut, bought and done, as it is written in JSON. Each part is there in a plan that was asked for it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::length::Measure;

/// What a cloth is for.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Material {
    /// What is hooped.
    Stabilizer,
    /// What strips, plain borders and cornerstones are cut from.
    Fabric,
    /// The filling.
    Batting,
    /// What is fused to the wrong side of the fabric.
    Backing,
    /// What holds fabric and batting while they are tacked down.
    Tape,
    /// What is stitched with.
    Thread,
}

/// How one cloth is cut: which pieces, from which bolts, sheets and pieces on hand.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClothCuts {
    /// What it is for.
    pub material: Material,
    /// Its name in the scenario.
    pub cloth: String,
    /// What counts: `length` to be bought off the bolt, or its `price`.
    pub counts: String,
    /// How much of it this cutting takes; a length, or a price.
    pub value: Measure,
    /// What no cutting in levels can beat.
    pub bound: Measure,
    /// Whether value and bound are equal.
    pub proven: bool,
    /// The pieces, each kind once.
    pub pieces: Vec<CutPiece>,
    /// What is cut up, pieces on hand first.
    pub stocks: Vec<CutStock>,
}

/// A kind of piece to cut.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CutPiece {
    /// A letter for it, unique within the cloth: `A`, `B`, … `Z`, `AA`, …
    pub mark: String,
    /// Its two sides. Of a strip: along the strip, across it. Of stabilizer: in the order of the hoop's frame.
    pub size: [Measure; 2],
    /// How many of it.
    pub count: u32,
    /// What each is for, in words: `hooping 3`, `border-1-left`, `cornerstone of border 2`, `border-1-top, part 2 of 3`.
    /// Where a piece of the top is called like a part of another one, that other is put in quotes before its parts:
    /// `"X", part 1 of 2`.
    pub uses: Vec<String>,
}

/// What kind of thing is cut up.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum StockKind {
    /// A piece that she has, left over from other work.
    OnHand,
    /// A whole sheet or roll of a fixed size, bought as it is.
    Sheet,
    /// Cloth that is cut off a bolt or roll, any length of it.
    Bolt,
}

/// One bolt, sheet or piece on hand, and how it is cut: first straight across into levels, then each level once more into pieces.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CutStock {
    /// Its name in the scenario.
    pub stock: String,
    /// What kind of thing it is.
    pub kind: StockKind,
    /// How many are cut in this very way.
    pub copies: u32,
    /// Its width: across the bolt, between the selvages.
    pub width: Measure,
    /// Its length: of a bolt what is cut off, else the whole length of the sheet or piece.
    pub length: Measure,
    /// The levels, from its cut end on.
    pub levels: Vec<CutLevel>,
}

/// One level: a stretch across the whole width.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CutLevel {
    /// How many alike follow each other.
    pub copies: u32,
    /// Its length along the bolt.
    pub length: Measure,
    /// What is cut from it, side by side from one edge on; what is left of it at the other edge is waste or an offcut.
    pub pieces: Vec<LevelPiece>,
}

/// Alike pieces side by side in a level. A piece that is shorter than its level is trimmed to size.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LevelPiece {
    /// Mark of the kind of piece.
    pub mark: String,
    /// How many lie side by side.
    pub count: u32,
    /// Whether its first side lies along the bolt; otherwise its second side does.
    pub lengthwise: bool,
    /// What one takes up: along the bolt, across it.
    pub takes: [Measure; 2],
}

/// What to buy, and what the plan uses of it.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Materials {
    /// Everything, in the order in which it is used: stabilizer, fabric, batting, backing, tape, thread.
    pub purchases: Vec<Purchase>,
    /// The prices of all purchases together; left out where one of them has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Measure>,
}

/// A line of the shopping list.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Purchase {
    /// What it is for.
    pub material: Material,
    /// Its name in the scenario: of the cloth, or of the thread.
    pub name: String,
    /// Which bolt or sheet of the cloth; left out for tape and thread.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stock: Option<String>,
    /// Width of the bolt or roll, or both sides of a sheet, in the scenario's unit.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub size: Vec<Measure>,
    /// What is used, before rounding: a length in the scenario's unit, or a count.
    pub needed: Measure,
    /// What to buy, in `unit`, rounded up.
    pub buy: Measure,
    /// What it is bought by.
    pub unit: PurchaseUnit,
    /// Price of one unit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_each: Option<Measure>,
    /// Price of what is bought.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Measure>,
}

/// What something is bought by.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PurchaseUnit {
    /// Yards, to the next eighth.
    Yard,
    /// Metres, to the next tenth.
    Metre,
    /// Whole sheets, rolls or spools.
    Piece,
}

/// What is done, in the order of the work.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Steps {
    /// Cautions that hold throughout.
    pub cautions: Vec<String>,
    /// Before the first hooping: what to cut and mark.
    pub before: Vec<Step>,
    /// Each hooping's steps.
    pub hoopings: Vec<StepsOfHooping>,
    /// After the last hooping: squaring up, sewing together, pressing.
    pub assembly: Vec<Step>,
}

/// The steps of one hooping.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StepsOfHooping {
    /// The hooping's number in the plan.
    pub hooping: u32,
    /// What is done, in order.
    pub steps: Vec<Step>,
}

/// One thing to do.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// What kind of thing.
    pub kind: StepKind,
    /// It in words, whole sentences.
    pub text: String,
    /// The strip that it is about, where it is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strip: Option<String>,
}

/// What kind of thing is done.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum StepKind {
    /// Cut pieces.
    Cut,
    /// Write names and ends on pieces.
    Mark,
    /// Fuse the backing to the fabric.
    Fuse,
    /// Put stabilizer in the hoop.
    Hoop,
    /// Stitch a placement line.
    PlacementLine,
    /// Lay batting.
    Batting,
    /// Trim with scissors.
    Trim,
    /// Lay fabric.
    Fabric,
    /// Hold it down until it is tacked.
    Hold,
    /// Stitch the tack-down.
    TackDown,
    /// Stitch the design.
    Design,
    /// Take the work out of the hoop.
    Unhoop,
    /// Square a piece up to its trimmed size.
    SquareUp,
    /// Sew pieces together.
    Sew,
    /// Press.
    Press,
}
