//! What a covering adds up to, how that meets the strip's length, and what its ends can show.

use crate::classes::Class;
use crate::cover::phase::within;
use crate::cover::{Fit, Phase, Piece, Runs, Settled, SizeSet, Sizes, piece};
use crate::length::Length;
use crate::scenario::{Scenario, Size};
use crate::strips::{End, Stage};
use crate::wishes::leaves;

/// What a set of runs adds up to.
#[derive(Clone, Copy)]
pub(crate) struct Tally {
    pub sum: Length,
    pub sizes: SizeSet,
    pub repeats: i64,
}

impl Tally {
    pub const NOTHING: Tally = Tally {
        sum: Length::ZERO,
        sizes: 0,
        repeats: 0,
    };

    pub fn with(self, piece: &Piece) -> Tally {
        Tally {
            sum: self.sum + piece.sum,
            sizes: self.sizes | piece.sizes,
            repeats: self.repeats + piece.count(),
        }
    }
}

/// Sum and scale of a covering, where it is valid.
pub(crate) fn settle(
    scenario: &Scenario,
    length: Length,
    sizes: &Sizes<'_>,
    tally: Tally,
) -> Option<Settled> {
    let settled = |fit| Settled {
        length,
        sum: tally.sum,
        fit,
    };
    let difference = tally.sum - length;
    if difference.nanometres().abs() <= tally.repeats {
        return Some(settled(Fit::Exact));
    }
    let range = sizes.scale(tally.sizes);
    if within(range.least, range.most, tally.sum, length) {
        return Some(settled(Fit::Scaled));
    }
    // Left out, a segment must leave the strip uncovered, also when what is left counts as equal to its length.
    let needed = |size: &Size| {
        let repeats = if size.stop_early {
            1
        } else {
            i64::from(size.repeats)
        };
        difference + Length::from_nanometres(tally.repeats - repeats) < piece::step(size)
    };
    let covers = difference > Length::ZERO && sizes.members(tally.sizes).all(needed);
    let most = scenario.rules.max_overhang;
    let allowed = most.is_none_or(|most| difference <= most);
    (covers && allowed).then(|| settled(Fit::Over))
}

/// Whether some hoop that the wishes leave takes a run by itself.
pub(super) fn fits_alone(
    scenario: &Scenario,
    class: &Class,
    piece: &Piece,
    settled: &Settled,
) -> bool {
    let along = settled.stitched(piece.sum) + piece.margin_along;
    let across = class.width + piece.margin_across;
    let hoops = scenario.hoops.iter().enumerate();
    let mut allowed = hoops.filter(|(hoop, _)| leaves(class.wishes.hoops, *hoop));
    let takes = |way: (Length, Length, bool)| along <= way.0 && across <= way.1;
    allowed.any(|(_, hoop)| hoop.ways().any(takes))
}

/// The repeats that can stand at the start and at the end, with the outer runs laid that way round.
pub(super) fn end_repeats(
    sizes: &Sizes<'_>,
    pieces: &[Piece],
    runs: &Runs,
) -> Vec<([Length; 2], Runs)> {
    let mut options = Vec::new();
    match runs {
        Runs::Single(index) => {
            let piece = &pieces[*index];
            let repeats = sizes.repeats(piece.sizes);
            for start in &repeats {
                for end in &repeats {
                    if start != end || can_stand_at_both_ends(sizes, piece, *start) {
                        options.push(([*start, *end], runs.clone()));
                    }
                }
            }
        }
        // No corner looks at the end where a rest butts up.
        Runs::Rest { outer, .. } => {
            let repeats = sizes.repeats(pieces[*outer].sizes).into_iter();
            options.extend(repeats.map(|repeat| ([repeat; 2], runs.clone())));
        }
        Runs::Nothing => {}
        Runs::Several { outer, inner } => {
            let mut ways = vec![*outer, [outer[1], outer[0]]];
            ways.dedup();
            for outer in ways {
                for start in sizes.repeats(pieces[outer[0]].sizes) {
                    for end in sizes.repeats(pieces[outer[1]].sizes) {
                        let inner = inner.clone();
                        options.push(([start, end], Runs::Several { outer, inner }));
                    }
                }
            }
        }
    }
    options
}

/// Whether one run can show the same repeat at both ends: it has no other, or two segments with it.
fn can_stand_at_both_ends(sizes: &Sizes<'_>, piece: &Piece, repeat: Length) -> bool {
    let with = |(bit, _): &&(usize, u32)| sizes.list[*bit].1.repeat == repeat;
    let segments = piece.repeats.iter().filter(with);
    let segments = segments.map(|used| u64::from(piece::most_segments(sizes, *used)));
    sizes.repeats(piece.sizes).len() == 1 || segments.sum::<u64>() >= 2
}

/// Where the pattern stands at the two ends; the end where a rest butts up shows what the other one does.
pub(crate) fn phases(
    scenario: &Scenario,
    stage: Stage,
    settled: &Settled,
    repeats: [Length; 2],
) -> [Phase; 2] {
    let align = scenario.rules.align;
    let phase = |end: End| settled.phase(repeats[usize::from(end == End::End)], stage, align, end);
    match stage.butts() {
        Some(End::Start) => [phase(End::End); 2],
        Some(End::End) => [phase(End::Start); 2],
        None => [phase(End::Start), phase(End::End)],
    }
}
