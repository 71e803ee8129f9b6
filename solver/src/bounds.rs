//! Bounds that hold for every valid plan without solving anything.

use std::collections::BTreeSet;

use crate::classes::Class;
use crate::length::Length;
use crate::master::{stabilizer_area, weight};
use crate::scenario::{Goal, Scenario, Term};
use crate::task::Task;
use crate::wishes::leaves;

/// The most sums of widths that are told apart.
const MOST_SUMS: usize = 2_000;

/// For each entry of the goal a value that no valid plan can beat.
pub fn simple_bounds(task: &Task<'_>) -> Vec<i128> {
    match &task.scenario.goal {
        Goal::Priorities(terms) => terms.iter().map(|term| of_term(task, *term)).collect(),
        Goal::Prices(prices) => {
            let nanometres = task.scenario.unit.nanometres();
            let cost = prices.iter().map(|price| {
                weight(price.term, price.each, nanometres) * of_term(task, price.term)
            });
            vec![cost.sum()]
        }
    }
}

/// Every sum of `count` of these that is at least `least`; `None` where more than `most` had to be looked at at once.
pub fn sums(each: &BTreeSet<i128>, count: i64, least: i128, most: usize) -> Option<BTreeSet<i128>> {
    let largest = each.last().copied().unwrap_or(0);
    let mut sums = BTreeSet::from([0]);
    for left in (0..count).rev() {
        let grown = sums
            .iter()
            .flat_map(|sum| each.iter().map(move |each| sum + each));
        // What the others cannot make up for is left out.
        sums = grown
            .filter(|sum| sum + largest * i128::from(left) >= least)
            .collect();
        if sums.len() > most {
            return None;
        }
    }
    Some(sums)
}

fn of_term(task: &Task<'_>, term: Term) -> i128 {
    match term {
        Term::Hoopings => hoopings(task),
        Term::Joints => task.fewest_joints(),
        Term::Stabilizer => {
            let areas =
                (0..task.scenario.hoops.len()).map(|hoop| stabilizer_area(task.scenario, hoop));
            hoopings(task) * areas.min().unwrap_or(0)
        }
        Term::RollLength => task.roll.map_or(0, |roll| roll.at_least(hoopings(task))),
        Term::Minutes => {
            let classes = 0..task.classes.len();
            let laid = classes.map(|class| task.members(class) as i128 * least_time(task, class));
            hoopings(task) * i128::from(task.scenario.rates.hooping.parts()) + laid.sum::<i128>()
        }
        Term::Overhang => {
            let least = |number: usize| i128::from(task.covers[number].least_overhang.nanometres());
            task.classes
                .iter()
                .enumerate()
                .map(|(number, class)| class.members.len() as i128 * least(number))
                .sum()
        }
        // A perfect corner and a single hoop are always thinkable.
        Term::CornerMismatch | Term::HoopChanges => 0,
    }
}

/// No cover of a class takes less time than its shortest run.
fn least_time(task: &Task<'_>, class: usize) -> i128 {
    let of_class = &task.covers[class];
    let times = of_class.pieces.iter().map(|piece| piece.time);
    let least = times.min().filter(|_| of_class.every_piece);
    least.map_or(0, |time| i128::from(time.parts()))
}

/// The hoopings that any plan needs.
///
/// Runs of one strip never share a hooping, so there are as many as the strip with the most runs needs. And by area.
fn hoopings(task: &Task<'_>) -> i128 {
    let runs = (0..task.classes.len())
        .map(|class| task.fewest_runs(class))
        .max()
        .unwrap_or(0);
    let of_area = by_area(task.scenario, task.classes).hoopings;
    if task.scenario.rules.share_hoopings {
        runs.max(of_area)
    } else {
        let each = |(number, class): (usize, &crate::classes::Class)| {
            class.members.len() as i128 * task.fewest_runs(number)
        };
        task.classes.iter().enumerate().map(each).sum()
    }
}

