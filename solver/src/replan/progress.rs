//! The progress document: what is stitched, what it measures, and what went wrong.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::fault::{Fault, FaultCode};
use crate::length::{Length, Unit};
use crate::scenario::node::{Node, Span, all, read_document};

/// The most entries of any list of it.
const MOST_ENTRIES: usize = 100_000;
/// The largest number of a hooping or a run.
const LARGEST_NUMBER: u64 = 10_000_000;

/// How far the work has come.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Progress {
    /// The numbers of the hoopings that are done.
    pub done: Done,
    /// What is to be said of single runs.
    pub runs: Vec<RunReport>,
    /// What is to be said of single strips.
    pub strips: Vec<StripReport>,
    /// Ids of hoops that can be used no more, each with its place.
    pub broken_hoops: Vec<(String, String)>,
    /// Sizes that can be used no more: design, size, place.
    pub lost_sizes: Vec<(String, String, String)>,
}

impl Progress {
    /// Whether hoopings are done though others that come before them are not.
    pub fn is_out_of_order(&self) -> bool {
        match &self.done {
            Done::UpTo(_) => false,
            Done::These(numbers) => {
                let numbers: BTreeSet<u64> = numbers.iter().copied().collect();
                numbers
                    .into_iter()
                    .zip(1..)
                    .any(|(done, place)| done != place)
            }
        }
    }
}

/// Which hoopings are done.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Done {
    /// The first ones, up to this number.
    UpTo(u64),
    /// Those of these numbers.
    These(Vec<u64>),
}

/// How a run went.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// It is stitched.
    Stitched,
    /// It is ruined: its strip has to be cut anew.
    Ruined,
    /// It was left out of its hooping.
    NotStitched,
}

/// What is to be said of a run.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct RunReport {
    /// Id of its strip, as the plan names it.
    pub strip: String,
    /// Which of the strip's runs it is, from 1.
    pub run: u64,
    /// How it went.
    pub outcome: Outcome,
    /// What the finished run measures along the strip.
    pub measured: Option<Length>,
    /// Where the document says so (JSON Pointer).
    pub pointer: String,
}

/// What is to be said of a strip.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StripReport {
    /// Id of the strip, as the plan or the quilt names it.
    pub strip: String,
    /// Whether it was cut anew, so that nothing of it is stitched.
    pub recut: bool,
    /// Its finished length as it measures now; of what is left of a strip, the length that is left.
    pub length: Option<Length>,
    /// Where the document says so (JSON Pointer).
    pub pointer: String,
}

/// Reads a progress document whose lengths are in `unit` where it does not say another.
///
/// # Errors
/// Every fault of the document; at least one.
pub fn read(document: &[u8], unit: Unit) -> Result<Progress, Vec<Fault>> {
    read_document(document, |root| read_root(root, unit))
}

fn read_root(root: &Node<'_>, unit: Unit) -> Option<Progress> {
    let fields = root.fields(&[
        "format",
        "unit",
        "done",
        "runs",
        "strips",
        "broken_hoops",
        "lost_sizes",
    ])?;
    let format = fields
        .need("format", "the number 1, the version of this document")
        .and_then(|node| node.whole(1, 1));
    let units = [("in", Unit::Inch), ("mm", Unit::Millimetre)];
    let told = fields.or("unit", unit, |node| node.word(&units));
    let unit = told.unwrap_or(unit);
    let done = fields.or("done", Done::UpTo(0), read_done);
    let runs = fields.or("runs", Vec::new(), |node| {
        list(node, "run", |item| read_run(item, unit))
    });
    let strips = fields.or("strips", Vec::new(), |node| {
        list(node, "strip", |item| read_strip(item, unit))
    });
    let broken_hoops = fields.or("broken_hoops", Vec::new(), |node| {
        list(node, "id of a hoop", |item| {
            Some((item.text()?, item.pointer().to_string()))
        })
    });
    let lost_sizes = fields.or("lost_sizes", Vec::new(), |node| {
        list(node, "size", |item| {
            let fields = item.fields(&["design", "size"])?;
            let text = |name, what| fields.need(name, what).and_then(|node| node.text());
            let (design, size) = (
                text("design", "the id of the design"),
                text("size", "the id of the size"),
            );
            Some((design?, size?, item.pointer().to_string()))
        })
    });
    format.and(told)?;
    Some(Progress {
        done: done?,
        runs: runs?,
        strips: strips?,
        broken_hoops: broken_hoops?,
        lost_sizes: lost_sizes?,
    })
}

fn list<T>(node: &Node<'_>, what: &str, read: impl Fn(&Node<'_>) -> Option<T>) -> Option<Vec<T>> {
    if node.is_empty_list() {
        return Some(Vec::new());
    }
    all(node.items(what, MOST_ENTRIES)?.iter().map(read))
}

fn read_done(node: &Node<'_>) -> Option<Done> {
    if node.is_list() {
        let numbers = list(node, "number of a hooping", |item| {
            item.whole(1, LARGEST_NUMBER)
        });
        return numbers.map(Done::These);
    }
    node.whole(0, LARGEST_NUMBER).map(Done::UpTo)
}

fn read_run(node: &Node<'_>, unit: Unit) -> Option<RunReport> {
    let fields = node.fields(&["strip", "run", "outcome", "measured"])?;
    let strip = fields
        .need("strip", "the id of its strip")
        .and_then(|node| node.text());
    let run = fields
        .need("run", "which of the strip's runs it is, from 1")
        .and_then(|node| node.whole(1, LARGEST_NUMBER));
    let outcomes = [
        ("stitched", Outcome::Stitched),
        ("ruined", Outcome::Ruined),
        ("not_stitched", Outcome::NotStitched),
    ];
    let outcome = fields.or("outcome", Outcome::Stitched, |node| node.word(&outcomes));
    let measured = fields.maybe("measured", |node| node.length(unit, Span::Positive));
    let (outcome, measured) = (outcome?, measured?);
    if measured.is_some() && outcome != Outcome::Stitched {
        node.fault(
            FaultCode::Conflict,
            "Only what a finished run measures is of use.",
            "Leave out \"measured\", or say that the run is stitched.",
        );
        return None;
    }
    Some(RunReport {
        strip: strip?,
        run: run?,
        outcome,
        measured,
        pointer: node.pointer().to_string(),
    })
}

fn read_strip(node: &Node<'_>, unit: Unit) -> Option<StripReport> {
    let fields = node.fields(&["strip", "recut", "length"])?;
    let strip = fields
        .need("strip", "the id of the strip")
        .and_then(|node| node.text());
    let recut = fields.or("recut", false, Node::boolean);
    let length = fields.maybe("length", |node| node.length(unit, Span::Positive));
    let (recut, length) = (recut?, length?);
    if !recut && length.is_none() {
        node.fault(
            FaultCode::MissingField,
            "This says nothing of the strip.",
            "Give its \"length\", or \"recut\": true.",
        );
        return None;
    }
    Some(StripReport {
        strip: strip?,
        recut,
        length,
        pointer: node.pointer().to_string(),
    })
}

/// The JSON Schema (2020-12) of the progress document.
pub fn progress_schema() -> Value {
    serde_json::from_str(include_str!("progress.schema.json")).unwrap_or(Value::Null)
}
