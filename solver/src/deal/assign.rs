//! Gives each run of the split strips a place, class by class, no two runs of a strip in one hooping.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use crate::deadline::Deadline;
use crate::deal::flow::share_out;
use crate::deal::{Hooping, Job, Table};

/// The most places that one search may try to fill; of many strips fewer, since each step looks at all of them.
const MOST_STEPS: usize = 20_000;
const MOST_LOOKS: usize = 2_000_000;
/// The most assignments that one search may offer.
const MOST_OFFERS: usize = 400;
/// More split strips or hoopings than this are not dealt out by search.
const MOST_STRIPS: usize = 2_000;

/// What to do after an assignment was looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Next {
    /// Look for another one.
    Another,
    /// The same, but this one was not looked at to the end.
    Doubtful,
    /// Stop: it will do.
    Enough,
}

/// Offers assignments to `see` until it has enough. Returns whether all were offered, or enough was said.
pub(super) fn every(
    table: &Table<'_>,
    hoopings: Vec<Hooping>,
    split: &[&Job],
    deadline: &Deadline,
    see: &mut dyn FnMut(&[Hooping]) -> Next,
) -> bool {
    if split.len() > MOST_STRIPS || hoopings.len() > MOST_STRIPS {
        return false;
    }
    let mut classes: BTreeMap<Option<usize>, Vec<Strip>> = BTreeMap::new();
    for job in split {
        let class = table.kinds[job.runs[0]].class;
        classes.entry(class).or_default().push(Strip {
            strip: job.strip,
            runs: job.runs.clone(),
            is_rest: job.is_rest,
            pieces: job
                .along
                .as_ref()
                .map(|along| along.parts.iter().map(|(piece, _)| *piece).collect()),
            placed: vec![false; job.runs.len()],
            latest: None,
            held: Vec::new(),
        });
    }
    let groups = classes.into_iter().map(|(class, strips)| {
        let mut places = Vec::new();
        for (number, hooping) in hoopings.iter().enumerate() {
            for (lane, kinds) in hooping.lanes.iter().enumerate() {
                let of_class = kinds
                    .iter()
                    .enumerate()
                    .filter(|(_, (kind, _))| table.kinds[*kind].class == class);
                places.extend(of_class.map(|(at, (kind, _))| Place {
                    hooping: number,
                    lane,
                    at,
                    kind: *kind,
                }));
            }
        }
        Group {
            strips,
            places,
            hopeless: HashSet::new(),
        }
    });
    let mut search = Search {
        table,
        groups: groups.collect(),
        hoopings,
        see,
        steps: 0,
        most_steps: MOST_STEPS.min(MOST_LOOKS / split.len().max(1)),
        offers: 0,
        enough: false,
        doubtful: false,
        deadline,
    };
    search.next(0, 0);
    search.enough || !search.doubtful
}

/// A place for a run of the class.
#[derive(Clone, Copy, Debug)]
struct Place {
    hooping: usize,
    lane: usize,
    at: usize,
    kind: usize,
}

#[derive(Clone, Debug)]
struct Strip {
    strip: usize,
    /// Whether it is what is left of a begun one.
    is_rest: bool,
    runs: Vec<usize>,
    /// The pieces of its runs, where their order along it is told.
    pieces: Option<Vec<usize>>,
    placed: Vec<bool>,
    /// The hooping that holds its latest run.
    latest: Option<usize>,
    /// The hoopings that hold its runs so far, and where its order is told the pieces there.
    held: Vec<(usize, usize)>,
}

impl Strip {
    /// The hoopings that hold its runs, where the order of the work depends on them.
    fn history(&self) -> &[(usize, usize)] {
        if self.runs.len() + usize::from(self.is_rest) > 2 {
            &self.held
        } else {
            &[]
        }
    }

    /// What tells a run apart from others of its kind.
    fn piece(&self, run: usize) -> usize {
        self.pieces.as_ref().map_or(0, |pieces| pieces[run])
    }

    /// The kinds of its runs that have no place yet; strips with the same are interchangeable.
    fn left(&self) -> Vec<usize> {
        let left = (0..self.runs.len()).filter(|run| !self.placed[*run]);
        let mut left: Vec<usize> = left.map(|run| self.runs[run]).collect();
        left.sort_unstable();
        left
    }

    fn count_left(&self) -> usize {
        self.placed.iter().filter(|placed| !**placed).count()
    }
}

/// The place that comes next, and of each strip whether it has been begun and what is left of it.
type State = (usize, Vec<(bool, Vec<usize>)>);

/// The strips of a class and the places for them, hooping by hooping.
struct Group {
    strips: Vec<Strip>,
    places: Vec<Place>,
    /// States from which the class cannot be finished.
    hopeless: HashSet<State>,
}

struct Search<'a, 's> {
    table: &'a Table<'a>,
    groups: Vec<Group>,
    hoopings: Vec<Hooping>,
    see: &'s mut dyn FnMut(&[Hooping]) -> Next,
    steps: usize,
    most_steps: usize,
    offers: usize,
    enough: bool,
    doubtful: bool,
    deadline: &'a Deadline,
}

impl Search<'_, '_> {
    fn ended(&self) -> bool {
        self.enough || self.steps > self.most_steps || self.offers >= MOST_OFFERS
    }

