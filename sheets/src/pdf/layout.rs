//! The content of a sheet as pieces, one below the other.

use std::num::NonZeroU16;

use krilla::tagging::Tag;

use super::PdfError;
use super::fonts::{Family, Weight};
use super::in_two::{Room, in_two};
use super::piece::{Anchor, Mark, Piece, TICK};
use super::table;
use super::tags::{self, Part, Tags};
use super::text::{self, Shaped, Style};
use crate::content::{Block, MANY, Picture, Section, Sheet};

/// The title of the sheet.
const TITLE: Style = Style {
    weight: Weight::Bold,
    size: 20.0,
    leading: 25.0,
    grey: 0,
};
/// The heading of a section.
const HEADING: Style = Style {
    weight: Weight::Bold,
    size: 14.0,
    leading: 18.0,
    grey: 0,
};
/// A smaller heading.
const SUBHEADING: Style = Style {
    weight: Weight::Bold,
    size: 11.0,
    leading: 14.5,
    grey: 0,
};
/// What is read.
const BODY: Style = Style {
    weight: Weight::Regular,
    size: 10.0,
    leading: 14.0,
    grey: 0,
};
/// The line below a picture.
pub(super) const CAPTION: Style = Style {
    weight: Weight::Regular,
    size: 9.0,
    leading: 12.0,
    grey: 60,
};
/// The headings of columns.
pub(super) const TABLE_HEAD: Style = Style {
    weight: Weight::Bold,
    size: 9.0,
    leading: 12.0,
    grey: 0,
};
/// The cells of tables, and what stands in two columns.
pub(super) const TABLE_TEXT: Style = Style {
    weight: Weight::Regular,
    size: 9.5,
    leading: 12.5,
    grey: 0,
};

/// Lines of running text are at most this wide, in points: some 85 letters, for longer lines are hard to follow.
pub(super) const MEASURE: f32 = 425.0;
/// How far the texts of a list are from its signs' left side, in points.
const INDENT: f32 = 16.0;
/// Room between two columns, in points.
const BETWEEN: f32 = 18.0;
/// Room above a paragraph, an item of a list, and a picture, in points.
pub(super) const ABOVE: [f32; 3] = [6.0, 3.5, 10.0];

/// A sheet laid out, but not yet on pages.
pub(super) struct Layout<'a> {
    /// What it is written with.
    pub(super) family: &'a Family,
    /// The width between the margins, in points.
    pub(super) width: f32,
    /// The height between the margins that is for the content, in points.
    pub(super) height: f32,
    /// Its pieces.
    pub(super) pieces: Vec<Piece>,
    /// The heading rows of its tables.
    pub(super) heading_rows: Vec<Piece>,
    /// Its pictures.
    pub(super) pictures: Vec<&'a Picture>,
    /// What its parts are.
    pub(super) tags: Tags,
    /// The section that is laid out.
    pub(super) section: Option<Part>,
    /// Where the blocks begin that are kept together, while they are laid out.
    pub(super) together: Option<usize>,
}

impl<'a> Layout<'a> {
    /// Lays a sheet out for pages with this room for the content.
    pub(super) fn new(
        sheet: &'a Sheet,
        [width, height]: [f32; 2],
        family: &'a Family,
    ) -> Result<Self, PdfError> {
        let (pieces, heading_rows, pictures) = (Vec::new(), Vec::new(), Vec::new());
        let mut layout = Self {
            family,
            width,
            height,
            pieces,
            heading_rows,
            pictures,
            tags: Tags::default(),
            section: None,
            together: None,
        };
        layout.heading(&sheet.title, TITLE, NonZeroU16::MIN, [0.0, 8.0]);
        for (at, section) in sheet.sections.iter().enumerate() {
            // The first section stands below the title.
            layout.section(section, at > 0)?;
        }
        Ok(layout)
    }

    fn section(&mut self, section: &'a Section, may_turn: bool) -> Result<(), PdfError> {
        self.section = Some(self.tags.add(None, Tag::Section));
        let first = self.pieces.len();
        self.heading(
            &section.heading,
            HEADING,
            NonZeroU16::MIN.saturating_add(1),
            [22.0, 6.0],
        );
        if let Some(piece) = self.pieces.get_mut(first) {
            piece.new_page = section.new_page && may_turn;
            piece.anchor = Some(Anchor {
                title: section.heading.clone(),
                section: true,
            });
        }
        self.blocks(&section.blocks)
    }

    /// Lays blocks out. Blocks in blocks are gone through without recursion, however deep they are.
    fn blocks(&mut self, blocks: &'a [Block]) -> Result<(), PdfError> {
        enum Step<'a> {
            Block(&'a Block),
            Keep { from: usize },
        }
        let mut steps: Vec<Step> = blocks.iter().rev().map(Step::Block).collect();
        while let Some(step) = steps.pop() {
            match step {
                Step::Block(Block::Together(inner)) => {
                    let from = self.pieces.len();
                    self.together.get_or_insert(from);
                    steps.push(Step::Keep { from });
                    steps.extend(inner.iter().rev().map(Step::Block));
                }
                Step::Block(block) => self.block(block)?,
                Step::Keep { from } => {
                    self.keep_from(from);
                    self.together = self.together.filter(|first| *first < from);
                }
            }
        }
        Ok(())
    }

