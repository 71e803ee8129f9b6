//! What is left of the old plan: the runs that are still to come, in their hoopings, under the names that they have now.

use std::collections::{BTreeMap, BTreeSet};

use crate::kept::Kept;
use crate::plan::{HoopingEntry, Placement, Plan, SegmentEntry, StripEntry};
use crate::replan::Asked;
use crate::replan::done::Work;
use crate::strips::{End, RESTS};

/// What is left of the old plan.
pub(super) struct Remains {
    pub kept: Kept,
    /// For each hooping that is left its number in the old plan.
    pub was: Vec<u32>,
}

impl Remains {
    /// Whether a plan is just that: the same runs in the same hoopings in the same order.
    pub fn is_all_of(&self, plan: &Plan) -> bool {
        let old = &self.kept.strips;
        let alike = |(old, new): (&StripEntry, &StripEntry)| {
            old.id == new.id && segments(old) == segments(new)
        };
        old.len() == plan.strips.len()
            && old.iter().zip(&plan.strips).all(alike)
            && same_hoopings(&self.kept.hoopings, &plan.hoopings)
    }
}

/// The runs to come of the strips that do not start anew.
pub(super) fn remains(asked: &Asked, work: &Work<'_>) -> Remains {
    let mut strips: Vec<StripEntry> = Vec::new();
    // Strip and run (from 1) in the old plan: strip and run now.
    let mut now: BTreeMap<(&str, u32), (String, u32)> = BTreeMap::new();
    for of in work.strips.iter().filter(|of| !of.restarts) {
        let count = of.runs.len();
        let first = of.runs.iter().position(Option::is_some);
        let last = of.runs.iter().rposition(Option::is_some);
        let whole = of.strip.id.as_str();
        let parts = match (of.strip.stage.butts(), first, last) {
            (_, None, _) | (_, _, None) => vec![(whole.to_string(), 0..count)],
            (None, Some(first), Some(last)) => vec![
                (format!("{whole}{}", RESTS[0]), 0..first),
                (format!("{whole}{}", RESTS[1]), last + 1..count),
            ],
            (Some(End::Start), _, Some(last)) => vec![(whole.to_string(), last + 1..count)],
            (Some(End::End), Some(first), _) => vec![(whole.to_string(), 0..first)],
        };
        for (id, range) in parts.into_iter().filter(|(_, range)| !range.is_empty()) {
            for (place, run) in range.clone().enumerate() {
                let number = |place: usize| u32::try_from(place + 1).unwrap_or(u32::MAX);
                now.insert((&of.entry.id, number(run)), (id.clone(), number(place)));
            }
            strips.push(StripEntry {
                id,
                runs: of.entry.runs[range].to_vec(),
                ..of.entry.clone()
            });
        }
    }
    let (mut hoopings, mut was) = (Vec::new(), Vec::new());
    for old in &asked.plan.hoopings {
        let left = old.placements.iter().filter_map(|placement| {
            let (strip, run) = now.get(&(placement.strip.as_str(), placement.run))?.clone();
            Some(Placement {
                strip,
                run,
                ..placement.clone()
            })
        });
        let placements: Vec<_> = left.collect();
        if !placements.is_empty() {
            was.push(old.number);
            hoopings.push(HoopingEntry {
                number: u32::try_from(was.len()).unwrap_or(u32::MAX),
                placements,
                ..old.clone()
            });
        }
    }
    let mut number: BTreeMap<u32, u32> = BTreeMap::new();
    for (place, was) in was.iter().enumerate() {
        number.insert(*was, u32::try_from(place + 1).unwrap_or(u32::MAX));
    }
    for run in strips.iter_mut().flat_map(|entry| &mut entry.runs) {
        run.hooping = number.get(&run.hooping).copied().unwrap_or(0);
    }
    Remains {
        kept: Kept {
            strips,
            hoopings,
            firmly: work.all_right,
        },
        was,
    }
}

/// Whether a plan has these hoopings in this order: the same runs in the same lanes of the same hoops.
pub(super) fn same_hoopings(old: &[HoopingEntry], new: &[HoopingEntry]) -> bool {
    let runs = |hooping: &HoopingEntry| -> BTreeSet<(u32, String, u32)> {
        let placements = hooping.placements.iter();
        placements
            .map(|placement| (placement.lane, placement.strip.clone(), placement.run))
            .collect()
    };
    let same = |(old, new): (&HoopingEntry, &HoopingEntry)| {
        old.hoop == new.hoop && old.turned == new.turned && runs(old) == runs(new)
    };
    old.len() == new.len() && old.iter().zip(new).all(same)
}

/// The segments of each run of a strip.
pub(super) fn segments(entry: &StripEntry) -> Vec<&[SegmentEntry]> {
    entry
        .runs
        .iter()
        .map(|run| run.segments.as_slice())
        .collect()
}