    /// Decides over the places of a class from `at` on. Returns whether the class could be finished from here at all.
    fn next(&mut self, group: usize, at: usize) -> bool {
        let Some(strips) = self.groups.get(group) else {
            self.offer();
            return true;
        };
        self.steps += 1;
        if self.ended() || self.steps.is_multiple_of(64) && self.deadline.over() {
            self.steps = self.most_steps + 1;
            self.doubtful = true;
            return true;
        }
        if strips.strips.iter().all(|strip| strip.count_left() == 0) {
            self.next(group + 1, 0);
            return true;
        }
        let Some(place) = strips.places.get(at).copied() else {
            return false;
        };
        let begins = at == 0 || strips.places[at - 1].hooping != place.hooping;
        let key = begins.then(|| {
            let state = |strip: &Strip| (strip.latest.is_some(), strip.left());
            let mut left: Vec<(bool, Vec<usize>)> = strips.strips.iter().map(state).collect();
            left.sort_unstable();
            (at, left)
        });
        if let Some(key) = &key
            && (strips.hopeless.contains(key) || !self.enough_places(group, at))
        {
            return false;
        }
        // Exact fits first; a place that fits nothing exactly is more likely meant for a strip in one run.
        let (exact, other): (Vec<_>, Vec<_>) = self
            .options(group, &place)
            .into_iter()
            .partition(|(strip, run)| self.groups[group].strips[*strip].runs[*run] == place.kind);
        let exact = exact.into_iter().map(Some);
        let other = other.into_iter().map(Some);
        let mut finished = false;
        for option in exact.chain([None]).chain(other) {
            let Some((strip, run)) = option else {
                finished |= self.next(group, at + 1);
                continue;
            };
            let before = self.take(group, strip, run, &place);
            finished |= self.next(group, at + 1);
            self.give_back(group, strip, run, &place, before);
            if self.ended() {
                self.doubtful |= !self.enough;
                return true;
            }
        }
        if let Some(key) = key
            && !finished
        {
            self.groups[group].hopeless.insert(key);
        }
        finished
    }

    fn offer(&mut self) {
        self.offers += 1;
        match (self.see)(&self.hoopings) {
            Next::Another => {}
            Next::Doubtful => self.doubtful = true,
            Next::Enough => self.enough = true,
        }
    }

    fn take(&mut self, group: usize, strip: usize, run: usize, place: &Place) -> Option<usize> {
        let chosen = &mut self.groups[group].strips[strip];
        chosen.placed[run] = true;
        self.hoopings[place.hooping].lanes[place.lane][place.at].1 = Some((chosen.strip, run));
        chosen.held.push((place.hooping, chosen.piece(run)));
        chosen.latest.replace(place.hooping)
    }

    fn give_back(
        &mut self,
        group: usize,
        strip: usize,
        run: usize,
        place: &Place,
        before: Option<usize>,
    ) {
        self.hoopings[place.hooping].lanes[place.lane][place.at].1 = None;
        let chosen = &mut self.groups[group].strips[strip];
        chosen.placed[run] = false;
        chosen.held.pop();
        chosen.latest = before;
    }

    /// Runs that a place can take: exact fits first, then strips with most left to do. Strips in the same state, by the same
    /// way, count once.
    fn options(&self, group: usize, place: &Place) -> Vec<(usize, usize)> {
        let kind = &self.table.kinds[place.kind];
        let mut seen = BTreeSet::new();
        let mut options = Vec::new();
        for (index, strip) in self.groups[group].strips.iter().enumerate() {
            if strip.latest == Some(place.hooping) {
                continue;
            }
            for run in (0..strip.runs.len()).filter(|run| !strip.placed[*run]) {
                let of_run = strip.runs[run];
                if kind.takes(&self.table.kinds[of_run])
                    && seen.insert((
                        strip.history(),
                        strip.latest.is_some(),
                        strip.left(),
                        (of_run, strip.piece(run), &strip.pieces),
                    ))
                {
                    options.push((
                        of_run != place.kind,
                        std::cmp::Reverse(strip.count_left()),
                        index,
                        run,
                    ));
                }
            }
        }
        options.sort_unstable();
        options
            .into_iter()
            .map(|(_, _, strip, run)| (strip, run))
            .collect()
    }

    /// Whether the places from `at` on could be enough for the runs left, their hoopings set aside; and whether there
    /// are as many hoopings as the strip with most runs left needs.
    fn enough_places(&self, group: usize, at: usize) -> bool {
        let group = &self.groups[group];
        let kinds = self.table.kinds;
        let (mut places, mut runs) = (vec![0; kinds.len()], vec![0; kinds.len()]);
        let mut hoopings = BTreeSet::new();
        for place in &group.places[at..] {
            places[place.kind] += 1;
            hoopings.insert(place.hooping);
        }
        for strip in &group.strips {
            if strip.count_left() > hoopings.len() {
                return false;
            }
            for kind in strip.left() {
                runs[kind] += 1;
            }
        }
        let takes = |place: usize, run: usize| kinds[place].takes(&kinds[run]);
        share_out(&places, &runs, takes, &Deadline::never()).is_some()
    }
}
