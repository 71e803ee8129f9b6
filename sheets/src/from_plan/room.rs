//! How high a picture may be so that a hooping stands on one page with its table and steps.
//!
//! It is an estimate, from counts of letters: the one content is printed by browsers and as PDF, on A4 and on Letter. Where it is off, or
//! where there are too many steps for one page, they go on on the next.

use sashwright_solver::job::Step;

use crate::content::MANY;

/// What Letter, the lower of the papers, has between its margins and above the running line, less what an estimate is off; in
/// millimetres, as all heights here.
const PAGE: f64 = 228.0;
/// The heading, and the caption of the picture, with the room around them.
const HEADING: f64 = 9.0;
const CAPTION: f64 = 8.0;
/// A line of the text below the heading, and how many letters it has.
const TEXT: (f64, usize) = (5.0, 84);
/// A line of a table and the room between two rows; and how many letters fit into a row of one line.
const TABLE: (f64, usize) = (4.5, 78);
const BETWEEN: f64 = 2.5;
/// A line of a step in two columns, and how many letters it has; and the room between two steps.
const STEP: (f64, usize) = (4.45, 54);
const CLOSE: f64 = 0.8;
/// The same in one column.
const SINGLE: (f64, usize) = (5.0, 80);
const APART: f64 = 1.3;

/// What is left of a page below the text, above these rows of a table, and above these steps.
pub(super) fn left_for_picture(text: &str, rows: &[Vec<String>], steps: &[Step]) -> f64 {
    let rows = rows.iter().map(|row| {
        let letters: usize = row.iter().map(|cell| cell.chars().count()).sum();
        letters.div_ceil(TABLE.1).max(1) as f64 * TABLE.0 + BETWEEN
    });
    let table = TABLE.0 + BETWEEN + rows.sum::<f64>();
    let heights = |each, between: f64| {
        let steps = steps.iter();
        steps.map(move |step| lines(&step.text, each) + between)
    };
    let steps = match steps.len() > MANY {
        true => in_two_columns(&heights(STEP, CLOSE).collect::<Vec<f64>>()),
        false => heights(SINGLE, APART).sum(),
    };
    PAGE - HEADING - lines(text, TEXT) - CAPTION - table - steps
}

/// How high the lines of this text are, which break at spaces and after hyphens.
fn lines(text: &str, (height, in_line): (f64, usize)) -> f64 {
    let (mut lines, mut used) = (1, 0);
    for word in text.split_inclusive([' ', '-']) {
        let letters = word.trim_end().chars().count();
        if used > 0 && used + letters > in_line {
            (lines, used) = (lines + 1, 0);
        }
        used += word.chars().count();
    }
    f64::from(lines) * height
}

/// The height of the higher of two columns, parted where that is least.
fn in_two_columns(heights: &[f64]) -> f64 {
    let all: f64 = heights.iter().sum();
    let mut before = 0.0;
    let partings = heights.iter().map(|height| {
        before += height;
        before.max(all - before)
    });
    partings.fold(all, f64::min)
}

#[cfg(test)]
mod tests {
    use sashwright_solver::job::StepKind;

    use super::*;

    #[test]
    fn lines_keep_words_whole() {
        assert_eq!(lines("", (2.0, 5)), 2.0);
        assert_eq!(lines("aa bb cc", (2.0, 5)), 4.0);
        assert_eq!(lines("aaaa bb cc", (2.0, 4)), 6.0);
        assert_eq!(lines("aaa-bb cc", (2.0, 4)), 6.0);
        assert_eq!(lines("aaa-bb cc", (2.0, 5)), 4.0);
    }

    #[test]
    fn columns_are_parted_where_they_are_lowest() {
        assert_eq!(in_two_columns(&[1.0, 1.0, 4.0, 2.0]), 6.0);
        assert_eq!(in_two_columns(&[]), 0.0);
    }

    #[test]
    fn many_steps_leave_less() {
        let step = |letters: usize| Step {
            kind: StepKind::Unhoop,
            text: "a".repeat(letters),
            strip: None,
        };
        let few: Vec<Step> = (0..4).map(|_| step(40)).collect();
        let many: Vec<Step> = (0..30).map(|_| step(40)).collect();
        let none = left_for_picture("", &[], &[]);
        let [few, many] = [few, many].map(|steps| left_for_picture("", &[], &steps));
        assert!((none - few - 4.0 * (SINGLE.0 + APART)).abs() < 1e-9);
        assert!((none - many - 15.0 * (STEP.0 + CLOSE)).abs() < 1e-9);
    }
}
