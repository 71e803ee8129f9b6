//! Enumerates the covers of a class, those with the fewest runs first.

use std::collections::BTreeSet;

use crate::classes::Class;
use crate::cover::at_once::covers_at_once;
use crate::cover::nearest::nearest;
use crate::cover::phase::within;
use crate::cover::piece::{self, Extent, LONGEST_SUM, Pieces};
use crate::cover::{
    Cover, EndPatterns, Fit, Phase, Piece, PieceList, PieceStore, Runs, Settled, SizeSet, Sizes,
    Tally, end_repeats, fits_alone, phases, sequence::SequenceRule, settle,
};
use crate::deadline::Deadline;
use crate::length::Length;
use crate::scenario::{DoneEnd, Scenario};
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

/// The covers of a class of strips.
#[derive(Clone, Debug)]
pub struct ClassCovers<'s> {
    /// The sizes that the covers are made of.
    pub sizes: Sizes<'s>,
    /// The pieces that the covers' runs are stitched with.
    pub pieces: PieceList,
    /// The covers, fewest runs first.
    pub covers: Vec<Cover>,
    /// The number of runs up to which none is missing; `None` where none is missing at all.
    pub complete_to: Option<usize>,
    /// Whether no piece is missing.
    pub every_piece: bool,
    /// Where covers are missing: every sum and scale that one of them can have, and perhaps more. `None` where no cover is
    /// missing, or where they are too many to tell.
    pub possible: Option<Vec<Settled>>,
    /// No cover has less overhang.
    pub least_overhang: Length,
    /// Whether the time was over before they were listed, so that nothing is known of what is missing.
    pub hurried: bool,
}

impl ClassCovers<'_> {
    /// The fewest runs of a strip, or fewer where the list of covers was cut. Of those with so many runs as it is complete to
    /// none is missing; a cut list of pieces tells nothing.
    pub fn fewest_runs(&self) -> i128 {
        let listed = self.covers.iter().map(Cover::count).min();
        let beyond = self.complete_to.map(|runs| runs.saturating_add(1));
        let fewest = listed.into_iter().chain(beyond).min().unwrap_or(1);
        if self.every_piece { fewest as i128 } else { 1 }
    }
}

/// Lists the covers of a class: those in one run where there are any and short strips must not be split, otherwise all.
/// With no cover at all the strips of the class cannot be stitched, provided that the list is complete.
pub fn covers_of<'s>(
    store: &PieceStore<'s>,
    class: &Class,
    deadline: &Deadline,
) -> ClassCovers<'s> {
    list_covers(store, class, store.extent(deadline), deadline).0
}

/// The same; where the list was cut before there was a cover, one cover of those that are missing, if it is found. Once the time is over
/// any cover will do that is found at once.
pub fn some_covers_of<'s>(
    store: &PieceStore<'s>,
    class: &Class,
    deadline: &Deadline,
) -> ClassCovers<'s> {
    let known =
        |covers: &ClassCovers<'_>| !covers.covers.is_empty() || covers.complete_to.is_none();
    // What is wished together needs every run that there is, however late it is: so it is known whether one hooping holds it.
    if class.wishes.bundle.is_some() {
        return listed_or_nearest(store, class, Extent::Every, &Deadline::never());
    }
    // A small list has to do where much is listed already, if there is a cover in it.
    for extent in [store.extent(deadline), Extent::Every] {
        if deadline.over() {
            break;
        }
        let covers = listed_or_nearest(store, class, extent, deadline);
        if known(&covers) || extent == Extent::Every && !deadline.over() {
            return covers;
        }
    }
    let covers = covers_at_once(store, class);
    if known(&covers) || !store.second_look() {
        return covers;
    }
    listed_or_nearest(store, class, Extent::Every, &Deadline::never())
}

/// The covers that are listed; where the list was cut before there was one, one that is missing, if it is found.
fn listed_or_nearest<'s>(
    store: &PieceStore<'s>,
    class: &Class,
    extent: Extent,
    deadline: &Deadline,
) -> ClassCovers<'s> {
    let (mut covers, only_alone) = list_covers(store, class, extent, deadline);
    let cut = covers.covers.is_empty() && covers.complete_to.is_some();
    if cut && !only_alone {
        let found = nearest(store.scenario, class, &covers.pieces);
        covers.covers.extend(found);
    }
    covers
}

/// The pieces that a class is covered with, and whether only covers in one run count.
pub(super) fn pieces_of(
    store: &PieceStore<'_>,
    sizes: &Sizes<'_>,
    class: &Class,
    extent: Extent,
) -> (Pieces, bool) {
    let only =
        |pieces: &Pieces| !pieces.complete || has_cover(store.scenario, class, sizes, pieces);
    if let Some(alone) = alone(store, sizes, class, extent).filter(only) {
        return (alone, true);
    }
    let range = Length::ZERO..=longest_sum(sizes, class.length);
    (store.within(sizes, class, range, extent), false)
}

/// The covers of a class, and whether only those in one run count.
fn list_covers<'s>(
    store: &PieceStore<'s>,
    class: &Class,
    extent: Extent,
    deadline: &Deadline,
) -> (ClassCovers<'s>, bool) {
    let scenario = store.scenario;
    let sizes = Sizes::of_class(scenario, class);
    if let Stage::Done { ends } = class.stage {
        return (done(sizes, class.length, ends), true);
    }
    let (pieces, only_alone) = pieces_of(store, &sizes, class, extent);
    let complete = pieces.complete;
    let mut search = Search::of(scenario, class, &sizes, &pieces);
    search.single_runs();
    if !only_alone {
        search.several_runs(deadline);
    }
    let complete_to = search.complete_to();
    let possible = complete_to
        .filter(|_| complete && !deadline.over())
        .and_then(|_| search.possible());
    let mut covers = search.found;
    let overhangs = covers.iter().map(|cover| cover.settled.overhang());
    let least_overhang = match complete_to {
        None => overhangs.min().unwrap_or_default(),
        Some(_) => Length::ZERO,
    };
    // Covers with more runs than the last number that is whole only make the program larger.
    let fewest = covers.first().map_or(0, Cover::count);
    if let Some(runs) = complete_to.filter(|runs| *runs >= fewest) {
        covers.retain(|cover| cover.count() <= runs);
    }
    let covers = ClassCovers {
        sizes,
        pieces: pieces.list,
        covers,
        complete_to,
        every_piece: complete,
        possible,
        least_overhang,
        hurried: false,
    };
    (covers, only_alone)
}

