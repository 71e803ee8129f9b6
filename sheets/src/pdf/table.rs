//! Tables: a heading row, and rows that are parted only where they are very high.

use std::iter;

use krilla::tagging::Tag;

use super::columns::{is_of_numbers, widths};
use super::layout::{Layout, TABLE_HEAD, TABLE_TEXT};
use super::lines::Line;
use super::piece::{Mark, Piece, TICK};
use super::tags::{self, Part, Tags};
use super::text::{self, Extent, Shaped, Style};
use super::{MOST_COLUMNS, PdfError};
use crate::content::Table;

/// Room between columns, in points.
const GAP: f32 = 14.0;
/// Room above and below the text of a row, in points.
const PADDING: f32 = 3.5;
/// Room above and below a table, in points.
const AROUND: f32 = 8.0;
/// The most lines of a row that are kept together.
const LINES_KEPT: usize = 12;

/// Lays a table out, below what is there.
pub(super) fn lay_out(table: &Table, layout: &mut Layout) -> Result<(), PdfError> {
    let columns = table
        .rows
        .iter()
        .map(Vec::len)
        .max()
        .unwrap_or(0)
        .max(table.head.len());
    if columns > MOST_COLUMNS {
        return Err(PdfError::Columns {
            caption: table.caption.clone(),
            columns,
        });
    }
    let shape = |row: &[String], style: Style| -> Vec<Shaped> {
        let cell = |column| row.get(column).map_or("", String::as_str);
        (0..columns)
            .map(|column| Shaped::new(cell(column), style, layout.family))
            .collect()
    };
    let head = shape(&table.head, TABLE_HEAD);
    let rows: Vec<Vec<Shaped>> = table
        .rows
        .iter()
        .map(|row| shape(row, TABLE_TEXT))
        .collect();
    let grid = Grid::new(table, &head, &rows, layout);

    let whole = layout.tags.add(layout.section, tags::table(&table.caption));
    let group = layout.tags.add(Some(whole), Tag::THead);
    let parts = Parts::of_head(&grid, group, &mut layout.tags);
    let mut pieces = grid.row(&head, &parts, Kind::Head);
    let mut heading_row = None;
    if pieces.len() == 1 {
        heading_row = Some(layout.heading_rows.len());
        layout
            .heading_rows
            .append(&mut grid.row(&head, &parts, Kind::Head));
    }
    let body = layout.tags.add(Some(whole), Tag::TBody);
    let heads = pieces.len();
    for row in &rows {
        let parts = Parts::of_row(&grid, body, &mut layout.tags);
        let mut row = grid.row(row, &parts, Kind::Body);
        row.iter_mut()
            .for_each(|piece| piece.heading_row = heading_row);
        pieces.append(&mut row);
    }

    // Neither the heading row nor a single row of a table stands alone on a page.
    let all = pieces.len();
    for (at, piece) in pieces.iter_mut().enumerate() {
        piece.keep = at + 1 < all && (at <= heads || at + 2 == all);
    }
    if let Some(first) = pieces.first_mut() {
        first.above = AROUND;
    }
    if let Some(last) = pieces.last_mut() {
        last.below = AROUND;
    }
    layout.pieces.append(&mut pieces);
    Ok(())
}

/// Whether a row is the heading row.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Kind {
    Head,
    Body,
}

/// What the cells of a row are.
struct Parts {
    tick: Option<Part>,
    cells: Vec<Part>,
}

impl Parts {
    fn of_head(grid: &Grid, group: Part, tags: &mut Tags) -> Self {
        let row = tags.add(Some(group), Tag::TR);
        let tick = grid
            .ticks
            .as_ref()
            .map(|_| tags.add(Some(row), tags::column()));
        let tick = tick.map(|cell| tags.add(Some(cell), tags::tick_heading()));
        let cells = grid
            .columns
            .iter()
            .map(|_| tags.add(Some(row), tags::column()))
            .collect();
        Self { tick, cells }
    }

    fn of_row(grid: &Grid, body: Part, tags: &mut Tags) -> Self {
        let row = tags.add(Some(body), Tag::TR);
        let tick = grid.ticks.as_ref().map(|_| tags.add(Some(row), Tag::TD));
        let tick = tick.map(|cell| tags.add(Some(cell), tags::tick()));
        let cells = grid
            .columns
            .iter()
            .map(|_| tags.add(Some(row), Tag::TD))
            .collect();
        Self { tick, cells }
    }
}

/// A column of a table. Lengths are in points.
struct Column {
    left: f32,
    width: f32,
    of_numbers: bool,
}

