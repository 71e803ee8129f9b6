//! The order of work in a quilter's words: before the first hooping, hooping by hooping, and how the top is sewn together.
//!
//! The order itself is common practice of the trade; no source is claimed. Where a machine's manual says otherwise, it comes first.

mod assembly;
mod before;
mod grouped;
mod hooping;
mod sewing;

use std::collections::HashMap;

use sashwright_solver::job::{Material, Step, StepKind, Steps};
use sashwright_solver::length::Length;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{Design, Scenario};

use crate::measure::Ruler;
use crate::words::{Book, CAUTIONS};

/// What all steps are told from.
struct Told<'a> {
    scenario: &'a Scenario,
    plan: &'a Plan,
    book: Book<'a>,
    ruler: Ruler,
    designs: HashMap<&'a str, &'a Design>,
    /// The letter of each hooping's piece of stabilizer on the cut list, by what the list says it is for.
    pieces: HashMap<&'a str, &'a str>,
}

/// The steps of a plan of that scenario, in words and in the order of the work. The same plan gives the same steps. Pieces are named
/// by their letters where the plan says how its cloths are cut.
pub fn steps(scenario: &Scenario, plan: &Plan) -> Steps {
    let cut = plan.cutting.iter().flatten();
    let stabilizer = cut
        .filter(|cloth| cloth.material == Material::Stabilizer)
        .flat_map(|cloth| &cloth.pieces);
    let told = Told {
        scenario,
        plan,
        book: Book::new(scenario, plan),
        ruler: Ruler { unit: plan.unit },
        designs: scenario
            .designs
            .iter()
            .map(|design| (design.id.as_str(), design))
            .collect(),
        pieces: stabilizer
            .flat_map(|piece| {
                piece
                    .uses
                    .iter()
                    .map(|usage| (usage.as_str(), piece.mark.as_str()))
            })
            .collect(),
    };
    Steps {
        cautions: CAUTIONS.map(String::from).to_vec(),
        before: before::steps(&told),
        hoopings: plan
            .hoopings
            .iter()
            .map(|hooping| hooping::steps(&told, hooping))
            .collect(),
        assembly: assembly::steps(&told),
    }
}

impl Told<'_> {
    /// A length without its decimals: `1/2 in`, `12.7 mm`.
    fn brief(&self, length: Length) -> String {
        let unit = self.plan.unit;
        format!(
            "{} {}",
            self.ruler.short(&length.in_unit(unit)),
            unit.symbol()
        )
    }

    /// A size without its decimals.
    fn brief_size(&self, sides: [Length; 2]) -> String {
        let [first, second] = sides.map(|side| self.ruler.short(&side.in_unit(self.plan.unit)));
        format!("{first} × {second} {}", self.plan.unit.symbol())
    }
}

/// A step that is about no strip in particular.
fn step(kind: StepKind, text: impl Into<String>) -> Step {
    Step {
        kind,
        text: text.into(),
        strip: None,
    }
}
