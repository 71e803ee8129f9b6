//! Patterns: what one hooping can hold, lane beside lane.

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::deadline::Deadline;
use crate::hooping::arrange::arrange;
use crate::hooping::caps::Caps;
use crate::hooping::kind::Kind;
use crate::hooping::lane::{Field, Lane, MOST_PLACES, lanes};
use crate::hooping::places::has_places;
use crate::length::Length;
use crate::scenario::Scenario;

/// The most lanes of one field that patterns are made of.
const MOST_BESIDE: usize = 3_000;
/// The most patterns of all hoops together; past it they are called incomplete, as nothing comes of a list that is cut.
const MOST_PATTERNS: usize = 8_000;
/// The most steps of the enumeration in one field.
const MOST_STEPS: usize = 300_000;
/// Patterns are compared with each other only up to this many of one hoop: the comparison is quadratic.
const MOST_COMPARED: usize = 1_500;

/// What one hooping holds when nothing can be added to it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pattern {
    /// Index of the hoop.
    pub hoop: usize,
    /// Whether strips lie along the second side of its field.
    pub turned: bool,
    /// The kinds (numbers) that each lane has places for.
    pub lanes: Vec<Vec<usize>>,
}

impl Pattern {
    /// The kinds that it has places for, in ascending order.
    pub fn kinds(&self) -> Vec<usize> {
        let mut kinds: Vec<usize> = self.lanes.iter().flatten().copied().collect();
        kinds.sort_unstable();
        kinds
    }
}

/// The patterns of all hoops and whether none is missing.
#[derive(Clone, Debug)]
pub struct Patterns {
    /// The patterns, hoop by hoop.
    pub list: Vec<Pattern>,
    /// Whether every possible hooping is there or could be exchanged for one that is.
    pub complete: bool,
}

/// How many runs there can be.
#[derive(Clone, Debug)]
pub struct Limits {
    /// The most runs of each kind in all. No lane needs more places than that; a hooping may offer more, since a place
    /// in one lane can be exchanged for a lesser one.
    pub of_kind: Vec<usize>,
    /// What can share a hooping.
    pub caps: Caps,
}

impl Limits {
    /// The limits where each kind is the kind of runs of the strips of `users`, a set of classes for each kind.
    pub fn of(classes: &[Class], users: &[BTreeSet<usize>], caps: Caps) -> Limits {
        let strips = |users: &BTreeSet<usize>| {
            let classes = users.iter().map(|class| &classes[*class]);
            classes.map(|class| class.members.len()).sum()
        };
        Limits {
            of_kind: users.iter().map(strips).collect(),
            caps,
        }
    }
}

/// Lists the patterns of every hoop.
pub fn patterns(
    scenario: &Scenario,
    kinds: &[Kind],
    limits: &Limits,
    deadline: &Deadline,
) -> Patterns {
    let mut all = Patterns {
        list: Vec::new(),
        complete: true,
    };
    for (hoop, owned) in scenario.hoops.iter().enumerate() {
        let mut of_hoop = Vec::new();
        for (along, across, turned) in owned.ways() {
            let field = Field::of(scenario, along, across);
            let lanes = lanes(field, kinds, limits, &limits.of_kind, MOST_BESIDE, deadline);
            if !lanes.complete {
                all.complete = false;
                return all;
            }
            let mut search = Search {
                field,
                kinds,
                limits,
                lanes: &lanes.list,
                found: Vec::new(),
                seen: BTreeSet::new(),
                steps: 0,
                complete: true,
            };
            search.fill(&mut Vec::new(), 0, deadline);
            if !search.complete {
                all.complete = false;
                return all;
            }
            of_hoop.extend(search.found.into_iter().map(|lanes| Pattern {
                hoop,
                turned,
                lanes,
            }));
        }
        all.list.extend(without_dominated(kinds, of_hoop));
        if all.list.len() > MOST_PATTERNS {
            all.complete = false;
            return all;
        }
    }
    all
}

