//! Strips that carry stitching already.

use std::collections::{HashMap, HashSet};

use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::Scenario;
use crate::scenario::node::{Fields, Node, Span, all};
use crate::strips::{self, End};

/// The most strips that may be begun.
const MOST_BEGUN: usize = 100_000;

/// A strip that has been begun: one stretch of it is stitched.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Begun {
    /// Id of the strip.
    pub strip: String,
    /// Where the stretch begins, from the strip's finished start.
    pub from: Length,
    /// Where it ends.
    pub to: Length,
    /// The pattern at the strip's start, where the stretch begins there.
    pub start: Option<DoneEnd>,
    /// The pattern at its end, where the stretch ends there.
    pub end: Option<DoneEnd>,
    /// Whether what is left goes on unscaled, as the stretch was stitched, even where a scale would let it end at the seam
    /// line.
    pub unscaled: bool,
    /// Where the scenario says so (JSON Pointer).
    pub pointer: String,
}

/// The pattern at an end of a strip that is stitched.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct DoneEnd {
    /// The length after which the pattern is the same again, as it was stitched.
    pub repeat: Length,
    /// How far the pattern runs past the seam line.
    pub past: Length,
}

pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<Vec<Begun>> {
    if node.is_empty_list() {
        return Some(Vec::new());
    }
    let items = node.items("begun strip", MOST_BEGUN)?;
    all(items.iter().map(|item| read_begun(item, unit)))
}

fn read_begun(node: &Node<'_>, unit: Unit) -> Option<Begun> {
    let fields = node.fields(&["strip", "from", "to", "start", "end", "unscaled"])?;
    let strip = fields
        .need("strip", "the id of the strip")
        .and_then(|node| node.text());
    let from = fields
        .need(
            "from",
            "where its stitching begins, from its finished start",
        )
        .and_then(|node| node.length(unit, Span::ZeroOrMore));
    let to = fields
        .need("to", "where its stitching ends")
        .and_then(|node| node.length(unit, Span::Positive));
    let end = |name: &str| {
        fields.maybe(name, |node| {
            read_end(&node.fields(&["repeat", "past"])?, unit)
        })
    };
    let (start, end) = (end("start"), end("end"));
    let unscaled = fields.or("unscaled", false, Node::boolean);
    let (from, to) = (from?, to?);
    if from >= to {
        node.fault(
            FaultCode::OutOfRange,
            "The stretch that is stitched ends where it begins, or before.",
            "Give \"to\" a larger number than \"from\".",
        );
        return None;
    }
    Some(Begun {
        strip: strip?,
        from,
        to,
        start: start?,
        end: end?,
        unscaled: unscaled?,
        pointer: node.pointer().to_string(),
    })
}

fn read_end(fields: &Fields<'_>, unit: Unit) -> Option<DoneEnd> {
    let repeat = fields
        .need(
            "repeat",
            "the length after which the pattern is the same again",
        )
        .and_then(|node| node.length(unit, Span::Positive));
    let past = fields.or("past", Length::ZERO, |node| {
        node.length(unit, Span::ZeroOrMore)
    });
    Some(DoneEnd {
        repeat: repeat?,
        past: past?,
    })
}

/// Notes each begun strip that is not there, is named twice, or is shorter than what is stitched of it.
pub(super) fn check(scenario: &Scenario, root: &Node<'_>) {
    if scenario.begun.is_empty() || strips::count(scenario) > super::MOST_STRIPS {
        return;
    }
    let whole = strips::whole(scenario);
    let mut seen = HashSet::new();
    let lengths: HashMap<&str, Length> = whole
        .strips
        .iter()
        .map(|strip| (strip.id.as_str(), strip.length))
        .collect();
    let mut cornered: HashSet<(&str, End)> = HashSet::new();
    for corner in &whole.corners {
        let ends = corner.ends.iter();
        cornered.extend(ends.map(|(strip, end)| (whole.strips[*strip].id.as_str(), *end)));
    }
    for begun in &scenario.begun {
        let name = &begun.strip;
        let reaches_end = lengths.get(name.as_str()) == Some(&begun.to);
        let ends = [
            (End::Start, "start", begun.from == Length::ZERO, begun.start),
            (End::End, "end", reaches_end, begun.end),
        ];
        for (end, field, reached, told) in ends {
            if reached && told.is_none() && cornered.contains(&(name.as_str(), end)) {
                root.fault_at(
                    &begun.pointer,
                    FaultCode::MissingField,
                    format!("The {field} of the strip {name} is stitched and lies at a corner, but its pattern is not told."),
                    format!("Add \"{field}\" with the repeat there and how far it runs past the seam line."),
                );
            }
        }
        match lengths.get(name.as_str()) {
            None => root.fault_at(
                &format!("{}/strip", begun.pointer),
                FaultCode::UnknownId,
                format!("There is no stitched strip {name:?}."),
                "Name strips as a plan does.",
            ),
            Some(length) if begun.to > *length => root.fault_at(
                &format!("{}/to", begun.pointer),
                FaultCode::OutOfRange,
                format!("The strip {name} ends before what is stitched of it."),
                format!(
                    "Give at most its finished length, {} {}.",
                    length.in_unit(scenario.unit),
                    scenario.unit.symbol()
                ),
            ),
            Some(_) => {}
        }
        if !seen.insert(name) {
            root.fault_at(
                &begun.pointer,
                FaultCode::DuplicateId,
                format!("The strip {name} is named twice among those that are begun."),
                "Give one stretch for each strip.",
            );
        }
    }
}
