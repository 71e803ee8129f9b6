//! A comparison of hoops in words.

use sashwright_solver::compare::{Comparison, ComparisonRow, Reason};
use sashwright_solver::scenario::Scenario;

use super::measure::Ruler;
use super::objective::shown;
use super::table::{Table, wrap};
use super::{section, title};

/// Terms that are shown as columns, beside the hoops; the document has them all.
const MOST_COLUMNS: usize = 4;

/// Writes the comparison of a scenario's hoops.
pub fn comparison(scenario: &Scenario, comparison: &Comparison) -> String {
    let mut text = String::new();
    let name = match scenario.name.as_str() {
        "" => "Which hoop?".to_string(),
        name => format!("Which hoop for {name}?"),
    };
    title(&mut text, &name);
    for sentence in &comparison.verdict.sentences {
        wrap(&mut text, "  - ", sentence);
    }
    section(&mut text, "The rows behind it");
    let ruler = Ruler {
        unit: comparison.unit,
    };
    let mut table = Table::new(2);
    let terms = comparison.rows.iter().map(|row| &row.objective);
    let terms = terms.max_by_key(|objective| objective.len());
    let heads: Vec<&str> = terms
        .into_iter()
        .flatten()
        .take(MOST_COLUMNS)
        .map(|entry| super::objective::term(entry).0)
        .collect();
    let mut head = vec!["".to_string()];
    head.extend(heads.iter().map(|head| head.to_string()));
    head.push("hoops".into());
    table.row(head);
    for row in &comparison.rows {
        let mut cells = vec![reason(row).to_string()];
        for place in 0..heads.len() {
            cells.push(row.objective.get(place).map_or("–".into(), |entry| {
                let value = shown(entry, &entry.value, ruler);
                let mark = if entry.proven { "" } else { " ?" };
                format!("{value}{mark}")
            }));
        }
        cells.push(row.hoops.join(", "));
        table.row(cells);
        if row.used.len() < row.hoops.len() && !row.used.is_empty() {
            table.note(format!("the plan makes use of {}", row.used.join(", ")));
        }
        for refused in &row.refused {
            let more = match refused.count - refused.strips.len().min(3) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            let named = refused.strips.iter().take(3).cloned().collect::<Vec<_>>();
            table.note(format!(
                "cannot take {}{more}: {}",
                named.join(", "),
                refused.reason
            ));
        }
    }
    table.write(&mut text);
    let all = comparison.rows.iter().flat_map(|row| &row.objective);
    if !all.clone().all(|entry| entry.proven) {
        wrap(
            &mut text,
            "  ",
            "? marks a value that is the best found; that none is better is not proven.",
        );
    }
    text
}

fn reason(row: &ComparisonRow) -> &'static str {
    match row.reason {
        Reason::AllOwned => "all owned",
        Reason::OneAlone => "alone",
        Reason::AllButOne => "all but one",
        Reason::WithCandidate => "with a new one",
        Reason::EverySet => "another set",
        Reason::Fewest => "the fewest",
    }
}
