//! The kinds of pieces that a plan lists of a cloth, against those that it needs.

use std::collections::HashMap;

use super::wanted::{Cloth, Wanted, may_lie, read};
use super::{is_told, parts};
use crate::check::place::Place;
use crate::check::report::{Report, quoted};
use crate::cutting::Lay;
use crate::job::{ClothCuts, CutPiece};
use crate::length::Length;
use crate::plan::Plan;
use crate::scenario::Scenario;

/// A kind of piece whose place in a cutting can be judged.
pub(super) struct Kind {
    /// Its exact sides.
    pub(super) sides: [Length; 2],
    /// Which ways its pieces may lie, all of them.
    lays: Vec<Lay>,
    pub(super) count: u32,
    /// Which of the cloth's kinds it is, from 0.
    pub(super) index: usize,
}

impl Kind {
    /// Pieces of this size that may all lie one way.
    pub(super) fn of(sides: [Length; 2], lay: Lay, count: u32, index: usize) -> Kind {
        Kind {
            sides,
            lays: vec![lay],
            count,
            index,
        }
    }

    pub(super) fn may_lie(&self, lengthwise: bool) -> bool {
        self.lays.iter().all(|lay| may_lie(*lay, lengthwise))
    }
}

/// The wanted pieces by what they are for, and which of them are listed.
struct Open<'w> {
    by_name: HashMap<&'w str, Vec<usize>>,
    wanted: &'w [Wanted],
}

impl<'w> Open<'w> {
    fn of(wanted: &'w [Wanted]) -> Open<'w> {
        let mut by_name: HashMap<&str, Vec<usize>> = HashMap::new();
        for (index, piece) in wanted.iter().enumerate() {
            by_name.entry(&piece.name).or_default().push(index);
        }
        Open { by_name, wanted }
    }

    /// Takes a piece of this name, if there is one left: one of this size rather than another, as a strip may be called like a
    /// cornerstone.
    fn take(&mut self, name: &str, sides: [Length; 2]) -> Option<&'w Wanted> {
        let left = self.by_name.get_mut(name)?;
        let alike = |index: &usize| self.wanted[*index].sides == sides;
        let which = left.iter().rposition(alike);
        let index = match which {
            Some(which) => left.swap_remove(which),
            None => left.pop()?,
        };
        Some(&self.wanted[index])
    }

    /// Those that are left, in their order.
    fn left(self) -> Vec<&'w Wanted> {
        let mut left: Vec<usize> = self.by_name.into_values().flatten().collect();
        left.sort_unstable();
        left.into_iter().map(|index| &self.wanted[index]).collect()
    }
}

/// Checks the kinds of pieces. Answers with them by their marks.
pub(super) fn check<'c>(
    cloth: &Cloth<'_>,
    scenario: &Scenario,
    plan: &Plan,
    cuts: &'c ClothCuts,
    place: Place<'_>,
    report: &mut Report,
) -> HashMap<&'c str, Kind> {
    let mut wanted = cloth.wanted.clone();
    if !cloth.long.is_empty() {
        let mut parts = parts::listed(scenario, cuts);
        for long in &cloth.long {
            wanted.extend(long.wanted(parts.get_mut(long.of_parts.as_str()), place, report));
        }
    }
    let mut open = Open::of(&wanted);
    let mut kinds = HashMap::new();
    let of_pieces = place.at("pieces");
    for (index, piece) in cuts.pieces.iter().enumerate() {
        let place = of_pieces.at(index);
        let kind = kind(scenario, piece, index, &mut open, place, report);
        let Some(kind) = kind else {
            continue;
        };
        add_marked(&mut kinds, piece, kind, place, report);
    }
    let told = is_told(cloth, plan);
    for missing in open.left() {
        if cloth.fits(missing) || !told {
            report.broken(
                of_pieces,
                "piece-missing",
                format_args!(
                    "No piece is for {}, which needs {} × {}.",
                    quoted(&missing.name),
                    report.show(missing.sides[0]),
                    report.show(missing.sides[1])
                ),
            );
        }
    }
    kinds
}

/// Adds a kind by its mark, which no other has.
pub(super) fn add_marked<'c>(
    kinds: &mut HashMap<&'c str, Kind>,
    piece: &'c CutPiece,
    kind: Kind,
    place: Place<'_>,
    report: &mut Report,
) {
    if kinds.insert(piece.mark.as_str(), kind).is_some() {
        report.broken(
            place.at("mark"),
            "mark-twice",
            format_args!(
                "The mark {} is used before; each kind of piece has its own.",
                quoted(&piece.mark)
            ),
        );
    }
}

/// Checks one kind of piece; `None` where nothing can be made out of it.
fn kind(
    scenario: &Scenario,
    piece: &CutPiece,
    index: usize,
    open: &mut Open<'_>,
    place: Place<'_>,
    report: &mut Report,
) -> Option<Kind> {
    if usize::try_from(piece.count) != Ok(piece.uses.len()) {
        report.broken(
            place.at("count"),
            "wrong-piece-count",
            format_args!(
                "The count is {}; what they are for is told of {}.",
                piece.count,
                piece.uses.len()
            ),
        );
    }
    let printed = [0, 1].map(|side| read(scenario, &piece.size[side]));
    let mut sides = None;
    let mut lays = Vec::new();
    for (number, usage) in piece.uses.iter().enumerate() {
        let Some(wanted) = open.take(usage, printed) else {
            report.broken(
                place.at("uses").at(number),
                "unknown-use",
                format_args!(
                    "No piece, or no further one, of this cloth is needed for {}.",
                    quoted(usage)
                ),
            );
            continue;
        };
        if !lays.contains(&wanted.lay) {
            lays.push(wanted.lay);
        }
        // Alike pieces are compared once.
        if sides == Some(wanted.sides) {
            continue;
        }
        for (side, exact) in wanted.sides.into_iter().enumerate() {
            report.compare(
                place.at("size").at(side),
                "wrong-piece-size",
                format_args!("Side {} of the piece for {}", side + 1, quoted(usage)),
                &piece.size[side],
                exact,
            );
        }
        sides = sides.or(Some(wanted.sides));
    }
    Some(Kind {
        sides: sides?,
        lays,
        count: piece.count,
        index,
    })
}
