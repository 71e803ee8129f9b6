//! Kinds of runs: what matters of a run when hoopings are filled.

use std::collections::BTreeMap;

use crate::length::Length;
use crate::wishes::HoopMask;

/// Which ends of a run stay open for the next run to butt up to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Openness {
    /// None: the run is the whole strip.
    Closed,
    /// One: the first or the last of several runs.
    Outer,
    /// Both: a run between others.
    Inner,
}

/// All that matters of a run when hoopings are filled.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Kind {
    /// Which ends stay open.
    pub openness: Openness,
    /// The class of the strip, where the run is one of several: two runs of one strip never share a hooping. Also where a
    /// wish limits what it shares a hooping with.
    pub class: Option<usize>,
    /// The hoops that it may be stitched in.
    pub hoops: HoopMask,
    /// t: stitched length.
    pub length: Length,
    /// w: finished width.
    pub width: Length,
    /// m: margin along, both ends together.
    pub margin_along: Length,
    /// a: margin across, both sides together.
    pub margin_across: Length,
}

impl Kind {
    /// Whether a place made for this kind can take a run of kind `other` in its stead.
    pub fn takes(&self, other: &Kind) -> bool {
        let same_strips =
            other.class.is_none() || self.class == other.class && self.openness >= other.openness;
        same_strips
            && self.hoops & !other.hoops == 0
            && self.length >= other.length
            && self.width >= other.width
            && self.margin_along >= other.margin_along
            && self.margin_across >= other.margin_across
    }
}

/// A table of kinds, each with a number.
#[derive(Clone, Default, Debug)]
pub struct Kinds {
    numbers: BTreeMap<Kind, usize>,
    /// The kinds by number.
    pub list: Vec<Kind>,
}

impl Kinds {
    /// The number of a kind, new or known.
    pub fn number(&mut self, kind: Kind) -> usize {
        let next = self.list.len();
        let number = *self.numbers.entry(kind).or_insert(next);
        if number == next {
            self.list.push(kind);
        }
        number
    }

    /// The number of a kind, if it is in the table.
    pub fn known(&self, kind: &Kind) -> Option<usize> {
        self.numbers.get(kind).copied()
    }

    /// Lets one kind stand for each: kinds are numbered anew, and what is known by a kind's number or by the kind itself is then that of its
    /// stand-in. Returns the new number for each old one.
    pub fn stand_in(&mut self, by: &[usize]) -> Vec<usize> {
        let mut kinds = Kinds::default();
        let new: Vec<usize> = by.iter().map(|by| kinds.number(self.list[*by])).collect();
        let known = self.numbers.iter().map(|(kind, old)| (*kind, new[*old]));
        kinds.numbers = known.collect();
        *self = kinds;
        new
    }

    /// Which places can be given to which kinds, step by step: pairs (place, kind) from which every allowed
    /// exchange follows by going from one to the next.
    pub fn exchanges(&self) -> Vec<(usize, usize)> {
        let count = self.list.len();
        let strictly = |strong: usize, weak: usize| {
            strong != weak && self.list[strong].takes(&self.list[weak])
        };
        let below: Vec<Vec<usize>> = (0..count)
            .map(|strong| (0..count).filter(|weak| strictly(strong, *weak)).collect())
            .collect();
        let mut pairs = Vec::new();
        for strong in 0..count {
            // What takes another comes before it, as it takes more: what is not reached by then is reached directly.
            let mut ordered = below[strong].clone();
            ordered.sort_by_key(|weak| std::cmp::Reverse(below[*weak].len()));
            let mut is_reached = vec![false; count];
            let mut direct = Vec::new();
            for weak in ordered {
                if !is_reached[weak] {
                    direct.push(weak);
                    for lesser in &below[weak] {
                        is_reached[*lesser] = true;
                    }
                }
            }
            direct.sort_unstable();
            pairs.extend(direct.into_iter().map(|weak| (strong, weak)));
        }
        pairs
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::Drawn;
    use crate::wishes::EVERY_HOOP;

    /// From the pairs follows by going on from one to the next just which kinds take which, and from no fewer of them.
    #[test]
    fn exchanges_are_the_steps_of_what_takes_what() {
        let mut drawn = Drawn(3);
        let mut steps = 0;
        for case in 0..200 {
            let mut kinds = Kinds::default();
            for _ in 0..12 {
                let openness = [Openness::Closed, Openness::Outer, Openness::Inner];
                let [length, width, margin] =
                    [9, 2, 3].map(|end| Length::from_nanometres(1 + drawn.below(end) as i64));
                kinds.number(Kind {
                    openness: openness[drawn.index(3)],
                    class: Some(drawn.index(2)),
                    hoops: EVERY_HOOP,
                    length,
                    width,
                    margin_along: margin,
                    margin_across: margin,
                });
            }
            let count = kinds.list.len();
            let follow = |pairs: &[(usize, usize)]| {
                let mut follows = vec![vec![false; count]; count];
                for (strong, weak) in pairs {
                    follows[*strong][*weak] = true;
                }
                for (middle, strong, weak) in (0..count).flat_map(|middle| {
                    (0..count)
                        .flat_map(move |strong| (0..count).map(move |weak| (middle, strong, weak)))
                }) {
                    follows[strong][weak] |= follows[strong][middle] && follows[middle][weak];
                }
                follows
            };
            let takes = |strong: usize| {
                let takes =
                    |weak: usize| strong != weak && kinds.list[strong].takes(&kinds.list[weak]);
                (0..count).map(takes).collect::<Vec<bool>>()
            };
            let takes: Vec<Vec<bool>> = (0..count).map(takes).collect();
            let pairs = kinds.exchanges();
            assert_eq!(follow(&pairs), takes, "case {case}");
            for at in 0..pairs.len() {
                let mut fewer = pairs.clone();
                fewer.remove(at);
                assert_ne!(follow(&fewer), takes, "case {case}");
            }
            steps += pairs.len();
        }
        assert!(steps > 1_000, "{steps}");
    }
}
