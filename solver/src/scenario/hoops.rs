//! Hoops: the field that each can stitch, and its frame.

use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::node::{Node, Span, all};
use crate::scenario::{MOST_ENTRIES, refuse_twins};

/// A hoop that she owns, or may come to own.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Hoop {
    /// Its id, unique among the hoops.
    pub id: String,
    /// The two sides of the field that can be stitched.
    pub field: [Length; 2],
    /// The two sides of the frame that the stabilizer has to fill, along the same sides as `field`.
    pub frame: [Length; 2],
    /// Whether strips may lie along either side of the field.
    pub turn: bool,
}

impl Hoop {
    /// The ways to lay strips in the field, as (along, across, turned). A square field has one.
    pub fn ways(&self) -> impl Iterator<Item = (Length, Length, bool)> + '_ {
        let [first, second] = self.field;
        let turned = (self.turn && first != second).then_some((second, first, true));
        std::iter::once((first, second, false)).chain(turned)
    }
}

/// Reads a list of hoops whose ids differ from each other's and from those of `others`.
pub(super) fn read(node: &Node<'_>, unit: Unit, others: &[Hoop]) -> Option<Vec<Hoop>> {
    let items = node.items("hoop", MOST_ENTRIES)?;
    let hoops: Vec<Option<Hoop>> = items.iter().map(|item| read_hoop(item, unit)).collect();
    let named = hoops.iter().zip(&items);
    refuse_twins(
        named.filter_map(|(hoop, node)| Some((hoop.as_ref()?.id.as_str(), node))),
        "hoop",
    );
    for (hoop, item) in hoops.iter().zip(&items) {
        if let Some(hoop) = hoop
            && others.iter().any(|other| other.id == hoop.id)
        {
            item.fault(
                FaultCode::DuplicateId,
                format!(
                    "The hoop {:?} is already among the hoops that you own.",
                    hoop.id
                ),
                "Leave it out here, or give it an id of its own.",
            );
        }
    }
    all(hoops)
}

/// Two lengths, both more than zero.
pub(super) fn two_sides(node: &Node<'_>, unit: Unit, what: &str) -> Option<[Length; 2]> {
    let [first, second] = node.pair(what)?;
    let first = first.length(unit, Span::Positive);
    let second = second.length(unit, Span::Positive);
    Some([first?, second?])
}

fn read_hoop(node: &Node<'_>, unit: Unit) -> Option<Hoop> {
    let fields = node.fields(&["id", "field", "frame", "turn"])?;
    let id = fields
        .need("id", "a name for the hoop")
        .and_then(|node| node.text());
    let field = fields
        .need(
            "field",
            "the two sides of what it can stitch, such as [6, 10]",
        )
        .and_then(|node| two_sides(&node, unit, "the sides of the field"));
    let frame = fields.maybe("frame", |node| {
        let frame = two_sides(node, unit, "the sides of the frame")?;
        if let Some(field) = field
            && (frame[0] < field[0] || frame[1] < field[1])
        {
            let show = |sides: [Length; 2]| {
                format!("{} × {}", sides[0].in_unit(unit), sides[1].in_unit(unit))
            };
            node.fault(
                FaultCode::TooSmall,
                format!(
                    "The frame of {} is smaller than the field of {} in it.",
                    show(frame),
                    show(field)
                ),
                "Give a frame at least as large as the field, its sides in the same order.",
            );
        }
        Some(frame)
    });
    let turn = fields.or("turn", true, Node::boolean);
    let field = field?;
    Some(Hoop {
        id: id?,
        field,
        frame: frame?.unwrap_or(field),
        turn: turn?,
    })
}
