//! What was proven, term by term, in words.

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{known, shown, term, verdict};
use sashwright_solver::plan::Plan;

use super::table::{Table, wrap};

/// Writes what is known of the plan: each term's value, and whether any valid plan can beat it.
pub(super) fn write(text: &mut String, plan: &Plan, ruler: Ruler) {
    wrap(text, "", verdict(plan));
    let mut table = Table::new(2);
    for (index, entry) in plan.objective.iter().enumerate() {
        table.row([
            term(entry).0.to_string(),
            shown(entry, &entry.value, ruler),
            known(entry, index, ruler),
        ]);
    }
    table.write(text);
}
