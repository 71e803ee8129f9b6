//! The sums of runs, from none on, and which of them follows with one run more or less.

use std::collections::BTreeMap;

use crate::cover::Piece;
use crate::length::Length;
use crate::sums_of_steps::sums_of_steps;

/// The sums of some pieces. Those of one sum are one step.
#[derive(Clone, Debug, Default)]
pub(super) struct Ladder {
    /// Sums in ascending order, from 0 on.
    pub sums: Vec<Length>,
    /// For each piece its step.
    step_of: Vec<usize>,
    /// The number of steps.
    steps: usize,
    /// For each sum and step the place of the sum with and of the sum without it.
    with: Vec<Option<u32>>,
    without: Vec<Option<u32>>,
}

impl Ladder {
    /// Every sum of pieces, in the order of their sums, up to the longest; `None` where there are too many, or too many steps between
    /// them.
    pub fn of(
        pieces: &[Piece],
        longest: Length,
        most_sums: usize,
        most_steps: usize,
    ) -> Option<Ladder> {
        let mut steps: Vec<Length> = pieces.iter().map(|piece| piece.sum).collect();
        steps.dedup();
        let most = most_sums.min(most_steps / steps.len().max(1));
        let sums = sums_of_steps(&steps, longest, most)?;
        let places = sums.iter().enumerate();
        let places: BTreeMap<Length, u32> = places
            .filter_map(|(place, sum)| Some((*sum, u32::try_from(place).ok()?)))
            .collect();
        let by = |step: fn(Length, Length) -> Length| {
            let to = sums
                .iter()
                .flat_map(|sum| steps.iter().map(move |by| step(*sum, *by)));
            to.map(|to| places.get(&to).copied()).collect()
        };
        let mut step = 0;
        let step_of = pieces.iter().map(|piece| {
            while steps[step] != piece.sum {
                step += 1;
            }
            step
        });
        Some(Ladder {
            step_of: step_of.collect(),
            steps: steps.len(),
            with: by(|sum, step| sum + step),
            without: by(|sum, step| sum - step),
            sums,
        })
    }

    /// How many steps between sums are kept.
    pub fn len(&self) -> usize {
        self.with.len()
    }

    /// The step of a piece: the same for pieces of the same sum.
    pub fn step(&self, piece: usize) -> usize {
        self.step_of[piece]
    }

    /// The sum (its place) that follows with one more piece, if it is among the sums.
    pub fn with(&self, sum: usize, piece: usize) -> Option<usize> {
        self.with[sum * self.steps + self.step_of[piece]].map(|place| place as usize)
    }

    /// The sum (its place) that is left without a piece, if it is among the sums.
    pub fn without(&self, sum: usize, piece: usize) -> Option<usize> {
        self.without[sum * self.steps + self.step_of[piece]].map(|place| place as usize)
    }
}
