//! The order of hoopings where wishes say how runs follow each other along a strip, and there are too many ways to arrange them to list.
//!
//! Looked at from the last hooping backwards, a strip loses its runs from its two ends. Which run lies where is decided only
//! then: a run can be taken off at an end if some order of the strip's runs that is still possible has such a run there.
//! Taking a hooping early can harm now, so that the choices are tried one after the other, and what led nowhere is
//! remembered.

use std::collections::{BTreeMap, HashSet};

use crate::cover::Part;
use crate::deadline::Deadline;
use crate::deal::Dealt;
use crate::deal::order::{Later, Ordered, Wanted};
use crate::deal::sequenced::Along;

/// The most states of one search.
const MOST_STATES: usize = 20_000;
/// The clock is asked each time after so many.
const OFTEN: usize = 256;
/// The most hoop changes that are tried one number after the other.
const MOST_CHANGES: usize = 40;

/// The order that is wanted, as far as there are not too many states.
pub(super) fn search(wanted: Wanted<'_>) -> Ordered {
    let Wanted {
        hoopings,
        split,
        later,
        known,
        deadline,
    } = wanted;
    let mut places: BTreeMap<usize, usize> = BTreeMap::new();
    let mut groups: BTreeMap<usize, usize> = BTreeMap::new();
    let (mut strips, mut alive): (Vec<&Along>, Vec<Alive>) = (Vec::new(), Vec::new());
    let mut complete = true;
    let mut group_of = Vec::new();
    for job in split {
        let Some(along) = &job.along else { continue };
        places.insert(job.strip, strips.len());
        strips.push(along);
        complete &= along.sequences.complete;
        let next = alive.len();
        let group = along
            .group
            .map_or(next, |group| *groups.entry(group).or_insert(next));
        if group == next {
            alive.push((0..along.sequences.list.len()).collect());
        }
        group_of.push(group);
    }
    let runs = |hooping: &Dealt| -> Vec<(usize, Part)> {
        let runs = hooping.lanes.iter().flatten();
        let known = |(strip, run): &(usize, usize)| {
            let place = places.get(strip)?;
            Some((*place, *strips[*place].parts.get(*run)?))
        };
        runs.filter_map(known).collect()
    };
    let mut search = Search {
        runs: hoopings.iter().map(runs).collect(),
        hoopings,
        later,
        strips,
        group_of,
        hopeless: HashSet::new(),
        states: 0,
        deadline,
    };
    let start = State {
        taken: vec![false; hoopings.len()],
        order: Vec::new(),
        hoop: None,
        off: vec![[0; 2]; places.len()],
        alive,
    };
    let most = known.map_or(MOST_CHANGES, |known| known.min(MOST_CHANGES + 1));
    for changes in 0..most {
        search.hopeless.clear();
        if let Some(order) = search.go_on(start.clone(), changes) {
            return Ordered {
                best: Some((changes, order.into_iter().rev().collect())),
                complete,
            };
        }
        if search.states > MOST_STATES {
            return Ordered {
                best: None,
                complete: false,
            };
        }
    }
    Ordered {
        best: None,
        complete: complete
            && (known.is_some_and(|known| known <= MOST_CHANGES) || hoopings.len() <= MOST_CHANGES),
    }
}

/// The orders (numbers) of a group that are still possible.
type Alive = Vec<usize>;

#[derive(Clone)]
struct State {
    taken: Vec<bool>,
    /// The hoopings, the last one first.
    order: Vec<usize>,
    hoop: Option<usize>,
    /// For each strip how many runs are taken off at its start and at its end.
    off: Vec<[usize; 2]>,
    /// For each group.
    alive: Vec<Alive>,
}

/// A state that led nowhere: hoopings taken, runs taken off, orders left, the hoop, and the changes left.
type Key = (Vec<bool>, Vec<[usize; 2]>, Vec<Alive>, Option<usize>, usize);

