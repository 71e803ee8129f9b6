//! What is stitched in a hooping, how the hoop lies, and which ends stay open.

use sashwright_solver::length::Measure;
use sashwright_solver::plan::{HoopingEntry, Plan, SegmentEntry, StripEntry};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::strips::End;

use super::Lie;
use crate::measure::{Ruler, number};

/// `hoop medium, turned; strips lie along the 10 in side of its field, 6 × 10 in`.
pub fn way(scenario: &Scenario, plan: &Plan, hooping: &HoopingEntry) -> String {
    let ruler = Ruler { unit: plan.unit };
    let way = if hooping.turned {
        "turned"
    } else {
        "not turned"
    };
    let owned = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop);
    let along = match owned {
        Some(hoop) => {
            let [first, second] = hoop.field.map(|side| side.in_unit(plan.unit));
            let side = if hooping.turned { &second } else { &first };
            format!(
                "strips lie along the {} side of its field, {}",
                ruler.length(side),
                ruler.size(&[first.clone(), second.clone()])
            )
        }
        None => "strips lie along the side of its field that is named so".into(),
    };
    format!("hoop {}, {way}; {along}", hooping.hoop)
}

/// What to do with a strip that points against the field.
pub fn reversed(lie: Lie) -> String {
    format!(
        "lay it the other way round: its {} at the end of the field that is measured from",
        lie.end(End::End)
    )
}

/// From where to where: `0 – 7`, with fractions and decimals in pairs.
pub fn stretch(ruler: Ruler, from: &Measure, to: &Measure) -> String {
    format!("{} – {}", ruler.bare(from), ruler.bare(to))
}

/// What segments are stitched with: `vine-short × 2, then vine-long × 3`; equal neighbours are counted: `3 times vine-short × 2`.
pub fn stitching_of(segments: &[SegmentEntry]) -> String {
    let mut parts: Vec<(String, usize)> = Vec::new();
    for segment in segments {
        let part = format!("{} × {}", segment.size, segment.repeats);
        match parts.last_mut() {
            Some((last, times)) if *last == part => *times += 1,
            _ => parts.push((part, 1)),
        }
    }
    let shown = parts.into_iter().map(|(part, times)| match times {
        1 => part,
        _ => format!("{times} times {part}"),
    });
    shown.collect::<Vec<String>>().join(", then ")
}

/// `98.765 % (0.98765)`; `None` where the design is stitched as it is.
pub fn scaling(strip: &StripEntry) -> Option<String> {
    percent_of(&strip.scale)
}

/// A scale in per cent; `None` where it is none.
pub fn percent_of(scale: &Measure) -> Option<String> {
    if *scale == Measure::whole(1) {
        return None;
    }
    let exact = scale.exact().ok()?;
    let percent = Measure::from_ratio(exact.times_rounded(100_000)?, 1000);
    Some(format!("{} % ({})", number(&percent, 3), number(scale, 5)))
}

/// What to do at an end without a tack-down line: what butts up there comes later, or lies there already.
pub fn open_end(strip: &StripEntry, index: usize, end: End, lie: Lie) -> String {
    let name = lie.end(end);
    let neighbour = match end {
        End::Start => index.checked_sub(1),
        End::End => index.checked_add(1),
    };
    let here = strip.runs.get(index).map(|run| run.hooping);
    let other = neighbour.and_then(|other| Some((other, strip.runs.get(other)?)));
    match other {
        Some((other, run)) if Some(run.hooping) < here => format!(
            "leave the {name} open: butt it up to run {} from hooping {}, no line across",
            other + 1,
            run.hooping
        ),
        Some((other, run)) => format!(
            "leave the {name} open: the next run butts up there (run {}, hooping {}), no line across",
            other + 1,
            run.hooping
        ),
        // Of what is left of a begun strip.
        None => {
            format!("leave the {name} open: butt it up to what is stitched already, no line across")
        }
    }
}
