//! The hoopings in the order of the work: what lies where in which hoop, and which ends stay open.

use std::collections::HashMap;

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{Book, open_end, reversed, scaling, stitching_of, stretch, way};
use sashwright_solver::job::Step;
use sashwright_solver::plan::{HoopingEntry, Placement, Plan};
use sashwright_solver::scenario::Scenario;

use super::steps::ticks;
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
    let steps = plan.steps.iter().flat_map(|steps| &steps.hoopings);
    let steps: HashMap<u32, &[Step]> = steps.map(|of| (of.hooping, &of.steps[..])).collect();
    for hooping in &plan.hoopings {
        let steps = steps.get(&hooping.number).copied().unwrap_or_default();
        text.push('\n');
        heading(text, scenario, plan, hooping);
        let mut table = Table::new(2);
        let symbol = plan.unit.symbol();
        let stretch = format!("stretch, {symbol}");
        table.row(["lane", "strip", "run", &stretch, "stitch"]);
        for placement in &hooping.placements {
            place(&mut table, placement, book, ruler, steps.is_empty());
        }
        table.write(text);
        ticks(text, steps, 4);
    }
}

/// Which hoop, how it is turned, and the piece of stabilizer.
fn heading(text: &mut String, scenario: &Scenario, plan: &Plan, hooping: &HoopingEntry) {
    let ruler = Ruler { unit: plan.unit };
    let start = format!("Hooping {} of {}: ", hooping.number, plan.hoopings.len());
    wrap(text, &start, &way(scenario, plan, hooping));
    wrap(
        text,
        "  ",
        &format!("stabilizer {}", ruler.size(&hooping.stabilizer)),
    );
}

/// One run: a row of the table, and what she has to know of it below; `notes` says whether no steps tell her.
fn place(table: &mut Table, placement: &Placement, book: &Book<'_>, ruler: Ruler, notes: bool) {
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
        run.map(|run| stitching_of(&run.segments))
            .unwrap_or_default(),
    ]);
    table.note(format!(
        "in the field: starts at {}, {} long; centre line at {}",
        ruler.length(&placement.along),
        ruler.length(&placement.length),
        ruler.length(&placement.across),
    ));
    if !notes {
        return;
    }
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
        table.note(reversed(lie));
    }
}
