//! The hoopings in the order of the work: what lies where in which hoop, and which ends stay open.

use sashwright_solver::length::Measure;
use sashwright_solver::plan::{HoopingEntry, Placement, Plan, RunEntry, SegmentEntry, StripEntry};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::strips::End;

use super::Book;
use super::measure::{Ruler, number};
use super::strips::Lie;
use super::table::{Table, wrap};

/// Writes every hooping.
pub(super) fn write(text: &mut String, scenario: &Scenario, plan: &Plan, book: &Book<'_>) {
    let ruler = Ruler { unit: plan.unit };
    wrap(
        text,
        "",
        "A stretch is measured along its strip, from the finished left or top end. In the field, \"starts at\" is \
         measured along the strips from one end of the field, \"centre line\" across them from the low side. \
         An end that is not said to stay open gets its tack-down line.",
    );
    for hooping in &plan.hoopings {
        text.push('\n');
        heading(text, scenario, plan, hooping);
        let mut table = Table::new(2);
        let symbol = plan.unit.symbol();
        let stretch = format!("stretch, {symbol}");
        table.row(["lane", "strip", "run", &stretch, "stitch"]);
        for placement in &hooping.placements {
            place(&mut table, placement, book, ruler);
        }
        table.write(text);
    }
}

/// Which hoop, how it is turned, and the piece of stabilizer.
fn heading(text: &mut String, scenario: &Scenario, plan: &Plan, hooping: &HoopingEntry) {
    let ruler = Ruler { unit: plan.unit };
    let start = format!("Hooping {} of {}: ", hooping.number, plan.hoopings.len());
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
    wrap(
        text,
        &start,
        &format!("hoop {}, {way}; {along}", hooping.hoop),
    );
    wrap(
        text,
        "  ",
        &format!("stabilizer {}", ruler.size(&hooping.stabilizer)),
    );
}

/// One run: a row of the table, and what she has to know of it below.
fn place(table: &mut Table, placement: &Placement, book: &Book<'_>, ruler: Ruler) {
    let strip = book.strip(&placement.strip);
    let index = usize::try_from(placement.run).unwrap_or(0).wrapping_sub(1);
    let run = strip.and_then(|strip| strip.runs.get(index));
    let runs = strip.map_or(0, |strip| strip.runs.len());
    table.row([
        placement.lane.to_string(),
        placement.strip.clone(),
        format!("{} of {runs}", placement.run),
        run.map(|run| stretch(ruler, &run.from, &run.to))
            .unwrap_or_default(),
        run.map(stitching).unwrap_or_default(),
    ]);
    table.note(format!(
        "in the field: starts at {}, {} long; centre line at {}",
        ruler.length(&placement.along),
        ruler.length(&placement.length),
        ruler.length(&placement.across),
    ));
    let lie = book.lie(&placement.strip);
    if let Some(strip) = strip {
        if let Some(percent) = scaling(strip) {
            table.note(format!("scale the design along the strip to {percent}"));
        }
        for end in &placement.open {
            table.note(open_end(strip, index, *end, lie));
        }
    }
    if placement.reversed {
        table.note(format!(
            "lay it the other way round: its {} at the end of the field that is measured from",
            lie.end(End::End)
        ));
    }
}

/// From where to where: `0 – 7`, with fractions and decimals in pairs.
fn stretch(ruler: Ruler, from: &Measure, to: &Measure) -> String {
    format!("{} – {}", ruler.bare(from), ruler.bare(to))
}

/// `vine-short × 2 + vine-long × 3`; equal neighbours are counted: `3 times vine-short × 2`.
fn stitching(run: &RunEntry) -> String {
    stitching_of(&run.segments)
}

/// The same for segments by themselves.
pub(super) fn stitching_of(segments: &[SegmentEntry]) -> String {
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
pub(super) fn scaling(strip: &StripEntry) -> Option<String> {
    percent_of(&strip.scale)
}

/// A scale in per cent; `None` where it is none.
pub(super) fn percent_of(scale: &Measure) -> Option<String> {
    if *scale == Measure::whole(1) {
        return None;
    }
    let exact = scale.exact().ok()?;
    let percent = Measure::from_ratio(exact.times_rounded(100_000)?, 1000);
    Some(format!("{} % ({})", number(&percent, 3), number(scale, 5)))
}

/// What to do at an end without a tack-down line: what butts up there comes later, or lies there already.
fn open_end(strip: &StripEntry, index: usize, end: End, lie: Lie) -> String {
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
