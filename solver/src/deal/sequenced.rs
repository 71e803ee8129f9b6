//! The order of hoopings where wishes say how runs follow each other along a strip.
//!
//! Once it is known which run of a strip lies where, what has to come later than what is a rule like all others, and the order is
//! found as elsewhere. So the runs are arranged along one strip after the other. Strips that are not arranged yet ask what holds
//! for every arrangement, so that hoopings that cannot be put in order are seen early; and the order found for that chooses the arrangement:
//! mostly it allows one already.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::cover::{Part, Sequences, Sides};
use crate::deadline::Deadline;
use crate::deal::order::{self, Later, Ordered, Wanted};
use crate::deal::{Dealt, Job, peeled};
use crate::hooping::kind::Openness;

/// The most arrangements of one strip that are listed.
const MOST_ARRANGEMENTS: usize = 2_000;
/// The most arrangements that one search tries.
const MOST_TRIED: usize = 2_000;
/// The clock is asked each time after so many.
const OFTEN: usize = 64;

/// The order of a strip's runs along it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Along {
    /// The runs by their numbers.
    pub parts: Vec<Part>,
    /// The orders that will do.
    pub sequences: Arc<Sequences>,
    /// Strips of one group get the same order.
    pub group: Option<usize>,
    /// Where the strip grows.
    pub sides: Sides,
}

/// Whether some strip's order is told.
pub(super) fn any(split: &[&Job]) -> bool {
    split.iter().any(|job| job.along.is_some())
}

/// Hoopings, each with those of which one has to come later.
type Rules = Vec<(usize, Vec<usize>)>;

/// The order that is wanted, where it is told how runs follow each other.
pub(super) fn search(wanted: Wanted<'_>) -> Ordered {
    let Some(strips) = told(wanted.hoopings, wanted.split) else {
        return peeled::search(wanted);
    };
    let mut along = wanted.split.iter().filter_map(|job| job.along.as_ref());
    let mut search = Search {
        hoopings: wanted.hoopings,
        complete: along.all(|along| along.sequences.complete),
        best: None,
        known: wanted.known,
        tried: 0,
        least: 0,
        deadline: wanted.deadline,
    };
    let mut relaxed = wanted.later.clone();
    for strip in &strips {
        add(&mut relaxed, &strip.always);
    }
    if let Some((changes, order)) = search.order(&relaxed) {
        search.least = changes;
        let waiting: Vec<&Strip> = strips.iter().collect();
        search.decide(&relaxed, &waiting, &BTreeMap::new(), (changes, order));
    }
    Ordered {
        best: search.best,
        complete: search.complete,
    }
}

/// A strip whose order is told.
struct Strip {
    /// The group of strips that get the same order, where there are others in it.
    group: Option<usize>,
    /// What holds however its runs lie.
    always: Rules,
    arrangements: Vec<Arrangement>,
}

/// Which run lies where along a strip.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Arrangement {
    /// What it asks of the order of the work.
    rules: Rules,
    /// The number of the strip's order, where others get the same; else 0.
    sequence: usize,
}

/// The strips whose order is told, with all their arrangements; `None` where those of some strip are too many.
fn told(hoopings: &[Dealt], split: &[&Job]) -> Option<Vec<Strip>> {
    let held = order::held(hoopings);
    let jobs = || {
        split
            .iter()
            .filter_map(|job| Some((job.strip, job.along.as_ref()?)))
    };
    let mut sizes: BTreeMap<usize, usize> = BTreeMap::new();
    for group in jobs().filter_map(|(_, along)| along.group) {
        *sizes.entry(group).or_default() += 1;
    }
    let strips = jobs().map(|(strip, along)| {
        let runs = 0..along.parts.len();
        let at = runs.map(|run| held.get(&(strip, run)).copied());
        let at: Vec<usize> = at.collect::<Option<_>>()?;
        let group = along.group.filter(|group| sizes[group] > 1);
        Some(Strip {
            group,
            always: always(along, &at),
            arrangements: arrangements(along, &at, group.is_some())?,
        })
    });
    strips.collect()
}

/// What holds for every arrangement: the last run of a strip that is stitched is an outer one.
fn always(along: &Along, at: &[usize]) -> Rules {
    let runs = || along.parts.iter().zip(at);
    let outer = runs().filter(|((_, openness), _)| *openness == Openness::Outer);
    let outer: Vec<usize> = outer.map(|(_, hooping)| *hooping).collect();
    let inner = runs().filter(|((_, openness), _)| *openness == Openness::Inner);
    inner
        .map(|(_, hooping)| (*hooping, outer.clone()))
        .collect()
}