struct Search<'a> {
    field: Field,
    kinds: &'a [Kind],
    limits: &'a Limits,
    lanes: &'a [Lane],
    found: Vec<Vec<Vec<usize>>>,
    seen: BTreeSet<Vec<usize>>,
    steps: usize,
    complete: bool,
}

impl Search<'_> {
    /// Adds lanes in ascending order, and keeps each choice to which no lane can be added.
    fn fill(&mut self, chosen: &mut Vec<usize>, first: usize, deadline: &Deadline) {
        self.steps += 1;
        let full = self.steps >= MOST_STEPS || self.found.len() >= MOST_PATTERNS;
        // A step looks at every lane.
        if full || !self.complete || chosen.len() > MOST_PLACES || deadline.over() {
            // A list that is cut is of no use.
            self.steps = MOST_STEPS;
            self.complete = false;
            return;
        }
        if self.field.share || chosen.is_empty() {
            for lane in first..self.lanes.len() {
                if self.steps >= MOST_STEPS {
                    return;
                }
                chosen.push(lane);
                if self.holds(chosen) {
                    self.fill(chosen, lane, deadline);
                }
                chosen.pop();
            }
        }
        if !chosen.is_empty() && !self.could_grow(chosen) {
            self.keep(chosen);
        }
    }

    /// Whether some lane could be added: then a fuller choice is kept elsewhere.
    fn could_grow(&mut self, chosen: &mut Vec<usize>) -> bool {
        if !self.field.share {
            return false;
        }
        (0..self.lanes.len()).any(|lane| {
            chosen.push(lane);
            let holds = self.holds(chosen);
            chosen.pop();
            holds
        })
    }

    fn keep(&mut self, chosen: &[usize]) {
        let lanes: Vec<Vec<usize>> = chosen
            .iter()
            .map(|lane| self.lanes[*lane].kinds.clone())
            .collect();
        let mut content: Vec<usize> = lanes.iter().flatten().copied().collect();
        content.sort_unstable();
        if self.seen.insert(content) {
            self.found.push(lanes);
        }
    }

    fn holds(&mut self, chosen: &[usize]) -> bool {
        let mut of_class: BTreeMap<usize, usize> = BTreeMap::new();
        for kind in chosen.iter().flat_map(|lane| &self.lanes[*lane].kinds) {
            if let Some(class) = self.kinds[*kind].class {
                *of_class.entry(class).or_default() += 1;
            }
        }
        if !self.limits.caps.allow(&of_class) {
            return false;
        }
        let widths: Vec<Length> = chosen.iter().map(|lane| self.lanes[*lane].width).collect();
        let margins: Vec<Length> = chosen
            .iter()
            .map(|lane| self.lanes[*lane].margin_across)
            .collect();
        let row = arrange(&widths, &margins, self.field.between, &[]);
        let fits = row.room_doubled <= self.field.across * 2;
        if !fits && !row.exact {
            self.complete = false;
        }
        fits
    }
}

/// Leaves out each pattern of one hoop for which another has a place for every run.
fn without_dominated(kinds: &[Kind], patterns: Vec<Pattern>) -> Vec<Pattern> {
    let mut described: Vec<(Vec<usize>, Pattern)> = patterns
        .into_iter()
        .map(|pattern| (pattern.kinds(), pattern))
        .collect();
    let total = |content: &[usize]| {
        content
            .iter()
            .map(|kind| kinds[*kind].length)
            .sum::<Length>()
    };
    described.sort_by_key(|(content, pattern)| {
        (
            std::cmp::Reverse(total(content)),
            content.clone(),
            pattern.turned,
        )
    });
    described.dedup_by(|later, earlier| later.0 == earlier.0);
    if described.len() > MOST_COMPARED {
        return described.into_iter().map(|(_, pattern)| pattern).collect();
    }
    let mut kept: Vec<(Vec<usize>, Pattern)> = Vec::new();
    for (content, pattern) in described {
        if !kept
            .iter()
            .any(|(strong, _)| has_places(kinds, strong, &content))
        {
            kept.push((content, pattern));
        }
    }
    kept.into_iter().map(|(_, pattern)| pattern).collect()
}
