//! The roll that stabilizer is cut from: the levels that its pieces can make, and the least length of roll for so many hoopings in each
//! hoop.
//!
//! Each hooping takes a piece of its own. The roll is cut straight across into levels, and each level once more into pieces side by
//! side, as in [`crate::cutting`].

use std::collections::{BTreeMap, BTreeSet};
use std::ops::RangeInclusive;
use std::time::Duration;

use crate::cutting::{Extent, Lay, Order, Piece, Stock, cut};
use crate::deadline::{Deadline, StopSignal};
use crate::length::Length;
use crate::scenario::{Scenario, Term};

/// Of a roll with more levels than this pieces count by their area.
const MOST_LEVELS: usize = 300;
/// How long one cutting may be looked for; with the few kinds of pieces that hoops have a thousandth of this is the rule.
const CUTTING: Duration = Duration::from_secs(2);

/// The most choices of hoops whose lengths of roll are worked out one by one.
const MOST_CHOICES: usize = 20_000;

/// A roll of one width and what is cut from it.
#[derive(Clone, Debug)]
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
    pub fn of(scenario: &Scenario) -> Option<Roll> {
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

    /// The levels that no shorter one with as many pieces can stand in for.
    fn list_levels(&self) -> Option<Vec<RollLevel>> {
        let lengths: BTreeSet<Length> = self
            .pieces
            .iter()
            .flat_map(|piece| self.ways(*piece))
            .map(|(along, _)| along)
            .collect();
        let mut levels: Vec<RollLevel> = Vec::new();
        // The shortest first, so that a level is held against all that could stand in for it.
        for length in lengths {
            let across: Vec<Option<Length>> = self
                .pieces
                .iter()
                .map(|piece| {
                    let short = self.ways(*piece).filter(|(along, _)| *along <= length);
                    short.map(|(_, across)| across).min()
                })
                .collect();
            let mut filling = Filling {
                across: &across,
                counts: vec![0; self.pieces.len()],
                found: Vec::new(),
            };
            filling.fill(0, self.width)?;
            for counts in filling.found {
                let stands_in = |level: &RollLevel| {
                    level
                        .counts
                        .iter()
                        .zip(&counts)
                        .all(|(held, wanted)| held >= wanted)
                };
                if !levels.iter().any(stands_in) {
                    levels.push(RollLevel { length, counts });
                }
            }
            if levels.len() > MOST_LEVELS {
                return None;
            }
        }
        Some(levels)
    }

    /// The least length of roll for so many hoopings in each hoop. (Should that not be proven in time, the least that was found.)
    pub fn length(&self, hoopings: &[u32]) -> Length {
        let mut counts = vec![0; self.pieces.len()];
        for (piece, count) in self.piece_of.iter().zip(hoopings) {
            counts[*piece] += count;
        }
        let pieces = self.pieces.iter().zip(counts);
        let order = Order {
            pieces: pieces
                .filter(|(_, count)| *count > 0)
                .map(|(sides, count)| Piece {
                    sides: *sides,
                    count,
                    lay: self.lay,
                })
                .collect(),
            stocks: vec![Stock {
                width: self.width,
                extent: Extent::Bolt { each_nanometre: 1 },
            }],
        };
        if order.pieces.is_empty() {
            return Length::ZERO;
        }
        let cutting = cut(&order, &Deadline::after(CUTTING, StopSignal::new()));
        // Every piece fits on the roll, so there is a cutting.
        let cost = cutting.map_or(0, |cutting| cutting.cost);
        Length::from_nanometres(i64::try_from(cost).unwrap_or(i64::MAX))
    }

    /// Every least length of roll that some choice of hoops gives to such a number of hoopings, in nanometres; `None` where too many
    /// levels or choices would have to be looked at.
    pub fn lengths(&self, hoopings: RangeInclusive<i64>) -> Option<BTreeSet<i128>> {
        if !self.listed {
            return None;
        }
        let most = *hoopings.end();
        let mut least: BTreeMap<Vec<i64>, Length> = BTreeMap::new();
        let mut found = BTreeSet::new();
        // In an order in which what is left once a level is cut comes before.
        for sum in 0..=most {
            for counts in choices(self.pieces.len(), sum) {
                if least.len() >= MOST_CHOICES {
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

/// Pieces put side by side until no more fits.
struct Filling<'f> {
    /// What each piece takes up across the roll; `None` where it is longer than the level.
    across: &'f [Option<Length>],
    counts: Vec<i64>,
    found: Vec<Vec<i64>>,
}

impl Filling<'_> {
    /// Fills what is left with pieces from `piece` on; `None` where there are too many ways.
    fn fill(&mut self, piece: usize, left: Length) -> Option<()> {
        let Some(across) = self.across.get(piece) else {
            let fits = |across: &Option<Length>| across.is_some_and(|across| across <= left);
            if !self.across.iter().any(fits) {
                self.found.push(self.counts.clone());
            }
            return (self.found.len() <= MOST_LEVELS).then_some(());
        };
        let most = across.map_or(0, |across| left.nanometres() / across.nanometres().max(1));
        if most > MOST_LEVELS as i64 {
            return None;
        }
        for count in (0..=most).rev() {
            self.counts[piece] = count;
            let taken = across.map_or(Length::ZERO, |across| across * count);
            self.fill(piece + 1, left - taken)?;
        }
        self.counts[piece] = 0;
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const INCH: i64 = 25_400_000;

    fn roll(width: i64, pieces: &[[i64; 2]], lay: Lay) -> Roll {
        let mut roll = Roll {
            width: Length::from_nanometres(width * INCH),
            lay,
            pieces: pieces
                .iter()
                .map(|piece| piece.map(|side| Length::from_nanometres(side * INCH)))
                .collect(),
            piece_of: (0..pieces.len()).collect(),
            levels: Vec::new(),
            listed: true,
        };
        roll.levels = roll.list_levels().expect("few levels");
        roll
    }

    fn inches(length: Length) -> i64 {
        length.nanometres() / INCH
    }

    /// On a 20-in roll a 10 × 15 piece takes 10 in of length turned, or half of a level of 15 in: two beside each other.
    #[test]
    fn levels_are_the_ones_that_no_other_stands_in_for() {
        let roll = roll(20, &[[10, 15], [6, 8]], Lay::Either);
        let levels: Vec<(i64, Vec<i64>)> = roll
            .levels
            .iter()
            .map(|level| (inches(level.length), level.counts.clone()))
            .collect();
        // 6 in: two of 8 across; 8 in: three of 6 across; 10 in: one of 15; 15 in: two of 10, or one and one of 6.
        let expected = [
            (6, vec![0, 2]),
            (8, vec![0, 3]),
            (10, vec![1, 0]),
            (15, vec![2, 0]),
            (15, vec![1, 1]),
        ];
        assert_eq!(levels, expected);
    }

    /// By hand: one piece takes 10 in; two take 15 in beside each other; three take 25 in; with a small one beside the third, 30 in:
    /// 15 for two, and 15 for one and a small one, or 25 for three and 6 for the small one, 31.
    #[test]
    fn the_least_length_is_that_of_the_best_levels() {
        let roll = roll(20, &[[10, 15], [6, 8]], Lay::Either);
        let lengths: Vec<i64> = [[0, 0], [1, 0], [2, 0], [3, 0], [3, 1], [0, 3], [0, 5]]
            .map(|counts| inches(roll.length(&counts)))
            .to_vec();
        assert_eq!(lengths, [0, 10, 15, 25, 30, 8, 14]);
    }

    /// Of three hoopings: three small 8, two small and a large one 15 + 6 or 10 + 6, so 16 or 15 and 6 … the least 16; one small and two
    /// large 15 + 6 = 21, or 10 + 15 = 25; three large 25. Each is held against the cutting that is found for it.
    #[test]
    fn all_lengths_are_those_of_the_cuttings() {
        let roll = roll(20, &[[10, 15], [6, 8]], Lay::Either);
        let lengths = roll.lengths(3..=3).expect("few choices");
        let inch = i128::from(INCH);
        assert_eq!(lengths, [8, 16, 21, 25].map(|value| value * inch).into());
        for count in 0..=12 {
            let lengths = roll
                .lengths(i64::from(count)..=i64::from(count))
                .expect("few choices");
            let cut = (0..=count).map(|large| roll.length(&[large, count - large]));
            let cut: BTreeSet<i128> = cut.map(|length| i128::from(length.nanometres())).collect();
            assert_eq!(lengths, cut, "{count} hoopings");
        }
    }

    #[test]
    fn what_may_not_be_turned_is_not() {
        let roll = roll(20, &[[10, 15]], Lay::Crosswise);
        assert_eq!(inches(roll.length(&[2])), 15);
        let roll = self::roll(20, &[[10, 15]], Lay::Lengthwise);
        assert_eq!(inches(roll.length(&[2])), 20);
    }
}
