//! The cut list: strips alike on one line, so that a large quilt stays readable.

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{cut_alike, ids, parts, scaling};
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{Plan, StripEntry};
use sashwright_solver::scenario::Scenario;

use super::section;
use super::table::Table;

/// Writes the cut list; what is left of begun strips is cut already.
pub(super) fn write(text: &mut String, scenario: &Scenario, plan: &Plan) {
    let parts = parts(scenario);
    let is_part = |strip: &StripEntry| parts.contains(&strip.id);
    if plan.strips.iter().any(|strip| !is_part(strip)) {
        section(text, "Strips to cut");
        cut_list(text, plan, &is_part);
    }
    if plan.strips.iter().any(is_part) {
        section(text, "Strips that are begun");
        let mut table = Table::new(2);
        let ruler = Ruler { unit: plan.unit };
        for strip in plan.strips.iter().filter(|strip| is_part(strip)) {
            let mut left = format!("{} are left", ruler.length(&strip.length));
            if strip.overhang != Measure::whole(0) {
                let overhang = ruler.length(&strip.overhang);
                left.push_str(&format!(
                    "; overhang {overhang}, stitched past the seam line"
                ));
            }
            table.row([strip.id.clone(), left]);
        }
        table.write(text);
    }
}

fn cut_list(text: &mut String, plan: &Plan, left_out: &dyn Fn(&StripEntry) -> bool) {
    let ruler = Ruler { unit: plan.unit };
    let groups = cut_alike(plan, left_out);
    let mut table = Table::new(2);
    let symbol = plan.unit.symbol();
    let (cut, trimmed) = (format!("cut, {symbol}"), format!("square up to, {symbol}"));
    table.row(["pieces", &cut, &trimmed, "strips"]);
    for group in groups {
        let Some(strip) = group.first().and_then(|index| plan.strips.get(*index)) else {
            continue;
        };
        table.row([
            group.len().to_string(),
            ruler.bare_size(&strip.cut),
            ruler.bare_size(&strip.trimmed),
            ids(&plan.strips, &group),
        ]);
        let sides = [strip.length.clone(), strip.width.clone()];
        let mut note = format!("finished {}, design {}", ruler.size(&sides), strip.design);
        if let Some(percent) = scaling(strip) {
            note.push_str(&format!(", scaled along the strip to {percent}"));
        }
        if strip.overhang != Measure::whole(0) {
            let overhang = ruler.length(&strip.overhang);
            note.push_str(&format!(
                "; overhang {overhang}, stitched past the seam lines, both ends together"
            ));
        }
        table.note(note);
    }
    table.write(text);
}
