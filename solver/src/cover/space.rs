//! All covers of a class without a list of them: the sums that they can have, and for each the pieces that it allows.

use std::collections::BTreeSet;

use crate::classes::Class;
use crate::cover::Prices;
use crate::cover::class_covers::{alone, covers_of, done_cover};
use crate::cover::ladder::Ladder;
use crate::cover::phase::within;
use crate::cover::piece;
use crate::cover::sums::longest_sum;
use crate::cover::{
    ClassCovers, Cover, EndPatterns, Fit, Phase, Piece, PieceList, PieceStore, Runs, SequenceRule,
    Settled, SizeSet, Sizes, Tally, end_repeats, fits_alone, phases, settle,
};
use crate::deadline::Deadline;
use crate::length::Length;
use crate::scenario::{Scenario, Size};
use crate::strips::Stage;

/// The most sums of runs of one class; past it the space is called incomplete.
const MOST_SUMS: usize = 3_000;
/// The most pieces of one class: each total lists those that it allows.
const MOST_PIECES: usize = 5_000;
/// The most steps between sums of one class.
const MOST_STEPS: usize = 300_000;

/// The covers of a class of strips.
#[derive(Clone, Debug)]
pub struct CoverSpace<'s> {
    /// The sizes that the covers are made of.
    pub sizes: Sizes<'s>,
    /// The pieces that the covers' runs are stitched with, longest first.
    pub pieces: PieceList,
    /// Covers that are listed: those in a single run, the one without runs of a strip that is done, and where something is wished
    /// of where joints lie all that there are.
    pub listed: Vec<Cover>,
    /// The sums that covers by several runs have.
    pub totals: Vec<Total>,
    /// Whether no cover is missing.
    pub complete: bool,
    /// Whether the ends of the strips matter.
    pub(super) cornered: bool,
    /// How much of the strips there is to stitch.
    pub(super) stage: Stage,
    /// What is wished of where joints lie.
    pub(super) rule: Option<SequenceRule>,
    /// Sums of runs.
    pub(super) ladder: Ladder,
}

/// A sum and scale that covers by several runs can have.
#[derive(Clone, Debug)]
pub struct Total {
    /// Sum and scale.
    pub settled: Settled,
    /// The pieces that can be part of such a cover (indices).
    pub pieces: Vec<usize>,
    /// For each of these whether it uses a size that could not be scaled to this sum.
    pub(super) stubborn: Vec<bool>,
    /// Whether some run has to be of such a piece: otherwise the cover would be scaled instead.
    pub(super) needs_stubborn: bool,
    /// Place of the sum among the sums of runs.
    pub(super) at: usize,
    /// What the ends can show, where they matter.
    pub ends: Option<Ends>,
}

/// What the ends of covers of a total can show.
#[derive(Clone, Debug)]
pub struct Ends {
    /// For each piece of the total the repeats that can stand at an end of it (indices).
    pub(super) repeats: Vec<Vec<usize>>,
    /// For each repeat at the start and each at the end the patterns there.
    pub patterns: Vec<Vec<EndPatterns>>,
}

impl Ends {
    fn of(
        scenario: &Scenario,
        space: &CoverSpace<'_>,
        settled: &Settled,
        pieces: &[usize],
    ) -> Ends {
        let of_piece = |piece: &usize| space.sizes.repeats(space.pieces[*piece].sizes);
        let mut all: Vec<Length> = pieces.iter().flat_map(of_piece).collect();
        all.sort_unstable();
        all.dedup();
        let numbers = |piece: &usize| {
            let repeats = of_piece(piece).into_iter();
            repeats
                .filter_map(|repeat| all.binary_search(&repeat).ok())
                .collect()
        };
        let pattern =
            |start: &Length, end: &Length| space.patterns(scenario, settled, [*start, *end]);
        Ends {
            repeats: pieces.iter().map(numbers).collect(),
            patterns: all
                .iter()
                .map(|start| all.iter().map(|end| pattern(start, end)).collect())
                .collect(),
        }
    }
}

