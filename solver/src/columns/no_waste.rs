//! Hoopings for settled covers where the bound leaves nothing to waste: each place is needed, so that runs are parted among hoopings
//! that are all full.

use std::collections::BTreeSet;

use crate::columns::generate::Bound;
use crate::columns::restricted::{Restricted, Turn};
use crate::columns::tree::Found;
use crate::deadline::Deadline;
use crate::hooping::pattern::Pattern;
use crate::linear::Outcome;
use crate::partition::{Entries, Parted, partition};
use crate::random::{STEP, spread};

/// Hoopings are listed unless they are more.
const MOST_LISTED: usize = 12_000;
/// Of those that hold no more runs than there are for each, so many otherwise.
const MOST_SMALL: usize = 20_000;
/// And so many times the best for each longest run, with worths that are slightly other ones each time: by up to one part in
/// 2^`SLIGHT`.
const SAMPLES: u64 = 12;
const SLIGHT: u32 = 16;

/// So many runs are few where it is not known how many hoopings there are.
const SMALL: usize = 3;

/// How to look, and how long.
#[derive(Clone, Copy)]
pub struct Patience {
    /// How often two searches have their turn.
    pub turns: u32,
    /// The part of the time that is left: one of so many.
    pub part: u32,
    /// Another number makes another search.
    pub seed: u64,
    /// Whether a point that costs more is welcome where none is found.
    pub completes: bool,
}

/// Hoopings that could be part of a point.
struct Candidates {
    list: Vec<Pattern>,
    /// Whether none is missing.
    are_all: bool,
}

/// Whether few runs are alike. Where many are a linear program's points are nearly whole, and dives find one sooner.
pub fn few_are_alike(of: &Restricted<'_, '_>) -> bool {
    let asked = asked(of);
    let kinds = asked.iter().filter(|asked| **asked > 0).count();
    3 * kinds > 2 * runs(&asked)
}

/// Looks for a point of a program of settled covers that costs at most `most`, where no place can be wasted in any; else says nothing.
/// Leaves the program at the point that was found.
pub fn look(
    of: &mut Restricted<'_, '_>,
    bound: &Bound,
    most: i64,
    patience: Patience,
    deadline: &Deadline,
) -> Option<Found> {
    // Where plans have hoopings of their own to begin or end with, not all hoopings are looked at here.
    if !of.turn_rows.is_empty() {
        return None;
    }
    let spare = ((i128::from(most) << bound.places) - bound.parts).max(0);
    let (asked, worth) = (asked(of), of.worth(&bound.multipliers));
    // A place that stays empty, or a further run left out, costs more than there is to spare.
    let mut needed = worth.iter().zip(&asked).filter(|(_, asked)| **asked > 0);
    if !needed.all(|(worth, _)| i128::from(*worth) > 2 * spare) {
        return None;
    }
    let hoopings = hoopings(of, bound, spare, &asked);
    let each = hoopings.map_or(SMALL, |hoopings| runs(&asked) / hoopings.max(1));
    let Candidates {
        mut list,
        mut are_all,
    } = candidates(of, bound, spare, each, deadline);
    let listed = list.len();
    list.retain(|pattern| pattern.kinds().iter().all(|kind| asked[*kind] > 0));
    // Without the runs that nobody asks for, a hooping that is left out here could do.
    are_all &= list.len() == listed;
    let columns: Vec<Entries> = list.iter().map(entries).collect();
    let part = deadline.at_most(deadline.left() / patience.part);
    let found = partition(
        &asked,
        &columns,
        hoopings,
        patience.turns,
        patience.seed,
        &part,
    );
    let patterns = |chosen: Vec<usize>| -> Vec<Pattern> {
        let chosen = chosen.into_iter();
        chosen.map(|number| list[number].clone()).collect()
    };
    Some(match found {
        Parted::Found(chosen) => {
            let point = point(of, patterns(chosen), deadline);
            let point = point.filter(|point| of.model.cost_at(point) <= i128::from(most));
            point.map_or(Found::Unknown, Found::Point)
        }
        Parted::None if are_all => Found::None,
        found if patience.completes => {
            let chosen = match found {
                Parted::Unknown(chosen) => patterns(chosen),
                _ => Vec::new(),
            };
            let hoopings = completed(of, &worth, &asked, chosen, deadline);
            let point = hoopings.and_then(|hoopings| point(of, hoopings, deadline));
            point.map_or(Found::Unknown, Found::Better)
        }
        Parted::None | Parted::Unknown(_) => Found::Unknown,
    })
}

/// How many runs of each kind the settled covers have.
pub fn asked(of: &Restricted<'_, '_>) -> Vec<u32> {
    let mut asked = vec![0_u32; of.kinds.list.len()];
    for column in &of.covers {
        let strips = of.model.columns[column.column].least * of.strips_each(column.class);
        let strips = u32::try_from(strips).unwrap_or(u32::MAX);
        for kind in of.run_kinds(column.class, &column.cover) {
            asked[kind] = asked[kind].saturating_add(strips);
        }
    }
    asked
}

/// What the reduced cost of a hooping is, in parts.
fn reduced(of: &Restricted<'_, '_>, bound: &Bound, pattern: &Pattern) -> i128 {
    let places = pattern.lanes.iter().flatten();
    let worth: i128 = places
        .map(|kind| i128::from(bound.multipliers[of.kind_rows[*kind]]))
        .sum();
    -worth - of.fixed_worth(Turn::Any, pattern.hoop, &bound.multipliers)
}

