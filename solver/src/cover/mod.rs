//! Covers: the ways in which a strip can be covered by runs.
//!
//! A cover says what the runs of one strip are stitched with and which two of them are the outer ones. The order of the
//! inner runs along the strip is left open: the order of the work decides it, as far as wishes allow (`sequence.rs`).

mod at_once;
mod cheapest;
mod class_covers;
mod enumerate;
mod few;
mod ladder;
mod miss;
mod nearest;
mod phase;
mod piece;
mod placed;
mod places;
mod sequence;
mod settle;
mod space;
mod starts;
mod store;
mod sums;
mod unlike;

pub use cheapest::{Priced, Prices};
pub use class_covers::{ClassCovers, covers_of, some_covers_of, taken_in_one_run};
pub use miss::{Miss, Sure};
pub use phase::Phase;
pub(crate) use piece::most_segments;
pub use piece::{Piece, SizeSet, Sizes};
pub use sequence::{Part, SequenceRule, Sequences, Sides, placed};
pub(crate) use settle::{Tally, phases, settle};
use settle::{end_repeats, fits_alone};
pub use space::{CoverSpace, Total};
pub use store::{PieceList, PieceStore};
pub use unlike::{Marks, Wanted};

use crate::exact::round_half_up;
use crate::hooping::kind::Openness;
use crate::length::Length;
use crate::scenario::Align;
use crate::strips::{End, Stage};
use crate::time::Time;

/// How the sum of a covering's repeats meets the strip's length.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Settled {
    /// L: the strip's finished length.
    pub length: Length,
    /// Σ: the sum of all repeats, unscaled.
    pub sum: Length,
    /// How the two meet.
    pub fit: Fit,
}

/// How the sum of a covering's repeats meets the strip's length.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Fit {
    /// Σ is L but for the rounding of the repeats, at most a nanometre each: it counts as equal.
    Exact,
    /// The pattern is stretched to end exactly at both seam lines: s = L/Σ.
    Scaled,
    /// s = 1, and the pattern runs past the seam lines.
    Over,
}

impl Settled {
    /// Overhang, both ends together.
    pub fn overhang(&self) -> Length {
        match self.fit {
            Fit::Exact | Fit::Scaled => Length::ZERO,
            Fit::Over => self.sum - self.length,
        }
    }

    /// Where the pattern stands at an end of a strip, whose segment there has this repeat.
    pub fn phase(&self, repeat: Length, stage: Stage, align: Align, end: End) -> Phase {
        let overhang = stage.overhang_doubled(align, self.overhang(), end);
        match self.fit {
            Fit::Exact | Fit::Scaled => Phase::scaled(repeat, self.length, self.sum),
            Fit::Over => Phase::unscaled(repeat, overhang),
        }
    }

    /// How far the pattern is stretched or squeezed: the difference between Σ and L where it is scaled.
    pub fn stretch(&self) -> i64 {
        match self.fit {
            Fit::Scaled => (self.sum - self.length).nanometres().abs(),
            Fit::Exact | Fit::Over => 0,
        }
    }

    /// The stitched length of a run whose repeats add up to `sum`: s·sum to the nearest nanometre, ties up. Where Σ counts
    /// as equal to L, rounding alone must not make a run too long for its hoop: the shorter of its own sum and its
    /// share of L counts.
    pub fn stitched(&self, sum: Length) -> Length {
        let product = i128::from(self.length.nanometres()) * i128::from(sum.nanometres());
        let share = round_half_up(product, i128::from(self.sum.nanometres()));
        let share = Length::from_nanometres(i64::try_from(share).unwrap_or(i64::MAX));
        match self.fit {
            Fit::Exact => share.min(sum),
            Fit::Scaled => share,
            Fit::Over => sum,
        }
    }
}

/// The runs of a cover, as indices into the class's pieces.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Runs {
    /// One run with two closed ends.
    Single(usize),
    /// None: the strip is done.
    Nothing,
    /// What is left beside a stretch that is stitched, from it outward.
    Rest {
        /// The runs between, in no order: pieces in ascending order.
        inner: Vec<usize>,
        /// The run at the strip's end.
        outer: usize,
    },
    /// Several runs.
    Several {
        /// The run at the strip's start and the one at its end.
        outer: [usize; 2],
        /// The runs between them, in no order: pieces in ascending order.
        inner: Vec<usize>,
    },
}

impl Runs {
    /// The piece of each run and which ends of it stay open: the start run, the inner ones, the end run. A single run stands
    /// alone; of a rest the outer run is the last.
    pub fn each(&self) -> Vec<(usize, Openness)> {
        match self {
            Runs::Single(piece) => vec![(*piece, Openness::Closed)],
            Runs::Nothing => Vec::new(),
            Runs::Rest { inner, outer } => {
                let inner = inner.iter().map(|piece| (*piece, Openness::Inner));
                inner.chain([(*outer, Openness::Outer)]).collect()
            }
            Runs::Several { outer, inner } => {
                let inner = inner.iter().map(|piece| (*piece, Openness::Inner));
                let start = std::iter::once((outer[0], Openness::Outer));
                start
                    .chain(inner)
                    .chain([(outer[1], Openness::Outer)])
                    .collect()
            }
        }
    }
}

/// The pattern at the two ends of a strip whose corners count.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct EndPatterns {
    /// The repeats of the segments at the start and at the end.
    pub repeats: [Length; 2],
    /// Where the pattern stands at the start and at the end.
    pub phases: [Phase; 2],
}

/// One way to cover a strip.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Cover {
    /// Sum and scale.
    pub settled: Settled,
    /// Its runs.
    pub runs: Runs,
    /// The pattern at its ends, where the corners count.
    pub ends: Option<EndPatterns>,
}

impl Cover {
    /// How long its runs take, of these pieces; nothing where the goal does not count minutes.
    pub fn time(&self, pieces: &[Piece]) -> Time {
        let runs = self.runs.each().into_iter();
        runs.map(|(piece, _)| pieces[piece].time).sum()
    }

    /// The number of runs.
    pub fn count(&self) -> usize {
        match &self.runs {
            Runs::Single(_) => 1,
            Runs::Nothing => 0,
            Runs::Rest { inner, .. } => inner.len() + 1,
            Runs::Several { inner, .. } => inner.len() + 2,
        }
    }

    /// The joints between its runs.
    pub fn joints(&self) -> usize {
        self.count().saturating_sub(1)
    }
}
