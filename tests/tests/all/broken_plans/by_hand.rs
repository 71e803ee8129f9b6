//! A scenario and its plan as JSON, changed place by place and then checked.

use sashwright_solver::check::check;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;
use serde_json::{Value, json};

/// A scenario and a plan for it.
#[derive(Clone)]
pub struct ByHand {
    pub scenario: Value,
    pub plan: Value,
}

impl ByHand {
    /// Sets a value of the plan (JSON Pointer); a new member of an object is added.
    pub fn plan(mut self, pointer: &str, value: Value) -> ByHand {
        set(&mut self.plan, pointer, value);
        self
    }

    /// Sets a value of the scenario.
    pub fn scenario(mut self, pointer: &str, value: Value) -> ByHand {
        set(&mut self.scenario, pointer, value);
        self
    }

    /// Sets a rule of the scenario.
    pub fn rule(self, name: &str, value: Value) -> ByHand {
        let mut changed = self;
        if changed.scenario.get("rules").is_none() {
            changed = changed.scenario("/rules", json!({}));
        }
        changed.scenario(&format!("/rules/{name}"), value)
    }

    /// Removes the entry of a list of the plan.
    pub fn without(mut self, list: &str, index: usize) -> ByHand {
        list_of(&mut self.plan, list).remove(index);
        self
    }

    /// Adds an entry to a list of the plan.
    pub fn with(mut self, list: &str, entry: Value) -> ByHand {
        list_of(&mut self.plan, list).push(entry);
        self
    }

    /// The entry at a place of the plan.
    pub fn at(&self, pointer: &str) -> Value {
        self.plan
            .pointer(pointer)
            .expect("a place of the plan")
            .clone()
    }

    /// What the check finds, as `rule at pointer`.
    pub fn found(&self) -> Vec<String> {
        let bytes = serde_json::to_vec(&self.scenario).expect("JSON");
        let scenario = scenario::read(&bytes).expect("a scenario without fault");
        let plan: Plan = serde_json::from_value(self.plan.clone()).expect("a plan document");
        let violations = check(&scenario, &plan);
        for violation in &violations {
            assert!(
                violation.pointer.is_empty()
                    || self.plan.pointer(&violation.pointer).is_some()
                    || violation.pointer.ends_with("/open"),
                "{} is no place of the plan",
                violation.pointer
            );
            assert!(violation.message.ends_with('.'), "{}", violation.message);
        }
        let shown = |violation: &sashwright_solver::check::Violation| {
            format!("{} at {}", violation.rule, violation.pointer)
        };
        violations.iter().map(shown).collect()
    }

    /// Asserts that the plan is valid.
    pub fn is_accepted(&self) {
        assert_eq!(self.found(), Vec::<String>::new());
    }

    /// Asserts that exactly these rules are broken, given as `rule at pointer`.
    pub fn is_refused_for(&self, expected: &[&str]) {
        assert_eq!(self.found(), expected);
    }

    /// Asserts that this rule is broken among others, which follow from it.
    pub fn is_refused_also_for(&self, expected: &str) {
        let found = self.found();
        assert!(found.iter().any(|shown| shown == expected), "{found:?}");
    }
}

fn set(document: &mut Value, pointer: &str, value: Value) {
    let (parent, name) = pointer.rsplit_once('/').expect("a pointer");
    let parent = document.pointer_mut(parent).expect("a place to set");
    match parent {
        Value::Array(items) => items[name.parse::<usize>().expect("an index")] = value,
        _ => parent[name] = value,
    }
}

fn list_of<'a>(document: &'a mut Value, pointer: &str) -> &'a mut Vec<Value> {
    let list = document.pointer_mut(pointer).expect("a list");
    list.as_array_mut().expect("a list")
}
