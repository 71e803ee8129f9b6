//! Corners: which pattern each strip end shows, and how far the two at a corner miss each other.
//!
//! Strips that meet at corners make a ring; alike rings (those of the copies of a quilt) are counted instead of told apart. That leaves more
//! points than there are plans: a point says only how many strips of each place in the ring show which patterns, and how many corners of
//! each place which pair. [`Ring::shared_out`] finds rings that add up to a point.

use std::collections::{BTreeMap, BTreeSet};

use crate::columns::atoms::Atom;
use crate::columns::restricted::Restricted;
use crate::cover::Phase;
use crate::program::Sense;
use crate::strips::{Corner, End};

/// Up to so many alike rings are told apart: then every point is a choice for each strip.
const FEW: usize = 3;
/// The most choices that are looked at for one ring.
const MOST_TRIED: usize = 10_000;

/// Rings that are alike.
#[derive(Clone, Debug)]
pub struct Ring {
    places: Vec<Place>,
    joins: Vec<Join>,
    /// How many there are.
    copies: usize,
}

/// A place in a ring.
#[derive(Clone, Debug)]
struct Place {
    /// The strip at this place, ring by ring.
    strips: Vec<usize>,
    choices: Vec<Choice>,
}

/// The patterns at both ends of a strip, and the column that counts the strips which show them.
#[derive(Clone, Debug)]
struct Choice {
    phases: [Phase; 2],
    column: usize,
}

/// A corner of the ring.
#[derive(Clone, Debug)]
struct Join {
    /// The places that meet there, and with which end.
    ends: [(usize, End); 2],
    /// The columns that count the corners with a pair of patterns; none where they meet whatever is chosen.
    pairs: BTreeMap<[Phase; 2], usize>,
}

/// What is left to share out, by place in [`Ring::places`] and in [`Ring::joins`].
struct Left {
    shown: Vec<Vec<i64>>,
    pairs: Vec<BTreeMap<[Phase; 2], i64>>,
}

impl Place {
    fn at(&self, choice: usize, end: End) -> Phase {
        self.choices[choice].phases[usize::from(end == End::End)]
    }
}

impl Ring {
    /// For each strip the patterns that it shows, so that strips and corners add up to what a point counts; `None` where no such rings were
    /// found.
    pub fn shared_out(&self, values: &[i64]) -> Option<Vec<(usize, [Phase; 2])>> {
        let counted = |choice: &Choice| values[choice.column];
        let of_place = |place: &Place| place.choices.iter().map(counted).collect();
        let of_join = |join: &Join| {
            let pairs = join.pairs.iter();
            pairs
                .map(|(pair, column)| (*pair, values[*column]))
                .collect()
        };
        let mut left = Left {
            shown: self.places.iter().map(of_place).collect(),
            pairs: self.joins.iter().map(of_join).collect(),
        };
        let mut shown = Vec::new();
        let mut copy = 0;
        while copy < self.copies {
            let mut chosen = Vec::new();
            let mut tries = MOST_TRIED;
            if !self.choose(&left, &mut chosen, &mut tries) {
                return None;
            }
            // As often as it can be: alike rings are found once.
            let times = self.times(&left, &chosen).min(self.copies - copy).max(1);
            self.take(&mut left, &chosen, i64::try_from(times).ok()?);
            for (place, choice) in self.places.iter().zip(&chosen) {
                let phases = place.choices[*choice].phases;
                let strips = place.strips[copy..copy + times].iter();
                shown.extend(strips.map(|strip| (*strip, phases)));
            }
            copy += times;
        }
        Some(shown)
    }

    /// Chooses for one place after the other what is left there, and at its corners with the places before.
    fn choose(&self, left: &Left, chosen: &mut Vec<usize>, tries: &mut usize) -> bool {
        let place = chosen.len();
        let Some(counts) = left.shown.get(place) else {
            return true;
        };
        for (choice, count) in counts.iter().enumerate() {
            if *count <= 0 {
                continue;
            }
            let Some(fewer) = tries.checked_sub(1) else {
                return false;
            };
            *tries = fewer;
            chosen.push(choice);
            if self.meets(left, chosen) && self.choose(left, chosen, tries) {
                return true;
            }
            chosen.pop();
        }
        false
    }

