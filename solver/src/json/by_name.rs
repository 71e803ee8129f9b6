//! Reading a typed document whose objects are given as objects. Serde would take a list of the fields' values for one as well, which no JSON
//! Schema of ours allows.

use std::fmt;

use serde::de::{
    Deserialize, DeserializeSeed, Deserializer, EnumAccess, Error, MapAccess, SeqAccess, Visitor,
};
use serde::forward_to_deserialize_any;

use super::text;

/// Reads a document of a type.
///
/// # Errors
/// What is no JSON document, or none of this type, and where.
pub fn by_name<T: for<'de> Deserialize<'de>>(document: &[u8]) -> serde_json::Result<T> {
    let mut reader = serde_json::Deserializer::from_slice(text(document));
    let value = T::deserialize(ByName(&mut reader))?;
    reader.end()?;
    Ok(value)
}

/// What is wrong with a document, in words of JSON instead of the reader's own.
pub fn in_words(error: &serde_json::Error) -> String {
    const WORDS: [(&str, &str); 11] = [
        ("invalid type: sequence", "invalid type: a list"),
        ("invalid type: map", "invalid type: an object"),
        ("expected a sequence", "expected a list"),
        ("expected a map", "expected an object"),
        (
            "expected u32",
            "expected a whole number that is not negative",
        ),
        (
            "expected u64",
            "expected a whole number that is not negative",
        ),
        (
            "expected usize",
            "expected a whole number that is not negative",
        ),
        ("expected i64", "expected a whole number"),
        ("expected f64", "expected a number"),
        ("expected a string", "expected a text"),
        ("expected a boolean", "expected true or false"),
    ];
    let mut said = error.to_string();
    for (from, to) in WORDS {
        said = said.replace(from, to);
    }
    // A type's own name says nothing to a person.
    if let Some((before, after)) = said.split_once("expected struct ") {
        let name = |sign: char| !sign.is_alphanumeric();
        said = format!(
            "{before}expected an object{}",
            &after[after.find(name).unwrap_or(0)..]
        );
    }
    said
}

/// What reads, or is read by, so that objects are told by the names of their fields.
struct ByName<T>(T);

impl<'de, D: Deserializer<'de>> Deserializer<'de> for ByName<D> {
    type Error = D::Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        self.0.deserialize_any(ByName(visitor))
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, D::Error> {
        self.0.deserialize_option(ByName(visitor))
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        self.0.deserialize_newtype_struct(name, ByName(visitor))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        self.0.deserialize_map(ByName(visitor))
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, D::Error> {
        self.0.deserialize_enum(name, variants, visitor)
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit unit_struct seq tuple tuple_struct map
        identifier ignored_any
    }
}

macro_rules! visits {
    ($($method:ident $value:ty)*) => {
        $(fn $method<E: Error>(self, value: $value) -> Result<V::Value, E> {
            self.0.$method(value)
        })*
    };
}

impl<'de, V: Visitor<'de>> Visitor<'de> for ByName<V> {
    type Value = V::Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.expecting(f)
    }

    visits! {
        visit_bool bool
        visit_i64 i64
        visit_u64 u64
        visit_f64 f64
        visit_str &str
        visit_borrowed_str &'de str
        visit_string String
    }

    fn visit_unit<E: Error>(self) -> Result<V::Value, E> {
        self.0.visit_unit()
    }

    fn visit_none<E: Error>(self) -> Result<V::Value, E> {
        self.0.visit_none()
    }

    fn visit_some<D: Deserializer<'de>>(self, from: D) -> Result<V::Value, D::Error> {
        self.0.visit_some(ByName(from))
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, from: D) -> Result<V::Value, D::Error> {
        self.0.visit_newtype_struct(ByName(from))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, items: A) -> Result<V::Value, A::Error> {
        self.0.visit_seq(ByName(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, entries: A) -> Result<V::Value, A::Error> {
        self.0.visit_map(ByName(entries))
    }

    fn visit_enum<A: EnumAccess<'de>>(self, data: A) -> Result<V::Value, A::Error> {
        self.0.visit_enum(data)
    }
}

impl<'de, S: DeserializeSeed<'de>> DeserializeSeed<'de> for ByName<S> {
    type Value = S::Value;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<S::Value, D::Error> {
        self.0.deserialize(ByName(from))
    }
}

impl<'de, A: SeqAccess<'de>> SeqAccess<'de> for ByName<A> {
    type Error = A::Error;

    fn next_element_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, A::Error> {
        self.0.next_element_seed(ByName(seed))
    }
}

impl<'de, A: MapAccess<'de>> MapAccess<'de> for ByName<A> {
    type Error = A::Error;

    fn next_key_seed<S: DeserializeSeed<'de>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, A::Error> {
        self.0.next_key_seed(seed)
    }

    fn next_value_seed<S: DeserializeSeed<'de>>(&mut self, seed: S) -> Result<S::Value, A::Error> {
        self.0.next_value_seed(ByName(seed))
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;
    use serde_json::Value;

    use super::*;

    #[derive(Deserialize, Debug, PartialEq)]
    #[serde(deny_unknown_fields)]
    struct Outer {
        inner: Option<Inner>,
        many: Vec<Inner>,
        kind: Kind,
        #[serde(default)]
        pair: Option<[f64; 2]>,
    }

    #[derive(Deserialize, Debug, PartialEq)]
    struct Inner {
        count: u32,
        rest: Value,
    }

    #[derive(Deserialize, Debug, PartialEq)]
    #[serde(rename_all = "snake_case")]
    enum Kind {
        Plain,
        Held(Inner),
    }

    #[test]
    fn documents_are_read_as_serde_reads_them() {
        for text in [
            r#"{"inner": null, "many": [], "kind": "plain", "pair": [1, 2.5]}"#,
            r#"{"many": [{"count": 3, "rest": {"a": [1, null, "x\n"]}}], "kind": {"held": {"count": 0, "rest": true}}}"#,
            r#"{"inner": {"count": 4294967295, "rest": -1}, "many": [], "kind": "plain"}"#,
        ] {
            let expected: Outer = serde_json::from_str(text).expect("a document");
            assert_eq!(
                by_name::<Outer>(text.as_bytes()).expect("the same"),
                expected
            );
        }
    }

    #[test]
    fn a_list_is_no_object_wherever_it_stands() {
        for text in [
            r#"[null, [], "plain"]"#,
            r#"{"inner": [3, null], "many": [], "kind": "plain"}"#,
            r#"{"many": [[3, null]], "kind": "plain"}"#,
        ] {
            serde_json::from_str::<Outer>(text).expect("serde would take it");
            let error = by_name::<Outer>(text.as_bytes()).expect_err("a list");
            let said = in_words(&error);
            assert!(said.contains("a list, expected an object"), "{said}");
        }
    }

    #[test]
    fn what_comes_after_the_document_is_refused() {
        let text = r#"{"many": [], "kind": "plain"} {}"#;
        assert!(by_name::<Outer>(text.as_bytes()).is_err());
    }
}
