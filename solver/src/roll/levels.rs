//! The levels that pieces can make on a roll, with any number of each piece.

use std::collections::BTreeSet;

use super::{Roll, RollLevel};
use crate::length::Length;

/// Of a roll with more levels than this pieces count by their area.
const MOST_LEVELS: usize = 300;

impl Roll {
    /// The levels that no shorter one with as many pieces can stand in for.
    pub(super) fn list_levels(&self) -> Option<Vec<RollLevel>> {
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
