//! The stabilizer that is hooped.

use crate::length::{Length, Unit};
use crate::scenario::Hoop;
use crate::scenario::materials::stocks::{self, Stocks};
use crate::scenario::node::{Node, Span};

/// The stabilizer: its roll, and how far a piece reaches past the hoop's frame.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stabilizer {
    /// Width of the roll, where it is known.
    pub roll_width: Option<Length>,
    /// How far a piece reaches past the frame on each side.
    pub margin: Length,
}

impl Stabilizer {
    /// The piece for a hoop: its frame and the margin on each side, in the order of the frame.
    pub fn piece(&self, hoop: &Hoop) -> [Length; 2] {
        hoop.frame.map(|side| side + self.margin * 2)
    }
}

impl Default for Stabilizer {
    /// An inch around the frame (common practice), from a roll of unknown width.
    fn default() -> Stabilizer {
        Stabilizer {
            roll_width: None,
            margin: Length::from_nanometres(25_400_000),
        }
    }
}

/// Reads the stabilizer, and what it is cut from.
pub(super) fn read_stabilizer(node: &Node<'_>, unit: Unit) -> Option<(Stabilizer, Stocks)> {
    let fields = node.fields(&[
        "roll_width",
        "margin",
        "price",
        "lay",
        "bolts",
        "sheets",
        "on_hand",
    ])?;
    let roll_width = fields.maybe("roll_width", |node| node.length(unit, Span::Positive));
    let margin = fields.or("margin", Stabilizer::default().margin, |node| {
        node.length(unit, Span::ZeroOrMore)
    });
    let stocks = stocks::read_fields(&fields, node, roll_width.flatten(), None, unit);
    let stabilizer = Stabilizer {
        roll_width: roll_width?,
        margin: margin?,
    };
    Some((stabilizer, stocks?))
}
