//! Allowances of the fabric.

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