/// Every arrangement of a strip's runs, which are in the hoopings `at`; `None` where there are too many.
fn arrangements(along: &Along, at: &[usize], shares: bool) -> Option<Vec<Arrangement>> {
    let mut found = BTreeSet::new();
    for (number, sequence) in along.sequences.list.iter().enumerate() {
        let mut waiting = vec![Vec::new()];
        let mut listed = 0;
        // Each is the runs at the first places.
        while let Some(runs) = waiting.pop() {
            listed += 1;
            if listed > MOST_ARRANGEMENTS {
                return None;
            }
            let Some(part) = sequence.get(runs.len()) else {
                let along_strip: Vec<usize> = runs.iter().map(|run: &usize| at[*run]).collect();
                let rules = along.sides.later(&along_strip).into_iter();
                found.extend(rules.map(|rules| Arrangement {
                    rules,
                    sequence: if shares { number } else { 0 },
                }));
                continue;
            };
            let free = (0..along.parts.len())
                .filter(|run| along.parts[*run] == *part && !runs.contains(run));
            waiting.extend(free.map(|run| [runs.as_slice(), &[run]].concat()));
        }
        if found.len() > MOST_ARRANGEMENTS {
            return None;
        }
    }
    Some(found.into_iter().collect())
}

fn add(later: &mut Later, rules: &Rules) {
    for (hooping, any) in rules {
        later[*hooping].push(any.clone());
    }
}

/// Hoop changes, and the hoopings in the order of the work.
type Order = (usize, Vec<usize>);

struct Search<'a> {
    hoopings: &'a [Dealt],
    known: Option<usize>,
    /// The fewest changes that any arrangement can have.
    least: usize,
    best: Option<Order>,
    complete: bool,
    tried: usize,
    deadline: &'a Deadline,
}

