//! Gives each run of the split strips a place by chains of moves: a run that finds its place taken, or its strip in the
//! hooping already, pushes the other run to a place elsewhere.
//!
//! The order of the work is settled first, as far as it matters. Each strip with inner runs is finished by an outer one: the
//! hoopings where that happens come last, and in them stand inner runs only of strips that are finished later still. All
//! other hoopings come before these in any order. With growth one way the same holds from the other end.

mod ends;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use crate::deadline::Deadline;
use crate::deal::{Hooping, Job, Shares, Table};
use crate::hooping::kind::Openness;
use crate::scenario::Growth;

/// The most moves in a row to make room for one run.
const LONGEST_CHAIN: usize = 7;
/// The most places that are looked at to make room for one run.
const MOST_LOOKS: usize = 600;

/// With more pairs of a run and a place than this it would take too long: a second or so.
const MOST_PAIRS: usize = 200_000_000;

/// A place for an open run.
#[derive(Clone, Copy)]
struct Place {
    hooping: usize,
    lane: usize,
    at: usize,
    kind: usize,
}

/// A run that needs a place: its job, its index there, and its kind.
#[derive(Clone, Copy)]
struct Run {
    job: usize,
    run: usize,
    kind: usize,
}

struct Matching<'a> {
    table: &'a Table<'a>,
    jobs: &'a [&'a Job],
    runs: Vec<Run>,
    /// The runs of each job.
    runs_of: Vec<Range<usize>>,
    places: Vec<Place>,
    /// The place of each run, and the run at each place.
    place_of: Vec<Option<usize>>,
    run_at: Vec<Option<usize>>,
    /// Places that were settled with the order and stay as they are.
    fixed: Vec<bool>,
    /// For each job the hoopings in which it has a run, and that run.
    in_hooping: Vec<Vec<(usize, usize)>>,
    /// When each hooping comes among those that finish strips, the last one 0; `None` for all others.
    finishing: Vec<Option<usize>>,
    /// When each job is finished.
    finished: Vec<Option<usize>>,
    /// The same from the first hooping on, with growth one way.
    starting: Vec<Option<usize>>,
    started: Vec<Option<usize>>,
    looks: usize,
    /// By the run's kind the kinds of places that take it, its own first.
    taking: BTreeMap<usize, Vec<usize>>,
    /// The places of each kind.
    of_kind: BTreeMap<usize, Vec<usize>>,
    /// Every run that got a place (`true`) or lost it, in this order, so that a failed chain can be taken back.
    moves: Vec<(usize, usize, bool)>,
    /// What is left of the shares.
    shares: Option<Shares>,
    /// By strip the index of the run that is stitched first, with growth one way.
    begins: BTreeMap<usize, usize>,
    deadline: &'a Deadline,
}

/// The hoopings with every run of the split strips in a place, and of each strip which run begins it, where that counts.
pub(super) struct Chained {
    pub hoopings: Vec<Hooping>,
    /// By strip the index of the run that is stitched first, with growth one way.
    pub begins: BTreeMap<usize, usize>,
}

/// Every run of the split strips in a place, where chains find them; `order` tells which hoopings may come last, the last one first. No
/// more runs of a kind get places of a kind than their share says, if one is told.
pub(super) fn dealt(
    table: &Table<'_>,
    hoopings: &[Hooping],
    split: &[&Job],
    order: &[usize],
    shares: Option<&Shares>,
    deadline: &Deadline,
) -> Option<Chained> {
    let mut places = Vec::new();
    for (hooping, of) in hoopings.iter().enumerate() {
        for (lane, kinds) in of.lanes.iter().enumerate() {
            for (at, (kind, _)) in kinds.iter().enumerate() {
                if table.kinds[*kind].openness != Openness::Closed {
                    places.push(Place {
                        hooping,
                        lane,
                        at,
                        kind: *kind,
                    });
                }
            }
        }
    }
    let (mut runs, mut runs_of) = (Vec::new(), Vec::new());
    for (number, job) in split.iter().enumerate() {
        runs_of.push(runs.len()..runs.len() + job.runs.len());
        for (run, kind) in job.runs.iter().enumerate() {
            runs.push(Run {
                job: number,
                run,
                kind: *kind,
            });
        }
    }
    let pairs = runs.len().saturating_mul(places.len());
    if runs.len() > places.len() || pairs > MOST_PAIRS {
        return None;
    }
    let mut of_kind: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (number, place) in places.iter().enumerate() {
        of_kind.entry(place.kind).or_default().push(number);
    }
    let taking = |run: usize| {
        let others = of_kind.keys().copied().filter(move |place| *place != run);
        let same = of_kind.keys().copied().filter(move |place| *place == run);
        same.chain(others.filter(|place| takes(table, *place, run)))
            .collect()
    };
    let asked: BTreeSet<usize> = runs.iter().map(|run| run.kind).collect();
    let taking: BTreeMap<usize, Vec<usize>> =
        asked.into_iter().map(|run| (run, taking(run))).collect();
    let mut matching = Matching {
        table,
        jobs: split,
        place_of: vec![None; runs.len()],
        run_at: vec![None; places.len()],
        fixed: vec![false; runs.len()],
        in_hooping: vec![Vec::new(); split.len()],
        finishing: vec![None; hoopings.len()],
        finished: vec![None; split.len()],
        starting: vec![None; hoopings.len()],
        started: vec![None; split.len()],
        runs,
        runs_of,
        places,
        looks: 0,
        taking,
        of_kind,
        moves: Vec::new(),
        shares: shares.cloned(),
        begins: BTreeMap::new(),
        deadline,
    };
    matching.settle_ends(order.iter(), false)?;
    if table.growth == Growth::OneWay {
        matching.settle_ends(order.iter().rev(), true)?;
    }
    matching.place_all()?;
    let mut filled = hoopings.to_vec();
    for (place, run) in matching.places.iter().zip(&matching.run_at) {
        if let Some(run) = run {
            let run = &matching.runs[*run];
            filled[place.hooping].lanes[place.lane][place.at].1 =
                Some((split[run.job].strip, run.run));
        }
    }
    Some(Chained {
        hoopings: filled,
        begins: matching.begins,
    })
}

