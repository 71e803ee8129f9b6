//! The whole job around a plan: what is cut from which cloth, what is bought, and what is done step after step.

mod document;

pub use document::{
    ClothCuts, CutLevel, CutPiece, CutStock, LevelPiece, Material, Materials, Purchase,
    PurchaseUnit, Step, StepKind, Steps, StepsOfHooping, StockKind,
};
