//! The independent check of any plan against its scenario.

use crate::plan::Plan;
use crate::scenario::Scenario;

/// One way in which a plan breaks the rules.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Violation {
    /// Where in the plan document (JSON Pointer).
    pub pointer: String,
    /// The rule that is broken; a stable kebab-case name.
    pub rule: &'static str,
    /// What was seen and what the rule asks, in a sentence.
    pub message: String,
}

/// Every fault of `plan` as a plan for `scenario`; empty where it is valid.
pub fn check(_scenario: &Scenario, _plan: &Plan) -> Vec<Violation> {
    Vec::new()
}
