//! A cover of strips that are too long for a list of their covers: one whose sum is close to their length.

use crate::classes::Class;
use crate::cover::ladder::Ladder;
use crate::cover::sums::longest_sum;
use crate::cover::{Cover, CoverSpace, Fit, Piece, Prices, Runs, Settled, SizeSet};
use crate::scenario::Scenario;

/// The most sums of runs, and the most steps between them: many times those of a search for all covers.
const MOST_SUMS: usize = 200_000;
const MOST_STEPS: usize = 2_000_000;
/// The most steps that may be taken to see which sums have covers.
const MOST_LOOKS: usize = 40_000_000;

/// A cover by several runs, made of `pieces`: of all where their sums are not too many, else of those of one size, else of
/// the shortest of each size. `None` where none is found; that there is none is not said.
pub(super) fn nearest(scenario: &Scenario, class: &Class, pieces: &[Piece]) -> Option<Cover> {
    if class.wishes.places_joints() || class.wishes.bundle.is_some() {
        return None;
    }
    let mut space = CoverSpace::empty(scenario, class);
    // Indices of the pieces that are tried together.
    let mut choices: Vec<(SizeSet, Vec<usize>)> = Vec::new();
    for size in (0..space.sizes.list.len()).map(|bit| 1 << bit) {
        let of_size = (0..pieces.len()).filter(|index| pieces[*index].sizes == size);
        choices.push((size, of_size.collect()));
    }
    if !class.wishes.one_size {
        let shortest = |of_size: &Vec<usize>| {
            let of_size = of_size.iter().copied();
            of_size.min_by_key(|index| pieces[*index].sum)
        };
        let shortest = choices.iter().filter_map(|(_, of_size)| shortest(of_size));
        let shortest = shortest.collect();
        choices.push((SizeSet::MAX, shortest));
        choices.insert(0, (SizeSet::MAX, (0..pieces.len()).collect()));
    }
    let longest = longest_sum(&space.sizes, class.length);
    choices.into_iter().find_map(|(set, chosen)| {
        let of_choice: Vec<Piece> = chosen.iter().map(|index| pieces[*index].clone()).collect();
        space.pieces = of_choice.into();
        if chosen.is_empty() {
            return None;
        }
        space.ladder = Ladder::of(&space.pieces, longest, MOST_SUMS, MOST_STEPS)?;
        let mut cover = space.near(scenario, class, set)?;
        let own = |index: &mut usize| *index = chosen[*index];
        match &mut cover.runs {
            Runs::Single(piece) => own(piece),
            Runs::Nothing => {}
            Runs::Rest { inner, outer } => {
                inner.iter_mut().chain([outer]).for_each(own);
                inner.sort_unstable();
            }
            Runs::Several { outer, inner } => {
                inner.iter_mut().chain(outer).for_each(own);
                inner.sort_unstable();
            }
        }
        Some(cover)
    })
}

impl CoverSpace<'_> {
    /// The cover with the sum that is nearest to the strips' length, and of these the one of the fewest runs.
    fn near(&self, scenario: &Scenario, class: &Class, set: SizeSet) -> Option<Cover> {
        let mut order: Vec<usize> = (0..self.ladder.sums.len()).collect();
        order.sort_by_key(|at| {
            (
                (self.ladder.sums[*at] - class.length).nanometres().abs(),
                *at,
            )
        });
        let mut looks = 0;
        for at in order {
            for fit in [Fit::Exact, Fit::Scaled, Fit::Over] {
                let settled = Settled {
                    length: class.length,
                    sum: self.ladder.sums[at],
                    fit,
                };
                looks += at * self.pieces.len();
                if looks > MOST_LOOKS {
                    return None;
                }
                let total = self.total(scenario, class, settled, at, set);
                let cheapest =
                    total.and_then(|total| self.cheapest(&total, &Prices::of_joints(&total)));
                let valid = cheapest.filter(|found| self.is_valid(scenario, &found.cover));
                if let Some(found) = valid {
                    return Some(found.cover);
                }
            }
        }
        None
    }
}
