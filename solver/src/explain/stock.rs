//! What each class of strips can be stitched with, as far as an explanation speaks of it.

use std::collections::{BTreeSet, HashSet};

use crate::classes::{self, Class};
use crate::cover::{Cover, CoverSpace, Piece, PieceStore, Runs, Sizes, covers_of};
use crate::deadline::Deadline;
use crate::explain::LongestRun;
use crate::length::Length;
use crate::plan::{Plan, SegmentEntry};
use crate::scenario::{Hoop, Scenario};
use crate::strips::QuiltTop;
use crate::wishes::Wishes;

/// Ways to stitch a strip in one run that are kept for each class.
const MOST_SINGLES: usize = 8;

/// The classes of the strips that the plan holds.
pub struct Stock {
    /// The classes, in the order in which their strips come.
    pub classes: Vec<Stocked>,
    /// Whether no planned class is missing for want of time.
    pub complete: bool,
}

/// What a class can be stitched with.
pub struct Stocked {
    /// The class. Strips with and without counted corners are in one.
    pub class: Class,
    /// No covering of such a strip has fewer runs.
    pub fewest_runs: u64,
    /// Ways to stitch a strip in one run, the least overhang and stretch first; not always all of them.
    pub singles: Vec<Single>,
    /// No run of such a strip is longer, where it has to be split; `None` where that is not known.
    pub longest: Option<LongestRun>,
}

/// A way to stitch a strip in one run.
#[derive(Clone, Debug)]
pub struct Single {
    /// Its stitched length.
    pub stitched: Length,
    /// Margin along, both ends together.
    pub margin_along: Length,
    /// Margin across, both sides together.
    pub margin_across: Length,
    /// Its segments.
    pub segments: Vec<SegmentEntry>,
}

impl Stock {
    /// Looks at every class of strips that the plan holds.
    pub fn of(scenario: &Scenario, top: &QuiltTop, plan: &Plan, deadline: &Deadline) -> Stock {
        let left_out: HashSet<&str> = (plan.unplanned.iter())
            .map(|entry| entry.strip.as_str())
            .collect();
        let mut stock = Stock {
            classes: Vec::new(),
            complete: true,
        };
        let store = PieceStore::of(scenario);
        for class in classes::of(top, &Wishes::of(scenario, top), false) {
            let first = class.members.first().map(|strip| &top.strips[*strip].id);
            if first.is_none_or(|id| left_out.contains(id.as_str())) {
                continue;
            }
            if deadline.over() {
                stock.complete = false;
                break;
            }
            stock.classes.push(Stocked::of(&store, class, deadline));
        }
        stock
    }
}

impl Stocked {
    fn of(store: &PieceStore<'_>, class: Class, deadline: &Deadline) -> Stocked {
        let scenario = store.scenario;
        let space = CoverSpace::of(store, &class, deadline);
        let fewest_runs = match space.fewest_runs().filter(|_| space.complete) {
            Some(fewest) => fewest as u64,
            // A list tells at least how many there are, even where it was cut.
            None => {
                let fewest = covers_of(store, &class, deadline).fewest_runs();
                u64::try_from(fewest).unwrap_or(1)
            }
        };
        let runs = space.complete.then(|| all_runs(&space));
        Stocked {
            fewest_runs,
            singles: singles(&space),
            longest: (runs.as_ref())
                .filter(|_| fewest_runs > 1)
                .and_then(|runs| longest(scenario, &class, &space, runs)),
            class,
        }
    }
}

/// The segments of a piece.
fn segments(sizes: &Sizes<'_>, piece: &Piece) -> Vec<SegmentEntry> {
    let mut segments = Vec::new();
    for (bit, count) in &piece.repeats {
        let size = sizes.list[*bit].1;
        let mut left = *count;
        while left > 0 {
            let repeats = left.min(size.repeats);
            segments.push(SegmentEntry {
                size: size.id.clone(),
                repeats,
            });
            left -= repeats;
        }
    }
    segments
}

fn singles(space: &CoverSpace<'_>) -> Vec<Single> {
    let mut covers: Vec<(&Cover, &Piece)> = (space.listed.iter())
        .filter_map(|cover| match &cover.runs {
            Runs::Single(piece) => Some((cover, &space.pieces[*piece])),
            Runs::Several { .. } | Runs::Rest { .. } | Runs::Nothing => None,
        })
        .collect();
    covers.sort_by_key(|(cover, piece)| {
        let settled = cover.settled;
        let margins = piece.margin_along + piece.margin_across;
        (settled.overhang(), settled.stretch(), margins)
    });
    (covers.into_iter().take(MOST_SINGLES))
        .map(|(cover, piece)| Single {
            stitched: cover.settled.stitched(piece.sum),
            margin_along: piece.margin_along,
            margin_across: piece.margin_across,
            segments: segments(&space.sizes, piece),
        })
        .collect()
}

/// Stitched length and piece (index) of every run that a covering can have, and perhaps of more.
fn all_runs(space: &CoverSpace<'_>) -> BTreeSet<(Length, usize)> {
    let listed = space.listed.iter().flat_map(|cover| {
        let runs = cover.runs.each().into_iter();
        runs.map(|(piece, _)| (cover.settled, piece))
    });
    let several = space.totals.iter().flat_map(|total| {
        let pieces = total.pieces.iter();
        pieces.map(|piece| (total.settled, *piece))
    });
    (listed.chain(several))
        .map(|(settled, piece)| (settled.stitched(space.pieces[piece].sum), piece))
        .collect()
}

fn takes(hoop: &Hoop, along: Length, across: Length) -> bool {
    hoop.ways().any(|way| along <= way.0 && across <= way.1)
}

fn longest(
    scenario: &Scenario,
    class: &Class,
    space: &CoverSpace<'_>,
    runs: &BTreeSet<(Length, usize)>,
) -> Option<LongestRun> {
    let (length, piece) = runs.last()?;
    let piece = &space.pieces[*piece];
    let along = *length + piece.margin_along;
    let across = class.width + piece.margin_across;
    let area = |hoop: &&Hoop| -> i128 {
        let sides = hoop.field.map(|side| i128::from(side.nanometres()));
        sides.iter().product()
    };
    let taking = scenario.hoops.iter();
    let hoop = taking
        .filter(|hoop| takes(hoop, along, across))
        .min_by_key(area)?;
    Some(LongestRun {
        length: length.in_unit(scenario.unit),
        segments: segments(&space.sizes, piece),
        hoop: hoop.id.clone(),
    })
}