fn entries(pattern: &Pattern) -> Entries {
    let mut entries: Entries = Vec::new();
    for kind in pattern.kinds() {
        match entries.last_mut() {
            Some((last, times)) if *last == kind as u32 => *times += 1,
            _ => entries.push((kind as u32, 1)),
        }
    }
    entries
}

fn runs(asked: &[u32]) -> usize {
    asked.iter().map(|asked| *asked as usize).sum()
}

/// How many hoopings a point has, where all cost the same by the multipliers: what all runs are worth, but for what is to spare.
fn hoopings(of: &Restricted<'_, '_>, bound: &Bound, spare: i128, asked: &[u32]) -> Option<usize> {
    let cost = |hoop: usize| -of.fixed_worth(Turn::Any, hoop, &bound.multipliers);
    let mut costs = (0..of.hoop_rows.len()).map(cost);
    let cost = costs.next().filter(|cost| *cost > 0)?;
    if costs.any(|other| other != cost) {
        return None;
    }
    let worth = of.worth(&bound.multipliers).into_iter().zip(asked);
    let worth: i128 = worth
        .map(|(worth, asked)| i128::from(worth) * i128::from(*asked))
        .sum();
    let most = (worth + spare).div_euclid(cost);
    let least = -(spare - worth).div_euclid(cost);
    usize::try_from(most).ok().filter(|_| most == least)
}

/// The hoopings whose reduced cost is at most `spare`: all of them, or many of few runs and some others.
fn candidates(
    of: &Restricted<'_, '_>,
    bound: &Bound,
    spare: i128,
    each: usize,
    deadline: &Deadline,
) -> Candidates {
    if let Some(all) = of.hoopings_within(bound, spare, MOST_LISTED) {
        return Candidates {
            list: all.into_iter().map(|(_, pattern)| pattern).collect(),
            // Of lanes that are listed those are missing that others can stand in for.
            are_all: of.any.are_all_filled(),
        };
    }
    let worth = of.worth(&bound.multipliers);
    let least = |hoop: usize| of.least_worth(Turn::Any, hoop, bound, spare);
    let mut list = of.any.some_worth_at_least(&worth, &least, each, MOST_SMALL);
    let within = |pattern: &Pattern| reduced(of, bound, pattern) <= spare;
    let at_hand = of.hoopings.iter().map(|column| &column.pattern);
    list.extend(at_hand.filter(|pattern| within(pattern)).cloned());
    for sample in (0..SAMPLES).take_while(|_| !deadline.over()) {
        // With what is taken off for each run, hoopings of fewer runs are found as well.
        let slight = (1_i64 << bound.places) >> SLIGHT;
        let off = slight / 4 * (3 + sample % 3) as i64;
        let slightly: Vec<i64> = worth
            .iter()
            .enumerate()
            .map(|(kind, worth)| {
                let number = (kind as u64 * SAMPLES + sample + 1).wrapping_mul(STEP);
                let more = spread(number) % (slight.unsigned_abs() + 1);
                (worth + more as i64 - off).max(0)
            })
            .collect();
        let least = |hoop: usize| least(hoop).saturating_sub(slight * each as i64 * 4);
        let found = of.any.best_of_each(&slightly, &least).into_iter();
        list.extend(found.filter(within));
    }
    let mut seen = BTreeSet::new();
    list.retain(|pattern| seen.insert((pattern.hoop, pattern.kinds())));
    Candidates {
        list,
        are_all: false,
    }
}

/// Hoopings for all runs: those that are chosen, and for the runs that are left over one after the other that is worth most.
fn completed(
    of: &Restricted<'_, '_>,
    worth: &[i64],
    asked: &[u32],
    chosen: Vec<Pattern>,
    deadline: &Deadline,
) -> Option<Vec<Pattern>> {
    let mut hoopings = chosen;
    let mut left: Vec<usize> = asked.iter().map(|asked| *asked as usize).collect();
    for kind in hoopings.iter().flat_map(Pattern::kinds) {
        left[kind] -= 1;
    }
    while left.iter().any(|left| *left > 0) {
        if deadline.over() {
            return None;
        }
        let best = of.any.best_left(worth, &left)?;
        for kind in best.kinds() {
            left[kind] = left[kind].checked_sub(1)?;
        }
        hoopings.push(best);
    }
    Some(hoopings)
}

/// The point that holds these hoopings and no others.
pub fn point(
    of: &mut Restricted<'_, '_>,
    mut chosen: Vec<Pattern>,
    deadline: &Deadline,
) -> Option<Vec<i64>> {
    chosen.sort_unstable_by_key(|pattern| (pattern.hoop, pattern.kinds()));
    let mut hoopings: Vec<(Turn, Pattern)> = Vec::new();
    let mut counts: Vec<i64> = Vec::new();
    let same =
        |one: &Pattern, other: &Pattern| one.hoop == other.hoop && one.kinds() == other.kinds();
    for alike in chosen.chunk_by(same) {
        hoopings.push((Turn::Any, alike[0].clone()));
        counts.push(alike.len() as i64);
    }
    of.settle_hoopings(&hoopings, &counts);
    if of.model.solve(deadline) != Outcome::Optimal {
        return None;
    }
    of.model.whole_point()
}
