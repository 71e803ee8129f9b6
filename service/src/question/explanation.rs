//! Why so many? A scenario in, what binds its plan out.

use std::time::Duration;

use sashwright_solver::deadline::Deadline;
use sashwright_solver::explain::{Explanation, explain};
use sashwright_solver::fault::Fault;
use sashwright_solver::scenario::{self, Scenario};

use super::Question;
use crate::solve::Refusal;
use crate::text;

/// Asks why a plan has as many hoopings and joints as it has.
#[derive(Clone, Copy, Default, Debug)]
pub struct Explaining;

impl Question for Explaining {
    type Asked = Scenario;
    type Answer = Explanation;

    fn read(&self, document: &[u8]) -> Result<Scenario, Vec<Fault>> {
        scenario::read(document)
    }

    fn limit(&self, asked: &Scenario) -> Duration {
        asked.time_limit
    }

    fn answer(&self, asked: &Scenario, deadline: &Deadline) -> Result<Explanation, Refusal> {
        Ok(explain(asked, deadline)?)
    }

    fn words(&self, _: &Scenario, answer: &Explanation) -> String {
        text::explanation(answer)
    }
}
