//! JSON documents: their text, what they hold, and their schemas.

mod by_name;

use std::fmt;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::de::{Deserialize, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

pub use by_name::{by_name, in_words};

/// The text of a JSON document. Some editors put a byte order mark in front; RFC 8259 lets a reader ignore it.
pub fn text(document: &[u8]) -> &[u8] {
    document.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(document)
}

/// The JSON Schema (2020-12) of a type's documents.
pub(crate) fn schema_of<T: JsonSchema>() -> Value {
    SchemaSettings::draft2020_12()
        .into_generator()
        .into_root_schema_for::<T>()
        .to_value()
}

/// Whether this is a JSON document, whatever it holds.
pub fn is_json(document: &[u8]) -> bool {
    serde_json::from_slice::<IgnoredAny>(text(document)).is_ok()
}

/// Reads a JSON document. An object in which a name comes twice is refused: what is told there would be lost (RFC 8259, section 4, leaves it
/// open what a reader makes of it).
///
/// # Errors
/// What is no JSON document, or has a name twice, and where.
pub fn read(document: &[u8]) -> serde_json::Result<Value> {
    serde_json::from_slice(text(document)).map(|Unique(value)| value)
}

/// A value in which no name comes twice.
struct Unique(Value);

impl<'de> Deserialize<'de> for Unique {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Unique, D::Error> {
        from.deserialize_any(UniqueVisitor).map(Unique)
    }
}

struct UniqueVisitor;

impl<'de> Visitor<'de> for UniqueVisitor {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_string<E>(self, value: String) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(Unique(item)) = items.next_element()? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some(name) = entries.next_key::<String>()? {
            if object.contains_key(&name) {
                return Err(A::Error::custom(format_args!(
                    "the name {name:?} comes twice in one object"
                )));
            }
            let Unique(value) = entries.next_value()?;
            object.insert(name, value);
        }
        Ok(Value::Object(object))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_document_is_read_as_it_stands() {
        let text = r#"{"a": [1, -2, 0.25, "x", null, true], "b": {"a": {"c": []}}}"#;
        let expected: Value = serde_json::from_str(text).expect("a document");
        assert_eq!(read(text.as_bytes()).expect("the same"), expected);
    }

    #[test]
    fn a_name_that_comes_twice_is_told() {
        let text = r#"{"a": 1, "b": {"strips": [], "strips": [1]}}"#;
        let error = read(text.as_bytes()).expect_err("a name twice").to_string();
        assert!(error.contains("\"strips\" comes twice"), "{error}");
    }
}
