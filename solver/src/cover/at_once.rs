//! What covers a class at once, when the time is over: one run, or equal runs and one that makes up what is left.

use crate::classes::Class;
use crate::cover::class_covers::{done, pieces_of};
use crate::cover::enumerate::Search;
use crate::cover::piece::Extent;
use crate::cover::sums::shortest_sum;
use crate::cover::{ClassCovers, Fit, PieceStore, Settled, SizeSet, Sizes, Tally};
use crate::length::Length;
use crate::strips::Stage;

/// So many runs before and after the one whose sum is nearest are tried to make up what is left.
const NEAR: usize = 8;
/// The most equal runs that are tried.
const MOST_EQUAL: i64 = 10_000;
/// So many of the longest runs are tried.
const FEW_LONG: usize = 4;

/// Covers in one run, or a covering by equal runs and one more, made of what is listed quickly.
pub(super) fn covers_at_once<'s>(store: &PieceStore<'s>, class: &Class) -> ClassCovers<'s> {
    let scenario = store.scenario;
    let sizes = Sizes::of_class(scenario, class);
    if let Stage::Done { ends } = class.stage {
        return done(sizes, class.length, ends);
    }
    let (pieces, only_alone) = pieces_of(store, &sizes, class, Extent::OneSizeEach);
    let mut search = Search::of(scenario, class, &sizes, &pieces);
    search.single_runs();
    if !only_alone && search.found.is_empty() {
        search.equal_runs();
    }
    let covers = search.found;
    // Of covers by several runs nothing is known but that each run is no longer than the longest.
    let longest = pieces
        .list
        .first()
        .map_or(1, |piece| piece.sum.nanometres());
    let shortest = shortest_sum(&sizes, class.length).nanometres();
    let fewest = usize::try_from(-(-shortest).div_euclid(longest)).unwrap_or(0);
    let complete_to = match (pieces.complete, only_alone) {
        (false, _) => Some(0),
        (true, true) => None,
        (true, false) => Some(fewest.saturating_sub(1).max(1)),
    };
    ClassCovers {
        complete_to,
        every_piece: pieces.complete,
        possible: None,
        least_overhang: Length::ZERO,
        hurried: true,
        covers,
        sizes,
        pieces: pieces.list,
    }
}

impl Search<'_, '_> {
    /// Some coverings by one long run, as often as it goes in or once less, and a run that makes up what is left.
    fn equal_runs(&mut self) {
        for long in self.long_runs() {
            let sum = self.pieces[long].sum;
            let often = self.class.length.nanometres() / sum.nanometres().max(1);
            for often in [often, often - 1] {
                if !(1..=MOST_EQUAL).contains(&often) {
                    continue;
                }
                let left = self.class.length - sum * often;
                let near = self.pieces.partition_point(|piece| piece.sum >= left);
                let nearest = near.saturating_sub(NEAR)..(near + NEAR).min(self.pieces.len());
                for last in nearest.map(Some).chain([None]) {
                    self.keep_equal(long, often, last);
                    if !self.found.is_empty() {
                        return;
                    }
                }
            }
        }
    }

    /// The longest runs that some hoop takes unscaled: a few of all, and one of each size by itself.
    fn long_runs(&self) -> Vec<usize> {
        let fits = |index: &usize| {
            let piece = &self.pieces[*index];
            let settled = Settled {
                length: self.class.length,
                sum: piece.sum,
                fit: Fit::Over,
            };
            self.fits_alone(piece, &settled)
        };
        let fitting = || (0..self.pieces.len()).filter(fits);
        let of_size =
            |bit: usize| fitting().find(|index| self.pieces[*index].sizes == (1 as SizeSet) << bit);
        let alone = (0..self.sizes.list.len()).filter_map(of_size);
        let mut long: Vec<usize> = fitting().take(FEW_LONG).chain(alone).collect();
        long.sort_unstable();
        long.dedup();
        long
    }

    /// Keeps the covering by a piece so many times, and another one, if it is valid.
    fn keep_equal(&mut self, long: usize, often: i64, last: Option<usize>) {
        let piece = &self.pieces[long];
        let equal = Tally {
            sum: piece.sum * often,
            sizes: piece.sizes,
            repeats: piece.count() * often,
        };
        let tally = last.map_or(equal, |last| equal.with(&self.pieces[last]));
        let is_one_run = often == 1 && last.is_none();
        if let Some(settled) = self.settle(tally).filter(|_| !is_one_run) {
            let mut chosen = vec![long; usize::try_from(often).unwrap_or(0)];
            chosen.extend(last);
            chosen.sort_unstable();
            self.keep_roles(settled, &chosen);
        }
    }
}
