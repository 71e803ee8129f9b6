//! Enumerates the covers of a class, those with the fewest runs first.

use std::collections::BTreeSet;

use crate::classes::Class;
use crate::cover::phase::within;
use crate::cover::piece::{self, Pieces};
use crate::cover::sums::longest_sum;
use crate::cover::{
    Cover, EndPatterns, Fit, Piece, Runs, Settled, SizeSet, Sizes, Tally, end_repeats, fits_alone,
    phases, sequence::SequenceRule, settle,
};
use crate::deadline::Deadline;
use crate::length::Length;
use crate::scenario::Scenario;
use crate::strips::Stage;

/// The most covers of one class; past it the list is cut and called incomplete.
const MOST_COVERS: usize = 4_000;
/// The most sums that are looked at to tell what missing covers can be like.
const MOST_SUMS: usize = 2_000;
/// The most pairs of a possible sum and a piece: each makes two kinds of runs.
const MOST_POSSIBLE: usize = 150;
/// The most runs of all covers of one class together: they take memory.
const MOST_ENTRIES: i64 = 1_000_000;
/// The most steps that the enumeration of one class may take: a count, not a clock, so that the same scenario always
/// gives the same covers.
const MOST_STEPS: usize = 400_000;
/// The clock is asked after so many steps.
const CLOCK_STEPS: usize = 64;

/// A search for the covers of a class.
pub(super) struct Search<'a, 's> {
    scenario: &'s Scenario,
    pub(super) class: &'a Class,
    pub(super) sizes: &'a Sizes<'s>,
    pub(super) pieces: &'a [Piece],
    pub(super) found: Vec<Cover>,
    complete: bool,
    /// The number of runs at which the search is.
    runs: usize,
    steps: usize,
    /// What is wished of where joints lie.
    rule: Option<SequenceRule>,
}

impl<'a, 's> Search<'a, 's> {
    pub(super) fn of(
        scenario: &'s Scenario,
        class: &'a Class,
        sizes: &'a Sizes<'s>,
        pieces: &'a Pieces,
    ) -> Search<'a, 's> {
        Search {
            scenario,
            class,
            sizes,
            pieces: &pieces.list,
            found: Vec::new(),
            complete: pieces.complete,
            runs: 1,
            steps: 0,
            rule: SequenceRule::of_joints(scenario, class),
        }
    }

    /// The number of runs up to which none is missing; `None` where none is missing at all.
    pub(super) fn complete_to(&self) -> Option<usize> {
        (!self.complete).then(|| self.runs - 1)
    }

    /// Coverings of one run.
    pub(super) fn single_runs(&mut self) {
        for (index, piece) in self.pieces.iter().enumerate() {
            let total = Tally::NOTHING.with(piece);
            if let Some(settled) = self.settle(total)
                && self.fits_alone(piece, &settled)
            {
                let runs = match self.class.stage {
                    Stage::Rest { .. } => Runs::Rest {
                        inner: Vec::new(),
                        outer: index,
                    },
                    Stage::Whole | Stage::Done { .. } => Runs::Single(index),
                };
                self.keep(settled, runs);
            }
        }
    }

    /// Coverings of 2, 3, … runs, until no more runs can be short enough.
    pub(super) fn several_runs(&mut self, deadline: &Deadline) {
        let Some(shortest) = self.pieces.last().map(|piece| piece.sum) else {
            return;
        };
        let longest = longest_sum(self.sizes, self.class.length);
        let mut runs = 2;
        while shortest * runs <= longest {
            self.runs = usize::try_from(runs).unwrap_or(usize::MAX);
            self.extend(&mut Vec::new(), 0, runs, Tally::NOTHING, deadline);
            if self.full(runs) || !self.complete {
                self.complete = false;
                return;
            }
            runs += 1;
        }
    }

    /// Whether the search has done all the work that it may do, with covers of that many runs.
    fn full(&self, runs: i64) -> bool {
        let entries = i64::try_from(self.found.len())
            .unwrap_or(i64::MAX)
            .saturating_mul(runs);
        self.steps >= MOST_STEPS || self.found.len() >= MOST_COVERS || entries >= MOST_ENTRIES
    }

