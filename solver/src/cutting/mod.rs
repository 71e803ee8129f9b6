//! Cutting pieces from bolts, sheets and pieces on hand: first straight across into levels, then each level once more into pieces
//! that lie side by side. A piece that is shorter than its level is trimmed to size. The saw takes nothing away.
//!
//! The fewest length, or the least price, is found by branch and price over levels: `model.rs` says which levels there can be,
//! `level.rs` and `sheet.rs` find the ones that are worth most, `listing.rs` all of a sheet, `master.rs` bounds, `dive.rs` and `greedy.rs` find cuttings,
//! `branch.rs` says on what to branch, `lift.rs` which totals there can be, `search.rs` drives them, and
//! `write.rs` writes out what is found.
//!
//! Sources: Gilmore & Gomory, Multistage cutting stock problems of two and more dimensions, Operations Research 13 (1965)
//! 94–120; Vanderbeck, Branching in branch-and-price, Mathematical Programming 130 (2011) 249–294 (both from memory).

mod branch;
mod dive;
mod greedy;
mod level;
mod lift;
mod listing;
mod master;
mod model;
mod search;
mod sheet;
mod write;

use crate::length::Length;

pub use search::{cut, cut_within};

/// Which way a piece may lie on the cloth.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Lay {
    /// Either way.
    Either,
    /// Its first side along the bolt only.
    Lengthwise,
    /// Its first side across the bolt only.
    Crosswise,
}

impl Lay {
    /// The ways in which a piece with these sides lies: along the bolt, across it, and whether its first side lies along. A square that
    /// may lie either way lies the same both ways.
    pub(crate) fn ways(
        self,
        [first, second]: [Length; 2],
    ) -> impl Iterator<Item = (Length, Length, bool)> + use<> {
        let lengthwise = (self != Lay::Crosswise).then_some((first, second, true));
        let turned = self == Lay::Crosswise || self == Lay::Either && first != second;
        let crosswise = turned.then_some((second, first, false));
        lengthwise.into_iter().chain(crosswise)
    }

    /// Whether a piece with these sides lies within a width.
    pub(crate) fn fits(self, sides: [Length; 2], width: Length) -> bool {
        self.ways(sides).any(|(_, across, _)| across <= width)
    }
}

/// A kind of piece to cut.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Piece {
    /// Its two sides, above 0.
    pub sides: [Length; 2],
    /// How many are wanted.
    pub count: u32,
    /// Which way it may lie.
    pub lay: Lay,
}

/// What pieces are cut from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stock {
    /// Its width, across the bolt.
    pub width: Length,
    /// How long it is and what it costs.
    pub extent: Extent,
}

/// How long a stock is and what it costs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Extent {
    /// Any length is cut off a bolt, at a cost for each nanometre, above 0.
    Bolt {
        /// The cost of a nanometre of length.
        each_nanometre: i128,
    },
    /// Sheets of one length are bought whole.
    Sheet {
        /// Their length.
        length: Length,
        /// The cost of one, above 0.
        each: i128,
    },
    /// Pieces of one length that are there already and cost nothing.
    OnHand {
        /// Their length.
        length: Length,
        /// How many there are.
        count: u32,
    },
}

/// What is to be cut from what.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Order {
    /// The kinds of pieces.
    pub pieces: Vec<Piece>,
    /// What they may be cut from.
    pub stocks: Vec<Stock>,
}

/// One level: a stretch of a stock across its whole width.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Level {
    /// Its length along the bolt: that of its longest piece.
    pub length: Length,
    /// What is cut from it: kind of piece, whether its first side lies along the bolt, how many.
    pub pieces: Vec<(usize, bool, u32)>,
}

/// One stock and its levels.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Used {
    /// Which stock.
    pub stock: usize,
    /// How many are cut in this way; 1 of a bolt.
    pub copies: u32,
    /// Its levels and how often each, the longest first.
    pub levels: Vec<(Level, u32)>,
}

/// A cutting.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Cutting {
    /// What is cut up, in the order of the stocks.
    pub used: Vec<Used>,
    /// What it costs.
    pub cost: i128,
    /// What no cutting in levels can beat.
    pub bound: i128,
}

impl Cutting {
    /// Whether it is the best.
    pub fn proven(&self) -> bool {
        self.cost == self.bound
    }
}

/// Why nothing can be cut.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum CannotCut {
    /// Pieces (indices) that no stock is wide and long enough for.
    #[error("{} kinds of pieces fit no stock", .0.len())]
    TooLarge(Vec<usize>),
    /// The pieces on hand do not hold everything, and nothing can be bought.
    #[error("what is on hand does not hold all pieces")]
    NotEnough,
}

impl Used {
    /// How long all its levels are together.
    pub fn length(&self) -> Length {
        let lengths = self.levels.iter();
        lengths
            .map(|(level, count)| level.length * i64::from(*count))
            .sum()
    }

    /// What it costs.
    pub fn cost(&self, order: &Order) -> i128 {
        match order.stocks[self.stock].extent {
            Extent::Bolt { each_nanometre } => {
                each_nanometre * i128::from(self.length().nanometres())
            }
            Extent::Sheet { each, .. } => each * i128::from(self.copies),
            Extent::OnHand { .. } => 0,
        }
    }
}
