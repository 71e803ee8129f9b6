//! Coverings whose joints lie where wishes allow, found along the strip: a shortest path over the places of joints.

use crate::cover::{Cover, CoverSpace, Runs, SequenceRule, Settled, Total, end_repeats};
use crate::scenario::Scenario;
use crate::strips::Stage;

/// The most steps from joint to joint that are looked at for one class: a count, so that the same scenario always gives the same covers.
const MOST_STEPS: usize = 5_000_000;

impl CoverSpace<'_> {
    /// For each sum and scale that wishes about joints allow one cover with the fewest runs, as far as a path of sums tells: the cover of
    /// such a path may be refused for rounding alone. None where joints may lie anywhere, and of what is left of a begun strip.
    pub(super) fn placed(&self, scenario: &Scenario) -> Vec<Cover> {
        let Some(rule) = self.rule.as_ref().filter(|_| self.stage == Stage::Whole) else {
            return Vec::new();
        };
        let mut steps = 0;
        let mut found = Vec::new();
        for total in &self.totals {
            steps += total.at * total.pieces.len();
            if steps > MOST_STEPS {
                break;
            }
            let runs = self.along(rule, total).filter(|runs| runs.len() > 1);
            let cover = runs.and_then(|runs| self.cover_of(scenario, &total.settled, &runs));
            found.extend(cover.filter(|cover| self.is_valid(scenario, cover)));
        }
        found
    }

    /// The pieces of a total along the strip, as few as will do.
    fn along(&self, rule: &SequenceRule, total: &Total) -> Option<Vec<usize>> {
        let may = |place: usize| {
            rule.may_join(&total.settled, self.ladder.sums[place].nanometres().into())
        };
        let fewest = Fewest::of(self, total, &may);
        if !rule.symmetric {
            return fewest.pieces_to(self, total.at);
        }
        // Mirrored halves that meet in a joint, or at a run in the middle.
        let sum = total.settled.sum;
        let halves = (0..=total.at).filter(|place| self.ladder.sums[*place] * 2 <= sum);
        let whole = halves.filter_map(|place| {
            let left = sum - self.ladder.sums[place] * 2;
            let middle = if left.nanometres() == 0 {
                None
            } else {
                let mut pieces = total.pieces.iter().copied();
                Some(pieces.find(|piece| self.pieces[*piece].sum == left)?)
            };
            let runs = fewest.count(place)? * 2 + usize::from(middle.is_some());
            Some((runs, place, middle))
        });
        let (_, place, middle) = whole.min()?;
        let half = fewest.pieces_to(self, place)?;
        let mirrored = half.iter().rev().copied();
        Some(half.iter().copied().chain(middle).chain(mirrored).collect())
    }

    /// The cover by these pieces along the strip; where corners count, with one of the patterns that its ends can show.
    fn cover_of(&self, scenario: &Scenario, settled: &Settled, along: &[usize]) -> Option<Cover> {
        let (first, rest) = along.split_first()?;
        let (last, inner) = rest.split_last()?;
        let mut inner = inner.to_vec();
        inner.sort_unstable();
        let mut outer = [*first, *last];
        if !self.cornered {
            outer.sort_unstable();
        }
        let mut runs = Runs::Several { outer, inner };
        let mut ends = None;
        if self.cornered {
            let (repeats, laid) = end_repeats(&self.sizes, &self.pieces, &runs)
                .into_iter()
                .next()?;
            ends = Some(self.patterns(scenario, settled, repeats));
            runs = laid;
        }
        Some(Cover {
            settled: *settled,
            runs,
            ends,
        })
    }
}

/// The fewest runs from a strip's start to each place where a joint may lie.
struct Fewest {
    /// By place among the sums: how many runs, and the last of them; none where a joint may not lie.
    to: Vec<Option<(usize, Option<usize>)>>,
}

impl Fewest {
    fn of(space: &CoverSpace<'_>, total: &Total, may: &dyn Fn(usize) -> bool) -> Fewest {
        let mut to = vec![None; total.at + 1];
        to[0] = Some((0, None));
        for from in 0..total.at {
            // Where many ways lead to one place it is asked once whether a joint may lie there.
            if from > 0 && !may(from) {
                to[from] = None;
            }
            let Some((count, _)) = to[from] else {
                continue;
            };
            for piece in &total.pieces {
                let place = space.ladder.with(from, *piece);
                let Some(place) = place.filter(|place| *place <= total.at) else {
                    continue;
                };
                if to[place].is_none_or(|(known, _)| count + 1 < known) {
                    to[place] = Some((count + 1, Some(*piece)));
                }
            }
        }
        Fewest { to }
    }

    fn count(&self, place: usize) -> Option<usize> {
        self.to[place].map(|(count, _)| count)
    }

    /// The pieces from the start to a place.
    fn pieces_to(&self, space: &CoverSpace<'_>, place: usize) -> Option<Vec<usize>> {
        let mut pieces = Vec::new();
        let mut at = place;
        while let (_, Some(piece)) = self.to[at]? {
            pieces.push(piece);
            at = space.ladder.without(at, piece)?;
        }
        pieces.reverse();
        Some(pieces)
    }
}
