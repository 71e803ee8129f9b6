//! Which strips are planned by themselves, and how many hoopings they need.
//!
//! What some of the strips need by themselves, no plan of all of them beats: leave the other strips out of any valid plan, and
//! take out the hoopings that are empty then. Coverings, splits and the order of each strip's runs stay as they were; in a lane
//! and across a field nothing needs more room where a run less lies in it, and no open end comes to face inward. So what is left is a
//! valid plan of the strips that stay, with no more hoopings.

use std::collections::{BTreeMap, BTreeSet};

use crate::deadline::Deadline;
use crate::explain::stock::Stock;
use crate::length::Length;
use crate::plan::ObjectiveEntry;
use crate::planner::{self, NoPlan, Unsolved};
use crate::scenario::{Goal, Scenario, StripEntry, Term};
use crate::strips::{self, QuiltTop};

/// The most groups that are planned.
const MOST_GROUPS: usize = 12;

/// Strips that belong together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Belonging {
    /// All planned strips.
    All,
    /// Those of every stitched border.
    Borders,
    /// Those of one border, counted from the centre outward, from 1.
    Border(usize),
    /// The sashes.
    Sashes,
    /// The loose strips of one width.
    Loose(Length),
    /// The strips of one class (its place in the stock).
    Alike(usize),
}

/// A group of strips that is planned by itself.
#[derive(Clone, Debug)]
pub struct Group {
    /// What its strips have in common.
    pub belonging: Belonging,
    /// The strips (indices into the quilt top), ascending.
    pub strips: BTreeSet<usize>,
}

/// How many hoopings a group needs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Fewest {
    /// No plan of the group has fewer.
    pub bound: u64,
    /// The best plan found has so many.
    pub value: u64,
}

/// A count that a plan reports.
pub fn whole(measure: &crate::length::Measure) -> Option<u64> {
    let exact = measure.exact().ok()?;
    (exact.denominator() == 1)
        .then(|| u64::try_from(exact.numerator()).ok())
        .flatten()
}

/// The entry of the plan that says how few hoopings any plan has, where the goal counts them first.
pub fn said_by_plan<'p>(
    scenario: &Scenario,
    objective: &'p [ObjectiveEntry],
) -> Option<&'p ObjectiveEntry> {
    match &scenario.goal {
        Goal::Priorities(terms) if terms.first() == Some(&Term::Hoopings) => objective.first(),
        _ => None,
    }
}

/// The groups worth planning by themselves: each once, none of a single short strip, and all strips only where the plan does not
/// say it already.
pub fn of(scenario: &Scenario, top: &QuiltTop, stock: &Stock) -> Vec<Group> {
    let planned: BTreeSet<usize> = (stock.classes.iter())
        .flat_map(|stocked| stocked.class.members.iter().copied())
        .collect();
    let mut groups: Vec<Group> = Vec::new();
    let mut add = |belonging: Belonging, strips: BTreeSet<usize>| {
        let known = groups.iter().any(|group| group.strips == strips);
        let whole = strips == planned && belonging != Belonging::All;
        if !strips.is_empty() && !known && !whole && groups.len() < MOST_GROUPS {
            groups.push(Group { belonging, strips });
        }
    };
    let goal_says = match &scenario.goal {
        Goal::Priorities(terms) => terms.first() == Some(&Term::Hoopings),
        Goal::Prices(_) => false,
    };
    if !goal_says && stock.complete {
        add(Belonging::All, planned.clone());
    }
    let mut borders: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    // The borders of further quilts have no number of their own here.
    let mut further = BTreeSet::new();
    let mut sashes = BTreeSet::new();
    let mut loose: BTreeMap<Length, BTreeSet<usize>> = BTreeMap::new();
    for strip in &planned {
        let of_strip = &top.strips[*strip];
        // Where the strip is told of within its quilt, be that the one or one of several.
        let part = of_strip.pointer.rsplit_once("/quilt/");
        let part = part.map_or("", |(_, part)| part);
        let border = part.strip_prefix("borders/").map(str::parse::<usize>);
        match border {
            Some(Ok(_)) if of_strip.quilt().is_some() => further.insert(*strip),
            Some(Ok(border)) => borders.entry(border + 1).or_default().insert(*strip),
            _ if part == "sashing" => sashes.insert(*strip),
            _ => loose.entry(of_strip.width).or_default().insert(*strip),
        };
    }
    add(
        Belonging::Borders,
        (borders.values().flatten().chain(&further))
            .copied()
            .collect(),
    );
    add(Belonging::Sashes, sashes);
    for (border, strips) in borders {
        add(Belonging::Border(border), strips);
    }
    for (width, strips) in loose {
        add(Belonging::Loose(width), strips);
    }
    let mut alike: Vec<usize> = (0..stock.classes.len()).collect();
    let stitching = |place: &usize| {
        let class = &stock.classes[*place].class;
        let length = i128::from(class.length.nanometres());
        length * class.members.len() as i128
    };
    alike.sort_by_key(|place| (std::cmp::Reverse(stitching(place)), *place));
    for place in alike {
        let of_class = &stock.classes[place];
        let members = &of_class.class.members;
        if members.len() > 1 || of_class.fewest_runs > 1 {
            add(Belonging::Alike(place), members.iter().copied().collect());
        }
    }
    groups
}

/// Plans a group for the fewest hoopings; `None` where the time was over before.
///
/// # Errors
/// The solve was told to stop, or the plan broke a rule.
pub fn fewest(
    scenario: &Scenario,
    stock: &Stock,
    group: &Group,
    deadline: &Deadline,
) -> Result<Option<Fewest>, NoPlan> {
    if deadline.over() {
        return Ok(None);
    }
    let mut alone = scenario.clone();
    alone.quilt = None;
    alone.quilts.clear();
    alone.candidates.clear();
    // Wishes only leave less.
    alone.wishes.clear();
    alone.goal = Goal::Priorities(vec![Term::Hoopings]);
    let entry = |(place, stocked): (usize, &crate::explain::stock::Stocked)| {
        let class = &stocked.class;
        let members = class.members.iter();
        let count = members.filter(|strip| group.strips.contains(strip)).count();
        (count > 0).then(|| StripEntry {
            id: format!("class-{place}"),
            length: class.length,
            width: class.width,
            count,
            design: class.design,
        })
    };
    alone.strips = (stock.classes.iter().enumerate())
        .filter_map(entry)
        .collect();
    match planner::solve(&alone, &strips::of(&alone), deadline) {
        Ok(plan) => Ok(plan.objective.first().and_then(|entry| {
            Some(Fewest {
                bound: whole(&entry.bound)?,
                value: whole(&entry.value)?,
            })
        })),
        Err(Unsolved::Missed(_) | Unsolved::Contradiction(_)) => Ok(None),
        Err(Unsolved::Stopped) => Err(NoPlan::Stopped),
        Err(Unsolved::Broken(violations)) => Err(NoPlan::Broken(violations)),
    }
}
