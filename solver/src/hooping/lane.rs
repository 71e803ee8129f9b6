//! Lanes: runs end to end along the field.

use std::collections::{BTreeMap, BTreeSet};

use crate::deadline::Deadline;
use crate::hooping::arrange::arrange;
use crate::hooping::caps::Caps;
use crate::hooping::kind::{Kind, Openness};
use crate::hooping::pattern::Limits;
use crate::hooping::places::has_places;
use crate::length::Length;
use crate::scenario::Scenario;

/// The most lanes for one length of field that are worth listing.
pub const MOST_LANES: usize = 12_000;
/// The most runs of one lane, and lanes of one field. No hoop has room for a tenth of them; but a field may be given
/// without measure, and searches that go one deeper with each run or lane would need a stack without measure.
pub const MOST_PLACES: usize = 400;
/// The most steps of one enumeration.
const MOST_STEPS: usize = 1_000_000;

/// A lane that holds as much as it can.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Lane {
    /// The kinds of its runs (numbers), in ascending order.
    pub kinds: Vec<usize>,
    /// The largest width of its runs.
    pub width: Length,
    /// The largest margin across of its runs.
    pub margin_across: Length,
}

/// The field and the rules that lanes have to keep to.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Room along the lane.
    pub along: Length,
    /// Room across the lanes.
    pub across: Length,
    /// G: the least distance between two fabrics.
    pub between: Length,
    /// Whether a hooping may hold more than one run.
    pub share: bool,
}

impl Field {
    /// The field of a hoop with so much room, by the scenario's allowances and rules.
    pub fn of(scenario: &Scenario, along: Length, across: Length) -> Field {
        Field {
            along,
            across,
            between: scenario.allowances.between(),
            share: scenario.rules.share_hoopings,
        }
    }
}

/// The lanes of a field and whether none is missing.
#[derive(Clone, Debug)]
pub struct Lanes {
    /// The lanes.
    pub list: Vec<Lane>,
    /// Whether every possible lane is there or could be exchanged for one that is.
    pub complete: bool,
}

/// Lists the lanes that a field can hold, of kinds of which at most `most[kind]` can share a hooping; none where they are
/// more than `limit`.
pub fn lanes(
    field: Field,
    kinds: &[Kind],
    limits: &Limits,
    most: &[usize],
    limit: usize,
    deadline: &Deadline,
) -> Lanes {
    let usable = usable(field, kinds, most);
    let search = Search::new(field, kinds, most, &limits.caps, limit);
    listed(search, &usable, deadline)
}

/// The same where they are too many: lanes in which a longer run would have room are left out as they are met, which takes longer for each, and
/// they do not count. Up to [`MOST_LANES`].
pub fn longest_lanes(
    field: Field,
    kinds: &[Kind],
    limits: &Limits,
    most: &[usize],
    deadline: &Deadline,
) -> Lanes {
    let usable = usable(field, kinds, most);
    let search = Search {
        longer: longer(&usable, kinds),
        ..Search::new(field, kinds, most, &limits.caps, MOST_LANES)
    };
    listed(search, &usable, deadline)
}

/// The kinds that a lane can hold.
fn usable(field: Field, kinds: &[Kind], most: &[usize]) -> Vec<usize> {
    let fits = |kind: &Kind| {
        kind.length + kind.margin_along <= field.along
            && kind.width + kind.margin_across <= field.across
    };
    let all = 0..kinds.len();
    all.filter(|kind| most[*kind] > 0 && fits(&kinds[*kind]))
        .collect()
}

fn listed(mut search: Search<'_>, usable: &[usize], deadline: &Deadline) -> Lanes {
    let (kinds, share) = (search.kinds, search.field.share);
    (search.bound, search.closed) = filter(usable, kinds, Openness::Closed)
        .into_iter()
        .partition(|kind| kinds[*kind].class.is_some());
    for inner in filter(usable, kinds, Openness::Inner) {
        search.keep(&[inner]);
    }
    let outers = filter(usable, kinds, Openness::Outer);
    for (at, first) in outers.iter().enumerate() {
        search.fill_bound(&mut vec![*first], 0, deadline);
        for second in outers[at..].iter().filter(|_| share) {
            if search.ended(deadline) {
                break;
            }
            if search.holds(&[*first, *second]) {
                search.fill_bound(&mut vec![*first, *second], 0, deadline);
            }
        }
    }
    search.fill_bound(&mut Vec::new(), 0, deadline);
    if !search.complete {
        // A list that is cut is of no use.
        return Lanes {
            list: Vec::new(),
            complete: false,
        };
    }
    let list = without_dominated(kinds, search.found, deadline);
    Lanes {
        complete: list.is_some(),
        list: list.unwrap_or_default(),
    }
}

