//! The search for an order and an assignment, from the last hooping backwards.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use crate::deadline::Deadline;
use crate::deal::flow::share_out;
use crate::deal::{Job, Table};
use crate::hooping::kind::Openness;
use crate::scenario::Growth;

/// The most places that one search may try to fill.
const MOST_STEPS: usize = 200_000;
/// More hoopings than this are not searched: each takes a level of recursion.
const MOST_HOOPINGS: usize = 20_000;

/// Whether an order was found.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Found {
    Yes,
    No,
    Unknown,
}

/// A hooping in the making: in each lane its places, each with its kind and the run (strip, index) that it holds.
#[derive(Clone, Debug)]
pub(super) struct Step {
    pub pattern: usize,
    pub lanes: Vec<Vec<(usize, Option<(usize, usize)>)>>,
}

/// How far a split strip has come, backwards.
#[derive(Clone, Debug)]
struct Progress {
    strip: usize,
    runs: Vec<usize>,
    placed: Vec<bool>,
    /// Number of the step that holds its latest run; none of its runs may share it.
    latest: Option<usize>,
}

impl Progress {
    fn left(&self) -> usize {
        self.placed.iter().filter(|placed| !**placed).count()
    }

    fn inner_left(&self) -> bool {
        self.placed[1..self.placed.len() - 1].contains(&false)
    }

    /// What is still to be placed; two strips with the same are interchangeable from here on.
    fn state(&self) -> (Vec<usize>, [bool; 2]) {
        let mut left: Vec<usize> = (0..self.runs.len())
            .filter(|run| !self.placed[*run])
            .map(|run| self.runs[run])
            .collect();
        left.sort_unstable();
        (left, [self.latest.is_some(), self.inner_left()])
    }
}

pub(super) struct Search<'a> {
    table: &'a Table<'a>,
    /// Patterns and how many of each are left.
    left: Vec<(usize, usize)>,
    split: Vec<Progress>,
    /// By kind: runs of strips in one run, to be given any place that stays free.
    whole: Vec<usize>,
    /// By kind: places that stayed free so far.
    free: Vec<usize>,
    most_changes: Option<usize>,
    taken: Vec<Step>,
    hopeless: HashSet<Vec<usize>>,
    tried: usize,
    out_of_steps: bool,
}

