//! With what a run is stitched: sizes, where they stop, scale and threads.

use sashwright_solver::plan::{RunEntry, SegmentEntry, StripEntry};

use super::Told;
use crate::words::{listed, scaling};

/// `: vine-long, all 4 repeats, then vine-short, stopped after 2 of its 4 repeats. Threads, in this order: green, then gold.`
pub(super) fn stitching(told: &Told<'_>, strip: &StripEntry, run: &RunEntry) -> String {
    let mut text = format!(": {}", segments(told, strip, run));
    if let Some(percent) = scaling(strip) {
        text.push_str(&format!("; scaled along the strip to {percent}"));
    }
    text.push('.');
    let design = told.designs.get(strip.design.as_str());
    match design.map_or(&[][..], |design| &design.threads[..]) {
        [] => {}
        [one] => text.push_str(&format!(" Thread: {one}.")),
        threads => text.push_str(&format!(" Threads, in this order: {}.", listed(threads))),
    }
    text
}

fn segments(told: &Told<'_>, strip: &StripEntry, run: &RunEntry) -> String {
    let alike = run.segments.chunk_by(|one, next| one == next);
    let parts: Vec<String> = alike
        .filter_map(|row| {
            let part = segment(told, strip, row.first()?);
            Some(match row.len() {
                1 => part,
                times => format!("{times} times {part}"),
            })
        })
        .collect();
    parts.join(", then ")
}

fn segment(told: &Told<'_>, strip: &StripEntry, segment: &SegmentEntry) -> String {
    let sizes = told
        .designs
        .get(strip.design.as_str())
        .map(|design| &design.sizes);
    let size = sizes.and_then(|sizes| sizes.iter().find(|size| size.id == segment.size));
    let (name, repeats) = (&segment.size, segment.repeats);
    match size.map(|size| size.repeats) {
        Some(all) if repeats < all => {
            format!("{name}, stopped after {repeats} of its {all} repeats")
        }
        _ if repeats == 1 => format!("{name}, its one repeat"),
        _ => format!("{name}, all {repeats} repeats"),
    }
}
