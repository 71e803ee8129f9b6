//! The ways in which a hoop can be used, for a search that never lists what a hooping can hold: the rows of lanes that a
//! field has room for, and the lanes that can stand in each place of a row.

use std::collections::{BTreeMap, BTreeSet};

use crate::deadline::Deadline;
use crate::hooping::arrange::arrange;
use crate::hooping::fill::Fill;
use crate::hooping::kind::Kind;
use crate::hooping::lane::{Field, MOST_LANES, MOST_PLACES, lanes, longest_lanes};
use crate::hooping::pattern::Limits;
use crate::length::Length;
use crate::scenario::Scenario;
use crate::wishes::leaves;

/// The most rows of lanes of one field; past it the list is called incomplete.
const MOST_ROWS: usize = 400;
/// Up to this many lanes are listed even where they could do without.
const FEW_LANES: usize = 300;
/// The most steps that listing the rows of one field may take.
const MOST_STEPS: usize = 50_000;

/// One hoop, laid one way round.
#[derive(Clone, Debug)]
pub struct Way {
    /// Index of the hoop.
    pub hoop: usize,
    /// Whether strips lie along the second side of its field.
    pub turned: bool,
    /// What lanes can hold.
    pub lanes: Vec<OpenLane>,
    /// The widths and margins that lanes have.
    pub breadths: Vec<Breadth>,
    /// Rows of lanes to which none can be added: the breadth of each place.
    pub rows: Vec<Vec<usize>>,
}

/// A lane, and the classes whose runs in it are told apart.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OpenLane {
    /// The kinds of its runs (numbers), in ascending order.
    pub kinds: Vec<usize>,
    /// The class of each run that is told apart, with open ends or bound by wishes, in ascending order.
    pub classes: Vec<usize>,
}

/// A width and a margin across, and the lanes that need no more.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Breadth {
    /// Width of the stitching.
    pub width: Length,
    /// Margin across, both sides together.
    pub margin: Length,
    /// Indices of the lanes.
    pub lanes: Vec<usize>,
    /// The lanes without a list of them, where they are too many.
    pub fill: Option<Fill>,
}

/// All ways of all hoops, and whether they leave nothing out.
#[derive(Clone, Debug)]
pub struct Ways {
    /// The ways.
    pub list: Vec<Way>,
    /// Whether every possible hooping is among them, or could be exchanged for one that is.
    pub complete: bool,
}

/// The ways of every hoop, for the kinds of runs that `counts` says.
pub fn ways(
    scenario: &Scenario,
    kinds: &[Kind],
    counts: &dyn Fn(&Kind) -> bool,
    limits: &Limits,
    deadline: &Deadline,
) -> Ways {
    let mut all = Ways {
        list: Vec::new(),
        complete: true,
    };
    for (hoop, owned) in scenario.hoops.iter().enumerate() {
        let allowed = |kind: &Kind| counts(kind) && leaves(kind.hoops, hoop);
        let most: Vec<usize> = kinds
            .iter()
            .zip(&limits.of_kind)
            .map(|(kind, most)| if allowed(kind) { *most } else { 0 })
            .collect();
        let runs = most
            .iter()
            .fold(0, |sum: usize, most| sum.saturating_add(*most));
        for (along, across, turned) in owned.ways() {
            let field = Field::of(scenario, along, across);
            let filled = filled(field, kinds, &most);
            let limit = if filled.is_some() {
                FEW_LANES
            } else {
                MOST_LANES
            };
            let mut found = lanes(field, kinds, limits, &most, limit, deadline);
            if !found.complete && filled.is_none() {
                found = longest_lanes(field, kinds, limits, &most, deadline);
            }
            if !found.complete {
                match filled {
                    Some(breadths) => {
                        let (rows, complete) = rows(field, &breadths, runs, deadline);
                        all.complete &= complete;
                        all.list.push(Way {
                            hoop,
                            turned,
                            lanes: Vec::new(),
                            breadths,
                            rows,
                        });
                    }
                    // A list that is cut is of no use, and so the others are not either.
                    None => {
                        all.complete = false;
                        return all;
                    }
                }
                continue;
            }
            let mut by_breadth: BTreeMap<(Length, Length), Vec<usize>> = BTreeMap::new();
            for (index, lane) in found.list.iter().enumerate() {
                let breadth = (lane.width, lane.margin_across);
                by_breadth.entry(breadth).or_default().push(index);
            }
            let keys: Vec<(Length, Length)> = by_breadth.keys().copied().collect();
            let breadths = keys.iter().map(|(width, margin)| Breadth {
                width: *width,
                margin: *margin,
                lanes: by_breadth
                    .iter()
                    .filter(|((w, m), _)| w <= width && m <= margin)
                    .flat_map(|(_, lanes)| lanes.iter().copied())
                    .collect(),
                fill: None,
            });
            let breadths: Vec<Breadth> = breadths.collect();
            let (rows, complete) = rows(field, &breadths, runs, deadline);
            all.complete &= complete;
            let open = |kinds_of: &[usize]| {
                let mut classes: Vec<usize> = kinds_of
                    .iter()
                    .filter_map(|kind| kinds[*kind].class)
                    .collect();
                classes.sort_unstable();
                classes
            };
            all.list.push(Way {
                hoop,
                turned,
                lanes: found
                    .list
                    .into_iter()
                    .map(|lane| OpenLane {
                        classes: open(&lane.kinds),
                        kinds: lane.kinds,
                    })
                    .collect(),
                breadths,
                rows,
            });
        }
    }
    all
}