struct Search<'a> {
    hoopings: &'a [Dealt],
    later: &'a Later,
    /// For each hooping the runs of strips (places) whose order is told.
    runs: Vec<Vec<(usize, Part)>>,
    strips: Vec<&'a Along>,
    group_of: Vec<usize>,
    hopeless: HashSet<Key>,
    states: usize,
    deadline: &'a Deadline,
}

impl Search<'_> {
    /// The rest of an order with at most so many further changes.
    fn go_on(&mut self, mut state: State, changes: usize) -> Option<Vec<usize>> {
        self.take_free(&mut state);
        if state.order.len() == self.hoopings.len() {
            return Some(state.order);
        }
        self.states += 1;
        if self.states.is_multiple_of(OFTEN) && self.deadline.over() {
            self.states = MOST_STATES + 1;
        }
        if self.states > MOST_STATES {
            return None;
        }
        let key = (
            state.taken.clone(),
            state.off.clone(),
            state.alive.clone(),
            state.hoop,
            changes,
        );
        if self.hopeless.contains(&key) {
            return None;
        }
        // Hoopings in the hoop at hand first.
        for stays in [true, false] {
            for number in (0..self.hoopings.len()).rev() {
                let same = state.hoop == Some(self.hoopings[number].hoop);
                // The first hoop of all is no change.
                let left = if same || state.hoop.is_none() {
                    Some(changes)
                } else {
                    changes.checked_sub(1)
                };
                let Some(left) = left.filter(|_| same == stays && self.is_free(&state, number))
                else {
                    continue;
                };
                for next in self.taking(&state, number) {
                    if let Some(order) = self.go_on(next, left) {
                        return Some(order);
                    }
                    if self.states > MOST_STATES {
                        return None;
                    }
                }
            }
        }
        self.hopeless.insert(key);
        None
    }

    /// Takes all hoopings in the hoop at hand of which no strip's order has to know: that never harms.
    fn take_free(&self, state: &mut State) {
        loop {
            let free = (0..self.hoopings.len()).rev().find(|number| {
                state.hoop == Some(self.hoopings[*number].hoop)
                    && self.runs[*number].is_empty()
                    && self.is_free(state, *number)
            });
            let Some(number) = free else { return };
            state.taken[number] = true;
            state.order.push(number);
        }
    }

    /// Whether everything that has to come later than a hooping is taken.
    fn is_free(&self, state: &State, number: usize) -> bool {
        let mut sets = self.later[number].iter();
        !state.taken[number] && sets.all(|any| any.iter().any(|other| state.taken[*other]))
    }

    /// Every state that comes of taking a hooping.
    fn taking(&self, state: &State, number: usize) -> Vec<State> {
        let mut taken = state.clone();
        taken.taken[number] = true;
        taken.order.push(number);
        taken.hoop = Some(self.hoopings[number].hoop);
        let mut states = vec![taken];
        for (strip, part) in &self.runs[number] {
            let grown = states
                .iter()
                .flat_map(|state| self.taking_off(state, *strip, *part));
            states = grown.collect();
        }
        states
    }

    /// The same for one run.
    fn taking_off(&self, state: &State, strip: usize, part: Part) -> Vec<State> {
        let (along, group) = (self.strips[strip], self.group_of[strip]);
        let [start, end] = state.off[strip];
        let count = along.parts.len();
        let mut open = along.sides.open(start, end);
        if start + end + 1 == count {
            // The run that is left over lies at both ends.
            open = [true, false];
        }
        let mut states = Vec::new();
        for side in (0..2).filter(|side| open[*side]) {
            let at = if side == 0 { start } else { count - 1 - end };
            let list = &along.sequences.list;
            let fits = |number: &usize| list[*number][at] == part;
            let alive: Alive = state.alive[group].iter().copied().filter(fits).collect();
            if alive.is_empty() {
                continue;
            }
            let mut next = state.clone();
            next.off[strip][side] += 1;
            next.alive[group] = alive;
            states.push(next);
        }
        states
    }
}
