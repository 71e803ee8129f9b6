//! A place in a JSON document: reads values of a stated kind, and notes every fault with its JSON Pointer.
//!
//! `fields.rs` reads objects, `numbers.rs` numbers and lengths.

mod fields;
mod numbers;

pub(crate) use fields::Fields;
pub(crate) use numbers::Span;

use std::cell::RefCell;

use serde_json::Value;

use crate::fault::{Fault, FaultCode, FaultList};
use crate::json;

/// The longest id or name, in characters.
pub(crate) const LONGEST_TEXT: usize = 100;
/// The most ids that a message lists.
const MOST_NAMED: usize = 10;

/// Collects the faults of one reading.
#[derive(Default)]
pub(crate) struct Notebook(RefCell<FaultList>);

impl Notebook {
    pub(crate) fn add(
        &self,
        pointer: &str,
        code: FaultCode,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.0.borrow_mut().add(pointer, code, message, mend);
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.borrow().is_empty()
    }

    pub(crate) fn into_faults(self) -> Vec<Fault> {
        self.0.into_inner().into_faults()
    }
}

/// Reads a JSON document by its root.
///
/// # Errors
/// Every fault of the document; at least one.
pub(crate) fn read_document<T>(
    document: &[u8],
    read: impl FnOnce(&Node<'_>) -> Option<T>,
) -> Result<T, Vec<Fault>> {
    let notebook = Notebook::default();
    let value = match json::read(document) {
        Ok(value) => value,
        Err(error) => {
            let message = if error.is_data() {
                format!("This cannot be read: {error}.")
            } else {
                format!("This is not a JSON document: {error}.")
            };
            let mend = "Mend the text at that place.";
            notebook.add("", FaultCode::JsonSyntax, message, mend);
            return Err(notebook.into_faults());
        }
    };
    read_noting(&value, notebook, read)
}

/// Reads a document that is there as a JSON value.
///
/// # Errors
/// Every fault of the document; at least one.
pub(crate) fn read_value<T>(
    value: &Value,
    read: impl FnOnce(&Node<'_>) -> Option<T>,
) -> Result<T, Vec<Fault>> {
    read_noting(value, Notebook::default(), read)
}

fn read_noting<T>(
    value: &Value,
    notebook: Notebook,
    read: impl FnOnce(&Node<'_>) -> Option<T>,
) -> Result<T, Vec<Fault>> {
    match read(&Node::root(value, &notebook)) {
        Some(read) if notebook.is_empty() => Ok(read),
        _ => Err(notebook.into_faults()),
    }
}

/// A value of the document and where it stands.
#[derive(Clone)]
pub(crate) struct Node<'a> {
    value: &'a Value,
    pointer: String,
    notebook: &'a Notebook,
}

impl<'a> Node<'a> {
    pub(crate) fn root(value: &'a Value, notebook: &'a Notebook) -> Node<'a> {
        Node {
            value,
            pointer: String::new(),
            notebook,
        }
    }

    pub(crate) fn pointer(&self) -> &str {
        &self.pointer
    }

    /// Notes a fault at this place.
    pub(crate) fn fault(
        &self,
        code: FaultCode,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.notebook.add(&self.pointer, code, message, mend);
    }

    fn wrong_kind<T>(&self, wanted: &str) -> Option<T> {
        self.fault(
            FaultCode::WrongKind,
            format!("Here stands {}.", self.seen()),
            format!("Give {wanted}."),
        );
        None
    }

    /// What stands here, in a few words.
    fn seen(&self) -> String {
        match self.value {
            Value::Null => "null".into(),
            Value::Bool(value) => value.to_string(),
            Value::Number(number) => format!("the number {number}"),
            Value::String(text) => format!("the text {:?}", shortened(text)),
            Value::Array(items) => format!("a list of {}", items.len()),
            Value::Object(fields) => format!("an object with {} fields", fields.len()),
        }
    }

    pub(crate) fn is_null(&self) -> bool {
        self.value.is_null()
    }

    /// The items of a list that has between 1 and `most` of them; `what` names one.
    pub(crate) fn items(&self, what: &str, most: usize) -> Option<Vec<Node<'a>>> {
        let Value::Array(items) = self.value else {
            return self.wrong_kind(&format!("a list with each {what}"));
        };
        if items.is_empty() || items.len() > most {
            self.fault(
                FaultCode::OutOfRange,
                format!("The list has {} entries.", items.len()),
                format!("Give 1 to {most}: each {what}."),
            );
            return None;
        }
        Some(self.children(items))
    }

    fn children(&self, items: &'a [Value]) -> Vec<Node<'a>> {
        let at = |(index, value)| Node {
            value,
            pointer: format!("{}/{index}", self.pointer),
            notebook: self.notebook,
        };
        items.iter().enumerate().map(at).collect()
    }

    /// A pair such as `[6, 10]`; `what` says what its two numbers are.
    pub(crate) fn pair(&self, what: &str) -> Option<[Node<'a>; 2]> {
        let items = match self.value {
            Value::Array(items) if items.len() == 2 => self.children(items),
            _ => return self.wrong_kind(&format!("a list of two: {what}")),
        };
        items.try_into().ok()
    }

    /// A text of 1 to [`LONGEST_TEXT`] characters without control characters.
    pub(crate) fn text(&self) -> Option<String> {
        let Value::String(text) = self.value else {
            return self.wrong_kind("a text");
        };
        let length = text.chars().count();
        if length == 0 || length > LONGEST_TEXT || text.chars().any(char::is_control) {
            self.fault(
                FaultCode::OutOfRange,
                format!("The text {:?} has {length} characters.", shortened(text)),
                format!("Give 1 to {LONGEST_TEXT} printable characters."),
            );
            return None;
        }
        Some(text.clone())
    }

    /// One of a few words.
    pub(crate) fn word<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
        let Value::String(text) = self.value else {
            return self.wrong_kind(&format!("one of {}", quoted(&names)));
        };
        match words.iter().find(|(name, _)| name == text) {
            Some((_, value)) => Some(*value),
            None => {
                self.fault(
                    FaultCode::UnknownWord,
                    format!("The word {:?} is not known here.", shortened(text)),
                    format!("Give one of {}.", quoted(&names)),
                );
                None
            }
        }
    }

    pub(crate) fn boolean(&self) -> Option<bool> {
        match self.value {
            Value::Bool(value) => Some(*value),
            _ => self.wrong_kind("true or false"),
        }
    }
}

