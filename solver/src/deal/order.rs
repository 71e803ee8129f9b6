//! The order of hoopings whose runs are known: no gap is ever filled in, with the fewest hoop changes.
//!
//! The order rule is simple, since the order of the inner runs along a strip is free: of a strip's runs the last to be
//! stitched is an outer one, and with growth one way the first to be stitched is the other outer one. Looked at from
//! the last hooping backwards, a hooping can be taken as soon as every strip that has an inner run in it has an outer
//! run taken already. What can be taken stays so, hence taking all that can be taken in the hoop at hand never harms,
//! and only the sequence of hoops has to be searched. Strips for which that order is told are left to [`sequenced`].

use std::collections::{BTreeMap, BTreeSet, HashSet};

use crate::deadline::Deadline;
use crate::deal::{Dealt, Job, sequenced};
use crate::scenario::Growth;

/// With growth one way, each strip with inner runs can be stitched from either end. Up to this many strips all choices
/// are tried.
const MOST_TURNED: u32 = 10;
/// Of more than this none is turned around.
const MANY: u32 = 20;
/// The most states of one search.
const MOST_STATES: usize = 5_000;

/// What was found.
pub(super) struct Ordered {
    /// Hoop changes, and the hoopings in the order of the work; only where better than what was known.
    pub best: Option<(usize, Vec<usize>)>,
    /// Whether nothing better was left out.
    pub complete: bool,
}

/// For each hooping the sets of hoopings of which one has to come later.
pub(super) type Later = Vec<Vec<Vec<usize>>>;

/// The hoopings of a strip's outer runs, the one first that is likely to begin it, and of its inner ones.
type Long = (usize, usize, Vec<usize>);

/// What the order has to keep to, beside that of each strip's own runs.
#[derive(Clone, Copy)]
pub(super) struct Rules<'a> {
    /// Where the next run of a strip may butt up.
    pub growth: Growth,
    /// The strips whose hoopings come before all others.
    pub first: &'a BTreeSet<usize>,
    /// By strip the index of the run that begins it, where that is known of a way that is likely to work. With growth one way it is
    /// looked at where strips with inner runs are too many to try all ways.
    pub begins: &'a BTreeMap<usize, usize>,
    /// Until when orders are searched for: what is not found by then is not said to be impossible.
    pub deadline: &'a Deadline,
}

impl Rules<'_> {
    /// What has to come later than each hooping, whole strips in several runs set aside: the outer run of a rest later than its
    /// inner ones (`rests`: inner, outer), and all hoopings that hold none of the first strips later than those that do.
    fn later(&self, hoopings: &[Dealt], rests: &[(usize, usize)]) -> Later {
        let mut later = self.later_than_first(hoopings);
        for (inner, outer) in rests {
            later[*inner].push(vec![*outer]);
        }
        later
    }

    fn later_than_first(&self, hoopings: &[Dealt]) -> Later {
        if self.first.is_empty() {
            return vec![Vec::new(); hoopings.len()];
        }
        let is_first = |hooping: &Dealt| {
            let mut runs = hooping.lanes.iter().flatten();
            runs.any(|(strip, _)| self.first.contains(strip))
        };
        let first: Vec<bool> = hoopings.iter().map(is_first).collect();
        let others: Vec<Vec<usize>> = (0..hoopings.len())
            .filter(|number| !first[*number])
            .map(|number| vec![number])
            .collect();
        let later = |first: &bool| if *first { others.clone() } else { Vec::new() };
        first.iter().map(later).collect()
    }
}

/// The hooping of each run: strip, and index into its job's runs.
pub(super) fn held(hoopings: &[Dealt]) -> BTreeMap<(usize, usize), usize> {
    let numbered = hoopings.iter().enumerate();
    let runs = numbered.flat_map(|(number, hooping)| {
        let runs = hooping.lanes.iter().flatten();
        runs.map(move |run| (*run, number))
    });
    runs.collect()
}

/// The order with the fewest hoop changes, if it has fewer than `known`.
pub(super) fn fewest_changes(
    hoopings: &[Dealt],
    split: &[&Job],
    rules: Rules<'_>,
    known: Option<usize>,
) -> Ordered {
    let held = held(hoopings);
    let mut rests: Vec<(usize, usize)> = Vec::new();
    let free = || split.iter().filter(|job| job.along.is_none());
    for job in free().filter(|job| job.is_rest) {
        let last = job.runs.len() - 1;
        let at = |run: usize| held.get(&(job.strip, run)).copied();
        let outer = at(last);
        rests.extend((0..last).filter_map(|run| Some((at(run)?, outer?))));
    }
    let long: Vec<Long> = free()
        .filter(|job| job.runs.len() > 2 && !job.is_rest)
        .filter_map(|job| {
            let at = |run: usize| held.get(&(job.strip, run)).copied();
            let last = job.runs.len() - 1;
            let inner: Option<Vec<usize>> = (1..last).map(at).collect();
            let (begin, end) = match rules.begins.get(&job.strip) {
                Some(run) if *run == last => (last, 0),
                _ => (0, last),
            };
            Some((at(begin)?, at(end)?, inner?))
        })
        .collect();
    match rules.growth {
        Growth::EitherWay => {
            let mut later = rules.later(hoopings, &rests);
            for (first, second, inner) in &long {
                for hooping in inner {
                    later[*hooping].push(vec![*first, *second]);
                }
            }
            let wanted = Wanted {
                hoopings,
                split,
                later: &later,
                known,
                deadline: rules.deadline,
            };
            wanted.search()
        }
        Growth::OneWay => one_way(hoopings, split, (&long, &rests), rules, known),
    }
}

