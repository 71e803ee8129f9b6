//! Gives strips that are wished together places in one hooping.

use std::collections::BTreeSet;

use crate::deal::{Hooping, Job, Table};

/// Puts each bundle into the first hooping that has a place for all of its strips. Places in a hooping are made for single
/// strips of a bundle, so that no two of them compete for one. Returns the strips that have a place now; `None` where some
/// bundle has none.
pub(super) fn deal(
    table: &Table<'_>,
    hoopings: &mut [Hooping],
    whole: &[&Job],
) -> Option<BTreeSet<usize>> {
    let mut placed = BTreeSet::new();
    for bundle in &table.bound.bundles {
        let jobs = whole.iter().filter(|job| bundle.contains(&job.strip));
        let jobs: Vec<&Job> = jobs.copied().collect();
        let taken = hoopings.iter().enumerate().find_map(|(number, hooping)| {
            let places: Option<Vec<(usize, usize)>> =
                jobs.iter().map(|job| place(table, hooping, job)).collect();
            Some((number, places?))
        });
        let (number, places) = taken?;
        for (job, (lane, at)) in jobs.iter().zip(places) {
            hoopings[number].lanes[lane][at].1 = Some((job.strip, 0));
            placed.insert(job.strip);
        }
    }
    Some(placed)
}

/// A free place of a hooping that is made for a strip: lane, and place in it.
fn place(table: &Table<'_>, hooping: &Hooping, job: &Job) -> Option<(usize, usize)> {
    let run = &table.kinds[job.runs[0]];
    let places = hooping.lanes.iter().enumerate();
    let mut places = places.flat_map(|(lane, places)| {
        let of_lane = places.iter().enumerate();
        of_lane.map(move |(at, (kind, holder))| (lane, at, *kind, holder.is_none()))
    });
    let fits = |kind: usize| table.kinds[kind].class == run.class && table.kinds[kind].takes(run);
    let found = places.find(|(_, _, kind, free)| *free && fits(*kind));
    found.map(|(lane, at, _, _)| (lane, at))
}