/// Reads every item even where one is faulty; `None` where any is.
pub(crate) fn all<T>(items: impl IntoIterator<Item = Option<T>>) -> Option<Vec<T>> {
    let read: Vec<Option<T>> = items.into_iter().collect();
    read.into_iter().collect()
}

/// The pointer of a field, its name escaped as RFC 6901 asks.
pub(crate) fn child(pointer: &str, name: &str) -> String {
    format!("{pointer}/{}", name.replace('~', "~0").replace('/', "~1"))
}

/// A text cut to a length that a message can carry.
pub(crate) fn shortened(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.into(),
    }
}

fn capitalised(text: &str) -> String {
    let mut characters = text.chars();
    match characters.next() {
        Some(first) => first.to_uppercase().collect::<String>() + characters.as_str(),
        None => String::new(),
    }
}

fn quoted(names: &[&str]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("\"{name}\"")).collect();
    names.join(", ")
}

fn nearest<'k>(name: &str, known: &[&'k str]) -> Option<&'k str> {
    let name = shortened(name);
    let distance = |near: &&&str| strsim::damerau_levenshtein(&name, near);
    known
        .iter()
        .min_by_key(distance)
        .filter(|near| distance(near) <= 2)
        .copied()
}

impl<'a> Node<'a> {
    /// Whether here stands the text "".
    pub(crate) fn is_empty_text(&self) -> bool {
        self.value.as_str() == Some("")
    }

    /// The texts of one field of every object in a list, with the object's index; anything else is passed over.
    pub(crate) fn field_texts(&self, name: &str) -> Vec<(usize, String)> {
        let items = self.value.as_array().map(Vec::as_slice).unwrap_or_default();
        let text =
            |(index, item): (usize, &Value)| Some((index, item.get(name)?.as_str()?.to_string()));
        items.iter().enumerate().filter_map(text).collect()
    }

    /// What stands here.
    pub(crate) fn value(&self) -> &'a Value {
        self.value
    }

    /// The values of an object that has at most `most`, each with its name, which is a text as any other; `what` names one.
    pub(crate) fn named(&self, what: &str, most: usize) -> Option<Vec<(String, Node<'a>)>> {
        let Value::Object(object) = self.value else {
            return self.wrong_kind(&format!("an object with each {what} under its name"));
        };
        if object.len() > most {
            self.fault(
                FaultCode::OutOfRange,
                format!("The object has {} fields.", object.len()),
                format!("Give at most {most}: each {what}."),
            );
            return None;
        }
        let mut named = Vec::new();
        for (name, value) in object {
            let node = Node {
                value,
                pointer: child(&self.pointer, name),
                notebook: self.notebook,
            };
            let length = name.chars().count();
            if length == 0 || length > LONGEST_TEXT || name.chars().any(char::is_control) {
                node.fault(
                    FaultCode::OutOfRange,
                    format!("The name {:?} has {length} characters.", shortened(name)),
                    format!("Name each {what} with 1 to {LONGEST_TEXT} printable characters."),
                );
                continue;
            }
            named.push((name.clone(), node));
        }
        (named.len() == object.len()).then_some(named)
    }

    /// Notes that the text here names nothing that is there under `place`.
    pub(crate) fn unknown_id<'k>(
        &self,
        what: &str,
        place: &str,
        known: impl Iterator<Item = &'k String>,
    ) {
        let mut known: Vec<&str> = known.map(String::as_str).collect();
        known.sort_unstable();
        let seen = self.value.as_str().unwrap_or_default();
        let mend = match nearest(seen, &known) {
            Some(near) => format!("Did you mean \"{near}\"?"),
            None if known.is_empty() => format!("Add it under \"{place}\"."),
            None => {
                let shown = &known[..known.len().min(MOST_NAMED)];
                format!(
                    "There is {}{}.",
                    quoted(shown),
                    if shown.len() < known.len() {
                        ", …"
                    } else {
                        ""
                    }
                )
            }
        };
        self.fault(
            FaultCode::UnknownId,
            format!("There is no {what} {:?}.", shortened(seen)),
            mend,
        );
    }

    /// Whether here stands this word.
    pub(crate) fn is_word(&self, word: &str) -> bool {
        self.value.as_str() == Some(word)
    }

    /// Whether here stands a list.
    pub(crate) fn is_list(&self) -> bool {
        self.value.is_array()
    }

    /// Whether here stands the list `[]`.
    pub(crate) fn is_empty_list(&self) -> bool {
        self.value.as_array().is_some_and(Vec::is_empty)
    }

    /// Notes a fault at another place of the same document.
    pub(crate) fn fault_at(
        &self,
        pointer: &str,
        code: FaultCode,
        message: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.notebook.add(pointer, code, message, mend);
    }
}
