//! The roll that stabilizer is cut from: the levels that its pieces can make, and the least length of roll for so many hoopings in each
//! hoop.
//!
//! Each hooping takes a piece of its own. The roll is cut straight across into levels, and each level once more into pieces side by
//! side, as in [`crate::cutting`].
//!
//! `levels.rs` lists the levels, `exactly.rs` works out the least length for what is wanted.

mod exactly;
mod levels;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;
use std::sync::{Mutex, PoisonError};

use crate::cutting::{Extent, Lay, Order, Piece, Stock, cut_within};
use crate::deadline::Deadline;
use crate::length::Length;
use crate::scenario::{Scenario, Term};
use exactly::{Wanted, exactly};

/// Branches that are looked into at most for a cutting of more pieces than can be worked out exactly.
const BRANCHES: usize = 50;

/// The most choices of hoops whose lengths of roll are worked out one by one.
const MOST_CHOICES: usize = 20_000;

/// Lengths of roll in nanometres; `None` where they are not worked out.
type Lengths = Option<BTreeSet<i128>>;

/// A roll of one width and what is cut from it.
#[derive(Debug)]
pub struct Roll {
    width: Length,
    lay: Lay,
    /// The pieces that differ.
    pieces: Vec<[Length; 2]>,
    /// For each hoop its piece.
    pub piece_of: Vec<usize>,
    /// The levels that no other one can stand in for. Where they are too many to list, one for each piece, as long as its area makes
    /// of the roll: no cutting takes less.
    pub levels: Vec<RollLevel>,
    /// Whether the levels are real ones.
    listed: bool,
    /// When nobody waits for the plan any longer.
    deadline: Deadline,
    /// What is worked out already: the least length for so many of each piece.
    lengths: Mutex<BTreeMap<Vec<u32>, Length>>,
    /// The same for every length that so many hoopings, from and to, can have.
    all_lengths: Mutex<BTreeMap<(i64, i64), Lengths>>,
}

/// A stretch across the whole roll.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct RollLevel {
    /// Its length along the roll.
    pub length: Length,
    /// How many it holds of each piece.
    pub counts: Vec<i64>,
}

impl Roll {
    /// The roll of a scenario whose goal counts its length; `None` where it does not. (That there is one roll on which every piece
    /// fits is seen to where the scenario is read.)
    pub fn of(scenario: &Scenario, deadline: &Deadline) -> Option<Roll> {
        if !scenario.goal.counts(Term::RollLength) {
            return None;
        }
        let stocks = &scenario.materials.stabilizer_stocks;
        let (bolt, lay) = (stocks.single_bolt()?, stocks.lay);
        let mut roll = Roll {
            width: bolt.width,
            lay,
            pieces: Vec::new(),
            piece_of: Vec::new(),
            levels: Vec::new(),
            listed: false,
            deadline: deadline.clone(),
            lengths: Mutex::default(),
            all_lengths: Mutex::default(),
        };
        for hoop in &scenario.hoops {
            let mut sides = scenario.materials.stabilizer.piece(hoop);
            if lay == Lay::Either {
                sides.sort_unstable();
            }
            if !lay.fits(sides, bolt.width) {
                return None;
            }
            let known = roll.pieces.iter().position(|piece| *piece == sides);
            roll.piece_of.push(known.unwrap_or(roll.pieces.len()));
            if known.is_none() {
                roll.pieces.push(sides);
            }
        }
        let listed = roll.list_levels();
        roll.listed = listed.is_some();
        roll.levels = listed.unwrap_or_else(|| roll.by_area());
        Some(roll)
    }

    /// A level for each piece, as long as its area makes of the roll, rounded down.
    fn by_area(&self) -> Vec<RollLevel> {
        let pieces = self.pieces.iter().enumerate();
        let level = |(place, sides): (usize, &[Length; 2])| {
            let length = area(*sides) / i128::from(self.width.nanometres()).max(1);
            let mut counts = vec![0; self.pieces.len()];
            counts[place] = 1;
            RollLevel {
                length: Length::from_nanometres(i64::try_from(length).unwrap_or(i64::MAX)),
                counts,
            }
        };
        pieces.map(level).collect()
    }

    /// How many pieces differ.
    pub fn pieces(&self) -> usize {
        self.pieces.len()
    }

    /// The ways in which a piece fits on the roll: along it, across it.
    fn ways(&self, sides: [Length; 2]) -> impl Iterator<Item = (Length, Length)> + use<> {
        let width = self.width;
        let ways = self.lay.ways(sides);
        ways.filter_map(move |(along, across, _)| (across <= width).then_some((along, across)))
    }

