//! The covers of a class: which pieces they may have, and as many as are listed.

use crate::classes::Class;
use crate::cover::at_once::covers_at_once;
use crate::cover::enumerate::Search;
use crate::cover::nearest::nearest;
use crate::cover::piece::{Extent, Pieces};
use crate::cover::sums::{ROUNDING, longest_sum, shortest_sum};
use crate::cover::{
    Cover, EndPatterns, Fit, Phase, Piece, PieceList, PieceStore, Runs, Settled, Sizes, Tally,
    fits_alone, settle,
};
use crate::deadline::Deadline;
use crate::length::Length;
use crate::scenario::{DoneEnd, Scenario};
use crate::strips::Stage;

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

/// The same; where the list was cut before there was a cover, one cover of those that are missing, if it is found. Where it is not, and
/// once the time is over, any cover will do that is found at once.
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
    let mut cut = None;
    for extent in [store.extent(deadline), Extent::Every] {
        if deadline.over() {
            break;
        }
        let covers = listed_or_nearest(store, class, extent, deadline);
        if known(&covers) {
            return covers;
        }
        if extent == Extent::Every && !deadline.over() {
            cut = Some(covers);
            break;
        }
    }
    let covers = covers_at_once(store, class);
    if known(&covers) {
        return covers;
    }
    match cut {
        Some(cut) => cut,
        None if store.second_look() => {
            listed_or_nearest(store, class, Extent::Every, &Deadline::never())
        }
        None => covers,
    }
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
    // Among pieces that are too many a longer strip would be looked for in vain.
    if !is_within_a_field(store.scenario, class) {
        return None;
    }
    let range = shortest_sum(sizes, class.length)..=longest_sum(sizes, class.length);
    Some(store.within(sizes, class, range, extent))
}

/// Whether some field is as long as the strips of a class, but for rounding: else no run covers one by itself.
fn is_within_a_field(scenario: &Scenario, class: &Class) -> bool {
    let fields = scenario.hoops.iter().flat_map(|hoop| hoop.ways());
    let longest = fields.map(|(along, _, _)| along).max();
    longest.is_some_and(|longest| class.length - ROUNDING <= longest)
}

/// Whether some owned hoop takes the strips of a class in one run; `None` where the pieces are too many to tell, or strips may
/// be split anyway.
pub fn taken_in_one_run(store: &PieceStore<'_>, class: &Class) -> Option<bool> {
    let scenario = store.scenario;
    let sizes = Sizes::of(scenario, class.design, &class.sizes(scenario));
    if !scenario.rules.split_short && !is_within_a_field(scenario, class) {
        return Some(false);
    }
    let pieces = alone(store, &sizes, class, Extent::Every)?;
    let taken = has_cover(scenario, class, &sizes, &pieces);
    (taken || pieces.complete).then_some(taken)
}

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