    /// Whether each corner of the place that was chosen last with those before is among what is left.
    fn meets(&self, left: &Left, chosen: &[usize]) -> bool {
        let last = chosen.len() - 1;
        let joins = self.joins.iter().zip(&left.pairs);
        joins
            .filter(|(join, _)| {
                let [one, other] = join.ends.map(|(place, _)| place);
                one.max(other) == last && !join.pairs.is_empty()
            })
            .all(|(join, pairs)| {
                pairs
                    .get(&self.pair(join, chosen))
                    .is_some_and(|count| *count > 0)
            })
    }

    fn pair(&self, join: &Join, chosen: &[usize]) -> [Phase; 2] {
        join.ends
            .map(|(place, end)| self.places[place].at(chosen[place], end))
    }

    /// How many rings like this are left.
    fn times(&self, left: &Left, chosen: &[usize]) -> usize {
        let strips = left.shown.iter().zip(chosen);
        let strips = strips.map(|(counts, choice)| counts[*choice]);
        let joins = self.joins.iter().zip(&left.pairs);
        let corners = joins
            .filter(|(join, _)| !join.pairs.is_empty())
            .filter_map(|(join, pairs)| pairs.get(&self.pair(join, chosen)).copied());
        let least = strips.chain(corners).min().unwrap_or(0);
        usize::try_from(least).unwrap_or(0)
    }

    fn take(&self, left: &mut Left, chosen: &[usize], times: i64) {
        for (counts, choice) in left.shown.iter_mut().zip(chosen) {
            counts[*choice] -= times;
        }
        for (join, pairs) in self.joins.iter().zip(&mut left.pairs) {
            if let Some(count) = pairs.get_mut(&self.pair(join, chosen)) {
                *count -= times;
            }
        }
    }
}

/// A ring as it stands in the quilt top: its strips in the order in which its corners name them, and its corners.
#[derive(Default)]
struct Found {
    strips: Vec<usize>,
    /// Places of the strips in the ring, and their ends.
    corners: Vec<[(usize, End); 2]>,
}

/// What alike rings have in common.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Shape {
    /// By place the class of the strips.
    classes: Vec<usize>,
    corners: Vec<[(usize, End); 2]>,
}

/// The rings of strips that meet at corners, and after them each other strip of `strips` by itself.
fn rings(strips: impl Iterator<Item = usize>, corners: &[Corner]) -> Vec<Found> {
    // Each strip's ring, by the first strip of the ring that was seen.
    let mut leads: BTreeMap<usize, usize> = strips.map(|strip| (strip, strip)).collect();
    fn lead(leads: &mut BTreeMap<usize, usize>, strip: usize) -> Option<usize> {
        let mut at = strip;
        while let Some(next) = leads.get(&at).copied().filter(|next| *next != at) {
            at = next;
        }
        leads.contains_key(&at).then(|| {
            leads.insert(strip, at);
            at
        })
    }
    let counted = corners.iter().filter_map(|corner| {
        let [(one, _), (other, _)] = corner.ends;
        let [one, other] = [lead(&mut leads, one)?, lead(&mut leads, other)?];
        leads.insert(one.max(other), one.min(other));
        Some(corner)
    });
    let counted: Vec<&Corner> = counted.collect();
    let all: Vec<usize> = leads.keys().copied().collect();
    let mut found: BTreeMap<usize, Found> = BTreeMap::new();
    let mut place_of: BTreeMap<usize, usize> = BTreeMap::new();
    let mut place = |ring: &mut Found, strip: usize| {
        *place_of.entry(strip).or_insert_with(|| {
            ring.strips.push(strip);
            ring.strips.len() - 1
        })
    };
    for corner in counted {
        let Some(first) = lead(&mut leads, corner.ends[0].0) else {
            continue;
        };
        let ring = found.entry(first).or_default();
        let ends = corner.ends.map(|(strip, end)| (place(ring, strip), end));
        ring.corners.push(ends);
    }
    for strip in all {
        let Some(first) = lead(&mut leads, strip) else {
            continue;
        };
        let ring = found.entry(first).or_default();
        place(ring, strip);
    }
    found.into_values().collect()
}

