//! Several quilt tops in one scenario: each with a name in front of its strips' ids, and in so many copies.

use crate::fault::FaultCode;
use crate::length::Unit;
use crate::scenario::node::{Node, all};
use crate::scenario::{
    Centre, Cope, DesignIds, MOST_LISTED, MOST_STRIPS, Quilt, quilt, refuse_twins,
};

/// The longest id, in characters: with what is put behind it a strip's id still has no more than any text may have, so that it can be
/// named where strips are measured or begun.
const LONGEST_ID: usize = 60;

/// A quilt top, or several alike, that the scenario lists.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct QuiltEntry {
    /// Its id; of several alike, the stem of their names.
    pub id: String,
    /// How many there are.
    pub count: usize,
    /// The quilt top; none of its widths is left open.
    pub quilt: Quilt,
}

impl QuiltEntry {
    /// The name of a copy, counted from 1: the id, with the copy's number where there are several.
    pub fn name(&self, copy: usize) -> String {
        match self.count {
            1 => self.id.clone(),
            _ => format!("{}-{copy}", self.id),
        }
    }
}

pub(super) fn read(node: &Node<'_>, unit: Unit, ids: &DesignIds) -> Option<Vec<QuiltEntry>> {
    let items = node.items("quilt", MOST_LISTED)?;
    let entries = all(items.iter().map(|item| read_one(item, unit, ids)))?;
    let named = entries.iter().map(|entry| entry.id.as_str()).zip(&items);
    refuse_twins(named, "quilt");
    Some(entries)
}

fn read_one(node: &Node<'_>, unit: Unit, ids: &DesignIds) -> Option<QuiltEntry> {
    let fields = node.fields(&["id", "count", "quilt"])?;
    let id = fields.need("id", "a name for the quilt").and_then(|node| {
        let id = node.text()?;
        let length = id.chars().count();
        if length > LONGEST_ID {
            node.fault(
                FaultCode::OutOfRange,
                format!("The id of the quilt has {length} characters."),
                format!(
                    "Give at most {LONGEST_ID}: the ids of its strips begin with it and are longer."
                ),
            );
            return None;
        }
        Some(id)
    });
    let count = fields.or("count", 1, |node| node.whole(1, MOST_STRIPS as u64));
    let quilt = fields
        .need("quilt", "the quilt top, from its blocks outward")
        .and_then(|node| {
            let quilt = quilt::read(&node, unit, ids)?;
            refuse_open_widths(&node, &quilt);
            Some(quilt)
        });
    Some(QuiltEntry {
        id: id?,
        count: usize::try_from(count?).ok()?,
        quilt: quilt?,
    })
}

/// Widths are chosen for one quilt at a time: a choice for each of several would be too many to look at.
fn refuse_open_widths(node: &Node<'_>, quilt: &Quilt) {
    let refuse = |place: String| {
        node.fault_at(
            &format!("{}/{place}/cope", node.pointer()),
            FaultCode::Conflict,
            "A quilt of \"quilts\" has its widths left open by \"cope\".",
            "Take \"cope\" out, or give this quilt as \"quilt\" in a scenario of its own to look for widths.",
        );
    };
    if let Centre::Blocks {
        sashing: Some(sashing),
        ..
    } = &quilt.centre
        && sashing.cope.is_some()
    {
        refuse("sashing".into());
    }
    for (index, border) in quilt.borders.iter().enumerate() {
        if border.cope != Cope::default() {
            refuse(format!("borders/{index}"));
        }
    }
}
