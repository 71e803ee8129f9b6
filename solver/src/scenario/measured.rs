//! Lengths of single strips, read off the cloth.

use std::collections::{HashMap, HashSet};

use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::Scenario;
use crate::scenario::node::{Node, Span, all};
use crate::strips;

/// The most strips that may be measured.
const MOST_MEASURED: usize = 100_000;

/// What a strip measures: it replaces the length that follows from the quilt or the list.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct MeasuredStrip {
    /// Id of the strip.
    pub strip: String,
    /// Its finished length.
    pub length: Length,
    /// Where the scenario says so (JSON Pointer).
    pub pointer: String,
}

pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<Vec<MeasuredStrip>> {
    if node.is_empty_list() {
        return Some(Vec::new());
    }
    let items = node.items("measured strip", MOST_MEASURED)?;
    all(items.iter().map(|item| read_one(item, unit)))
}

fn read_one(node: &Node<'_>, unit: Unit) -> Option<MeasuredStrip> {
    let fields = node.fields(&["strip", "length"])?;
    let strip = fields
        .need("strip", "the id of the strip")
        .and_then(|node| node.text());
    let length = fields
        .need("length", "its finished length")
        .and_then(|node| node.length(unit, Span::Positive));
    Some(MeasuredStrip {
        strip: strip?,
        length: length?,
        pointer: node.pointer().to_string(),
    })
}

/// Notes each measured strip that is not there or is named twice.
pub(super) fn check(scenario: &Scenario, root: &Node<'_>) {
    if scenario.measured.is_empty() || strips::count(scenario) > super::MOST_STRIPS {
        return;
    }
    let whole = strips::whole(scenario).strips;
    let known: HashSet<&str> = whole.iter().map(|strip| strip.id.as_str()).collect();
    let mut seen: HashMap<&str, &str> = HashMap::new();
    for measured in &scenario.measured {
        let name = &measured.strip;
        if !known.contains(name.as_str()) {
            root.fault_at(
                &format!("{}/strip", measured.pointer),
                FaultCode::UnknownId,
                format!("There is no stitched strip {name:?}."),
                "Name strips as a plan of all of them does.",
            );
        }
        if let Some(first) = seen.insert(name, &measured.pointer) {
            root.fault_at(
                &measured.pointer,
                FaultCode::DuplicateId,
                format!("The strip {name} is measured at {first} already."),
                "Give one length for each strip.",
            );
        }
    }
}
