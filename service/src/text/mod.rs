//! Answers in a careful colleague's words, for a person at the sewing table.

mod comparison;
mod explanation;
mod fits;
mod hoopings;
mod measure;
mod objective;
mod replan;
mod strips;
mod table;
#[cfg(test)]
pub(crate) mod tests;
mod work;

use std::collections::{HashMap, HashSet};

use sashwright_solver::length::Measure;
use sashwright_solver::plan::{Plan, StripEntry};
use sashwright_solver::scenario::Scenario;

pub use comparison::comparison;
pub use explanation::explanation;
pub use fits::fits;
use measure::Ruler;
pub use replan::replan;
use strips::Lie;
use table::{Table, wrap};

/// The usual cautions (common practice of the trade; no source is claimed).
const CAUTIONS: [&str; 5] = [
    "The manual of your machine comes first; where it says otherwise than this page, follow it.",
    "Take the hoop off the machine before you trim batting or fabric in it, and keep hands clear of the needle.",
    "Close the rotary cutter after every cut, and cut away from yourself.",
    "Let pressed pieces cool before you hoop them, and set the iron back on its stand.",
    "Use spray adhesive with fresh air, away from the machine, the iron and any flame.",
];

/// Where to find the strips of a plan by their ids.
struct Book<'a> {
    strips: HashMap<&'a str, &'a StripEntry>,
    /// Strips that the scenario lists on their own, whatever their ids look like.
    listed: HashSet<String>,
}

impl<'a> Book<'a> {
    fn new(scenario: &Scenario, plan: &'a Plan) -> Book<'a> {
        let listed = scenario.strips.iter().flat_map(|entry| {
            let several = (1..=entry.count).map(|copy| match entry.count {
                1 => entry.id.clone(),
                _ => format!("{}-{copy}", entry.id),
            });
            several.collect::<Vec<String>>()
        });
        let strips = plan.strips.iter().map(|strip| (strip.id.as_str(), strip));
        Book {
            strips: strips.collect(),
            listed: listed.collect(),
        }
    }

    fn strip(&self, id: &str) -> Option<&'a StripEntry> {
        self.strips.get(id).copied()
    }

    fn lie(&self, id: &str) -> Lie {
        let part = |suffix| {
            id.strip_suffix(suffix)
                .is_some_and(|whole| self.listed.contains(whole))
        };
        if self.listed.contains(id) || part("-start") || part("-end") {
            Lie::Lying
        } else {
            Lie::of_quilt_strip(id)
        }
    }
}

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
    section(&mut text, "Hoopings, in the order of the work");
    hoopings::write(&mut text, scenario, plan, &book);
    strips::write(&mut text, scenario, plan);
    if !plan.corners.is_empty() {
        section(&mut text, "Corners");
        corners(&mut text, plan, ruler);
    }
    if let Some(entry) = &plan.work {
        section(&mut text, "Time and thread");
        work::write(&mut text, scenario, plan, entry);
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
    let missed = |measure: &Measure| *measure != Measure::whole(0);
    let missing = plan
        .corners
        .iter()
        .filter(|corner| missed(&corner.mismatch));
    let missing: Vec<_> = missing.collect();
    match (plan.corners.len(), missing.len()) {
        (all, 0) => wrap(
            text,
            "  ",
            &format!("The pattern meets at all counted corners ({all})."),
        ),
        (all, count) => wrap(
            text,
            "  ",
            &format!(
                "The pattern meets at {} of {all} counted corners.",
                all - count
            ),
        ),
    }
    let mut table = Table::new(2);
    for corner in missing {
        let [one, other] = &corner.strips;
        table.row([
            format!("border {}", corner.border),
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