/// For each kind the next longer one that is the same else.
fn longer(usable: &[usize], kinds: &[Kind]) -> BTreeMap<usize, usize> {
    let of_any_length = |kind: &usize| Kind {
        length: Length::ZERO,
        ..kinds[*kind]
    };
    let mut ordered = usable.to_vec();
    ordered.sort_by_key(|kind| (of_any_length(kind), kinds[*kind].length));
    let pairs = ordered.windows(2);
    pairs
        .filter(|pair| of_any_length(&pair[0]) == of_any_length(&pair[1]))
        .map(|pair| (pair[0], pair[1]))
        .collect()
}

fn filter(usable: &[usize], kinds: &[Kind], openness: Openness) -> Vec<usize> {
    let mut chosen: Vec<usize> = usable
        .iter()
        .copied()
        .filter(|kind| kinds[*kind].openness == openness)
        .collect();
    chosen.sort_by_key(|kind| std::cmp::Reverse((kinds[*kind].length, *kind)));
    chosen
}

struct Search<'a> {
    field: Field,
    kinds: &'a [Kind],
    most: &'a [usize],
    caps: &'a Caps,
    limit: usize,
    /// No run has less margin along. It is below zero where a run is longer than its field by what rounding adds.
    least_margin: Length,
    /// For each kind the next longer one that is the same else, where lanes are left out for that.
    longer: BTreeMap<usize, usize>,
    /// Closed runs that can be added wherever there is room.
    closed: Vec<usize>,
    /// Closed runs that wishes bind: a lane may be better without them.
    bound: Vec<usize>,
    found: Vec<Lane>,
    steps: usize,
    complete: bool,
}

