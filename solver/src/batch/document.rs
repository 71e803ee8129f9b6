//! Reads the batch document.

use std::collections::{BTreeMap, HashMap};

use serde_json::Value;

use super::hoop_set::{self, HoopSet};
use super::questions::{self, Asked};
use super::shared;
use crate::fault::{Fault, FaultCode};
use crate::scenario::node::{Node, all, read_document};

/// The most kits of a batch, and the most kits counted once for each of their hoop sets.
pub const MOST_KITS: usize = 100_000;
/// The most copies of a kit.
pub const MOST_COPIES: u64 = 1_000_000;
/// The most scenarios that have a name.
pub(super) const MOST_SCENARIOS: usize = 10_000;
/// The most hoop sets.
pub(super) const MOST_SETS: usize = 1_000;
/// The most labels of a kit.
pub(super) const MOST_LABELS: usize = 20;

/// A run of kits that has been read and found without fault.
#[derive(Clone, Debug)]
pub struct Batch {
    /// A name for people; may be empty.
    pub name: String,
    /// Whether strips of all kits of a hoop set may meet in one hooping.
    pub share_across_kits: bool,
    /// The kits, in the document's order.
    pub kits: Vec<Kit>,
    /// Each kit once for each of its hoop sets, in the document's order.
    pub rows: Vec<Row>,
    /// The different questions, in the order in which the rows first ask them.
    pub questions: Vec<Asked>,
}

/// A kit: a quilt that is made so many times.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Kit {
    /// Its id, unique in the batch.
    pub id: String,
    /// What its owner knows it by: texts by name, given back as they are.
    pub labels: BTreeMap<String, String>,
    /// How many are made with each of its hoop sets.
    pub copies: u64,
}

/// A kit in the hoops of one set.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Row {
    /// Index of the kit.
    pub kit: usize,
    /// The hoop set's name; none where the scenario's own hoops are used.
    pub hoop_set: Option<String>,
    /// Index of the question whose plan it is stitched by.
    pub question: usize,
}

/// A kit as it is read, before it is known what it asks.
pub(super) struct Entry<'a> {
    pub kit: Kit,
    /// Where the scenario stands: a name among the batch's scenarios, or the place of one of its own.
    pub scenario: Source<'a>,
    pub hoop_sets: Vec<String>,
    /// Where the kit stands (JSON Pointer).
    pub pointer: String,
}

/// Where a kit's scenario stands.
pub(super) enum Source<'a> {
    Named(String),
    Own(Node<'a>),
}

/// What the kits refer to.
pub(super) struct Shelf<'a> {
    pub scenarios: HashMap<String, Node<'a>>,
    pub sets: HashMap<String, HoopSet<'a>>,
}

/// Reads a batch document. Every different scenario is read as well, with the hoops that it is asked for.
///
/// # Errors
/// Every fault of the document, those of its scenarios with the place in the batch; at least one.
pub fn read(document: &[u8]) -> Result<Batch, Vec<Fault>> {
    read_document(document, read_root)
}

const KNOWN: &[&str] = &[
    "format",
    "name",
    "share_across_kits",
    "scenarios",
    "hoop_sets",
    "kits",
];

