//! The fields of an object.

use serde_json::{Map, Value};

use super::{Node, Notebook, child, nearest, quoted, shortened};
use crate::fault::FaultCode;

/// The fields of an object whose names have been looked over.
pub(crate) struct Fields<'a> {
    object: &'a Map<String, Value>,
    pointer: String,
    notebook: &'a Notebook,
}

impl<'a> Node<'a> {
    /// The fields of an object; every name that is not in `known` is a fault of its own.
    pub(crate) fn fields(&self, known: &[&str]) -> Option<Fields<'a>> {
        let Value::Object(object) = self.value else {
            return self.wrong_kind(&format!("an object with fields such as {}", quoted(known)));
        };
        for name in object.keys().filter(|name| !known.contains(&name.as_str())) {
            let mend = match nearest(name, known) {
                Some(near) => format!("Did you mean \"{near}\"?"),
                None => format!("Known fields are {}.", quoted(known)),
            };
            self.notebook.add(
                &child(&self.pointer, name),
                FaultCode::UnknownField,
                format!("There is no field {:?} here.", shortened(name)),
                mend,
            );
        }
        Some(Fields {
            object,
            pointer: self.pointer.clone(),
            notebook: self.notebook,
        })
    }
}

impl<'a> Fields<'a> {
    /// The field, where it is there.
    pub(crate) fn get(&self, name: &str) -> Option<Node<'a>> {
        self.object.get(name).map(|value| Node {
            value,
            pointer: child(&self.pointer, name),
            notebook: self.notebook,
        })
    }

    /// The field; a fault where it is missing.
    pub(crate) fn need(&self, name: &str, purpose: &str) -> Option<Node<'a>> {
        let found = self.get(name);
        if found.is_none() {
            self.notebook.add(
                &self.pointer,
                FaultCode::MissingField,
                format!("The field \"{name}\" is missing here."),
                format!("Add it: {purpose}."),
            );
        }
        found
    }

    /// A field that has a default: `default` where it is absent, `None` where it is faulty.
    pub(crate) fn or<T>(
        &self,
        name: &str,
        default: T,
        read: impl FnOnce(&Node<'a>) -> Option<T>,
    ) -> Option<T> {
        match self.get(name) {
            None => Some(default),
            Some(node) => read(&node),
        }
    }

    /// A field that may be absent: `Some(None)` where it is, `None` where it is faulty.
    pub(crate) fn maybe<T>(
        &self,
        name: &str,
        read: impl FnOnce(&Node<'a>) -> Option<T>,
    ) -> Option<Option<T>> {
        match self.get(name) {
            None => Some(None),
            Some(node) => read(&node).map(Some),
        }
    }
}