    /// The least length of roll for so many hoopings in each hoop. For more pieces than can be worked out exactly it may be that of a
    /// cutting which is not proven to be the best; it is the same each time that it is asked for.
    pub fn length(&self, hoopings: &[u32]) -> Length {
        let mut counts = vec![0_u32; self.pieces.len()];
        for (piece, count) in self.piece_of.iter().zip(hoopings) {
            counts[*piece] = counts[*piece].saturating_add(*count);
        }
        let mut known = self.lengths.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(length) = known.get(&counts) {
            return *length;
        }
        let length = self.cut(&counts);
        known.insert(counts, length);
        length
    }

    /// The length of the best cutting of so many of each piece.
    fn cut(&self, counts: &[u32]) -> Length {
        let wanted: Vec<Wanted> = self
            .pieces
            .iter()
            .zip(counts)
            .filter(|(_, count)| **count > 0)
            .map(|(sides, count)| Wanted {
                ways: self.ways(*sides).collect(),
                count: *count,
            })
            .collect();
        // Once nobody waits for the plan it does not matter how good a cutting is.
        let exact = (!self.deadline.stopped()).then(|| exactly(self.width, &wanted));
        if let Some(length) = exact.flatten() {
            return length;
        }
        let pieces = self.pieces.iter().zip(counts);
        let order = Order {
            pieces: pieces
                .filter(|(_, count)| **count > 0)
                .map(|(sides, count)| Piece {
                    sides: *sides,
                    count: *count,
                    lay: self.lay,
                })
                .collect(),
            stocks: vec![Stock {
                width: self.width,
                extent: Extent::Bolt { each_nanometre: 1 },
            }],
        };
        let alone: i128 = wanted.iter().map(|piece| alone(self.width, piece)).sum();
        let cutting = cut_within(&order, BRANCHES, &self.deadline);
        let cost = cutting.map_or(alone, |cutting| cutting.cost.min(alone));
        Length::from_nanometres(i64::try_from(cost).unwrap_or(i64::MAX))
    }

    /// Every least length of roll that some choice of hoops gives to such a number of hoopings, in nanometres; `None` where too many
    /// levels or choices would have to be looked at, or the time is over.
    pub fn lengths(&self, hoopings: RangeInclusive<i64>) -> Option<BTreeSet<i128>> {
        if !self.listed {
            return None;
        }
        let known = self.all_lengths.lock();
        let mut known = known.unwrap_or_else(PoisonError::into_inner);
        let asked = (*hoopings.start(), *hoopings.end());
        let found = known.entry(asked);
        found.or_insert_with(|| self.every_length(hoopings)).clone()
    }

    fn every_length(&self, hoopings: RangeInclusive<i64>) -> Lengths {
        let most = *hoopings.end();
        let mut least: BTreeMap<Vec<i64>, Length> = BTreeMap::new();
        let mut found = BTreeSet::new();
        // In an order in which what is left once a level is cut comes before.
        for sum in 0..=most {
            for counts in choices(self.pieces.len(), sum) {
                if least.len() >= MOST_CHOICES || self.deadline.over() {
                    return None;
                }
                let with = |level: &RollLevel| {
                    let left = counts.iter().zip(&level.counts);
                    let left: Vec<i64> = left.map(|(count, cut)| (count - cut).max(0)).collect();
                    let before = least.get(&left)?;
                    Some(level.length + *before)
                };
                let length = match sum {
                    0 => Length::ZERO,
                    _ => self.levels.iter().filter_map(with).min()?,
                };
                if hoopings.contains(&sum) {
                    found.insert(i128::from(length.nanometres()));
                }
                least.insert(counts, length);
            }
        }
        Some(found)
    }

    /// No plan with so many hoopings takes less: the area of the smallest pieces, as if nothing were wasted.
    pub fn at_least(&self, hoopings: i128) -> i128 {
        let areas = self.pieces.iter().map(|sides| area(*sides));
        let least = areas.min().unwrap_or(0);
        let width = i128::from(self.width.nanometres()).max(1);
        (least * hoopings + width - 1) / width
    }
}

/// The length of levels that hold one kind of piece only, in nanometres.
fn alone(width: Length, piece: &Wanted) -> i128 {
    let count = i128::from(piece.count);
    let lengths = piece.ways.iter().map(|(along, across)| {
        let beside = width.nanometres() / across.nanometres().max(1);
        let beside = i128::from(beside).max(1);
        (count + beside - 1) / beside * i128::from(along.nanometres())
    });
    lengths.min().unwrap_or(0)
}

/// In square nanometres.
fn area(sides: [Length; 2]) -> i128 {
    let [first, second] = sides.map(|side| i128::from(side.nanometres()));
    first * second
}

/// Every list of so many counts that add up to a sum.
fn choices(length: usize, sum: i64) -> Box<dyn Iterator<Item = Vec<i64>>> {
    match length {
        0 => Box::new((sum == 0).then(Vec::new).into_iter()),
        1 => Box::new(std::iter::once(vec![sum])),
        _ => Box::new((0..=sum).flat_map(move |first| {
            choices(length - 1, sum - first).map(move |mut rest| {
                rest.push(first);
                rest
            })
        })),
    }
}

#[cfg(test)]
mod tests;