/// The runs that a strip needs at least, since none is longer than the longest field that it may be stitched in.
pub fn runs_by_length(scenario: &Scenario, class: &Class) -> i128 {
    if class.stage.is_done() {
        return 0;
    }
    let owned = scenario.hoops.iter().enumerate();
    let taking = owned.filter(|(hoop, _)| leaves(class.wishes.hoops, *hoop));
    let ways = taking.flat_map(|(_, hoop)| hoop.ways());
    let fields = ways.filter(|(_, across, _)| class.width <= *across);
    let longest = fields.map(|(along, _, _)| i128::from(along.nanometres()));
    let stitched = i128::from(stitched_at_least(scenario, class).nanometres());
    let longest = longest.max();
    longest.map_or(1, |longest| {
        let longest = longest + overlong(scenario, class);
        ((stitched + longest - 1) / longest.max(1)).max(1)
    })
}

/// What the strips take up of a field, and how many fields that makes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct ByArea {
    /// What all strips take up, in square nanometres.
    pub needed: i128,
    /// What lanes of these strips can take up of a field at most.
    pub largest: i128,
    /// Index of the hoop with that field, the first of several.
    pub hoop: usize,
    /// No plan has fewer hoopings.
    pub hoopings: i128,
}

/// The hoopings that any plan needs by area: in a field of A × B a run of t × w takes up (t + G)(w + G) of (A + G)(B + G), since
/// along and across at least G lies between two fabrics and margins only add to that; the runs of a strip are together at least
/// as long as the strip but for rounding, each with a G of its own. Of B + G lanes take up no more than the most that widths, each with a G,
/// add up to.
pub fn by_area(scenario: &Scenario, classes: &[Class]) -> ByArea {
    let between = scenario.allowances.between();
    let grown = |length: Length| i128::from((length + between).nanometres());
    let left = classes.iter().filter(|class| !class.stage.is_done());
    let needed: i128 = left
        .clone()
        .map(|class| {
            let stitched = i128::from(stitched_at_least(scenario, class).nanometres());
            let gaps = runs_by_length(scenario, class) * i128::from(between.nanometres());
            class.members.len() as i128 * (stitched + gaps) * grown(class.width)
        })
        .sum();
    let widths: BTreeSet<i128> = left.clone().map(|class| grown(class.width)).collect();
    let overlong = left.map(|class| overlong(scenario, class)).max();
    // At both ends of a lane.
    let overlong = 2 * overlong.unwrap_or(0);
    let fields = scenario.hoops.iter().enumerate();
    let fields = fields.flat_map(|(number, hoop)| {
        hoop.ways()
            .map(move |(along, across, _)| (along, across, number))
    });
    let fields = fields.map(|(along, across, number)| {
        let field = (grown(along) + overlong) * within(&widths, grown(across));
        (field, std::cmp::Reverse(number))
    });
    let (largest, hoop) = fields.max().unwrap_or((1, std::cmp::Reverse(0)));
    let largest = largest.max(1);
    ByArea {
        needed,
        largest,
        hoop: hoop.0,
        hoopings: (needed + largest - 1) / largest,
    }
}

/// The most that steps add up to within a limit, each taken as often as one likes; the limit, where they are too many sums.
fn within(steps: &BTreeSet<i128>, limit: i128) -> i128 {
    let mut most = 0;
    let mut waiting = BTreeSet::from([0]);
    for _ in 0..MOST_SUMS {
        let Some(sum) = waiting.pop_first() else {
            return most;
        };
        most = sum;
        let further = steps.iter().map(|step| sum + step);
        waiting.extend(further.filter(|sum| *sum <= limit));
    }
    limit
}

/// The nanometres that a run of a strip may be longer than its field: as far as the file of a size is, whatever part of it the run has.
fn overlong(scenario: &Scenario, class: &Class) -> i128 {
    let sizes = scenario.designs[class.design].sizes.iter();
    let longer = sizes.map(|size| -i128::from(size.margin_along().nanometres()));
    longer.max().unwrap_or(0).max(0)
}

/// What a strip's runs add up to at least: its length, but for a nanometre of each repeat, since such a sum counts as the length, and for one
/// of each run.
fn stitched_at_least(scenario: &Scenario, class: &Class) -> Length {
    let sizes = scenario.designs[class.design].sizes.iter();
    let repeats = sizes.map(|size| size.repeat.nanometres());
    let least = repeats.min().unwrap_or(1);
    let most_repeats = class.length.nanometres() / (least - 1).max(1) + 1;
    (class.length - Length::from_nanometres(2 * most_repeats)).max(Length::ZERO)
}