impl Search<'_> {
    /// The order with the fewest changes that keeps to this, if it has fewer than the best so far.
    fn order(&mut self, later: &Later) -> Option<Order> {
        let known = self.best.as_ref().map(|(changes, _)| *changes);
        let found = order::search(self.hoopings, later, known.or(self.known));
        self.complete &= found.complete;
        found.best
    }

    /// Arranges the waiting strips. `later` holds what those arranged ask and what all others ask in any case, `order` the order
    /// with the fewest changes that keeps to it.
    fn decide(
        &mut self,
        later: &Later,
        waiting: &[&Strip],
        sequences: &BTreeMap<usize, usize>,
        order: Order,
    ) {
        let known = self.best.as_ref();
        if known.is_some_and(|(changes, _)| order.0 >= *changes) {
            return;
        }
        let fits = |strip: &Strip, arrangement: &Arrangement| {
            let told = strip.group.and_then(|group| sequences.get(&group));
            told.is_none_or(|sequence| *sequence == arrangement.sequence)
        };
        let choices = |strip: &Strip| {
            let all = strip.arrangements.iter();
            all.filter(|arrangement| fits(strip, arrangement)).count()
        };
        let next = (0..waiting.len()).min_by_key(|number| choices(waiting[*number]));
        let Some(next) = next else {
            self.best = Some(order);
            return;
        };
        let strip = waiting[next];
        let others = [&waiting[..next], &waiting[next + 1..]].concat();
        let mut place = vec![0; self.hoopings.len()];
        for (at, hooping) in order.1.iter().enumerate() {
            place[*hooping] = at;
        }
        let broken = |arrangement: &Arrangement| {
            let kept = |(hooping, any): &(usize, Vec<usize>)| {
                any.iter().any(|other| place[*other] > place[*hooping])
            };
            let rules = arrangement.rules.iter();
            rules.filter(|rule| !kept(rule)).count()
        };
        let fitting = strip
            .arrangements
            .iter()
            .filter(|arrangement| fits(strip, arrangement));
        let mut fitting: Vec<(usize, &Arrangement)> = fitting.map(|of| (broken(of), of)).collect();
        fitting.sort_by_key(|(broken, _)| *broken);
        for (broken, arrangement) in fitting {
            self.tried += 1;
            if self.tried.is_multiple_of(OFTEN) && self.deadline.over() {
                self.tried = MOST_TRIED + 1;
            }
            if self.tried > MOST_TRIED {
                self.complete = false;
                return;
            }
            let mut later = later.clone();
            add(&mut later, &arrangement.rules);
            let order = match broken {
                0 => Some(order.clone()),
                _ => self.order(&later),
            };
            if let Some(order) = order {
                let mut sequences = sequences.clone();
                sequences.extend(strip.group.map(|group| (group, arrangement.sequence)));
                self.decide(&later, &others, &sequences, order);
            }
            let enough = |(changes, _): &Order| *changes <= self.least;
            if self.best.as_ref().is_some_and(enough) {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cover::placed;
    use crate::random::SplitMix64;
    use crate::scenario::Growth;
    use crate::strips::{End, Stage};

    /// A strip of three or four runs of two pieces, with up to three orders of its inner runs.
    fn drawn_job(strip: usize, stage: Stage, growth: Growth, draw: &mut SplitMix64) -> Job {
        let count = 3 + draw.below(2) as usize;
        let openness = |at: usize| match stage.butts() {
            Some(End::Start) if at + 1 < count => Openness::Inner,
            Some(End::End) if at > 0 => Openness::Inner,
            None if at > 0 && at + 1 < count => Openness::Inner,
            _ => Openness::Outer,
        };
        let parts: Vec<Part> = (0..count)
            .map(|at| (draw.below(2) as usize, openness(at)))
            .collect();
        let mut list = vec![parts.clone()];
        for _ in 0..draw.below(3) {
            let mut other = parts.clone();
            other[1..count - 1].rotate_left(draw.below(2) as usize);
            if stage.butts().is_none() && draw.below(2) == 1 {
                other.reverse();
            }
            if !list.contains(&other) {
                list.push(other);
            }
        }
        Job {
            strip,
            runs: vec![0; count],
            is_rest: stage.butts().is_some(),
            along: Some(Along {
                parts,
                sequences: Arc::new(Sequences {
                    list,
                    complete: true,
                }),
                group: None,
                sides: Sides::of(growth, stage),
            }),
        }
    }

    /// Every run in a hooping, none twice in one.
    fn drawn_hoopings(jobs: &[Job], draw: &mut SplitMix64) -> Vec<Dealt> {
        let mut hoopings: Vec<Dealt> = (0..5)
            .map(|_| Dealt {
                hoop: draw.below(2) as usize,
                turned: false,
                lanes: Vec::new(),
            })
            .collect();
        for job in jobs {
            let mut free: Vec<usize> = (0..hoopings.len()).collect();
            for run in 0..job.runs.len() {
                let hooping = free.swap_remove(draw.below(free.len() as u64) as usize);
                hoopings[hooping].lanes.push(vec![(job.strip, run)]);
            }
        }
        hoopings.retain(|hooping| !hooping.lanes.is_empty());
        hoopings
    }

    /// Whether the runs of every strip can lie along it in this order of the work.
    fn holds(hoopings: &[Dealt], order: &[usize], jobs: &[Job]) -> bool {
        jobs.iter().all(|job| {
            let Some(along) = &job.along else {
                return false;
            };
            let worked: Vec<(usize, Part)> = order
                .iter()
                .flat_map(|hooping| hoopings[*hooping].lanes.iter().flatten())
                .filter(|(strip, _)| *strip == job.strip)
                .map(|(_, run)| (*run, along.parts[*run]))
                .collect();
            let mut list = along.sequences.list.iter();
            list.any(|sequence| placed(sequence, &worked, along.sides).is_some())
        })
    }

    /// Against the search that takes runs off from the last hooping backwards.
    #[test]
    fn both_searches_find_as_few_changes() {
        let (mut found, mut none) = (0, 0);
        for seed in 0..3_000 {
            let mut draw = SplitMix64::new(seed);
            let growth = [Growth::EitherWay, Growth::OneWay][draw.below(2) as usize];
            let butts = [None, Some(End::Start), Some(End::End)];
            let jobs: Vec<Job> = (0..1 + draw.below(3) as usize)
                .map(|strip| {
                    let stage = match butts[draw.below(3) as usize] {
                        Some(butts) if strip > 0 => Stage::Rest {
                            butts,
                            of: 0,
                            unscaled: false,
                        },
                        _ => Stage::Whole,
                    };
                    drawn_job(strip, stage, growth, &mut draw)
                })
                .collect();
            let hoopings = drawn_hoopings(&jobs, &mut draw);
            let split: Vec<&Job> = jobs.iter().collect();
            let later = vec![Vec::new(); hoopings.len()];
            let never = Deadline::never();
            let wanted = Wanted {
                hoopings: &hoopings,
                split: &split,
                later: &later,
                known: None,
                deadline: &never,
            };
            let [arranged, peeled] = [search, peeled::search].map(|search| search(wanted));
            assert!(arranged.complete && peeled.complete, "seed {seed}");
            let changes = |ordered: &Ordered| ordered.best.as_ref().map(|(changes, _)| *changes);
            assert_eq!(changes(&arranged), changes(&peeled), "seed {seed}");
            match &arranged.best {
                Some((_, order)) => {
                    assert!(holds(&hoopings, order, &jobs), "seed {seed}");
                    found += 1;
                }
                None => none += 1,
            }
        }
        assert!(found > 500 && none > 100, "{found} found, {none} none");
    }
}
