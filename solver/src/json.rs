//! JSON documents: their text, and their schemas.

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde_json::Value;

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
