//! Which hoop? A scenario in, what each set of hoops brings out.

use std::time::Duration;

use sashwright_solver::compare::{Comparison, compare};
use sashwright_solver::deadline::Deadline;
use sashwright_solver::fault::Fault;
use sashwright_solver::scenario::{self, Scenario};

use super::Question;
use crate::solve::Refusal;
use crate::text;

/// Asks what each set of hoops brings.
#[derive(Clone, Copy, Default, Debug)]
pub struct Comparing {
    /// Whether every set of hoops is compared, where they are few enough.
    pub every_set: bool,
}

impl Question for Comparing {
    type Asked = Scenario;
    type Answer = Comparison;

    fn read(&self, document: &[u8]) -> Result<Scenario, Vec<Fault>> {
        scenario::read(document)
    }

    fn limit(&self, asked: &Scenario) -> Duration {
        asked.time_limit
    }

    fn answer(&self, asked: &Scenario, deadline: &Deadline) -> Result<Comparison, Refusal> {
        Ok(compare(asked, self.every_set, deadline)?)
    }

    fn words(&self, asked: &Scenario, answer: &Comparison) -> String {
        text::comparison(asked, answer)
    }
}