impl<'s> CoverSpace<'s> {
    /// All covers of a class: those in one run alone where there are any and short strips must not be split. Where the time is over
    /// some are missing.
    pub fn of(store: &PieceStore<'s>, class: &Class, deadline: &Deadline) -> CoverSpace<'s> {
        let scenario = store.scenario;
        let extent = store.extent(deadline);
        let mut space = CoverSpace::empty(scenario, class);
        match class.stage {
            Stage::Whole | Stage::Rest { .. } => {}
            Stage::Done { ends } => {
                space.listed.push(done_cover(class.length, ends));
                return space;
            }
        }
        if let Some(alone) = alone(store, &space.sizes, class, extent) {
            (space.pieces, space.complete) = (alone.list, alone.complete);
            space.add_singles(scenario, class);
            if !space.listed.is_empty() || !space.complete {
                return space;
            }
        }
        if class.wishes.places_joints() && space.list_all(store, class, deadline) {
            return space;
        }
        let longest = longest_sum(&space.sizes, class.length);
        let all = store.within(&space.sizes, class, Length::ZERO..=longest, extent);
        (space.pieces, space.complete) = (all.list, all.complete);
        // Where not all could be listed, those that were are among the others.
        if space.listed.is_empty() {
            space.add_singles(scenario, class);
        }
        // What is wished together is stitched in one run.
        if !space.pieces.is_empty() && class.wishes.bundle.is_none() {
            space.add_totals(store, class, longest, deadline);
        }
        space
    }

    /// No piece yet, and no cover.
    pub(super) fn empty(scenario: &'s Scenario, class: &Class) -> CoverSpace<'s> {
        CoverSpace {
            sizes: Sizes::of_class(scenario, class),
            pieces: PieceList::default(),
            listed: Vec::new(),
            totals: Vec::new(),
            complete: true,
            cornered: class.cornered,
            stage: class.stage,
            rule: SequenceRule::of_joints(scenario, class),
            ladder: Ladder::default(),
        }
    }

    /// Lists every cover by itself: which of them can lie as is wished depends on all of their runs. False where they are too
    /// many, and only some are listed.
    fn list_all(&mut self, store: &PieceStore<'s>, class: &Class, deadline: &Deadline) -> bool {
        let all = covers_of(store, class, deadline);
        let whole = all.every_piece && all.complete_to.is_none();
        (self.pieces, self.listed) = (all.pieces, all.covers);
        whole
    }

    fn add_singles(&mut self, scenario: &Scenario, class: &Class) {
        for (index, piece) in self.pieces.iter().enumerate() {
            let tally = Tally::NOTHING.with(piece);
            let Some(settled) = settle(scenario, class.length, &self.sizes, tally) else {
                continue;
            };
            if !fits_alone(scenario, class, piece, &settled) {
                continue;
            }
            let runs = self.single_run(index);
            let ends = if self.cornered {
                let options = end_repeats(&self.sizes, &self.pieces, &runs);
                options
                    .into_iter()
                    .map(|(repeats, _)| Some(self.patterns(scenario, &settled, repeats)))
                    .collect()
            } else {
                vec![None]
            };
            let mut seen = BTreeSet::new();
            for ends in ends {
                if seen.insert(ends.map(|ends| ends.phases)) {
                    self.listed.push(Cover {
                        settled,
                        runs: runs.clone(),
                        ends,
                    });
                }
            }
        }
    }

    /// The runs of a cover in a single run.
    fn single_run(&self, piece: usize) -> Runs {
        match self.stage {
            Stage::Whole | Stage::Done { .. } => Runs::Single(piece),
            Stage::Rest { .. } => Runs::Rest {
                inner: Vec::new(),
                outer: piece,
            },
        }
    }

    pub(super) fn patterns(
        &self,
        scenario: &Scenario,
        settled: &Settled,
        repeats: [Length; 2],
    ) -> EndPatterns {
        EndPatterns {
            repeats,
            phases: phases(scenario, self.stage, settled, repeats),
        }
    }

    fn add_totals(
        &mut self,
        store: &PieceStore<'s>,
        class: &Class,
        longest: Length,
        deadline: &Deadline,
    ) {
        if self.pieces.len() > MOST_PIECES {
            self.complete = false;
            return;
        }
        let ladder = Ladder::of(&self.pieces, longest, MOST_SUMS, MOST_STEPS);
        let Some(ladder) = ladder.filter(|ladder| store.keeps(ladder.len())) else {
            self.complete = false;
            return;
        };
        self.ladder = ladder;
        let scenario = store.scenario;
        // All sizes at once, or each by itself where covers of one size are wished.
        let sets: Vec<SizeSet> = if class.wishes.one_size {
            (0..self.sizes.list.len()).map(|bit| 1 << bit).collect()
        } else {
            vec![SizeSet::MAX]
        };
        for at in 0..self.ladder.sums.len() {
            if deadline.over() {
                self.complete = false;
                return;
            }
            for fit in [Fit::Exact, Fit::Scaled, Fit::Over] {
                let settled = Settled {
                    length: class.length,
                    sum: self.ladder.sums[at],
                    fit,
                };
                for set in &sets {
                    let total = self.total(scenario, class, settled, at, *set);
                    self.totals.extend(total);
                }
            }
        }
    }

    /// What covers with this sum and scale are made of, of the sizes of a set; `None` where there are none.
    pub(super) fn total(
        &self,
        scenario: &Scenario,
        class: &Class,
        settled: Settled,
        at: usize,
        set: SizeSet,
    ) -> Option<Total> {
        let (sum, length) = (settled.sum, settled.length);
        let difference = sum - length;
        let shortest = self.sizes.list.iter().map(|(_, size)| size.repeat).min()?;
        // The most nanometres that rounding can make of a covering's repeats.
        let rounding = sum.nanometres() / shortest.nanometres();
        let scales = |size: &Size| {
            let range = self.sizes.scale_of(size);
            within(range.least, range.most, sum, length)
        };
        let allowed = |size: &Size| match settled.fit {
            Fit::Exact => true,
            Fit::Scaled => scales(size),
            Fit::Over => difference < piece::step(size),
        };
        let possible = match settled.fit {
            Fit::Exact => difference.nanometres().abs() <= rounding,
            Fit::Scaled => difference != Length::ZERO,
            Fit::Over => {
                let most = scenario.rules.max_overhang;
                difference > Length::ZERO && most.is_none_or(|most| difference <= most)
            }
        };
        if !possible {
            return None;
        }
        let all = |piece: &Piece, holds: &dyn Fn(&Size) -> bool| {
            self.sizes.members(piece.sizes).all(holds)
        };
        let usable: Vec<usize> = (0..self.pieces.len())
            .filter(|index| {
                let piece = &self.pieces[*index];
                piece.sum < sum
                    && piece.sizes & !set == 0
                    && all(piece, &allowed)
                    && fits_alone(scenario, class, piece, &settled)
            })
            .collect();
        // Only what can be completed to the sum is worth a place.
        let mut steps = usable.clone();
        steps.dedup_by_key(|piece| self.ladder.step(*piece));
        let mut reached = vec![false; at + 1];
        reached[0] = true;
        for from in 0..at {
            if reached[from] {
                for piece in &steps {
                    if let Some(to) = self.ladder.with(from, *piece).filter(|to| *to <= at) {
                        reached[to] = true;
                    }
                }
            }
        }
        if !reached[at] {
            return None;
        }
        let rest = |piece: &usize| {
            self.ladder
                .without(at, *piece)
                .is_some_and(|from| reached[from])
        };
        let pieces: Vec<usize> = usable.into_iter().filter(|piece| rest(piece)).collect();
        let stubborn: Vec<bool> = pieces
            .iter()
            .map(|piece| !all(&self.pieces[*piece], &scales))
            .collect();
        let needs_stubborn = settled.fit == Fit::Over;
        if pieces.is_empty() || needs_stubborn && !stubborn.contains(&true) {
            return None;
        }
        let ends = self
            .cornered
            .then(|| Ends::of(scenario, self, &settled, &pieces));
        Some(Total {
            settled,
            ends,
            pieces,
            stubborn,
            needs_stubborn,
            at,
        })
    }

    /// Whether a cover by several runs is what its total says, as rounding can make it something else; and whether its runs can
    /// lie as is wished.
    pub fn is_valid(&self, scenario: &Scenario, cover: &Cover) -> bool {
        if cover.count() < 2 {
            return true;
        }
        let pieces = cover.runs.each().into_iter().map(|(piece, _)| piece);
        let tally = pieces.fold(Tally::NOTHING, |tally, piece| {
            tally.with(&self.pieces[piece])
        });
        let in_order = |rule: &SequenceRule| rule.allows(&self.pieces, cover, &mut 0) == Some(true);
        self.rule.as_ref().is_none_or(in_order)
            && settle(scenario, cover.settled.length, &self.sizes, tally) == Some(cover.settled)
    }

    /// The cover with the fewest runs, the least overhang and the least stretch, in this order, of those that are looked at: of each sum
    /// one or two with the fewest runs. Where wishes or rounding refuse these, others of the sum may do, so that `None` says nothing unless
    /// every cover is listed.
    ///
    /// And the fewest runs that any cover can have, or fewer where all of so many are refused.
    pub fn simplest(&self, scenario: &Scenario) -> Option<(Cover, usize)> {
        let cheapest = |total: &Total| Some(self.cheapest(total, &Prices::of_joints(total))?.cover);
        let several: Vec<Cover> = self.totals.iter().filter_map(cheapest).collect();
        let looked_at = self.listed.iter().chain(&several);
        let fewest = looked_at.map(Cover::count).min();
        let valid = several.into_iter();
        let valid = valid.filter(|cover| self.is_valid(scenario, cover));
        let all = self.listed.iter().cloned().chain(valid);
        let all = all.chain(self.placed(scenario));
        let simplest = all.min_by_key(|cover| {
            (
                cover.count(),
                cover.settled.overhang(),
                cover.settled.stretch(),
            )
        });
        simplest.zip(fewest)
    }

    /// The space of these covers alone.
    pub(super) fn with_listed(&self, listed: Vec<Cover>) -> CoverSpace<'s> {
        CoverSpace {
            sizes: self.sizes.clone(),
            pieces: self.pieces.clone(),
            listed,
            totals: Vec::new(),
            complete: true,
            cornered: self.cornered,
            stage: self.stage,
            rule: self.rule.clone(),
            ladder: Ladder::default(),
        }
    }

    /// Whether every cover is listed by itself.
    pub fn lists_all(&self) -> bool {
        self.complete && self.totals.is_empty()
    }

    /// What of the class is known before any search: a list of one cover. Others, that were not looked at, may have as few runs as
    /// `fewest`.
    pub fn with_cover(&self, cover: Cover, fewest: usize) -> ClassCovers<'s> {
        let complete_to = (cover.count() > fewest).then(|| fewest.saturating_sub(1));
        ClassCovers {
            sizes: self.sizes.clone(),
            pieces: self.pieces.clone(),
            covers: vec![cover],
            complete_to,
            every_piece: true,
            possible: None,
            least_overhang: self.overhangs().min().unwrap_or_default(),
            hurried: false,
        }
    }