    /// Adds `left` more runs, none longer than the piece `first`.
    fn extend(
        &mut self,
        chosen: &mut Vec<usize>,
        first: usize,
        left: i64,
        total: Tally,
        deadline: &Deadline,
    ) {
        if left == 0 {
            if let Some(settled) = self.settle(total) {
                self.keep_roles(settled, chosen);
            }
            return;
        }
        let shortest = self.pieces[self.pieces.len() - 1].sum;
        for index in first..self.pieces.len() {
            self.steps += 1;
            if self.steps.is_multiple_of(CLOCK_STEPS) && deadline.over() {
                self.steps = MOST_STEPS;
            }
            if self.full(left) {
                self.complete = false;
                return;
            }
            let piece = &self.pieces[index];
            let grown = total.with(piece);
            if grown.sum + shortest * (left - 1) > self.longest_for(grown) {
                continue;
            }
            // Pieces only get shorter from here on.
            if !self.may_reach(grown.sum + piece.sum * (left - 1)) {
                return;
            }
            chosen.push(index);
            self.extend(chosen, index, left - 1, grown, deadline);
            chosen.pop();
        }
    }

    /// No valid covering that uses the sizes of `total` adds up to more.
    fn longest_for(&self, total: Tally) -> Length {
        let length = self.class.length;
        let least = self.sizes.scale(total.sizes).least;
        let scaled = i128::from(length.nanometres()) * least.denominator() / least.numerator();
        let scaled = Length::from_nanometres(i64::try_from(scaled).unwrap_or(i64::MAX / 4));
        let mut unscaled = length + self.sizes.smallest_step(total.sizes);
        if let Some(most) = self.scenario.rules.max_overhang {
            unscaled = unscaled.min(length + most);
        }
        scaled.max(unscaled) + Length::from_nanometres(1_000_000)
    }

    /// Every sum and scale that a covering by several runs can have, going by the widest scale and the largest step of
    /// any size.
    pub(super) fn possible(&self) -> Option<Vec<Settled>> {
        let length = self.class.length;
        let longest = longest_sum(self.sizes, length);
        let steps = self.sizes.list.iter().map(|(_, size)| piece::step(size));
        let largest = steps.max()?;
        let allowed = self.scenario.rules.max_overhang.unwrap_or(largest);
        let scales = || self.sizes.list.iter().map(|(_, size)| size.scale);
        let least = scales().map(|scale| scale.least).min()?;
        let most = scales().map(|scale| scale.most).max()?;
        let mut sums = BTreeSet::from([Length::ZERO]);
        let mut possible = Vec::new();
        while let Some(sum) = sums.pop_first() {
            // As many nanometres as a covering could have repeats count as nothing.
            let rounding = Length::from_nanometres(sum.nanometres() / self.shortest_repeat()?);
            let off = Length::from_nanometres((sum - length).nanometres().abs());
            let scaled = within(least, most, sum, length);
            let unscaled = sum > length && sum - length <= allowed.min(largest);
            let settled = |fit| Settled { length, sum, fit };
            possible.extend((off <= rounding).then(|| settled(Fit::Exact)));
            possible.extend(scaled.then(|| settled(Fit::Scaled)));
            possible.extend(unscaled.then(|| settled(Fit::Over)));
            for piece in self
                .pieces
                .iter()
                .filter(|piece| sum + piece.sum <= longest)
            {
                sums.insert(sum + piece.sum);
            }
            if sums.len() > MOST_SUMS || possible.len() * self.pieces.len() > MOST_POSSIBLE {
                return None;
            }
        }
        Some(possible)
    }

    fn shortest_repeat(&self) -> Option<i64> {
        self.sizes
            .list
            .iter()
            .map(|(_, size)| size.repeat.nanometres())
            .min()
    }