/// The one cover of a strip that is done: it has no runs, and shows what is stitched at its ends.
pub(super) fn done_cover(length: Length, ends: [Option<DoneEnd>; 2]) -> Cover {
    let end = |end: Option<DoneEnd>| {
        end.unwrap_or(DoneEnd {
            repeat: length,
            past: Length::ZERO,
        })
    };
    let ends = ends.map(end);
    Cover {
        settled: Settled {
            length,
            sum: length,
            fit: Fit::Exact,
        },
        runs: Runs::Nothing,
        ends: Some(EndPatterns {
            repeats: ends.map(|end| end.repeat),
            phases: ends.map(|end| Phase::unscaled(end.repeat, end.past * 2)),
        }),
    }
}

pub(super) fn done(
    sizes: Sizes<'_>,
    length: Length,
    ends: [Option<DoneEnd>; 2],
) -> ClassCovers<'_> {
    ClassCovers {
        sizes,
        pieces: PieceList::default(),
        covers: vec![done_cover(length, ends)],
        complete_to: None,
        every_piece: true,
        possible: None,
        least_overhang: Length::ZERO,
        hurried: false,
    }
}

/// Whether a cover is of one size, or of one run, where that is wished: whatever the order of its runs.
fn keeps_wishes(class: &Class, pieces: &[Piece], cover: &Cover) -> bool {
    let runs = cover.runs.each().into_iter();
    let sizes = runs.fold(0, |sizes: SizeSet, (piece, _)| sizes | pieces[piece].sizes);
    let one_size = !class.wishes.one_size || sizes.count_ones() == 1;
    one_size && (class.wishes.bundle.is_none() || cover.count() == 1)
}

/// The pieces that may cover a strip by themselves, where short strips must not be split. While some of them are missing
/// nothing is known of the others.
pub(super) fn alone(
    store: &PieceStore<'_>,
    sizes: &Sizes<'_>,
    class: &Class,
    extent: Extent,
) -> Option<Pieces> {
    // What is left of a strip is of a strip that was split.
    if store.scenario.rules.split_short || class.stage.butts().is_some() {
        return None;
    }
    let range = shortest_sum(sizes, class.length)..=longest_sum(sizes, class.length);
    Some(store.within(sizes, class, range, extent))
}

/// Whether some owned hoop takes the strips of a class in one run; `None` where the pieces are too many to tell, or strips may
/// be split anyway.
pub fn taken_in_one_run(store: &PieceStore<'_>, class: &Class) -> Option<bool> {
    let scenario = store.scenario;
    let sizes = Sizes::of(scenario, class.design, &class.sizes(scenario));
    let pieces = alone(store, &sizes, class, Extent::Every)?;
    let taken = has_cover(scenario, class, &sizes, &pieces);
    (taken || pieces.complete).then_some(taken)
}

/// The clock is asked after so many steps.
const CLOCK_STEPS: usize = 64;

/// Whether a piece covers a strip by itself.
pub(super) fn has_cover(
    scenario: &Scenario,
    class: &Class,
    sizes: &Sizes<'_>,
    pieces: &Pieces,
) -> bool {
    let covers = |piece: &Piece| {
        let settled = settle(scenario, class.length, sizes, Tally::NOTHING.with(piece));
        settled.is_some_and(|settled| fits_alone(scenario, class, piece, &settled))
    };
    pieces.list.iter().any(covers)
}

/// What a covering may miss, or be over, for each repeat where it counts as exact: as many nanometres as there can be repeats.
const ROUNDING: Length = Length::from_nanometres(1_000_000);

/// No covering of the length adds up to less than this.
pub(super) fn shortest_sum(sizes: &Sizes<'_>, length: Length) -> Length {
    let stretched = sizes.list.iter().map(|(_, size)| {
        let most = size.scale.most;
        i128::from(length.nanometres()) * most.denominator() / most.numerator()
    });
    let least = stretched.min().unwrap_or(0);
    let least = Length::from_nanometres(i64::try_from(least).unwrap_or(0));
    (length.min(least) - ROUNDING).max(Length::ZERO)
}

/// No covering of the length adds up to more than this.
pub(super) fn longest_sum(sizes: &Sizes<'_>, length: Length) -> Length {
    let scaled = sizes.list.iter().map(|(_, size)| {
        let least = size.scale.least;
        i128::from(length.nanometres()) * least.denominator() / least.numerator()
    });
    let step = sizes.list.iter().map(|(_, size)| piece::step(size));
    let unscaled = length + step.max().unwrap_or(Length::ZERO);
    let scaled = i64::try_from(scaled.max().unwrap_or(0)).unwrap_or(i64::MAX / 4);
    let longest = unscaled.max(Length::from_nanometres(scaled)) + ROUNDING;
    longest.min(LONGEST_SUM)
}

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

    fn complete_to(&self) -> Option<usize> {
        (!self.complete).then(|| self.runs - 1)
    }

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
    fn several_runs(&mut self, deadline: &Deadline) {
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
    fn possible(&self) -> Option<Vec<Settled>> {
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
