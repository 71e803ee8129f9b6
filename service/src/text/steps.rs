//! What is done, each step with a box to tick.

use sashwright_solver::job::Step;

use super::section;
use super::table::wrap;

/// Writes steps, so far from the edge of the page.
pub(super) fn ticks(text: &mut String, steps: &[Step], indent: usize) {
    let start = format!("{:indent$}[ ] ", "");
    for step in steps {
        wrap(text, &start, &step.text);
    }
}

/// Writes a section of steps; none where there are none.
pub(super) fn of(text: &mut String, name: &str, steps: &[Step]) {
    if !steps.is_empty() {
        section(text, name);
        ticks(text, steps, 2);
    }
}
