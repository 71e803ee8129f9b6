//! Runs that are alike in every lane, though they measure differently: of two such runs each can be where the other one is.
//!
//! With small repeats that stop early, or with scales, a run can have hundreds of lengths. What counts is what else has room in its lane: a run
//! with two open ends has its lane for itself, and beside one with an open end there can only be what adds up to so much. Runs that
//! leave room for the same are one kind here. (In cutting stock this is known as rounding sizes up to the next one that matters.)

use std::collections::{BTreeMap, BTreeSet};

use crate::hooping::arrange::room_doubled;
use crate::hooping::kind::{Kind, Openness};
use crate::hooping::lane::Field;
use crate::length::Length;
use crate::scenario::Scenario;
use crate::sums_of_steps::sums_of_steps;
use crate::wishes::leaves;

/// The most sums of closed runs in a lane, and of what can be beside a run in all ways to lay hoops: past it only runs that are alone are alike.
const MOST_SUMS: usize = 500;
const MOST_BESIDE: usize = 1_000_000;

/// One hoop laid one way round, and what can be in a lane beside a run with one open end.
struct Way {
    hoop: usize,
    field: Field,
    beside: Beside,
}

/// What can be beside a run with one open end.
enum Beside {
    /// All that it can add up to, each with what lies between and behind, doubled, in ascending order.
    Sums(Vec<Length>),
    /// Length and margin along of the smallest runs: any other one is no shorter than one of them and has no less margin.
    Smallest(Vec<(Length, Length)>),
}

/// What a run with one open end leaves room for in a field.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Room {
    /// For so many of the sums that can be beside it.
    Sums(usize),
    /// For something; it is alike no other run.
    Some(usize),
    /// For nothing.
    None,
}

/// What is the same of runs that are alike: all of a kind but its length and margin along, and for each way in which it fits what
/// it leaves room for.
type Likeness = (Kind, Vec<(usize, Room)>);

/// For each kind the number of the one that stands for it: itself, or the largest of those that are alike.
pub fn stand_ins(scenario: &Scenario, kinds: &[Kind]) -> Vec<usize> {
    let ways = ways(scenario, kinds);
    let mut largest = BTreeMap::new();
    let mut likenesses = Vec::new();
    for (number, kind) in kinds.iter().enumerate() {
        let likeness = likeness(&ways, number, kind);
        if let Some(likeness) = &likeness {
            let size = (kind.length + kind.margin_along, kind.margin_along, number);
            let best = largest.entry(likeness.clone()).or_insert(size);
            *best = size.max(*best);
        }
        likenesses.push(likeness);
    }
    let stand_in = |(number, likeness): (usize, &Option<Likeness>)| match likeness {
        Some(likeness) => largest[likeness].2,
        None => number,
    };
    likenesses.iter().enumerate().map(stand_in).collect()
}

fn likeness(ways: &[Way], number: usize, kind: &Kind) -> Option<Likeness> {
    let room = |way: &Way| match kind.openness {
        Openness::Inner => Room::None,
        Openness::Outer | Openness::Closed => way.room_beside(number, kind),
    };
    let ways = ways.iter().enumerate();
    let fitting = ways.filter(|(_, way)| way.takes(kind));
    let of_no_length = Kind {
        length: Length::ZERO,
        margin_along: Length::ZERO,
        ..*kind
    };
    // A lane can hold many closed runs: each of them would have to be looked at with regard to the others.
    (kind.openness != Openness::Closed).then(|| {
        let rooms = fitting.map(|(number, way)| (number, room(way)));
        (of_no_length, rooms.collect())
    })
}

/// The ways to lay each hoop.
fn ways(scenario: &Scenario, kinds: &[Kind]) -> Vec<Way> {
    let mut ways = Vec::new();
    let mut left = MOST_BESIDE;
    for (hoop, owned) in scenario.hoops.iter().enumerate() {
        for (along, across, _) in owned.ways() {
            let mut way = Way {
                hoop,
                field: Field::of(scenario, along, across),
                beside: Beside::Sums(Vec::new()),
            };
            let kinds = kinds.iter();
            let kinds = kinds.filter(|kind| kind.openness != Openness::Inner && way.takes(kind));
            let kinds: Vec<&Kind> = kinds.collect();
            if way.field.share {
                let sums = way.sums_beside(&kinds, &mut left);
                way.beside = sums.map_or_else(|| smallest(&kinds), Beside::Sums);
            }
            ways.push(way);
        }
    }
    ways
}

/// The smallest of these.
fn smallest(kinds: &[&Kind]) -> Beside {
    let sizes = kinds.iter();
    let sizes = sizes.map(|kind| (kind.length, kind.margin_along));
    let sizes: BTreeSet<(Length, Length)> = sizes.collect();
    let mut smallest: Vec<(Length, Length)> = Vec::new();
    for (length, margin) in sizes {
        if smallest.last().is_none_or(|(_, least)| margin < *least) {
            smallest.push((length, margin));
        }
    }
    Beside::Smallest(smallest)
}

impl Way {
    /// Whether the field has room for a run of a kind.
    fn takes(&self, kind: &Kind) -> bool {
        leaves(kind.hoops, self.hoop)
            && kind.length + kind.margin_along <= self.field.along
            && kind.width + kind.margin_across <= self.field.across
    }

