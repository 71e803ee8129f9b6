//! The schemas of all documents as components of one document: what several of them define alike becomes one component.

use sashwright_solver::batch::batch_schema_beside;
use sashwright_solver::compare::comparison_schema;
use sashwright_solver::cope::fits_schema;
use sashwright_solver::explain::explanation_schema;
use sashwright_solver::plan::plan_schema;
use sashwright_solver::replan::{progress_schema, replan_schema};
use sashwright_solver::scenario::scenario_schema;
use schemars::{JsonSchema, schema_for};
use serde_json::{Map, Value, json};

use super::super::{batches, health, plans, problem, verdict};
use super::operation::reference;

/// What makes a schema.
type Schema = fn() -> Value;

/// The name of each document's component, and its schema.
pub(in crate::http) const SCHEMAS: [(&str, Schema); 17] = [
    ("Scenario", scenario_schema),
    ("Plan", plan_schema),
    ("Comparison", comparison_schema),
    ("Explanation", explanation_schema),
    ("Fits", fits_schema),
    ("Progress", progress_schema),
    ("Replan", replan_schema),
    ("ReplanQuestion", replan_question),
    ("Batch", batch),
    ("BatchStatus", of::<batches::BatchStatus>),
    ("ResultsPage", of::<batches::ResultsPage>),
    ("KitsPage", of::<batches::KitsPage>),
    ("BatchSummary", of::<crate::batch::Summary>),
    ("Underway", of::<plans::Underway>),
    ("ScenarioVerdict", of::<verdict::ScenarioVerdict>),
    ("Health", of::<health::Health>),
    ("Problem", of::<problem::Document>),
];

fn of<T: JsonSchema>() -> Value {
    schema_for!(T).to_value()
}

/// A run of kits, beside the scenario's schema.
fn batch() -> Value {
    batch_schema_beside(
        "#/components/schemas/Scenario",
        "#/components/schemas/Scenario_hoop",
    )
}

/// What a replan is asked with.
fn replan_question() -> Value {
    json!({
        "type": "object", "additionalProperties": false,
        "description": "A scenario, a plan of it, and how far the work has come.",
        "required": ["scenario", "plan", "progress"],
        "properties": {
            "scenario": described("Scenario", "What was planned."),
            "plan": described("Plan", "Its plan."),
            "progress": described("Progress", "What is done, and what went wrong."),
        }
    })
}

fn described(component: &str, description: &str) -> Value {
    let mut schema = reference(component);
    schema["description"] = json!(description);
    schema
}

/// The components: each document, and whatever its schema defines beside it.
pub(super) fn components() -> Map<String, Value> {
    let mut components = Map::new();
    for (document, schema) in SCHEMAS {
        let mut schema = schema();
        let definitions = schema.as_object_mut().and_then(|schema| {
            schema.remove("$schema");
            schema.remove("title");
            schema.remove("$defs")
        });
        let Some(Value::Object(definitions)) = definitions else {
            components.insert(document.into(), schema);
            continue;
        };
        components.insert(document.into(), moved(schema, document));
        for (name, definition) in definitions {
            // Where two documents define a name, they define it alike: a test sees to it.
            components
                .entry(component_of(document, &name))
                .or_insert(moved(definition, document));
        }
    }
    components
}

/// The component of what a document's schema defines. The small names of hand-written schemas mean something in their document only.
pub(super) fn component_of(document: &str, definition: &str) -> String {
    if definition.starts_with(char::is_uppercase) {
        definition.to_string()
    } else {
        format!("{document}_{definition}")
    }
}

/// A schema whose references lead to the components.
pub(super) fn moved(schema: Value, document: &str) -> Value {
    match schema {
        Value::Object(fields) => {
            let moved = |(name, value): (String, Value)| {
                let place = value
                    .as_str()
                    .and_then(|text| text.strip_prefix("#/$defs/"));
                let value = match (name.as_str(), place) {
                    ("$ref", Some(definition)) => format!(
                        "#/components/schemas/{}",
                        component_of(document, definition)
                    )
                    .into(),
                    _ => moved(value, document),
                };
                (name, value)
            };
            Value::Object(fields.into_iter().map(moved).collect())
        }
        Value::Array(values) => values
            .into_iter()
            .map(|value| moved(value, document))
            .collect(),
        other => other,
    }
}
