//! The JSON Schema (2020-12) of the batch document.

use serde_json::{Value, json};

use super::document::{MOST_COPIES, MOST_KITS, MOST_LABELS, MOST_SCENARIOS, MOST_SETS};
use crate::scenario::scenario_schema;

/// The JSON Schema that every batch document fulfils, whole: that of the scenario is among its definitions.
pub fn batch_schema() -> Value {
    let mut scenario = scenario_schema();
    let mut definitions = scenario
        .as_object_mut()
        .and_then(|scenario| {
            scenario.remove("$schema");
            scenario.remove("$defs")
        })
        .unwrap_or_default();
    definitions["scenario"] = scenario;
    let mut schema = batch_schema_beside("#/$defs/scenario", "#/$defs/hoop");
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Batch");
    schema["$defs"] = definitions;
    schema
}

/// The same beside the schemas of a scenario and of a hoop, which stand where the two references lead to.
pub fn batch_schema_beside(scenario: &str, hoop: &str) -> Value {
    let name = |what: &str| json!({"type": "string", "minLength": 1, "maxLength": 100, "description": what});
    let scenario = |what: &str| json!({"type": "object", "description": what, "anyOf": [{"$ref": scenario}, {"required": ["format", "unit", "designs"]}]});
    json!({
        "type": "object",
        "additionalProperties": false,
        "description": "A run of kits: quilts that are made so many times, for people who own different hoops.",
        "required": ["format", "kits"],
        "properties": {
            "format": {"const": 1, "description": "Version of this document."},
            "name": {"type": "string", "maxLength": 100, "default": "", "description": "Any text; it is repeated in the answers."},
            "share_across_kits": {
                "type": "boolean", "default": false,
                "description": "Whether strips of different kits may meet in one hooping, as where one shop stitches them all. All kits of a hoop set then have one plan, in which the ids of a kit's strips begin with its own id, and they have to say the same of hoops, allowances, rules, goal, materials and rates. Otherwise each kit is planned by itself, for whoever stitches it at home.",
            },
            "scenarios": {
                "type": "object", "maxProperties": MOST_SCENARIOS,
                "description": "Scenarios that kits name. Where a kit has hoop sets, the scenario needs no hoops of its own.",
                "additionalProperties": scenario("A scenario."),
            },
            "hoop_sets": {
                "type": "object", "maxProperties": MOST_SETS,
                "description": "Hoops that somebody owns, under a name. They take the place of a scenario's hoops, and its candidates go.",
                "additionalProperties": {
                    "type": "object", "additionalProperties": false, "required": ["unit", "hoops"],
                    "description": "The hoops of one set.",
                    "properties": {
                        "unit": {"enum": ["in", "mm"], "description": "Unit of their lengths; scenarios may have another one."},
                        "hoops": {"type": "array", "minItems": 1, "maxItems": 100, "items": {"$ref": hoop}, "description": "The hoops, as a scenario lists them."},
                    },
                },
            },
            "kits": {
                "type": "array", "minItems": 1, "maxItems": MOST_KITS,
                "description": "The kits. Each counted once for each of its hoop sets, they are at most 100 000, and they ask for at most 10 000 different plans.",
                "items": {
                    "type": "object", "additionalProperties": false, "required": ["scenario"],
                    "description": "A quilt that is made so many times.",
                    "properties": {
                        "id": name("Its name, unique in the batch; kit-N if absent, N being its place in the list."),
                        "scenario": {
                            "description": "The name of a scenario of this batch, or a scenario.",
                            "anyOf": [name("Name of a scenario of this batch."), scenario("A scenario of its own.")],
                        },
                        "hoop_sets": {
                            "type": "array", "minItems": 1, "maxItems": MOST_SETS, "uniqueItems": true,
                            "description": "Names of hoop sets: the kit is planned for each of them. The scenario's own hoops if absent.",
                            "items": name("Name of a hoop set."),
                        },
                        "copies": {"type": "integer", "minimum": 1, "maximum": MOST_COPIES, "default": 1, "description": "How many are made with each of its hoop sets."},
                        "labels": {
                            "type": "object", "maxProperties": MOST_LABELS,
                            "description": "What the owner knows it by, such as a customer or an order; given back as it is.",
                            "additionalProperties": name("The text of the label."),
                        },
                    },
                },
            },
        },
    })
}
