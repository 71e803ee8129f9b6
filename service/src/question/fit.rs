//! Which widths make it fit? A scenario in, choices of widths out.

use std::time::Duration;

use sashwright_solver::cope::{Fits, cope, faults};
use sashwright_solver::deadline::Deadline;
use sashwright_solver::fault::Fault;
use sashwright_solver::scenario::{self, Scenario};

use super::Question;
use crate::solve::Refusal;
use crate::text;

/// Asks which widths of plain borders and sashing make the patterns fit.
#[derive(Clone, Copy, Default, Debug)]
pub struct Coping;

impl Question for Coping {
    type Asked = Scenario;
    type Answer = Fits;

    fn read(&self, document: &[u8]) -> Result<Scenario, Vec<Fault>> {
        let scenario = scenario::read(document)?;
        let faults = faults(&scenario);
        if faults.is_empty() {
            Ok(scenario)
        } else {
            Err(faults)
        }
    }

    fn limit(&self, asked: &Scenario) -> Duration {
        asked.time_limit
    }

    fn answer(&self, asked: &Scenario, deadline: &Deadline) -> Result<Fits, Refusal> {
        Ok(cope(asked, deadline)?)
    }

    fn words(&self, _: &Scenario, answer: &Fits) -> String {
        text::fits(answer)
    }
}
