//! A sheet as a document to print (PDF, ISO 32000): text that can be copied and heard, pictures as vectors, fonts within.
//!
//! The data flows one way: texts are shaped into glyphs (`text`, `lines`), blocks laid out as pieces below each other (`layout`,
//! `table`), pieces put on pages (`flow`), and pages written (`write`).

mod columns;
mod curves;
mod figure;
mod flow;
mod fonts;
mod glyph;
mod in_two;
mod layout;
mod lines;
mod picture;
mod piece;
mod table;
mod tags;
mod text;
mod write;

#[cfg(test)]
mod tests;

use self::fonts::Family;
use self::layout::Layout;
use crate::content::{Block, Picture, Sheet};

/// The most text in a sheet, in bytes: it would fill some 700 pages.
const LONGEST: usize = 2 << 20;
/// The most columns of a table: with more, a column has no room for a letter.
const MOST_COLUMNS: usize = 16;

/// What is printed on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    A4,
    /// 8 1/2 × 11 in.
    Letter,
}

impl Paper {
    /// Its width and height in points, of which an inch has 72.
    fn size(self) -> [f32; 2] {
        match self {
            Self::A4 => [210.0, 297.0].map(|length| length * picture::POINTS_IN_MM),
            Self::Letter => [8.5 * 72.0, 11.0 * 72.0],
        }
    }
}

/// Why a sheet cannot be printed.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum PdfError {
    /// The size of a picture is not that of something printed.
    #[error("the picture `{name}` is {width} × {height} mm, but both must be more than 0")]
    Size {
        /// Which one.
        name: String,
        /// As told.
        width: String,
        /// As told.
        height: String,
    },
    /// A table has more columns than a page has room for.
    #[error("the table of {caption} has {columns} columns, but a page has room for {MOST_COLUMNS}")]
    Columns {
        /// Which table.
        caption: String,
        /// How many it has.
        columns: usize,
    },
    /// It has too much text.
    #[error("the sheet has {bytes} bytes of text, but at most {LONGEST} are printed")]
    Long {
        /// How many it has.
        bytes: usize,
    },
    /// The fonts in the program cannot be read.
    #[error("the fonts in the program cannot be read")]
    Fonts,
    /// The document could not be written, for a reason that no sheet should give.
    #[error("the document could not be written: {0}")]
    Writer(String),
}

impl PdfError {
    fn size(picture: &Picture) -> Self {
        let [width, height] = picture.size.map(|side| side.to_string());
        Self::Size {
            name: picture.name.clone(),
            width,
            height,
        }
    }
}

/// A sheet as a PDF document for this paper. The same sheet gives the same bytes.
///
/// # Errors
///
/// Where a picture has no size, a table has no room for its columns, or there is too much text.
pub fn pdf(sheet: &Sheet, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let family = Family::get().ok_or(PdfError::Fonts)?;
    let bytes = text_bytes(sheet);
    if bytes > LONGEST {
        return Err(PdfError::Long { bytes });
    }
    let page = write::Page::new(paper.size());
    let layout = Layout::new(sheet, page.room(), &family)?;
    let pages = flow::pages(&layout.pieces, &layout.heading_rows, page.room()[1]);
    write::document(&sheet.title, layout, &pages, page)
}

/// How much text is laid out, pictures aside.
fn text_bytes(sheet: &Sheet) -> usize {
    let length = |texts: &[String]| texts.iter().map(String::len).sum::<usize>();
    let mut bytes = sheet.title.len();
    let mut blocks: Vec<&Block> = Vec::new();
    for section in &sheet.sections {
        bytes += section.heading.len();
        blocks.extend(&section.blocks);
    }
    while let Some(block) = blocks.pop() {
        bytes += match block {
            Block::Heading(text) | Block::Text(text) => text.len(),
            Block::Ticks(items) | Block::List(items) => length(items),
            Block::Table(table) => {
                length(&table.head) + table.rows.iter().map(|row| length(row)).sum::<usize>()
            }
            Block::Picture(picture) => picture.caption.len(),
            Block::Together(inner) => {
                blocks.extend(inner);
                0
            }
        };
    }
    bytes
}