impl<'a> Search<'a> {
    fn new(
        field: Field,
        kinds: &'a [Kind],
        most: &'a [usize],
        caps: &'a Caps,
        limit: usize,
    ) -> Search<'a> {
        let margins = kinds.iter().map(|kind| kind.margin_along);
        Search {
            field,
            kinds,
            most,
            caps,
            limit,
            least_margin: margins.min().unwrap_or_default(),
            longer: BTreeMap::new(),
            closed: Vec::new(),
            bound: Vec::new(),
            found: Vec::new(),
            steps: 0,
            complete: true,
        }
    }

    /// Takes a step; whether there are none left, and so the list is cut.
    fn ended(&mut self, deadline: &Deadline) -> bool {
        self.steps += 1;
        let late = self.steps.is_multiple_of(64) && deadline.over();
        let ended = late || self.steps >= MOST_STEPS || self.found.len() >= self.limit;
        self.end_where(ended)
    }

    fn end_where(&mut self, ended: bool) -> bool {
        if ended {
            self.steps = MOST_STEPS;
            self.complete = false;
        }
        ended
    }

    /// Adds bound runs, from the longest on, in every way, and to each of these the other closed runs.
    fn fill_bound(&mut self, lane: &mut Vec<usize>, first: usize, deadline: &Deadline) {
        self.fill(lane, 0, deadline);
        let may_grow = self.field.share || lane.is_empty();
        for at in (first..self.bound.len()).filter(|_| may_grow) {
            let kind = self.bound[at];
            if self.steps >= MOST_STEPS || self.count(lane, kind) >= self.most[kind] {
                continue;
            }
            lane.push(kind);
            if self.allowed(lane) && self.holds(lane) {
                self.fill_bound(lane, at, deadline);
            }
            lane.pop();
        }
    }

    /// Whether a hooping may hold these runs.
    fn allowed(&self, lane: &[usize]) -> bool {
        let mut used = BTreeMap::new();
        for class in lane.iter().filter_map(|kind| self.kinds[*kind].class) {
            *used.entry(class).or_default() += 1;
        }
        self.caps.allow(&used)
    }

    /// Adds closed runs, from the longest on, and keeps each lane to which no more can be added.
    fn fill(&mut self, lane: &mut Vec<usize>, first: usize, deadline: &Deadline) {
        if self.end_where(lane.len() > MOST_PLACES) || self.ended(deadline) {
            return;
        }
        let may_grow = self.field.share || lane.is_empty();
        let shortest = self.closed_within(lane);
        for at in (first.max(shortest)..self.closed.len()).filter(|_| may_grow) {
            let kind = self.closed[at];
            if self.count(lane, kind) < self.most[kind] {
                lane.push(kind);
                if self.holds(lane) {
                    self.fill(lane, at, deadline);
                }
                lane.pop();
            }
        }
        if lane.is_empty() {
            return;
        }
        let could_grow = may_grow
            && (shortest..self.closed.len()).any(|at| {
                let kind = self.closed[at];
                self.count(lane, kind) < self.most[kind] && {
                    let mut grown = lane.clone();
                    grown.push(kind);
                    self.wide(&grown) == self.wide(lane) && self.holds(&grown)
                }
            });
        if !could_grow && !self.is_outdone(lane) {
            self.keep(lane);
        }
    }

    /// The first of the closed runs, the longest first, that is no longer than what a lane leaves beside its runs, the least distances
    /// between them, and the least margins at its ends.
    fn closed_within(&self, lane: &[usize]) -> usize {
        let each = |kind: &usize| self.kinds[*kind].length + self.field.between;
        let left = self.field.along - lane.iter().map(each).sum() - self.least_margin;
        let closed = &self.closed;
        closed.partition_point(|kind| self.kinds[*kind].length > left)
    }

    /// Whether there is room for a longer run in place of one of these: such a lane can stand in for this one.
    fn is_outdone(&mut self, lane: &[usize]) -> bool {
        // Where it is not known whether there is room this lane is kept, and nothing is missing.
        let complete = self.complete;
        let outdone = (0..lane.len()).any(|at| {
            let mut other = lane.to_vec();
            let Some(longer) = self.longer.get(&lane[at]).copied() else {
                return false;
            };
            other[at] = longer;
            self.count(lane, longer) < self.most[longer] && self.holds(&other)
        });
        self.complete = complete;
        outdone
    }

    fn count(&self, lane: &[usize], kind: usize) -> usize {
        lane.iter().filter(|other| **other == kind).count()
    }

    /// Whether the runs fit end to end, the outer ones at the ends.
    fn holds(&mut self, lane: &[usize]) -> bool {
        let lengths: Vec<Length> = lane.iter().map(|kind| self.kinds[*kind].length).collect();
        let margins: Vec<Length> = lane
            .iter()
            .map(|kind| self.kinds[*kind].margin_along)
            .collect();
        let open = |index: &usize| self.kinds[lane[*index]].openness != Openness::Closed;
        let ends: Vec<usize> = (0..lane.len()).filter(open).collect();
        let (width, margin) = self.wide(lane);
        let row = arrange(&lengths, &margins, self.field.between, &ends);
        let fits = row.room_doubled <= self.field.along * 2 && width + margin <= self.field.across;
        if !fits && !row.exact {
            self.complete = false;
        }
        fits
    }

    fn wide(&self, lane: &[usize]) -> (Length, Length) {
        let width = lane.iter().map(|kind| self.kinds[*kind].width).max();
        let margin = lane
            .iter()
            .map(|kind| self.kinds[*kind].margin_across)
            .max();
        (width.unwrap_or_default(), margin.unwrap_or_default())
    }

    fn keep(&mut self, lane: &[usize]) {
        let mut kinds = lane.to_vec();
        kinds.sort_unstable();
        let (width, margin_across) = self.wide(lane);
        self.found.push(Lane {
            kinds,
            width,
            margin_across,
        });
    }
}

