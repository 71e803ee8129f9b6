//! Corners: which pattern each strip end shows, and how far the two at a corner miss each other.

use std::collections::{BTreeMap, BTreeSet};

use crate::cover::Phase;
use crate::master::forms::Terms;
use crate::program::{Program, Sense};
use crate::scenario::Term;
use crate::strips::{Corner, End};

/// The column that says that a strip shows these patterns at its ends.
#[derive(Clone, Debug)]
pub struct EndChoice {
    /// The strip.
    pub strip: usize,
    /// The patterns at its start and at its end.
    pub phases: [Phase; 2],
    /// b: 1 where it does.
    pub column: usize,
}

/// A class whose strips meet at corners: its members, and for each pair of end patterns the columns of covers that
/// show it.
pub(super) struct CorneredClass<'a> {
    pub members: &'a [usize],
    pub covers: BTreeMap<[Phase; 2], Vec<usize>>,
}

/// Adds the choice of end patterns for each strip of the classes and the mismatch of every corner.
pub(super) fn add(
    program: &mut Program,
    terms: &mut Terms,
    classes: &[CorneredClass<'_>],
    corners: &[Corner],
) -> Vec<EndChoice> {
    let mut choices: Vec<EndChoice> = Vec::new();
    for class in classes {
        let mut of_pair: BTreeMap<[Phase; 2], Vec<usize>> = BTreeMap::new();
        for strip in class.members {
            let mut columns = Vec::new();
            for phases in class.covers.keys() {
                let column = program.whole(0, 1);
                columns.push(column);
                of_pair.entry(*phases).or_default().push(column);
                choices.push(EndChoice {
                    strip: *strip,
                    phases: *phases,
                    column,
                });
            }
            program.row(
                columns.into_iter().map(|column| (column, 1)),
                Sense::Equal,
                1,
            );
        }
        for (phases, columns) in of_pair {
            let shown = columns.into_iter().map(|column| (column, 1));
            let covers = class.covers[&phases].iter().map(|column| (*column, -1));
            program.row(shown.chain(covers), Sense::Equal, 0);
        }
    }
    for corner in corners {
        add_corner(program, terms, &choices, corner);
    }
    choices
}

/// For one corner a column for each pair of patterns; each pattern of an end is in as many pairs as its strip shows it.
fn add_corner(program: &mut Program, terms: &mut Terms, choices: &[EndChoice], corner: &Corner) {
    let sides = corner.ends.map(|(strip, end)| {
        let of_strip = choices.iter().filter(move |choice| choice.strip == strip);
        let mut shown: BTreeMap<Phase, Vec<usize>> = BTreeMap::new();
        for choice in of_strip {
            let phase = choice.phases[usize::from(end == End::End)];
            shown.entry(phase).or_default().push(choice.column);
        }
        shown
    });
    let [one, other] = &sides;
    let mismatches: BTreeSet<_> = one
        .keys()
        .flat_map(|a| other.keys().map(|b| a.mismatch(b)))
        .collect();
    // A corner that is unplanned, or meets whatever is chosen, needs no columns.
    if mismatches.iter().all(|mismatch| mismatch.nanometres() == 0) {
        return;
    }
    let mut pairs: BTreeMap<(Phase, Phase), usize> = BTreeMap::new();
    for a in one.keys() {
        for b in other.keys() {
            let column = program.flow(1);
            pairs.insert((*a, *b), column);
            terms.add(
                Term::CornerMismatch,
                column,
                i128::from(a.mismatch(b).nanometres()),
            );
        }
    }
    for (phase, columns) in one {
        let of_phase = other.keys().map(|b| (pairs[&(*phase, *b)], 1));
        program.row(
            of_phase.chain(columns.iter().map(|column| (*column, -1))),
            Sense::Equal,
            0,
        );
    }
    for (phase, columns) in other {
        let of_phase = one.keys().map(|a| (pairs[&(*a, *phase)], 1));
        program.row(
            of_phase.chain(columns.iter().map(|column| (*column, -1))),
            Sense::Equal,
            0,
        );
    }
}