/// Where the columns of a table are.
struct Grid {
    columns: Vec<Column>,
    /// The sign above the boxes to tick, where rows begin with one.
    ticks: Option<Line>,
    /// The width of all, in points.
    width: f32,
}

impl Grid {
    /// The columns of a table, given the cells of its heading row and of its rows.
    fn new(table: &Table, head: &[Shaped], rows: &[Vec<Shaped>], layout: &Layout) -> Self {
        let ticks = table
            .ticks
            .then(|| text::line("✓", TABLE_HEAD, layout.family));
        let indent = if ticks.is_some() { TICK + GAP } else { 0.0 };
        let all = || iter::once(head).chain(rows.iter().map(Vec::as_slice));
        let extent = |column: usize| {
            all()
                .filter_map(|row| row.get(column))
                .map(Shaped::extent)
                .fold(Extent::default(), Extent::or_more)
        };
        let extents: Vec<Extent> = (0..head.len()).map(extent).collect();
        let gaps = GAP * head.len().saturating_sub(1) as f32;
        let mut columns = Vec::new();
        let mut left = indent;
        for (column, width) in widths(&extents, layout.width - indent - gaps)
            .into_iter()
            .enumerate()
        {
            let of_numbers = is_of_numbers(
                table
                    .rows
                    .iter()
                    .filter_map(|row| row.get(column))
                    .map(String::as_str),
            );
            columns.push(Column {
                left,
                width,
                of_numbers,
            });
            left += width + GAP;
        }
        let width = columns
            .last()
            .map_or(indent, |column| column.left + column.width);
        Self {
            columns,
            ticks,
            width,
        }
    }

    /// The pieces of a row: one, unless it is very high.
    fn row(&self, cells: &[Shaped], parts: &Parts, kind: Kind) -> Vec<Piece> {
        let style = if kind == Kind::Head {
            TABLE_HEAD
        } else {
            TABLE_TEXT
        };
        let cells: Vec<Vec<Line>> = cells
            .iter()
            .zip(&self.columns)
            .map(|(cell, column)| cell.lines(column.width))
            .collect();
        let lines = cells.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let mut pieces: Vec<Piece> = (0..lines.div_ceil(LINES_KEPT))
            .map(|piece| {
                Piece::new((lines - piece * LINES_KEPT).min(LINES_KEPT) as f32 * style.leading)
            })
            .collect();
        for ((cell, column), part) in cells.into_iter().zip(&self.columns).zip(&parts.cells) {
            // The headings of columns stand on one line with the last line of the longest.
            let skipped = if kind == Kind::Head && pieces.len() == 1 {
                lines - cell.len()
            } else {
                0
            };
            for (at, line) in cell.into_iter().enumerate() {
                let at = at + skipped;
                let left = column.left
                    + if column.of_numbers {
                        column.width - line.width
                    } else {
                        0.0
                    };
                let baseline = (at % LINES_KEPT) as f32 * style.leading + style.baseline();
                let mark = Mark::Line {
                    left,
                    baseline,
                    line,
                    part: *part,
                };
                if let Some(piece) = pieces.get_mut(at / LINES_KEPT) {
                    piece.marks.push(mark);
                }
            }
        }
        if let (Some(piece), Some(part), Some(sign)) = (pieces.first_mut(), parts.tick, &self.ticks)
        {
            let mark = match kind {
                Kind::Head => Mark::Line {
                    left: 0.0,
                    baseline: piece.height - style.leading + style.baseline(),
                    line: sign.clone(),
                    part,
                },
                Kind::Body => Mark::Tick {
                    left: 0.0,
                    top: (style.leading - TICK) / 2.0,
                    part,
                },
            };
            piece.marks.insert(0, mark);
        }
        self.finish(&mut pieces, kind);
        pieces
    }

    /// Gives a row its padding, and a rule below it.
    fn finish(&self, pieces: &mut [Piece], kind: Kind) {
        if let Some(first) = pieces.first_mut() {
            first.height += PADDING;
            first
                .marks
                .iter_mut()
                .for_each(|mark| mark.move_down(PADDING));
        }
        if let Some(last) = pieces.last_mut() {
            last.height += PADDING;
            let (thickness, grey) = match kind {
                Kind::Head => (0.9, 40),
                Kind::Body => (0.4, 150),
            };
            last.marks.push(Mark::Rule {
                left: 0.0,
                top: last.height - thickness,
                width: self.width,
                thickness,
                grey,
            });
        }
    }
}