    /// All that can be beside a run with an open end: any closed runs, and perhaps another run with an open end. `None` where they are more
    /// than are `left`, or where margins reach so far that they do not just add up.
    fn sums_beside(&self, kinds: &[&Kind], left: &mut usize) -> Option<Vec<Length>> {
        let (between, most) = (self.field.between * 2, self.field.along * 2);
        let largest = kinds.iter().map(|kind| kind.margin_along).max()?;
        if largest * 2 > between {
            return None;
        }
        let closed = kinds.iter();
        let closed = closed.filter(|kind| kind.openness == Openness::Closed);
        let steps: BTreeSet<Length> = closed.map(|kind| kind.length * 2 + between).collect();
        let steps: Vec<Length> = steps.into_iter().collect();
        let sums = sums_of_steps(&steps, most, MOST_SUMS)?;
        // Any of them can be the last in the lane.
        let last = kinds.iter();
        let last: BTreeSet<Length> = last
            .map(|kind| between + kind.length * 2 + kind.margin_along)
            .collect();
        let mut beside = Vec::new();
        for sum in sums {
            let further = last.iter().map(|last| sum + *last);
            let before = beside.len();
            beside.extend(further.take_while(|beside| *beside <= most));
            *left = left.checked_sub(beside.len() - before)?;
        }
        beside.sort_unstable();
        beside.dedup();
        Some(beside)
    }

    /// What there is room for in a lane beside a run with an open end.
    fn room_beside(&self, number: usize, kind: &Kind) -> Room {
        let along = self.field.along * 2;
        match &self.beside {
            Beside::Sums(sums) => {
                let left = along - kind.length * 2 - kind.margin_along;
                Room::Sums(sums.partition_point(|sum| *sum <= left))
            }
            Beside::Smallest(smallest) => {
                let fits = |(length, margin): &(Length, Length)| {
                    let sizes = [kind.length, *length];
                    let margins = [kind.margin_along, *margin];
                    room_doubled(&sizes, &margins, self.field.between, &[0, 1]) <= along
                };
                if smallest.iter().any(fits) {
                    Room::Some(number)
                } else {
                    Room::None
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hooping::arrange::arrange;
    use crate::random::SplitMix64;
    use crate::wishes::EVERY_HOOP;

    /// Drawn runs of both outer and closed kinds; each lane of them, up to four runs, has room for a run's stand-in exactly where it has room
    /// for the run.
    #[test]
    fn a_stand_in_fits_where_its_run_does() {
        let mut merged = 0;
        for seed in 0..300 {
            let mut draw = SplitMix64::new(seed);
            let text = format!(
                r#"{{"format": 1, "unit": "mm", "strips": [{{"id": "a", "length": 9, "width": 1, "design": "d"}}],
                "designs": [{{"id": "d", "sizes": [{{"id": "s", "width": 1, "repeat": 1, "repeats": 3}}]}}],
                "allowances": {{"seam": 0, "trim": 0, "gap": {}}},
                "hoops": [{{"id": "one", "field": [{}, 3], "turn": false}}, {{"id": "two", "field": [{}, 3], "turn": false}}]}}"#,
                draw.below(4),
                6 + draw.below(12),
                6 + draw.below(12)
            );
            let scenario = crate::scenario::read(text.as_bytes()).expect("a scenario");
            let mm = |count: u64| Length::from_nanometres(count as i64 * 1_000_000);
            let mut kinds = BTreeSet::new();
            for _ in 0..10 {
                let openness = [Openness::Closed, Openness::Outer, Openness::Inner];
                kinds.insert(Kind {
                    openness: openness[draw.below(3) as usize],
                    class: None,
                    hoops: EVERY_HOOP,
                    length: mm(1 + draw.below(12)),
                    width: mm(1),
                    margin_along: mm(draw.below(3)),
                    margin_across: Length::ZERO,
                });
            }
            let kinds: Vec<Kind> = kinds.into_iter().collect();
            let by = stand_ins(&scenario, &kinds);
            let between = scenario.allowances.between();
            for hoop in &scenario.hoops {
                let holds = |lane: &[usize]| {
                    let inner = |kind: &usize| kinds[*kind].openness == Openness::Inner;
                    let outer = |at: &usize| kinds[lane[*at]].openness == Openness::Outer;
                    let ends: Vec<usize> = (0..lane.len()).filter(outer).collect();
                    let lengths: Vec<Length> =
                        lane.iter().map(|kind| kinds[*kind].length).collect();
                    let margins = lane.iter().map(|kind| kinds[*kind].margin_along);
                    let margins: Vec<Length> = margins.collect();
                    let alone = lane.len() == 1 || !lane.iter().any(inner);
                    alone
                        && ends.len() <= 2
                        && arrange(&lengths, &margins, between, &ends).room_doubled
                            <= hoop.field[0] * 2
                };
                for (run, stand_in) in by.iter().enumerate().filter(|(run, by)| *run != **by) {
                    merged += 1;
                    assert_eq!(holds(&[run]), holds(&[*stand_in]), "seed {seed}");
                    for lane in lanes_of(kinds.len(), 3) {
                        let with = |kind: usize| [lane.as_slice(), &[kind]].concat();
                        assert_eq!(
                            holds(&with(run)),
                            holds(&with(*stand_in)),
                            "seed {seed}: {run} for {stand_in} beside {lane:?}"
                        );
                    }
                }
            }
        }
        assert!(merged > 500, "{merged}");
    }

    /// Every choice of one up to `most` kinds.
    fn lanes_of(kinds: usize, most: usize) -> Vec<Vec<usize>> {
        let mut lanes: Vec<Vec<usize>> = vec![Vec::new()];
        let mut from = 0;
        for _ in 0..most {
            let until = lanes.len();
            for at in from..until {
                let first = lanes[at].last().copied().unwrap_or(0);
                for kind in first..kinds {
                    let longer = [lanes[at].as_slice(), &[kind]].concat();
                    lanes.push(longer);
                }
            }
            from = until;
        }
        lanes.split_off(1)
    }
}
