//! Corners: which pattern each strip end shows, and how far the two at a corner miss each other.

use std::collections::BTreeMap;

use crate::columns::atoms::Atom;
use crate::columns::restricted::{EndChoice, Restricted};
use crate::cover::Phase;
use crate::program::Sense;
use crate::strips::{Corner, End};

impl Restricted<'_, '_> {
    /// Adds the choice of end patterns for each strip whose corners count, and the mismatch of every corner.
    pub(super) fn add_corners(&mut self, corners: &[Corner]) {
        for (number, class) in self.classes.iter().enumerate() {
            if !class.cornered {
                continue;
            }
            let space = &self.spaces[number];
            let phases = space.end_phases();
            for pair in &phases {
                let row = self.model.add_row(Sense::Equal, 0);
                self.end_rows.insert((number, *pair), row);
            }
            for strip in &class.members {
                let one = self.model.add_row(Sense::Equal, 1);
                for pair in &phases {
                    let row = self.end_rows[&(number, *pair)];
                    let column = self.add(vec![(one, 1), (row, 1)], 1, true, 1, Vec::new());
                    self.end_choices.push(EndChoice {
                        strip: *strip,
                        phases: *pair,
                        column,
                    });
                }
            }
        }
        for corner in corners {
            self.add_corner(corner);
        }
    }

    /// For one corner a column for each pair of patterns; each pattern of an end is in as many pairs as its strip shows
    /// it.
    fn add_corner(&mut self, corner: &Corner) {
        let sides = corner.ends.map(|(strip, end)| {
            let mut shown: BTreeMap<Phase, Vec<usize>> = BTreeMap::new();
            for choice in self
                .end_choices
                .iter()
                .filter(|choice| choice.strip == strip)
            {
                let phase = choice.phases[usize::from(end == End::End)];
                shown.entry(phase).or_default().push(choice.column);
            }
            shown
        });
        let mismatch = |a: &Phase, b: &Phase| a.mismatch(b);
        let pairs = || {
            let [one, other] = &sides;
            one.keys().flat_map(|a| other.keys().map(move |b| (*a, *b)))
        };
        // A corner that is unplanned, or meets whatever is chosen, needs no columns.
        if pairs().all(|(a, b)| mismatch(&a, &b).nanometres() == 0) {
            return;
        }
        let mut rows: [BTreeMap<Phase, usize>; 2] = Default::default();
        for (side, rows) in sides.iter().zip(&mut rows) {
            for (phase, columns) in side {
                let row = self.model.add_row(Sense::Equal, 0);
                rows.insert(*phase, row);
                for column in columns {
                    self.model.add_entry(*column, row, -1);
                }
            }
        }
        for (a, b) in pairs() {
            let missed = mismatch(&a, &b);
            let made_of = if missed.nanometres() > 0 {
                vec![(Atom::Mismatch(missed), 1)]
            } else {
                Vec::new()
            };
            self.add(
                vec![(rows[0][&a], 1), (rows[1][&b], 1)],
                1,
                false,
                0,
                made_of,
            );
        }
    }
}
