//! Tables for people: aligned columns within a page, and text wrapped under its own start.

/// The widest line, in characters, wherever the words allow it.
pub(super) const PAGE: usize = 100;
/// Room between two columns.
const BETWEEN: usize = 2;
/// The narrowest last column: below that, a line runs past the page rather than into a thin thread.
const NARROWEST: usize = 24;

/// Rows of aligned columns, the last of which wraps, each with notes below it.
pub(super) struct Table {
    indent: usize,
    rows: Vec<(Vec<String>, Vec<String>)>,
}

impl Table {
    pub(super) fn new(indent: usize) -> Table {
        Table {
            indent,
            rows: Vec::new(),
        }
    }

    /// Adds a row. Every row of a table has as many cells.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = impl Into<String>>) {
        let cells = cells.into_iter().map(Into::into).collect();
        self.rows.push((cells, Vec::new()));
    }

    /// Adds a note below the last row.
    pub(super) fn note(&mut self, note: impl Into<String>) {
        if let Some((_, notes)) = self.rows.last_mut() {
            notes.push(note.into());
        }
    }

    /// Writes the table.
    pub(super) fn write(&self, text: &mut String) {
        let columns = self.rows.iter().map(|(cells, _)| cells.len()).max();
        let last = columns.unwrap_or(1).saturating_sub(1);
        let width = |column: usize| {
            let cells = self.rows.iter().filter_map(|(cells, _)| cells.get(column));
            cells
                .map(|cell: &String| cell.chars().count())
                .max()
                .unwrap_or(0)
        };
        let widths: Vec<usize> = (0..last).map(width).collect();
        for (cells, notes) in &self.rows {
            let mut line = " ".repeat(self.indent);
            for (cell, width) in cells.iter().zip(&widths) {
                line.push_str(&format!("{cell:width$}{:BETWEEN$}", ""));
            }
            let wrapped = cells.get(last).map(String::as_str).unwrap_or_default();
            wrap(text, &line, wrapped);
            for note in notes {
                wrap(text, &" ".repeat(self.indent + 4), note);
            }
        }
    }
}

/// Writes `words` after `start`, wrapped below their own start.
pub(super) fn wrap(text: &mut String, start: &str, words: &str) {
    let indent = start.chars().count();
    let room = PAGE.saturating_sub(indent).max(NARROWEST);
    let mut line = start.to_string();
    let mut used = 0;
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        let length = word.chars().count();
        if used > 0 && used + 1 + length > room {
            text.push_str(line.trim_end());
            text.push('\n');
            line = " ".repeat(indent);
            used = 0;
        }
        if used > 0 {
            line.push(' ');
            used += 1;
        }
        line.push_str(word);
        used += length;
    }
    text.push_str(line.trim_end());
    text.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_start_below_each_other_and_notes_are_indented() {
        let mut table = Table::new(2);
        table.row(["lane", "strip", "stitch"]);
        table.row(["1", "≈ a long strip", "vine × 2"]);
        table.note("leave the end open");
        let mut text = String::new();
        table.write(&mut text);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "  lane  strip           stitch");
        assert_eq!(lines[1], "  1     ≈ a long strip  vine × 2");
        assert_eq!(lines[2], "      leave the end open");
    }

    #[test]
    fn the_last_column_wraps_below_its_own_start() {
        let mut table = Table::new(0);
        table.row(["a".to_string(), "word ".repeat(40)]);
        let mut text = String::new();
        table.write(&mut text);
        assert!(text.lines().count() > 1);
        for line in text.lines() {
            assert!(
                line.chars().count() <= PAGE && line.get(3..7) == Some("word"),
                "{line:?}"
            );
        }
    }
}