/// Leaves out each lane for which another can stand in: it holds as many open runs of each class, takes no more room
/// across, and has a place for every run. `None` where the time is over: each is compared with all that are kept.
fn without_dominated(kinds: &[Kind], lanes: Vec<Lane>, deadline: &Deadline) -> Option<Vec<Lane>> {
    let classes = |lane: &Lane| {
        let mut classes: Vec<usize> = lane
            .kinds
            .iter()
            .filter_map(|kind| kinds[*kind].class)
            .collect();
        classes.sort_unstable();
        classes
    };
    let mut described: Vec<(Vec<usize>, Lane)> = lanes
        .into_iter()
        .map(|lane| (classes(&lane), lane))
        .collect();
    // Longer lanes first: what comes later can hardly stand in for what came before.
    let total = |lane: &Lane| {
        lane.kinds
            .iter()
            .map(|kind| kinds[*kind].length)
            .sum::<Length>()
    };
    described.sort_by_key(|(_, lane)| (std::cmp::Reverse(total(lane)), lane.kinds.clone()));
    let mut kept: Vec<(Vec<usize>, Lane)> = Vec::new();
    let mut seen = BTreeSet::new();
    for (classes, lane) in described {
        if deadline.over() {
            return None;
        }
        let stands_in = |(other, strong): &(Vec<usize>, Lane)| {
            *other == classes
                && strong.width <= lane.width
                && strong.margin_across <= lane.margin_across
                && has_places(kinds, &strong.kinds, &lane.kinds)
        };
        if seen.insert(lane.kinds.clone()) && !kept.iter().any(stands_in) {
            kept.push((classes, lane));
        }
    }
    Some(kept.into_iter().map(|(_, lane)| lane).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::SplitMix64;
    use crate::wishes::EVERY_HOOP;

    /// Kinds of up to three classes and of no class, of two widths and ten lengths.
    fn drawn(draw: &mut SplitMix64) -> Vec<Kind> {
        let mut kinds = BTreeSet::new();
        for _ in 0..12 {
            let openness = [Openness::Closed, Openness::Outer, Openness::Inner];
            let openness = openness[draw.below(3) as usize];
            let class = draw.below(4) as usize;
            let [length, width, margin] = [1 + draw.below(10), 1 + draw.below(2), draw.below(3)]
                .map(|value| Length::from_nanometres(value as i64));
            // One nanometre below zero too, as where rounding makes a run longer than its field.
            let margin = margin - Length::from_nanometres(1);
            kinds.insert(Kind {
                openness,
                class: (openness != Openness::Closed || class > 0).then_some(class),
                hoops: EVERY_HOOP,
                length,
                width,
                margin_along: margin,
                margin_across: Length::ZERO,
            });
        }
        kinds.into_iter().collect()
    }

    /// Lanes that a longer run outdoes are left out early; the list is the one that comes of leaving them out late.
    #[test]
    fn no_lane_is_lost_for_want_of_length() {
        let mut fewer = 0;
        for seed in 0..400 {
            let mut draw = SplitMix64::new(seed);
            let kinds = drawn(&mut draw);
            let most: Vec<usize> = kinds.iter().map(|_| 1 + draw.below(2) as usize).collect();
            let caps = Caps {
                of_class: (0..4).map(|class| (class, 2)).collect(),
                ..Caps::default()
            };
            let field = Field {
                along: Length::from_nanometres(8 + draw.below(16) as i64),
                across: Length::from_nanometres(2),
                between: Length::from_nanometres(1),
                share: true,
            };
            let limits = Limits {
                of_kind: most.clone(),
                caps,
            };
            let never = Deadline::never();
            let all = lanes(field, &kinds, &limits, &most, usize::MAX, &never);
            let longest = longest_lanes(field, &kinds, &limits, &most, &never);
            assert!(all.complete && longest.complete, "seed {seed}");
            assert_eq!(all.list, longest.list, "seed {seed}");
            fewer += usize::from(!longer(&usable(field, &kinds, &most), &kinds).is_empty());
        }
        assert!(fewer > 200, "{fewer}");
    }

    /// Every row of closed runs that has room, by trying all, has its places in a lane that is listed; margins below zero too.
    #[test]
    fn whatever_has_room_is_in_some_lane() {
        let mut rows = 0;
        for seed in 0..200 {
            let mut draw = SplitMix64::new(seed);
            let kinds: Vec<Kind> = drawn(&mut draw).into_iter().take(6).collect();
            let closed = |kind: &Kind| Kind {
                openness: Openness::Closed,
                class: None,
                ..*kind
            };
            let kinds: BTreeSet<Kind> = kinds.iter().map(closed).collect();
            let kinds: Vec<Kind> = kinds.into_iter().collect();
            let field = Field {
                along: Length::from_nanometres(8 + draw.below(12) as i64),
                across: Length::from_nanometres(3),
                between: Length::from_nanometres(draw.below(2) as i64),
                share: true,
            };
            let most = vec![2; kinds.len()];
            let limits = Limits {
                of_kind: most.clone(),
                caps: Caps::default(),
            };
            let never = Deadline::never();
            let listed = lanes(field, &kinds, &limits, &most, usize::MAX, &never);
            assert!(listed.complete, "seed {seed}");
            let mut search = Search::new(field, &kinds, &most, &limits.caps, usize::MAX);
            let all = 3_usize.pow(kinds.len() as u32);
            for counts in 1..all {
                let times = |kind: usize| counts / 3_usize.pow(kind as u32) % 3;
                let row = (0..kinds.len()).flat_map(|kind| std::iter::repeat_n(kind, times(kind)));
                let row: Vec<usize> = row.collect();
                if !search.holds(&row) {
                    continue;
                }
                rows += 1;
                let (width, margin) = search.wide(&row);
                let has_it = |lane: &Lane| {
                    lane.width <= width
                        && lane.margin_across <= margin
                        && has_places(&kinds, &lane.kinds, &row)
                };
                assert!(listed.list.iter().any(has_it), "seed {seed} {row:?}");
            }
        }
        assert!(rows > 5_000, "{rows}");
    }
}