    /// Whether a sum can be long enough with the largest scale of any size.
    fn may_reach(&self, sum: Length) -> bool {
        let most = self
            .sizes
            .list
            .iter()
            .map(|(_, size)| size.scale.most)
            .max();
        let sum = i128::from(sum.nanometres()) + 1_000_000;
        let length = i128::from(self.class.length.nanometres());
        most.is_some_and(|most| length * most.denominator() <= sum * most.numerator())
    }

    pub(super) fn settle(&self, tally: Tally) -> Option<Settled> {
        settle(self.scenario, self.class.length, self.sizes, tally)
    }

    pub(super) fn fits_alone(&self, piece: &Piece, settled: &Settled) -> bool {
        fits_alone(self.scenario, self.class, piece, settled)
    }

    /// Keeps a covering by several runs once for each choice of the two outer ones.
    pub(super) fn keep_roles(&mut self, settled: Settled, chosen: &[usize]) {
        if !chosen
            .iter()
            .all(|index| self.fits_alone(&self.pieces[*index], &settled))
        {
            return;
        }
        if matches!(self.class.stage, Stage::Rest { .. }) {
            self.keep_rests(settled, chosen);
            return;
        }
        // They stand in ascending order.
        let mut distinct = chosen.to_vec();
        distinct.dedup();
        for (number, first) in distinct.iter().enumerate() {
            for second in &distinct[number..] {
                let mut inner = chosen.to_vec();
                let both = [second, first].map(|outer| {
                    let place = inner.binary_search(outer);
                    place.map(|place| inner.remove(place))
                });
                if let [Ok(second), Ok(first)] = both {
                    let outer = [first, second];
                    self.keep(settled, Runs::Several { outer, inner });
                }
            }
        }
    }

    /// Keeps what is left of a begun strip once for each choice of its outer run.
    fn keep_rests(&mut self, settled: Settled, chosen: &[usize]) {
        let mut seen = BTreeSet::new();
        for (place, outer) in chosen.iter().enumerate() {
            if seen.insert(*outer) {
                let mut inner = chosen.to_vec();
                inner.remove(place);
                let runs = Runs::Rest {
                    inner,
                    outer: *outer,
                };
                self.keep(settled, runs);
            }
        }
    }

    /// Keeps a cover unless wishes say otherwise; where corners count, once for each pattern that its ends can show.
    fn keep(&mut self, settled: Settled, runs: Runs) {
        let cover = Cover {
            settled,
            runs,
            ends: None,
        };
        if !keeps_wishes(self.class, self.pieces, &cover) {
            return;
        }
        if !self.class.cornered {
            if self.in_some_order(&cover) {
                self.found.push(cover);
            }
            return;
        }
        let Cover { settled, runs, .. } = cover;
        let mut kept = BTreeSet::new();
        for (repeats, runs) in end_repeats(self.sizes, self.pieces, &runs) {
            let phases = phases(self.scenario, self.class.stage, &settled, repeats);
            if kept.insert((phases, runs.clone())) {
                let cover = Cover {
                    settled,
                    runs,
                    ends: Some(EndPatterns { repeats, phases }),
                };
                if self.in_some_order(&cover) {
                    self.found.push(cover);
                }
            }
        }
    }

    /// Whether the runs of a cover can lie in an order that wishes allow.
    fn in_some_order(&mut self, cover: &Cover) -> bool {
        let Some(rule) = &self.rule else {
            return true;
        };
        let allowed = rule.allows(self.pieces, cover, &mut self.steps);
        self.complete &= allowed.is_some();
        allowed == Some(true)
    }
}

/// Whether a cover is of one size, or of one run, where that is wished: whatever the order of its runs.
fn keeps_wishes(class: &Class, pieces: &[Piece], cover: &Cover) -> bool {
    let runs = cover.runs.each().into_iter();
    let sizes = runs.fold(0, |sizes: SizeSet, (piece, _)| sizes | pieces[piece].sizes);
    let one_size = !class.wishes.one_size || sizes.count_ones() == 1;
    one_size && (class.wishes.bundle.is_none() || cover.count() == 1)
}