    fn block(&mut self, block: &'a Block) -> Result<(), PdfError> {
        match block {
            Block::Heading(heading) => {
                let first = self.pieces.len();
                self.heading(
                    heading,
                    SUBHEADING,
                    NonZeroU16::MIN.saturating_add(2),
                    [14.0, 3.0],
                );
                if let Some(piece) = self.pieces.get_mut(first) {
                    piece.anchor = Some(Anchor {
                        title: heading.clone(),
                        section: false,
                    });
                }
            }
            Block::Text(text) => {
                let part = self.tags.add(self.section, Tag::P);
                self.text(text, BODY, [0.0, self.width.min(MEASURE)], ABOVE[0], part);
            }
            Block::Ticks(items) => self.list(items, true),
            Block::List(items) => self.list(items, false),
            Block::Table(table) => table::lay_out(table, self)?,
            Block::Picture(picture) => self.picture(picture)?,
            // Taken apart by the caller.
            Block::Together(_) => {}
        }
        Ok(())
    }

    /// Lays a heading out, which keeps what comes next.
    fn heading(&mut self, text: &str, style: Style, level: NonZeroU16, [above, below]: [f32; 2]) {
        let part = self.tags.add(self.section, tags::heading(level, text));
        let first = self.pieces.len();
        self.text(text, style, [0.0, self.width], above, part);
        for piece in self.pieces.iter_mut().skip(first) {
            piece.keep = true;
        }
        if let Some(last) = self.pieces.last_mut() {
            last.below = below;
        }
    }

    /// Lays lines out between a left side and a width; the first two and the last two stay together.
    fn text(&mut self, text: &str, style: Style, [left, width]: [f32; 2], above: f32, part: Part) {
        let lines = Shaped::new(text, style, self.family).lines(width);
        let all = lines.len();
        for (at, line) in lines.into_iter().enumerate() {
            let marks = vec![Mark::Line {
                left,
                baseline: style.baseline(),
                line,
                part,
            }];
            let above = if at == 0 { above } else { 0.0 };
            let keep = at + 1 < all && (at == 0 || at + 2 == all);
            self.pieces.push(Piece {
                above,
                marks,
                keep,
                ..Piece::new(style.leading)
            });
        }
    }

    /// Lays a list out, with dots or boxes to tick; many boxes in two columns where they fit on a page.
    fn list(&mut self, items: &[String], boxes: bool) {
        let list = self.tags.add(self.section, tags::list(boxes));
        let first = self.pieces.len();
        if boxes && items.len() > MANY {
            let width = (self.width - BETWEEN) / 2.0;
            let starts = self.items(items, boxes, (width, TABLE_TEXT), list);
            let starts: Vec<usize> = starts.iter().map(|start| start - first).collect();
            let laid = self.pieces.split_off(first);
            let room = Room {
                page: self.height,
                left: self.height - self.height_together() - ABOVE[0],
            };
            let columns = in_two(laid, &starts, width + BETWEEN, room);
            if columns.len() == 2 {
                self.begin_page();
            }
            self.pieces.extend(columns);
        } else {
            self.items(items, boxes, (self.width.min(MEASURE), BODY), list);
        }
    }

    /// Begins a page with what is kept together, unless a heading keeps it.
    fn begin_page(&mut self) {
        let kept = |from: usize| {
            from.checked_sub(1)
                .and_then(|before| self.pieces.get(before))
                .is_some_and(|piece| piece.keep)
        };
        let from = self.together.filter(|from| !kept(*from));
        if let Some(first) = from.and_then(|from| self.pieces.get_mut(from)) {
            first.new_page = true;
        }
    }

    /// Lays the items of a list out below each other. Returns where each begins among the pieces.
    fn items(
        &mut self,
        items: &[String],
        boxes: bool,
        (width, style): (f32, Style),
        list: Part,
    ) -> Vec<usize> {
        let mut starts = Vec::new();
        for (at, item) in items.iter().enumerate() {
            let entry = self.tags.add(Some(list), Tag::LI);
            let label = self.tags.add(Some(entry), Tag::Lbl);
            let sign = if boxes {
                let part = self.tags.add(Some(label), tags::tick());
                Mark::Tick {
                    left: 0.0,
                    top: (style.leading - TICK) / 2.0,
                    part,
                }
            } else {
                Mark::Line {
                    left: 2.0,
                    baseline: style.baseline(),
                    line: text::line("•", style, self.family),
                    part: label,
                }
            };
            let body = self.tags.add(Some(entry), Tag::LBody);
            let first = self.pieces.len();
            starts.push(first);
            let above = if at == 0 { ABOVE[0] } else { ABOVE[1] };
            self.text(item, style, [INDENT, width - INDENT], above, body);
            if let Some(piece) = self.pieces.get_mut(first) {
                piece.marks.insert(0, sign);
            }
        }
        starts
    }
}
