//! Within /v1 the interface only grows: the document that was released last is kept, and what it promised still holds.

use std::collections::{BTreeSet, HashSet};

use serde_json::{Map, Value, json};

use super::openapi;

/// What was released last. At a release it is replaced by what `GET /openapi.json` answers.
const RELEASED: &str = include_str!("../../../../released/openapi.json");

/// On which side of the wire a schema is.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    /// What clients send: as much as before is accepted.
    Sent,
    /// What clients are answered: as much as before is promised.
    Answered,
}

/// Everything that the released document promised and the present one does not keep.
fn broken(released: &Value, now: &Value) -> Vec<String> {
    let mut broken = Vec::new();
    let compared = |side| Compared {
        released,
        now,
        side,
        seen: HashSet::new(),
        broken: Vec::new(),
    };
    let (mut sent, mut answered) = (compared(Side::Sent), compared(Side::Answered));
    for (path, methods) in object(&released["paths"]) {
        for (method, old) in object(methods) {
            let new = &now["paths"][path][method];
            let place = format!("{method} {path}");
            if new.is_null() {
                broken.push(format!("{place} is gone"));
                continue;
            }
            parameters(old, new, &place, &mut broken);
            for (media, content) in object(&old["requestBody"]["content"]) {
                let new = &new["requestBody"]["content"][media];
                sent.schemas(
                    &content["schema"],
                    &new["schema"],
                    &format!("{place} {media}"),
                );
            }
            for (status, answer) in object(&old["responses"]) {
                let new = &new["responses"][status];
                if new.is_null() {
                    broken.push(format!("{place} answers {status} no more"));
                }
                for (media, content) in object(&answer["content"]) {
                    let new = &new["content"][media];
                    answered.schemas(
                        &content["schema"],
                        &new["schema"],
                        &format!("{place} {status} {media}"),
                    );
                }
            }
        }
    }
    broken.extend(sent.broken);
    broken.extend(answered.broken);
    broken
}

fn parameters(old: &Value, new: &Value, place: &str, broken: &mut Vec<String>) {
    let named = |operation: &Value, name: &Value| {
        let parameters = operation["parameters"].as_array().into_iter().flatten();
        parameters
            .clone()
            .find(|parameter| &parameter["name"] == name)
            .cloned()
    };
    for parameter in old["parameters"].as_array().into_iter().flatten() {
        if named(new, &parameter["name"]).is_none() {
            broken.push(format!("{place} takes {} no more", parameter["name"]));
        }
    }
    for parameter in new["parameters"].as_array().into_iter().flatten() {
        let before = named(old, &parameter["name"]);
        let demanded = before.is_some_and(|before| before["required"] == true);
        if parameter["required"] == true && !demanded {
            broken.push(format!("{place} demands {} now", parameter["name"]));
        }
    }
}

/// Words of a schema that say nothing of what keeps to it.
const WORDS: [&str; 5] = ["description", "title", "example", "examples", "default"];

/// The schemas of two documents on one side of the wire, and where one no longer keeps what it was.
struct Compared<'a> {
    released: &'a Value,
    now: &'a Value,
    side: Side,
    /// Pairs of references that were followed already.
    seen: HashSet<(&'a str, &'a str)>,
    broken: Vec<String>,
}

impl<'a> Compared<'a> {
    /// Whatever this does not know it takes for broken where it differs.
    fn schemas(&mut self, old: &'a Value, new: &'a Value, place: &str) {
        let names = old["$ref"].as_str().zip(new["$ref"].as_str());
        if names.is_some_and(|names| !self.seen.insert(names)) {
            return;
        }
        let (old, new) = (followed(self.released, old), followed(self.now, new));
        let words: BTreeSet<&String> = object(old)
            .chain(object(new))
            .map(|(word, _)| word)
            .collect();
        for word in words {
            let (before, after) = (&old[word], &new[word]);
            let kept = match word.as_str() {
                word if WORDS.contains(&word) => true,
                "properties" => {
                    for (field, schema) in object(before) {
                        self.schemas(schema, &after[field], &format!("{place}/{field}"));
                    }
                    true
                }
                "items" | "additionalProperties" if before.is_object() && after.is_object() => {
                    self.schemas(before, after, &format!("{place}/{word}"));
                    true
                }
                "oneOf" | "anyOf" if before.is_array() && after.is_array() => {
                    for (number, (before, after)) in
                        list(before).iter().zip(list(after)).enumerate()
                    {
                        self.schemas(before, after, &format!("{place}/{word}/{number}"));
                    }
                    list(before).len() <= list(after).len()
                }
                // What is sent need not say more than before; what is answered says no less. Words that are known stay known.
                "required" if self.side == Side::Sent => contains(before, after),
                "required" | "enum" => contains(after, before),
                _ => before == after,
            };
            if !kept {
                self.broken.push(format!("{place}: {word} is another"));
            }
        }
    }
}

/// Whether a list has all that another one has.
fn contains(all: &Value, some: &Value) -> bool {
    list(some).iter().all(|one| list(all).contains(one))
}

/// A schema, or the one that it refers to.
fn followed<'a>(document: &'a Value, schema: &'a Value) -> &'a Value {
    let place = schema["$ref"]
        .as_str()
        .and_then(|place| place.strip_prefix('#'));
    place
        .and_then(|place| document.pointer(place))
        .unwrap_or(schema)
}

fn object(value: &Value) -> impl Iterator<Item = (&String, &Value)> {
    value.as_object().into_iter().flat_map(Map::iter)
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

#[test]
fn what_was_released_still_holds() {
    let released: Value = serde_json::from_str(RELEASED).expect("JSON");
    assert!(object(&released["paths"]).count() >= 10);
    let broken = broken(&released, &openapi());
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn what_would_break_a_client_is_seen() {
    let now = openapi();
    let scenario = "/components/schemas/Scenario";
    let changes: [(&str, Value); 9] = [
        ("/paths/~1v1~1fits", Value::Null),
        ("/paths/~1v1~1plans/post/parameters", json!([])),
        ("/paths/~1v1~1plans/post/responses/503", Value::Null),
        (
            "/components/schemas/Scenario/required",
            json!(["format", "unit", "hoops", "designs", "name"]),
        ),
        (
            "/components/schemas/Scenario/properties/unit/enum",
            json!(["mm"]),
        ),
        ("/components/schemas/Plan/required", json!([])),
        ("/components/schemas/Plan/properties/hoopings", Value::Null),
        (
            "/components/schemas/Health/properties/waiting/type",
            json!("string"),
        ),
        (
            "/components/schemas/ScenarioVerdict/properties/faults/items",
            json!({"type": "string"}),
        ),
    ];
    for (place, value) in changes {
        let mut changed = now.clone();
        *changed.pointer_mut(place).expect(place) = value;
        assert!(!broken(&now, &changed).is_empty(), "{place}");
    }
    // What is added breaks nobody: a field that can be left out, a word, an answer, a parameter.
    let mut grown = now.clone();
    grown
        .pointer_mut(&format!("{scenario}/properties"))
        .expect("fields")["colour"] = json!({"type": "string"});
    let units = grown
        .pointer_mut(&format!("{scenario}/properties/unit/enum"))
        .expect("words");
    units.as_array_mut().expect("a list").push(json!("m"));
    grown["paths"]["/v1/fits"]["post"]["responses"]["202"] = json!({"description": "Later."});
    assert_eq!(broken(&now, &grown), Vec::<String>::new());
}