/// Whether a place that is meant for a kind takes a run of another.
fn takes(table: &Table<'_>, place: usize, run: usize) -> bool {
    place == run || table.kinds[place].takes(&table.kinds[run])
}

impl Matching<'_> {
    /// Whether a strip has inner runs.
    fn is_long(&self, job: usize) -> bool {
        self.jobs[job].runs.len() + usize::from(self.jobs[job].is_rest) > 2
    }

    fn is_outer(&self, run: usize) -> bool {
        self.table.kinds[self.runs[run].kind].openness == Openness::Outer
    }

    /// The run that a job has in a hooping.
    fn held(&self, job: usize, hooping: usize) -> Option<usize> {
        let mut held = self.in_hooping[job].iter();
        held.find_map(|(of, run)| (*of == hooping).then_some(*run))
    }

    /// Whether places of a kind are left for runs of another, where each has a share.
    fn has_share(&self, place: usize, run: usize) -> bool {
        let left = |shares: &Shares| shares.get(&(place, run)).is_some_and(|left| *left > 0);
        self.shares.as_ref().is_none_or(left)
    }

    /// What is left of the share of a run's kind among the places of a place's kind.
    fn share(&mut self, run: usize, place: usize) -> Option<&mut i64> {
        let key = (self.places[place].kind, self.runs[run].kind);
        Some(self.shares.as_mut()?.entry(key).or_default())
    }

    fn put(&mut self, run: usize, place: usize) {
        if let Some(left) = self.share(run, place) {
            *left -= 1;
        }
        self.moves.push((run, place, true));
        self.place_of[run] = Some(place);
        self.run_at[place] = Some(run);
        let hooping = self.places[place].hooping;
        self.in_hooping[self.runs[run].job].push((hooping, run));
    }

    fn take_away(&mut self, run: usize) {
        if let Some(place) = self.place_of[run].take() {
            if let Some(left) = self.share(run, place) {
                *left += 1;
            }
            self.moves.push((run, place, false));
            self.run_at[place] = None;
            self.in_hooping[self.runs[run].job].retain(|(_, other)| *other != run);
        }
    }

    /// Takes back every move since there were so many.
    fn take_back(&mut self, moves: usize) {
        while self.moves.len() > moves {
            let Some((run, place, was_put)) = self.moves.pop() else {
                return;
            };
            if was_put {
                self.take_away(run);
            } else {
                self.put(run, place);
            }
            self.moves.pop();
        }
    }

    /// Whether the order lets a run stand in a hooping.
    fn may_stand(&self, run: usize, hooping: usize) -> bool {
        let job = self.runs[run].job;
        if !self.is_long(job) {
            return true;
        }
        let later = |of: Option<usize>, strip: Option<usize>| {
            of.is_none_or(|of| strip.is_some_and(|strip| strip < of))
        };
        let outer = self.is_outer(run);
        match self.table.growth {
            Growth::EitherWay => outer || later(self.finishing[hooping], self.finished[job]),
            Growth::OneWay => {
                !outer
                    && later(self.finishing[hooping], self.finished[job])
                    && (self.jobs[job].is_rest || later(self.starting[hooping], self.started[job]))
            }
        }
    }

    /// Places every run, those that need most first.
    fn place_all(&mut self) -> Option<()> {
        let mut waiting: Vec<usize> = (0..self.runs.len())
            .filter(|run| self.place_of[*run].is_none())
            .collect();
        let fitting = |run: usize| -> usize {
            let kinds = self.taking[&self.runs[run].kind].iter();
            kinds.map(|of| self.of_kind[of].len()).sum()
        };
        waiting.sort_by_cached_key(|run| (fitting(*run), *run));
        for run in waiting {
            self.looks = 0;
            if self.deadline.over() || !self.make_room(run, LONGEST_CHAIN, &mut Vec::new()) {
                return None;
            }
        }
        Some(())
    }

    /// The run at a place, and the run of the same job in its hooping.
    fn in_the_way(&self, job: usize, place: usize) -> [Option<usize>; 2] {
        let there = self.run_at[place];
        let own = self.held(job, self.places[place].hooping);
        [there, own.filter(|own| there != Some(*own))]
    }

    /// Finds a place for a run, moving up to `chain` others. `moving` are the runs that are on the move already.
    fn make_room(&mut self, run: usize, chain: usize, moving: &mut Vec<usize>) -> bool {
        let Run { job, kind, .. } = self.runs[run];
        // By how many runs are in the way, and whether the place is for a longer kind.
        let mut options: Vec<(usize, bool, usize)> = Vec::new();
        let mut too_many = false;
        let kinds = self.taking[&kind].iter();
        for place in kinds.flat_map(|of| &self.of_kind[of]) {
            let Place {
                hooping,
                kind: of_place,
                ..
            } = self.places[*place];
            if !self.may_stand(run, hooping) {
                continue;
            }
            let others = self.in_the_way(job, *place);
            let mut stuck = others.iter().flatten();
            if stuck.any(|other| self.fixed[*other] || moving.contains(other)) {
                continue;
            }
            // One of the same kind leaves its share to this one.
            let is_alike = |other: usize| self.runs[other].kind == kind;
            if !self.has_share(of_place, kind) && !others[0].is_some_and(is_alike) {
                continue;
            }
            let count = others.iter().flatten().count();
            let wastes = of_place != kind;
            if count == 0 && !wastes {
                // None can be better.
                options = vec![(count, wastes, *place)];
                break;
            }
            if count <= chain {
                options.push((count, wastes, *place));
            } else {
                too_many = true;
            }
        }
        options.sort_unstable();
        moving.push(run);
        for (count, _, place) in options {
            self.looks += 1;
            if self.looks > MOST_LOOKS || self.deadline.over() {
                break;
            }
            let others = self.in_the_way(job, place);
            if count == 0 {
                self.put(run, place);
                moving.pop();
                return true;
            }
            let before = self.moves.len();
            for other in others.into_iter().flatten() {
                self.take_away(other);
            }
            self.put(run, place);
            let mut others = others.into_iter().flatten();
            let made = others.all(|other| self.make_room(other, chain - count, moving));
            if made {
                moving.pop();
                return true;
            }
            self.take_back(before);
        }
        // Those with too many in the way count as one look.
        self.looks += usize::from(too_many);
        moving.pop();
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hooping::kind::Kind;
    use crate::hooping::pattern::Pattern;
    use crate::length::Length;
    use crate::wishes::{Bound, EVERY_HOOP};

    /// A run so many mm long that stays open so.
    fn kind(openness: Openness, length: i64) -> Kind {
        Kind {
            openness,
            class: (openness != Openness::Closed).then_some(0),
            hoops: EVERY_HOOP,
            length: Length::from_nanometres(length * 1_000_000),
            width: Length::ZERO,
            margin_along: Length::ZERO,
            margin_across: Length::ZERO,
        }
    }

    const LONG: usize = 0;
    const SHORT: usize = 1;
    const INNER: usize = 2;
    const WHOLE: usize = 3;

    /// One hooping each for the ends of a strip, for what is between them, and for a strip in one run as long as the longest place.
    fn deal(order: [usize; 4], shares: Option<&Shares>) -> Option<Vec<usize>> {
        let kinds = [
            kind(Openness::Outer, 50),
            kind(Openness::Outer, 30),
            kind(Openness::Inner, 30),
            kind(Openness::Closed, 50),
        ];
        let one = |kind: usize| Pattern {
            hoop: 0,
            turned: false,
            lanes: vec![vec![kind]],
        };
        let patterns: Vec<Pattern> = (0..3).map(one).collect();
        let table = Table {
            kinds: &kinds,
            patterns: &patterns,
            growth: Growth::EitherWay,
            bound: &Bound::default(),
        };
        let hooping = |pattern: usize| Hooping {
            pattern,
            lanes: vec![vec![(pattern, None)]],
        };
        let hoopings = [LONG, SHORT, SHORT, INNER].map(hooping);
        let job = Job {
            strip: 0,
            runs: vec![SHORT, INNER, SHORT],
            is_rest: false,
            along: None,
        };
        let never = Deadline::never();
        let dealt = dealt(&table, &hoopings, &[&job], &order, shares, &never)?;
        let free = (0..4).filter(|hooping| dealt.hoopings[*hooping].lanes[0][0].1.is_none());
        Some(free.collect())
    }

    /// The hooping that comes last finishes the strip, though its place is for a longer run; without that there is no room left for the
    /// strip in one run.
    #[test]
    fn runs_that_keep_to_their_shares_leave_room_for_others() {
        assert_eq!(deal([0, 1, 2, 3], None), Some(vec![2]));
        let shares = Shares::from([((LONG, WHOLE), 1), ((SHORT, SHORT), 2), ((INNER, INNER), 1)]);
        assert_eq!(deal([0, 1, 2, 3], Some(&shares)), Some(vec![0]));
    }
}
