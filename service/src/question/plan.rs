//! How is it stitched? A scenario in, a plan out.

use std::time::{Duration, Instant};

use sashwright_solver::check::check_materials;
use sashwright_solver::deadline::Deadline;
use sashwright_solver::explain::explain_plan;
use sashwright_solver::fault::Fault;
use sashwright_solver::job::add_materials;
use sashwright_solver::length::Unit;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{self, Scenario};

use super::{Question, Unprinted};
use crate::arguments::Paper;
use crate::solve::{Planner, Refusal};
use crate::text;

/// Asks for the plan of a scenario.
pub struct Planning {
    /// What plans.
    pub planner: Planner,
    /// Whether the plan is explained as well.
    pub explain: bool,
    /// Whether it tells how cloths are cut and what is bought.
    pub materials: bool,
    /// Whether it tells what is done, step after step.
    pub steps: bool,
}

impl Planning {
    /// Adds to a plan what it is to tell and does not yet: materials, and steps, which name the pieces of the materials.
    ///
    /// # Errors
    /// The materials fail the check, which would be an error of this program.
    pub fn add_missing(
        &self,
        asked: &Scenario,
        plan: &mut Plan,
        deadline: &Deadline,
    ) -> Result<(), Refusal> {
        if self.materials && plan.materials.is_none() {
            add_materials(asked, plan, deadline);
            let violations = check_materials(asked, plan);
            if !violations.is_empty() {
                return Err(Refusal::Broken(violations));
            }
        }
        if self.steps {
            plan.steps = Some(sashwright_sheets::steps(asked, plan));
        }
        Ok(())
    }
}

impl Question for Planning {
    type Asked = Scenario;
    type Answer = Plan;

    fn read(&self, document: &[u8]) -> Result<Scenario, Vec<Fault>> {
        scenario::read(document)
    }

    fn limit(&self, asked: &Scenario) -> Duration {
        asked.time_limit
    }

    fn answer(&self, asked: &Scenario, deadline: &Deadline) -> Result<Plan, Refusal> {
        let began = Instant::now();
        // Where the plan is explained, the other half of the time is for that.
        let share = deadline.left() / if self.explain { 2 } else { 1 };
        let mut plan = (self.planner)(asked, &deadline.at_most(share))?;
        if self.explain {
            let explanation = explain_plan(asked, &plan, began.elapsed(), deadline)?;
            plan.explanation = Some(Box::new(explanation));
        }
        self.add_missing(asked, &mut plan, deadline)?;
        Ok(plan)
    }

    fn page(&self, asked: &Scenario, answer: &Plan) -> Result<Vec<u8>, String> {
        Ok(sashwright_sheets::html(&sashwright_sheets::sheet(asked, answer)).into_bytes())
    }

    fn print(
        &self,
        asked: &Scenario,
        answer: &Plan,
        paper: Option<Paper>,
    ) -> Result<Vec<u8>, Unprinted> {
        let paper = match (paper, asked.unit) {
            (Some(Paper::A4), _) | (None, Unit::Millimetre) => sashwright_sheets::Paper::A4,
            (Some(Paper::Letter), _) | (None, Unit::Inch) => sashwright_sheets::Paper::Letter,
        };
        let sheet = sashwright_sheets::sheet(asked, answer);
        sashwright_sheets::pdf(&sheet, paper).map_err(|error| match error {
            sashwright_sheets::PdfError::Long { .. } => Unprinted::TooLong(error.to_string()),
            error => Unprinted::Impossible(error.to_string()),
        })
    }

    fn pictures(&self, asked: &Scenario, answer: &Plan) -> Result<Vec<(String, Vec<u8>)>, String> {
        let files = sashwright_sheets::picture_files(asked, answer).into_iter();
        Ok(files.map(|(name, svg)| (name, svg.into_bytes())).collect())
    }

    fn cut_list(&self, asked: &Scenario, answer: &Plan) -> Result<Vec<u8>, String> {
        sashwright_sheets::csv::cut_list(asked, answer).map_err(|error| error.to_string())
    }

    fn words(&self, asked: &Scenario, answer: &Plan) -> String {
        text::render(asked, answer)
    }
}