fn one_way(
    hoopings: &[Dealt],
    split: &[&Job],
    (long, rests): (&[Long], &[(usize, usize)]),
    rules: Rules<'_>,
    known: Option<usize>,
) -> Ordered {
    let strips = u32::try_from(long.len()).unwrap_or(u32::MAX);
    let mut best = None;
    let mut complete = strips <= MOST_TURNED;
    // Of many strips those that are not turned around stay as they are likely to work.
    let turned_around = match strips {
        0..=MANY => strips.min(MOST_TURNED),
        _ => 0,
    };
    for turned in 0..1_u64 << turned_around {
        if turned > 0 && rules.deadline.over() {
            complete = false;
            break;
        }
        let mut later = rules.later(hoopings, rests);
        for (number, (first, second, inner)) in long.iter().enumerate() {
            let (begin, end) = if turned >> number.min(63) & 1 == 0 {
                (first, second)
            } else {
                (second, first)
            };
            for hooping in inner {
                later[*hooping].push(vec![*end]);
                later[*begin].push(vec![*hooping]);
            }
        }
        let least = best.as_ref().map(|(changes, _)| *changes).or(known);
        let wanted = Wanted {
            hoopings,
            split,
            later: &later,
            known: least,
            deadline: rules.deadline,
        };
        let found = wanted.search();
        complete &= found.complete;
        best = found.best.or(best);
    }
    Ordered { best, complete }
}

/// An order that is wanted: that with the fewest hoop changes.
#[derive(Clone, Copy)]
pub(super) struct Wanted<'w> {
    pub hoopings: &'w [Dealt],
    /// Strips whose runs may be told how to follow each other.
    pub split: &'w [&'w Job],
    /// What all other strips ask.
    pub later: &'w Later,
    /// The order has fewer changes than this.
    pub known: Option<usize>,
    pub deadline: &'w Deadline,
}

impl Wanted<'_> {
    /// The order that keeps to what comes later, and to what is told of the runs along strips.
    fn search(self) -> Ordered {
        if sequenced::any(self.split) {
            sequenced::search(self)
        } else {
            search(self.hoopings, self.later, self.known)
        }
    }
}

/// Breadth first over sequences of hoops, from the last hooping backwards.
pub(super) fn search(hoopings: &[Dealt], later: &Later, known: Option<usize>) -> Ordered {
    let mut hoops: Vec<usize> = hoopings.iter().map(|hooping| hooping.hoop).collect();
    hoops.sort_unstable();
    hoops.dedup();
    let nothing = State {
        taken: vec![false; hoopings.len()],
        order: Vec::new(),
        hoop: None,
    };
    let mut seen = HashSet::new();
    let mut level = vec![nothing];
    let mut changes = 0;
    while known.is_none_or(|known| changes < known) && !level.is_empty() {
        let mut next = Vec::new();
        for state in level {
            for hoop in hoops.iter().filter(|hoop| state.hoop != Some(**hoop)) {
                let Some(grown) = state.with_all_of(*hoop, hoopings, later) else {
                    continue;
                };
                if grown.order.len() == hoopings.len() {
                    let order = grown.order.into_iter().rev().collect();
                    return Ordered {
                        best: Some((changes, order)),
                        complete: true,
                    };
                }
                if seen.len() >= MOST_STATES {
                    return Ordered {
                        best: None,
                        complete: false,
                    };
                }
                if seen.insert((grown.taken.clone(), *hoop)) {
                    next.push(grown);
                }
            }
        }
        level = next;
        changes += 1;
    }
    Ordered {
        best: None,
        complete: true,
    }
}

struct State {
    taken: Vec<bool>,
    order: Vec<usize>,
    hoop: Option<usize>,
}

impl State {
    /// Takes all hoopings of a hoop that can be taken; `None` where there is none.
    fn with_all_of(&self, hoop: usize, hoopings: &[Dealt], later: &Later) -> Option<State> {
        let mut taken = self.taken.clone();
        let mut order = self.order.clone();
        // Pass after pass: what is taken may free others.
        loop {
            let before = order.len();
            for number in (0..hoopings.len()).rev() {
                let free = !taken[number]
                    && hoopings[number].hoop == hoop
                    && later[number]
                        .iter()
                        .all(|any| any.iter().any(|other| taken[*other]));
                if free {
                    taken[number] = true;
                    order.push(number);
                }
            }
            if order.len() == before {
                break;
            }
        }
        (order.len() > self.order.len()).then_some(State {
            taken,
            order,
            hoop: Some(hoop),
        })
    }
}