fn read_root(root: &Node<'_>) -> Option<Batch> {
    let fields = root.fields(KNOWN)?;
    let format = fields
        .need("format", "the number 1, the version of this document")
        .and_then(|node| node.whole(1, 1));
    let name = fields.or("name", String::new(), |node| {
        if node.is_empty_text() {
            return Some(String::new());
        }
        node.text()
    });
    let share = fields.or("share_across_kits", false, |node| node.boolean());
    let scenarios = fields.or("scenarios", HashMap::new(), |node| {
        Some(
            node.named("scenario", MOST_SCENARIOS)?
                .into_iter()
                .collect(),
        )
    });
    let sets = fields.or("hoop_sets", HashMap::new(), |node| {
        let sets = node.named("hoop set", MOST_SETS)?.into_iter();
        let sets: Vec<_> = sets
            .map(|(name, node)| Some((name, hoop_set::read(&node)?)))
            .collect();
        all(sets).map(|sets| sets.into_iter().collect())
    });
    let kits = fields
        .need("kits", "each kit with its scenario and how many are made")
        .and_then(|node| node.items("kit", MOST_KITS));
    let shelf = Shelf {
        scenarios: scenarios?,
        sets: sets?,
    };
    let kits = kits?;
    let mut entries = Vec::with_capacity(kits.len());
    for (number, node) in (1..).zip(&kits) {
        entries.push(read_kit(node, number, &shelf));
    }
    let entries = all(entries)?;
    refuse_twins(root, &entries);
    let rows: usize = entries
        .iter()
        .map(|entry| entry.hoop_sets.len().max(1))
        .sum();
    if rows > MOST_KITS {
        root.fault(
            FaultCode::OutOfRange,
            format!("Each kit counted once for each of its hoop sets, there are {rows}."),
            format!("Give at most {MOST_KITS} in one batch."),
        );
        return None;
    }
    let (name, share) = (name?, share?);
    let (rows, questions) = if share {
        shared::of(root, &name, &entries, &shelf)?
    } else {
        questions::of(root, &entries, &shelf)?
    };
    format.map(|_| Batch {
        name,
        share_across_kits: share,
        kits: entries.into_iter().map(|entry| entry.kit).collect(),
        rows,
        questions,
    })
}

fn read_kit<'a>(node: &Node<'a>, number: usize, shelf: &Shelf<'_>) -> Option<Entry<'a>> {
    let fields = node.fields(&["id", "scenario", "hoop_sets", "copies", "labels"])?;
    let id = fields.or("id", format!("kit-{number}"), Node::text);
    let copies = fields.or("copies", 1, |node| node.whole(1, MOST_COPIES));
    let labels = fields.or("labels", BTreeMap::new(), read_labels);
    let scenario = fields
        .need(
            "scenario",
            "a scenario, or the name of one under \"scenarios\"",
        )
        .and_then(|node| read_source(node, shelf));
    let hoop_sets = fields.or("hoop_sets", Vec::new(), |node| read_sets(node, shelf));
    Some(Entry {
        kit: Kit {
            id: id?,
            labels: labels?,
            copies: copies?,
        },
        scenario: scenario?,
        hoop_sets: hoop_sets?,
        pointer: node.pointer().to_string(),
    })
}

fn read_labels(node: &Node<'_>) -> Option<BTreeMap<String, String>> {
    let labels = node.named("label", MOST_LABELS)?.into_iter();
    let labels: Vec<_> = labels
        .map(|(name, node)| Some((name, node.text()?)))
        .collect();
    all(labels).map(|labels| labels.into_iter().collect())
}

fn read_source<'a>(node: Node<'a>, shelf: &Shelf<'_>) -> Option<Source<'a>> {
    let Value::String(name) = node.value() else {
        return Some(Source::Own(node));
    };
    if shelf.scenarios.contains_key(name) {
        return Some(Source::Named(name.clone()));
    }
    node.unknown_id("scenario", "scenarios", shelf.scenarios.keys());
    None
}

fn read_sets(node: &Node<'_>, shelf: &Shelf<'_>) -> Option<Vec<String>> {
    let mut names: Vec<String> = Vec::new();
    let mut fine = true;
    for node in node.items("hoop set", MOST_SETS)? {
        let Some(name) = node.text() else {
            fine = false;
            continue;
        };
        if names.contains(&name) {
            node.fault(
                FaultCode::DuplicateId,
                format!("The hoop set {name:?} stands here already."),
                "Name each hoop set once.",
            );
            fine = false;
        } else if shelf.sets.contains_key(&name) {
            names.push(name);
        } else {
            node.unknown_id("hoop set", "hoop_sets", shelf.sets.keys());
            fine = false;
        }
    }
    fine.then_some(names)
}

/// Notes a fault for each kit whose id an earlier kit has already.
fn refuse_twins(root: &Node<'_>, entries: &[Entry<'_>]) {
    let mut seen: HashMap<&str, &str> = HashMap::new();
    for Entry { kit, pointer, .. } in entries {
        match seen.get(kit.id.as_str()) {
            Some(first) => root.fault_at(
                pointer,
                FaultCode::DuplicateId,
                format!("The kit id {:?} is already used at {first}.", kit.id),
                "Give each kit an id of its own, or leave ids out.",
            ),
            None => {
                seen.insert(&kit.id, pointer);
            }
        }
    }
}
