//! The JSON Schema (2020-12) of the scenario document.

use serde_json::Value;

/// The JSON Schema (2020-12) that every scenario document fulfils. The schema states the shapes; rules between
/// fields are told in its descriptions and checked by [`read`](super::read).
pub fn scenario_schema() -> Value {
    serde_json::from_str(include_str!("scenario.schema.json")).unwrap_or(Value::Null)
}
