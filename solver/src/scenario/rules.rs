//! Rules: what a plan may do.

use crate::length::{Length, Unit};
use crate::scenario::node::{Node, Span};

/// Where the next run of a strip may butt up.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Growth {
    /// To either end of what is stitched already.
    EitherWay,
    /// From one end of the strip to the other.
    OneWay,
}

/// Where the overhang of a strip lies.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Align {
    /// Half at each end.
    Centred,
    /// All at the far end.
    Start,
}

/// What a plan may do and what it has to keep to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rules {
    /// Several runs may share a hooping.
    pub share_hoopings: bool,
    /// A run may have several segments.
    pub combine_sizes: bool,
    /// A strip that fits in one run may be split all the same.
    pub split_short: bool,
    /// Where the next run may butt up.
    pub growth: Growth,
    /// Where the overhang lies.
    pub align: Align,
    /// The most overhang of a strip, both ends together; `None` for no limit.
    pub max_overhang: Option<Length>,
    /// Strips that cannot be stitched are left out of the plan instead of refusing it.
    pub allow_partial: bool,
}

impl Default for Rules {
    fn default() -> Rules {
        Rules {
            share_hoopings: true,
            combine_sizes: true,
            split_short: false,
            growth: Growth::EitherWay,
            align: Align::Centred,
            max_overhang: None,
            allow_partial: false,
        }
    }
}

const KNOWN: &[&str] = &[
    "share_hoopings",
    "combine_sizes",
    "split_short",
    "growth",
    "align",
    "max_overhang",
    "allow_partial",
];

pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<Rules> {
    let fields = node.fields(KNOWN)?;
    let default = Rules::default();
    let boolean = |name, default| fields.or(name, default, Node::boolean);
    let share_hoopings = boolean("share_hoopings", default.share_hoopings);
    let combine_sizes = boolean("combine_sizes", default.combine_sizes);
    let split_short = boolean("split_short", default.split_short);
    let allow_partial = boolean("allow_partial", default.allow_partial);
    let growth = fields.or("growth", default.growth, |node| {
        node.word(&[
            ("either_way", Growth::EitherWay),
            ("one_way", Growth::OneWay),
        ])
    });
    let align = fields.or("align", default.align, |node| {
        node.word(&[("centred", Align::Centred), ("start", Align::Start)])
    });
    let max_overhang = fields.or("max_overhang", None, |node| {
        if node.is_null() {
            return Some(None);
        }
        node.length(unit, Span::ZeroOrMore).map(Some)
    });
    Some(Rules {
        share_hoopings: share_hoopings?,
        combine_sizes: combine_sizes?,
        split_short: split_short?,
        growth: growth?,
        align: align?,
        max_overhang: max_overhang?,
        allow_partial: allow_partial?,
    })
}
