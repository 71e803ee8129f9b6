//! The whole job around a plan: what is cut from which cloth, what is bought, and what is done step after step.

mod cuts;
mod document;
mod needs;
mod order;
mod piecing;
mod shopping;

pub use cuts::mark;
pub use document::{
    ClothCuts, CutLevel, CutPiece, CutStock, LevelPiece, Material, Materials, Purchase,
    PurchaseUnit, Step, StepKind, Steps, StepsOfHooping, StockKind,
};

pub use order::{Gathering, OrderList, order_schema};

use crate::deadline::Deadline;
use crate::plan::Plan;
use crate::scenario::Scenario;

/// The most warnings about many kits together.
const MOST_WARNINGS: usize = 100;

/// Adds to a plan how its cloths are cut and what is bought. What cannot be cut is told among the plan's warnings.
pub fn add_materials(scenario: &Scenario, plan: &mut Plan, deadline: &Deadline) {
    let mut warnings = Vec::new();
    let cloths = needs::of(scenario, plan, &mut warnings);
    let mut cuttings = Vec::new();
    for (number, cloth) in cloths.iter().enumerate() {
        // The time that is left is shared among the cloths that are left.
        let left = u32::try_from(cloths.len() - number).unwrap_or(1);
        let share = deadline.at_most(deadline.left() / left);
        cuttings.extend(cuts::cuts(cloth, scenario.unit, &share, &mut warnings));
    }
    plan.materials = Some(shopping::shopping(scenario, plan, &cloths, &cuttings));
    plan.cutting = Some(cuttings);
    plan.warnings.extend(warnings);
}