/// The breadths of a field and their lanes without a list; `None` where these are not simple enough.
fn filled(field: Field, kinds: &[Kind], most: &[usize]) -> Option<Vec<Breadth>> {
    let fits = |kind: &usize| {
        let of = &kinds[*kind];
        most[*kind] > 0
            && of.length + of.margin_along <= field.along
            && of.width + of.margin_across <= field.across
    };
    let usable: Vec<usize> = (0..kinds.len()).filter(fits).collect();
    let own = usable
        .iter()
        .map(|kind| (kinds[*kind].width, kinds[*kind].margin_across));
    let own: BTreeSet<(Length, Length)> = own.collect();
    let broader = own.iter().flat_map(|(width, margin)| {
        let widths = own.iter().map(|(other, _)| *other);
        widths.map(|other| (other.max(*width), *margin))
    });
    let breadths: BTreeSet<(Length, Length)> = broader.collect();
    let fill = |(width, margin): (Length, Length)| {
        let within =
            |kind: &usize| kinds[*kind].width <= width && kinds[*kind].margin_across <= margin;
        let usable: Vec<usize> = usable.iter().copied().filter(within).collect();
        Some(Breadth {
            width,
            margin,
            lanes: Vec::new(),
            fill: Some(Fill::of(field.along, field.between, kinds, &usable, most)?),
        })
    };
    if !field.share {
        return None;
    }
    breadths.into_iter().map(fill).collect()
}

/// The rows of breadths that a field has room for and to which none can be added, or that have a place for each of the
/// `runs` that there are.
fn rows(
    field: Field,
    breadths: &[Breadth],
    runs: usize,
    deadline: &Deadline,
) -> (Vec<Vec<usize>>, bool) {
    let mut search = RowSearch {
        field,
        breadths,
        runs,
        deadline,
        found: BTreeSet::new(),
        steps: 0,
        complete: true,
    };
    search.fill(&mut Vec::new(), 0);
    let complete = search.complete;
    // A row is not needed where another has a broader place for each of its own.
    let rows: Vec<Vec<usize>> = search.found.into_iter().collect();
    let broader = |one: usize, other: usize| {
        breadths[one].width >= breadths[other].width
            && breadths[one].margin >= breadths[other].margin
    };
    let covers = |strong: &[usize], weak: &[usize]| {
        strong.len() == weak.len()
            && strong
                .iter()
                .zip(weak)
                .all(|(one, other)| broader(*one, *other))
    };
    let needed = |weak: &&Vec<usize>| {
        !rows
            .iter()
            .any(|strong| strong != *weak && covers(strong, weak))
    };
    (rows.iter().filter(needed).cloned().collect(), complete)
}

struct RowSearch<'a> {
    field: Field,
    breadths: &'a [Breadth],
    runs: usize,
    deadline: &'a Deadline,
    found: BTreeSet<Vec<usize>>,
    steps: usize,
    complete: bool,
}

impl RowSearch<'_> {
    fn fill(&mut self, row: &mut Vec<usize>, first: usize) {
        self.steps += 1;
        let late = self.steps.is_multiple_of(16) && self.deadline.over();
        let long = row.len() > MOST_PLACES;
        if late || long || self.steps > MOST_STEPS || self.found.len() >= MOST_ROWS {
            // One row that is missing makes the list useless: nothing is gained by going on.
            self.steps = MOST_STEPS;
            self.complete = false;
            return;
        }
        let may_grow = row.len() < self.runs && (self.field.share || row.is_empty());
        let mut grows = false;
        for breadth in (0..self.breadths.len()).filter(|_| may_grow) {
            row.push(breadth);
            if self.holds(row) {
                grows = true;
                if breadth >= first {
                    self.fill(row, breadth);
                }
            }
            row.pop();
        }
        if !grows && !row.is_empty() {
            self.found.insert(row.clone());
        }
    }

    fn holds(&mut self, row: &[usize]) -> bool {
        let of_row = |value: fn(&Breadth) -> Length| -> Vec<Length> {
            row.iter()
                .map(|index| value(&self.breadths[*index]))
                .collect()
        };
        let widths = of_row(|breadth| breadth.width);
        let margins = of_row(|breadth| breadth.margin);
        let found = arrange(&widths, &margins, self.field.between, &[]);
        let fits = found.room_doubled <= self.field.across * 2;
        self.complete &= fits || found.exact;
        fits
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hooping::kind::Openness;
    use crate::wishes::EVERY_HOOP;

    /// Knapsacks stand for lanes side by side and run by run; where a hooping holds one run alone there are none.
    #[test]
    fn a_hooping_for_one_run_has_its_lanes_listed() {
        let kind = Kind {
            openness: Openness::Closed,
            class: None,
            hoops: EVERY_HOOP,
            length: Length::from_nanometres(4),
            width: Length::from_nanometres(1),
            margin_along: Length::ZERO,
            margin_across: Length::ZERO,
        };
        let field = |share| Field {
            along: Length::from_nanometres(10),
            across: Length::from_nanometres(2),
            between: Length::ZERO,
            share,
        };
        assert!(filled(field(true), &[kind], &[3]).is_some());
        assert!(filled(field(false), &[kind], &[3]).is_none());
    }
}