impl Restricted<'_, '_> {
    /// Adds the choice of end patterns for each strip whose corners count, and the mismatch of every corner.
    pub(super) fn add_corners(&mut self, corners: &[Corner]) {
        let mut class_of: BTreeMap<usize, usize> = BTreeMap::new();
        for (number, class) in self.classes.iter().enumerate() {
            if !class.cornered {
                continue;
            }
            class_of.extend(class.members.iter().map(|strip| (*strip, number)));
            for pair in self.shown_by(number) {
                let row = self.model.add_row(Sense::Equal, 0);
                self.end_rows.insert((number, pair), row);
            }
        }
        // Alike are rings of alike strips that meet in the same way.
        let mut alike: BTreeMap<Shape, Vec<Found>> = BTreeMap::new();
        for found in rings(class_of.keys().copied(), corners) {
            let shape = Shape {
                classes: found.strips.iter().map(|strip| class_of[strip]).collect(),
                corners: found.corners.clone(),
            };
            alike.entry(shape).or_default().push(found);
        }
        for (Shape { classes, .. }, copies) in alike {
            if copies.len() > FEW {
                self.add_ring(&classes, &copies);
                continue;
            }
            for copy in copies {
                self.add_ring(&classes, &[copy]);
            }
        }
    }

    /// The pairs of patterns that a class's strips can show, but for those that others stand for.
    fn shown_by(&self, class: usize) -> BTreeSet<[Phase; 2]> {
        let phases = self.spaces[class].end_phases().into_iter();
        phases.map(|pair| self.phases.pair(pair)).collect()
    }

    /// Adds alike rings: for each place the patterns that its strips show, and for each corner its pairs.
    fn add_ring(&mut self, classes: &[usize], copies: &[Found]) {
        let most = i64::try_from(copies.len()).unwrap_or(i64::MAX);
        let places: Vec<Place> = classes
            .iter()
            .enumerate()
            .map(|(place, class)| {
                let all = self.model.add_row(Sense::Equal, most);
                let phases = self.shown_by(*class);
                let choices = phases.iter().map(|pair| {
                    let row = self.end_rows[&(*class, *pair)];
                    Choice {
                        phases: *pair,
                        column: self.add(vec![(all, 1), (row, 1)], most, true, 1, Vec::new()),
                    }
                });
                Place {
                    choices: choices.collect(),
                    strips: copies.iter().map(|copy| copy.strips[place]).collect(),
                }
            })
            .collect();
        let corners = copies.first().map_or(&[][..], |copy| &copy.corners);
        let joins = corners
            .iter()
            .map(|ends| Join {
                ends: *ends,
                pairs: self.add_corner(&places, *ends, most),
            })
            .collect();
        self.rings.push(Ring {
            places,
            joins,
            copies: copies.len(),
        });
    }

    /// For a corner of so many rings a column for each pair of patterns; each pattern of an end is in as many pairs as there are strips that
    /// show it.
    fn add_corner(
        &mut self,
        places: &[Place],
        ends: [(usize, End); 2],
        most: i64,
    ) -> BTreeMap<[Phase; 2], usize> {
        let sides = ends.map(|(place, end)| {
            let mut shown: BTreeMap<Phase, Vec<usize>> = BTreeMap::new();
            for choice in &places[place].choices {
                let phase = choice.phases[usize::from(end == End::End)];
                shown.entry(phase).or_default().push(choice.column);
            }
            shown
        });
        let [one, other] = &sides;
        let pairs = || one.keys().flat_map(|a| other.keys().map(move |b| [*a, *b]));
        let mut columns = BTreeMap::new();
        // Where the patterns meet whatever is chosen, no columns are needed.
        if pairs().all(|[a, b]| a.mismatch(&b).nanometres() == 0) {
            return columns;
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
        for [a, b] in pairs() {
            let missed = a.mismatch(&b);
            let made_of = if missed.nanometres() > 0 {
                vec![(Atom::Mismatch(missed), 1)]
            } else {
                Vec::new()
            };
            let entries = vec![(rows[0][&a], 1), (rows[1][&b], 1)];
            // Of a single ring the choices of its strips leave one pair; of several, parts of pairs could add up.
            let column = self.add(entries, most, most > 1, 0, made_of);
            columns.insert([a, b], column);
        }
        columns
    }
}
