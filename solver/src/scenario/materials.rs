//! Materials: the stabilizer that is hooped, and the thread that is stitched with.

use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::node::{Node, Span};

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

/// What the thread that a stitch takes is worked out from: a lockstitch of length N through material of thickness T takes N + T of
/// the upper thread and as much of the bobbin's, since both go along it once and through it once, to the middle and back (stitch type
/// 301 of ISO 4915: 2 + 2·T·S of both together for each unit of seam with S stitches).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Thread {
    /// N: the mean length of a stitch.
    pub stitch: Length,
    /// T: how thick fabric, batting and stabilizer lie under the needle.
    pub thickness: Length,
    /// The part that is added for starts, ends and tension; 0 to 1.
    pub extra: Exact,
}

impl Default for Thread {
    /// Stitches of 2.5 mm through 2 mm, and a tenth more (common practice).
    fn default() -> Thread {
        Thread {
            stitch: Length::from_nanometres(2_500_000),
            thickness: Length::from_nanometres(2_000_000),
            extra: Exact::new(1, 10).unwrap_or(Exact::ZERO),
        }
    }
}

/// Reads stabilizer and thread.
pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<(Stabilizer, Thread)> {
    let fields = node.fields(&["stabilizer", "thread"])?;
    let stabilizer = fields.or("stabilizer", Stabilizer::default(), |node| {
        read_stabilizer(node, unit)
    });
    let thread = fields.or("thread", Thread::default(), |node| read_thread(node, unit));
    Some((stabilizer?, thread?))
}

fn read_stabilizer(node: &Node<'_>, unit: Unit) -> Option<Stabilizer> {
    let fields = node.fields(&["roll_width", "margin"])?;
    let roll_width = fields.maybe("roll_width", |node| node.length(unit, Span::Positive));
    let margin = fields.or("margin", Stabilizer::default().margin, |node| {
        node.length(unit, Span::ZeroOrMore)
    });
    Some(Stabilizer {
        roll_width: roll_width?,
        margin: margin?,
    })
}

fn read_thread(node: &Node<'_>, unit: Unit) -> Option<Thread> {
    let fields = node.fields(&["stitch", "thickness", "extra"])?;
    let default = Thread::default();
    let stitch = fields.or("stitch", default.stitch, |node| {
        node.length(unit, Span::Positive)
    });
    let thickness = fields.or("thickness", default.thickness, |node| {
        node.length(unit, Span::ZeroOrMore)
    });
    let extra = fields.or("extra", default.extra, |node| {
        let wanted = "a part from 0 to 1, with at most 6 decimals";
        let extra = node.exact(wanted)?;
        let fine = (Exact::ZERO..=Exact::ONE).contains(&extra) && extra.denominator() <= 1_000_000;
        if !fine {
            node.fault(
                FaultCode::OutOfRange,
                format!("The part of thread to add is {extra}."),
                format!("Give {wanted}."),
            );
        }
        fine.then_some(extra)
    });
    Some(Thread {
        stitch: stitch?,
        thickness: thickness?,
        extra: extra?,
    })
}