    /// The fewest runs that a cover can have, or fewer where all of so many are refused; `None` where there is no cover.
    pub fn fewest_runs(&self) -> Option<usize> {
        let listed = self.listed.iter().map(Cover::count).min();
        if listed.is_some_and(|fewest| fewest <= 1) {
            return listed;
        }
        let fewest = |total: &Total| Some(self.cheapest(total, &Prices::of_joints(total))?.cost);
        let joints = self.totals.iter().filter_map(fewest).min();
        let several = joints.and_then(|joints| usize::try_from(joints + 1).ok());
        listed.into_iter().chain(several).min()
    }

    /// The most runs that a cover can have.
    pub fn most_runs(&self) -> usize {
        let shortest = self.pieces.iter().map(|piece| piece.sum).min();
        let most = |total: &Total| {
            shortest.map_or(1, |shortest| {
                total.settled.sum.nanometres() / shortest.nanometres().max(1)
            })
        };
        let most = self.totals.iter().map(most).max().unwrap_or(1);
        let most = usize::try_from(most).unwrap_or(usize::MAX).max(1);
        self.listed.iter().map(Cover::count).fold(most, usize::max)
    }

    /// Every pair of patterns that the ends of a strip can show, where they matter.
    pub fn end_phases(&self) -> BTreeSet<[Phase; 2]> {
        let listed = self.listed.iter().filter_map(|cover| cover.ends);
        let totals = self.totals.iter().filter_map(|total| total.ends.as_ref());
        let several = totals.flat_map(|ends| ends.patterns.iter().flatten().copied());
        listed.chain(several).map(|ends| ends.phases).collect()
    }

    /// Every overhang that a cover can have.
    pub fn overhangs(&self) -> impl Iterator<Item = Length> + '_ {
        let listed = self.listed.iter().map(|cover| cover.settled.overhang());
        listed.chain(self.totals.iter().map(|total| total.settled.overhang()))
    }
}
