//! Answers in a careful colleague's words, for a person at the sewing table.

mod batch;
mod comparison;
mod explanation;
mod fits;
mod hoopings;
mod materials;
mod objective;
mod replan;
mod steps;
mod strips;
mod table;
#[cfg(test)]
pub(crate) mod tests;

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{Book, CAUTIONS, border_of, corners_met, missing, work};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::Scenario;

pub use batch::batch;
pub use comparison::comparison;
pub use explanation::explanation;
pub use fits::fits;
pub use replan::replan;
use table::{Table, wrap};

/// Writes the plan of a scenario as text: lines of about 100 characters, the same text for the same plan.
pub fn render(scenario: &Scenario, plan: &Plan) -> String {
    let book = Book::new(scenario, plan);
    let ruler = Ruler { unit: plan.unit };
    let mut text = String::new();
    let name = match plan.scenario.as_str() {
        "" => "Plan".into(),
        name => format!("Plan for {name}"),
    };
    title(&mut text, &name);
    objective::write(&mut text, plan, ruler);
    point_to_the_end(&mut text, plan);
    if let Some(steps) = &plan.steps {
        steps::of(&mut text, "Before the first hooping", &steps.before);
    }
    section(&mut text, "Hoopings, in the order of the work");
    hoopings::write(&mut text, scenario, plan, &book);
    if let Some(steps) = &plan.steps {
        steps::of(&mut text, "After the last hooping", &steps.assembly);
    }
    strips::write(&mut text, scenario, plan);
    if let Some(cloths) = &plan.cutting {
        materials::cutting(&mut text, cloths, ruler);
    }
    if let Some(of) = &plan.materials {
        materials::shopping(&mut text, of, ruler);
    }
    if !plan.corners.is_empty() {
        section(&mut text, "Corners");
        corners(&mut text, plan, ruler);
    }
    if let Some(entry) = &plan.work {
        section(&mut text, "Time and thread");
        for sentence in work(scenario, plan, entry) {
            wrap(&mut text, "  ", &sentence);
        }
    }
    if !plan.unplanned.is_empty() {
        section(&mut text, "Left out of this plan");
        for entry in &plan.unplanned {
            let start = format!("  {}: ", entry.strip);
            wrap(&mut text, &start, &entry.reason);
        }
    }
    section_of(
        &mut text,
        "Warnings",
        plan.warnings.iter().map(String::as_str),
    );
    section_of(&mut text, "At the machine", CAUTIONS);
    if let Some(of) = &plan.explanation {
        explanation::sections(&mut text, of);
    }
    text
}

/// What must not be missed, though it is told at the end.
fn point_to_the_end(text: &mut String, plan: &Plan) {
    let (left_out, warnings) = (plan.unplanned.len(), plan.warnings.len());
    let one_or_more = |count: usize, one: &str, more: &str| match count {
        1 => format!("1 {one}"),
        _ => format!("{count} {more}"),
    };
    let mut parts = Vec::new();
    if left_out > 0 {
        parts.push(one_or_more(
            left_out,
            "strip is left out",
            "strips are left out",
        ));
    }
    if warnings > 0 {
        parts.push(one_or_more(warnings, "warning", "warnings"));
    }
    if !parts.is_empty() {
        let parts = parts.join(", ");
        wrap(text, "", &format!("Read the end before you cut: {parts}."));
    }
}

/// The corners where the pattern misses itself, and how many meet.
fn corners(text: &mut String, plan: &Plan, ruler: Ruler) {
    wrap(text, "  ", &corners_met(plan));
    let mut table = Table::new(2);
    for corner in missing(plan) {
        let [one, other] = &corner.strips;
        table.row([
            border_of(corner),
            corner.corner.clone(),
            format!(
                "misses itself by {} between {one} and {other}",
                ruler.length(&corner.mismatch)
            ),
        ]);
    }
    table.write(text);
}

fn title(text: &mut String, name: &str) {
    text.push_str(name);
    text.push('\n');
    text.push_str(&"=".repeat(name.chars().count().min(table::PAGE)));
    text.push('\n');
}

fn section(text: &mut String, name: &str) {
    text.push_str(&format!("\n{name}\n{}\n", "-".repeat(name.chars().count())));
}

/// A section with one line for each sentence; none where there are none.
fn section_of<'a>(text: &mut String, name: &str, lines: impl IntoIterator<Item = &'a str>) {
    let mut lines = lines.into_iter().peekable();
    if lines.peek().is_some() {
        section(text, name);
    }
    for line in lines {
        wrap(text, "  - ", line);
    }
}
