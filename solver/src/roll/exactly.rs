//! The least length of roll for so many of each piece, worked out from no level at all to all that is wanted.
//!
//! What is held so far is a choice of counts up to those wanted. A level adds to it, and leads to one choice of at least as much of every
//! piece; the least length of each is known before it is left. How much work that is depends on what is wanted only, so that it is
//! done or not done whatever the clock says.

use crate::length::Length;

/// How many choices of counts, how many sets of pieces side by side, and how many of the two together are looked at. The check of plans
/// works the same length out by its own reckoning where these numbers are at most half as large (`check/roll_length.rs`): so the
/// planner always knows what the check knows.
const MOST_CHOICES: usize = 600_000;
const MOST_BESIDE: usize = 200_000;
const MOST_STEPS: usize = 40_000_000;

/// Pieces that are alike.
#[derive(Clone, Debug)]
pub(super) struct Wanted {
    /// The ways in which one fits on the roll: along it, across it.
    pub(super) ways: Vec<(Length, Length)>,
    /// How many there are, above 0.
    pub(super) count: u32,
}

impl Wanted {
    /// What one takes across the roll in a level of this length; `None` where it is longer than the level.
    fn across(&self, level: Length) -> Option<Length> {
        let short = self.ways.iter().filter(|(along, _)| *along <= level);
        short.map(|(_, across)| *across).min()
    }
}

/// The least length for all that is wanted; `None` where that is more work than is done, or something fits in no way.
pub(super) fn exactly(width: Length, wanted: &[Wanted]) -> Option<Length> {
    let mut choices = 1_usize;
    let mut strides = Vec::new();
    for piece in wanted {
        strides.push(choices);
        choices = choices.checked_mul(usize::try_from(piece.count).ok()?.checked_add(1)?)?;
        if choices > MOST_CHOICES {
            return None;
        }
    }
    let levels = levels(width, wanted, choices)?;
    let mut least: Vec<Option<Length>> = vec![None; choices];
    least[0] = Some(Length::ZERO);
    let mut held: Vec<u32> = vec![0; wanted.len()];
    for choice in 0..choices {
        if let Some(so_far) = least[choice] {
            for (length, beside) in &levels {
                let added = wanted.iter().zip(&strides).zip(held.iter().zip(beside));
                let added: usize = added
                    .map(|((piece, stride), (held, more))| {
                        (*more).min(piece.count - held) as usize * stride
                    })
                    .sum();
                let then = &mut least[choice + added];
                let whole = so_far + *length;
                if added > 0 && then.is_none_or(|known| whole < known) {
                    *then = Some(whole);
                }
            }
        }
        count_on(&mut held, wanted);
    }
    least.last().copied().flatten()
}

/// The next choice of counts, the first piece counted fastest.
fn count_on(held: &mut [u32], wanted: &[Wanted]) {
    for (held, piece) in held.iter_mut().zip(wanted) {
        if *held < piece.count {
            *held += 1;
            return;
        }
        *held = 0;
    }
}

/// Of each length that a level can have the sets of pieces to which nothing can be added; `None` where they are too many.
fn levels(width: Length, wanted: &[Wanted], choices: usize) -> Option<Vec<(Length, Vec<u32>)>> {
    let ways = wanted.iter().flat_map(|piece| &piece.ways);
    let mut lengths: Vec<Length> = ways.map(|(along, _)| *along).collect();
    lengths.sort_unstable();
    lengths.dedup();
    let most = MOST_BESIDE.min(MOST_STEPS / choices.max(1));
    let (mut looked, mut levels) = (0, Vec::new());
    for length in lengths {
        let across: Vec<Option<Length>> = wanted.iter().map(|piece| piece.across(length)).collect();
        let mut beside = Beside {
            wanted,
            across: &across,
            counts: vec![0; wanted.len()],
            full: Vec::new(),
            looked,
            most,
        };
        beside.add(0, width)?;
        looked = beside.looked;
        levels.extend(beside.full.into_iter().map(|counts| (length, counts)));
    }
    Some(levels)
}

/// Pieces that are put side by side in levels of one length.
struct Beside<'b> {
    wanted: &'b [Wanted],
    /// What each piece takes across; `None` where it is longer than the level.
    across: &'b [Option<Length>],
    counts: Vec<u32>,
    /// Those to which nothing that is wanted can be added.
    full: Vec<Vec<u32>>,
    /// How many sets were looked at, full or not.
    looked: usize,
    most: usize,
}

impl Beside<'_> {
    /// Adds pieces from this one on; `None` where there are too many sets.
    fn add(&mut self, piece: usize, room: Length) -> Option<()> {
        let Some(across) = self.across.get(piece) else {
            self.looked += 1;
            let kinds = self.wanted.iter().zip(self.across).zip(&self.counts);
            let more = kinds.clone().any(|((wanted, across), count)| {
                *count < wanted.count && across.is_some_and(|across| across <= room)
            });
            if !more {
                self.full.push(self.counts.clone());
            }
            return (self.looked <= self.most).then_some(());
        };
        let mut left = room;
        loop {
            self.add(piece + 1, left)?;
            let Some(across) = across.filter(|across| *across <= left) else {
                break;
            };
            if self.counts[piece] == self.wanted[piece].count {
                break;
            }
            self.counts[piece] += 1;
            left = left - across;
        }
        self.counts[piece] = 0;
        Some(())
    }
}
