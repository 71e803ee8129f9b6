//! What another way of writing the same plan would change: the order of a run's segments, and where lanes lie in a hoop.

use std::collections::{BTreeMap, BTreeSet};

use crate::check::check;
use crate::length::Unit;
use crate::plan::{HoopingEntry, Placement, Plan, SegmentEntry, by_id};
use crate::replan::done::TOLERANCE;
use crate::replan::keep::Remains;
use crate::scenario::Scenario;

/// Puts back what the old plan had where the new one says the same in another way.
pub(super) fn restore(scenario: &Scenario, remains: &Remains, plan: &mut Plan) {
    for put_back in [segments, places] {
        let mut changed = plan.clone();
        put_back(remains, &mut changed);
        if changed != *plan && check(scenario, &changed).is_empty() {
            *plan = changed;
        }
    }
}

/// Segments of one run come in the order that they had.
fn segments(remains: &Remains, plan: &mut Plan) {
    let sorted = |segments: &[SegmentEntry]| {
        let mut sorted: Vec<(String, u32)> = segments
            .iter()
            .map(|segment| (segment.size.clone(), segment.repeats))
            .collect();
        sorted.sort();
        sorted
    };
    let old = by_id(&remains.kept.strips);
    for entry in &mut plan.strips {
        let Some(old) = old.get(entry.id.as_str()) else {
            continue;
        };
        let alike = old.runs.len() == entry.runs.len()
            && old.runs.iter().zip(&entry.runs).all(|(old, new)| {
                old.hooping == new.hooping && sorted(&old.segments) == sorted(&new.segments)
            });
        if alike {
            for (old, new) in old.runs.iter().zip(&mut entry.runs) {
                new.segments = old.segments.clone();
            }
        }
    }
}

/// Lanes of the same runs lie where they lay, and so do the runs in them where they are as long as they were.
fn places(remains: &Remains, plan: &mut Plan) {
    let unit = plan.unit;
    for (old, new) in remains.kept.hoopings.iter().zip(&mut plan.hoopings) {
        if old.hoop != new.hoop || old.turned != new.turned || lanes(old) != lanes(new) {
            continue;
        }
        let before: BTreeMap<(&str, u32), (usize, &Placement)> = old
            .placements
            .iter()
            .enumerate()
            .map(|(place, of)| ((of.strip.as_str(), of.run), (place, of)))
            .collect();
        let was = |of: &Placement| before.get(&(of.strip.as_str(), of.run)).copied();
        let moved: BTreeSet<u32> = new
            .placements
            .iter()
            .filter(|of| !was(of).is_some_and(|(_, old)| as_long(old, of, unit)))
            .map(|of| of.lane)
            .collect();
        let mut placed: Vec<(usize, Placement)> = Vec::new();
        for mut of in std::mem::take(&mut new.placements) {
            let found = was(&of);
            let place = found.map_or(usize::MAX, |(place, _)| place);
            if let Some((_, old)) = found {
                if !moved.contains(&of.lane) {
                    of.along = old.along.clone();
                    of.reversed = old.reversed;
                }
                of.lane = old.lane;
                of.across = old.across.clone();
            }
            placed.push((place, of));
        }
        placed.sort_by_key(|(place, _)| *place);
        new.placements = placed.into_iter().map(|(_, of)| of).collect();
    }
}

/// The runs of each lane.
fn lanes(hooping: &HoopingEntry) -> BTreeSet<BTreeSet<(&str, u32)>> {
    let mut lanes: BTreeMap<u32, BTreeSet<(&str, u32)>> = BTreeMap::new();
    for of in &hooping.placements {
        let lane = lanes.entry(of.lane).or_default();
        lane.insert((of.strip.as_str(), of.run));
    }
    lanes.into_values().collect()
}

fn as_long(old: &Placement, new: &Placement, unit: Unit) -> bool {
    match (old.length.length(unit), new.length.length(unit)) {
        (Some(old), Some(new)) => old - new <= TOLERANCE && new - old <= TOLERANCE,
        _ => false,
    }
}
