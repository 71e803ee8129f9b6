//! Allowances of the fabric, and the stabilizer that is hooped.

use crate::length::{Length, Unit};
use crate::scenario::node::{Node, Span};

/// How far the fabric reaches past the stitching, and the room between two fabrics.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Allowances {
    /// Seam allowance on each side.
    pub seam: Length,
    /// What is trimmed off on each side after stitching.
    pub trim: Length,
    /// The room between two fabrics in one hooping.
    pub gap: Length,
}

impl Default for Allowances {
    /// A quarter of an inch each for seam and trim, half an inch for the gap (common practice).
    fn default() -> Allowances {
        Allowances {
            seam: Length::from_nanometres(6_350_000),
            trim: Length::from_nanometres(6_350_000),
            gap: Length::from_nanometres(12_700_000),
        }
    }
}

impl Allowances {
    /// e: how far the fabric reaches past the stitching at sides and closed ends.
    pub fn reach(&self) -> Length {
        self.seam + self.trim
    }

    /// 2e + g: the least distance between the stitchings of two fabrics.
    pub fn between(&self) -> Length {
        self.reach() * 2 + self.gap
    }
}

/// The stabilizer: its roll, and how far a piece reaches past the hoop's frame.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stabilizer {
    /// Width of the roll, where it is known.
    pub roll_width: Option<Length>,
    /// How far a piece reaches past the frame on each side.
    pub margin: Length,
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

pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<Allowances> {
    let fields = node.fields(&["seam", "trim", "gap"])?;
    let length = |node: &Node<'_>| node.length(unit, Span::ZeroOrMore);
    let default = Allowances::default();
    let seam = fields.or("seam", default.seam, length);
    let trim = fields.or("trim", default.trim, length);
    let gap = fields.or("gap", default.gap, length);
    Some(Allowances {
        seam: seam?,
        trim: trim?,
        gap: gap?,
    })
}

pub(super) fn read_materials(node: &Node<'_>, unit: Unit) -> Option<Stabilizer> {
    let fields = node.fields(&["stabilizer"])?;
    fields.or("stabilizer", Stabilizer::default(), |node| {
        let fields = node.fields(&["roll_width", "margin"])?;
        let roll_width = fields.maybe("roll_width", |node| node.length(unit, Span::Positive));
        let margin = fields.or("margin", Stabilizer::default().margin, |node| {
            node.length(unit, Span::ZeroOrMore)
        });
        Some(Stabilizer {
            roll_width: roll_width?,
            margin: margin?,
        })
    })
}