impl<'a> Search<'a> {
    pub(super) fn new(
        table: &'a Table<'a>,
        chosen: &[(usize, usize)],
        split: &[&Job],
        whole: &[&Job],
        most_changes: Option<usize>,
    ) -> Search<'a> {
        let mut runs = vec![0; table.kinds.len()];
        for job in whole {
            runs[job.runs[0]] += 1;
        }
        let progress = |job: &&Job| Progress {
            strip: job.strip,
            runs: job.runs.clone(),
            placed: vec![false; job.runs.len()],
            latest: None,
        };
        Search {
            table,
            left: chosen.to_vec(),
            split: split.iter().map(progress).collect(),
            whole: runs,
            free: vec![0; table.kinds.len()],
            most_changes,
            taken: Vec::new(),
            hopeless: HashSet::new(),
            tried: 0,
            out_of_steps: false,
        }
    }

    /// The steps in the order of the work.
    pub(super) fn steps(self) -> Vec<Step> {
        self.taken.into_iter().rev().collect()
    }

    pub(super) fn run(&mut self, deadline: &Deadline) -> Found {
        let hoopings: usize = self.left.iter().map(|(_, count)| count).sum();
        if hoopings > MOST_HOOPINGS {
            return Found::Unknown;
        }
        if !self.enough() {
            return Found::No;
        }
        if self.next_hooping(0, deadline) {
            Found::Yes
        } else if self.out_of_steps {
            Found::Unknown
        } else {
            Found::No
        }
    }

    fn hoop(&self, pattern: usize) -> usize {
        self.table.patterns[pattern].hoop
    }

    /// Chooses the hooping before those taken; `changes` were needed so far.
    fn next_hooping(&mut self, changes: usize, deadline: &Deadline) -> bool {
        if self.left.iter().all(|(_, count)| *count == 0) {
            return self.split.iter().all(|strip| strip.left() == 0) && self.enough();
        }
        let current = self.taken.last().map(|step| self.hoop(step.pattern));
        let hoops: BTreeSet<usize> = self
            .left
            .iter()
            .filter(|(_, count)| *count > 0)
            .map(|(pattern, _)| self.hoop(*pattern))
            .collect();
        let ahead = match current {
            Some(hoop) => hoops.iter().filter(|other| **other != hoop).count(),
            None => hoops.len() - 1,
        };
        if self.most_changes.is_some_and(|most| changes + ahead > most) {
            return false;
        }
        let hoopings_left: usize = self.left.iter().map(|(_, count)| count).sum();
        if self.split.iter().any(|strip| strip.left() > hoopings_left) || !self.enough() {
            return false;
        }
        let key = self.key(current, changes);
        if self.hopeless.contains(&key) {
            return false;
        }
        for at in self.candidates(current) {
            let pattern = self.left[at].0;
            let changed = current.is_some_and(|hoop| hoop != self.hoop(pattern));
            self.left[at].1 -= 1;
            let lanes = self.table.patterns[pattern].lanes.iter();
            self.taken.push(Step {
                pattern,
                lanes: lanes
                    .map(|lane| lane.iter().map(|kind| (*kind, None)).collect())
                    .collect(),
            });
            if self.fill(0, 0, changes + usize::from(changed), deadline) {
                return true;
            }
            self.taken.pop();
            self.left[at].1 += 1;
            if self.out_of_steps {
                return false;
            }
        }
        self.hopeless.insert(key);
        false
    }

    /// Patterns to try next: in the hoop at hand first, those with few inner places first.
    fn candidates(&self, current: Option<usize>) -> Vec<usize> {
        let inner = |pattern: usize| {
            let kinds = self.table.patterns[pattern].lanes.iter().flatten();
            kinds
                .filter(|kind| self.table.kinds[**kind].openness == Openness::Inner)
                .count()
        };
        let mut candidates: Vec<usize> = (0..self.left.len())
            .filter(|at| self.left[*at].1 > 0)
            .collect();
        candidates.sort_by_key(|at| {
            let pattern = self.left[*at].0;
            let hoop = self.hoop(pattern);
            (
                current.is_some_and(|current| current != hoop),
                inner(pattern),
                hoop,
                *at,
            )
        });
        candidates
    }

    /// Decides over the places of the latest step from (lane, place) on.
    fn fill(&mut self, lane: usize, place: usize, changes: usize, deadline: &Deadline) -> bool {
        self.tried += 1;
        if self.tried > MOST_STEPS || self.tried.is_multiple_of(256) && deadline.over() {
            self.out_of_steps = true;
            return false;
        }
        let now = self.taken.len() - 1;
        let Some(kinds) = self.taken[now].lanes.get(lane) else {
            return self.next_hooping(changes, deadline);
        };
        let Some(&(kind, _)) = kinds.get(place) else {
            return self.fill(lane + 1, 0, changes, deadline);
        };
        for (strip, run) in self.options(kind, now) {
            let before = self.split[strip].latest;
            self.split[strip].placed[run] = true;
            self.split[strip].latest = Some(now);
            self.taken[now].lanes[lane][place].1 = Some((self.split[strip].strip, run));
            if self.fill(lane, place + 1, changes, deadline) {
                return true;
            }
            self.taken[now].lanes[lane][place].1 = None;
            self.split[strip].placed[run] = false;
            self.split[strip].latest = before;
            if self.out_of_steps {
                return false;
            }
        }
        self.free[kind] += 1;
        if self.fill(lane, place + 1, changes, deadline) {
            return true;
        }
        self.free[kind] -= 1;
        false
    }

    /// Runs of split strips that a place can take now: exact fits first, then strips with most left to do.
    fn options(&self, kind: usize, now: usize) -> Vec<(usize, usize)> {
        let place = &self.table.kinds[kind];
        if place.openness == Openness::Closed {
            return Vec::new();
        }
        let mut seen = BTreeSet::new();
        let mut options = Vec::new();
        for (index, strip) in self.split.iter().enumerate() {
            if strip.latest == Some(now) || self.table.kinds[strip.runs[0]].class != place.class {
                continue;
            }
            let last = strip.runs.len() - 1;
            for run in (0..=last).filter(|run| !strip.placed[*run]) {
                let outer = run == 0 || run == last;
                let legal = if !outer {
                    strip.latest.is_some()
                } else {
                    strip.latest.is_none()
                        || self.table.growth == Growth::EitherWay
                        || !strip.inner_left()
                };
                let takes = place.takes(&self.table.kinds[strip.runs[run]]);
                if legal && takes && seen.insert((strip.state(), strip.runs[run])) {
                    let inexact = strip.runs[run] != kind;
                    options.push((inexact, std::cmp::Reverse(strip.left()), index, run));
                }
            }
        }
        options.sort_unstable();
        options
            .into_iter()
            .map(|(_, _, strip, run)| (strip, run))
            .collect()
    }

    /// Whether the places left, and for strips in one run also those that stayed free, are enough for the runs left.
    /// Necessary, and worked out exactly as a flow between kinds.
    fn enough(&self) -> bool {
        let kinds = self.table.kinds;
        let count = kinds.len();
        let mut places = vec![0; 2 * count];
        for (pattern, hoopings) in &self.left {
            for kind in self.table.patterns[*pattern].lanes.iter().flatten() {
                places[*kind] += hoopings;
            }
        }
        places[count..].copy_from_slice(&self.free);
        let mut runs = self.whole.clone();
        for strip in &self.split {
            for run in (0..strip.runs.len()).filter(|run| !strip.placed[*run]) {
                runs[strip.runs[run]] += 1;
            }
        }
        share_out(&places, &runs, |place, run| {
            let closed = kinds[run].openness == Openness::Closed;
            kinds[place % count].takes(&kinds[run]) && (place < count || closed)
        })
        .is_some()
    }

    /// All that decides whether the rest can be done.
    fn key(&self, current: Option<usize>, changes: usize) -> Vec<usize> {
        let mut states: BTreeMap<(Vec<usize>, [bool; 2]), usize> = BTreeMap::new();
        for strip in &self.split {
            *states.entry(strip.state()).or_default() += 1;
        }
        let changes = if self.most_changes.is_some() {
            changes
        } else {
            0
        };
        let mut key = vec![current.map_or(0, |hoop| hoop + 1), changes];
        key.extend(self.left.iter().map(|(_, count)| *count));
        key.extend(&self.free);
        for ((left, flags), count) in states {
            key.extend([
                count,
                left.len(),
                usize::from(flags[0]),
                usize::from(flags[1]),
            ]);
            key.extend(left);
        }
        key
    }
}
