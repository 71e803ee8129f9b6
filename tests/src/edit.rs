//! Writes values into documents.

use serde_json::{Value, json};

/// Writes a value at a place (JSON Pointer); objects on the way are made where they are absent.
///
/// # Panics
/// Where the place leads through something that has no members.
pub fn write(document: &mut Value, pointer: &str, value: &Value) {
    let mut place = document;
    for step in pointer.split('/').skip(1) {
        place = match place {
            Value::Array(items) => &mut items[step.parse::<usize>().expect("an index")],
            Value::Object(fields) => fields.entry(step).or_insert_with(|| json!({})),
            other => panic!("{pointer}: no place in {other}"),
        };
    }
    *place = value.clone();
}
