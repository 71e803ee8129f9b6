//! Materials: the stabilizer that is hooped, the cloths that are cut, and the thread that is stitched with.

mod cloths;
mod stabilizer;
mod stocks;
mod thread;

pub use cloths::{Batting, BattingBy, Fabric, LongStrips, Tape};
pub use stabilizer::Stabilizer;
pub use stocks::{Bolt, OnHand, Sheet, Stocks};
pub use thread::Thread;

use crate::length::Unit;
use crate::scenario::node::Node;

/// All materials.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Materials {
    /// The stabilizer.
    pub stabilizer: Stabilizer,
    /// What the stabilizer is cut from.
    pub stabilizer_stocks: Stocks,
    /// The fabrics, in their order.
    pub fabrics: Vec<Fabric>,
    /// The batting, where there is any.
    pub batting: Option<Batting>,
    /// What is fused to the fabric, where anything is.
    pub backing: Option<Stocks>,
    /// The tape, where its use is told.
    pub tape: Option<Tape>,
    /// The thread.
    pub thread: Thread,
}

/// Reads all materials.
pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<Materials> {
    let fields = node.fields(&[
        "stabilizer",
        "fabrics",
        "batting",
        "backing",
        "tape",
        "thread",
    ])?;
    let stabilizer = fields.or("stabilizer", Default::default(), |node| {
        stabilizer::read_stabilizer(node, unit)
    });
    let fabrics = fields.or("fabrics", Vec::new(), |node| {
        cloths::read_fabrics(node, unit)
    });
    let batting = fields.maybe("batting", |node| cloths::read_batting(node, unit));
    let backing = fields.maybe("backing", |node| cloths::read_backing(node, unit));
    let tape = fields.maybe("tape", |node| cloths::read_tape(node, unit));
    let thread = fields.or("thread", Thread::default(), |node| {
        thread::read_thread(node, unit)
    });
    let (stabilizer, stabilizer_stocks) = stabilizer?;
    Some(Materials {
        stabilizer,
        stabilizer_stocks,
        fabrics: fabrics?,
        batting: batting?,
        backing: backing?,
        tape: tape?,
        thread: thread?,
    })
}
