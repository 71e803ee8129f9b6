//! A comparison of hoops in words.

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{shown, term};
use sashwright_solver::compare::{Comparison, ComparisonRow, Reason};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::time::in_words as time;

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
        .map(|entry| term(entry).0)
        .collect();
    let mut head = vec!["".to_string()];
    head.extend(heads.iter().map(|head| head.to_string()));
    let known = |row: &ComparisonRow| row.work.as_ref().is_some_and(|work| work.minutes.is_some());
    let in_all = comparison.rows.iter().any(known);
    // The time is not told twice.
    let timed = heads.contains(&"working time");
    if !timed {
        head.push(if in_all { "time" } else { "time by hand" }.into());
    }
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
        let work = row.work.as_ref();
        let minutes = work.and_then(|work| {
            let by_hand = Some(&work.hands_on_minutes).filter(|_| !in_all);
            by_hand.or(work.minutes.as_ref())
        });
        if !timed {
            cells.push(minutes.map_or("–".into(), time));
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
