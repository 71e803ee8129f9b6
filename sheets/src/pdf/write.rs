//! Pages of pieces as a PDF document.

use krilla::color::luma;
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag};
use krilla::{Document, SerializeSettings};

use super::PdfError;
use super::flow::{Placed, What};
use super::fonts::{Family, Weight};
use super::layout::Layout;
use super::lines::Line;
use super::picture;
use super::piece::{Mark, Piece, TICK};
use super::tags::{LANGUAGE, Part, Tags};
use super::text::{self, Shaped, Style};
use crate::content::Picture;

/// The margin on all sides, in points: 15 mm.
const MARGIN: f32 = 15.0 * picture::POINTS_IN_MM;
/// The height at the foot of a page for its running line, in points.
const FOOT: f32 = 24.0;
/// The running line.
const RUNNING: Style = Style {
    weight: Weight::Regular,
    size: 9.0,
    leading: 12.0,
    grey: 60,
};

/// A page, by its size.
#[derive(Clone, Copy)]
pub(super) struct Page {
    size: [f32; 2],
}

impl Page {
    /// A page of this width and height, in points.
    pub(super) fn new(size: [f32; 2]) -> Self {
        Self { size }
    }

    /// The room for the content: between the margins and above the running line, in points.
    pub(super) fn room(self) -> [f32; 2] {
        [
            self.size[0] - 2.0 * MARGIN,
            self.size[1] - 2.0 * MARGIN - FOOT,
        ]
    }
}

/// Writes the document: the pieces of the layout on the pages where they were put.
pub(super) fn document(
    title: &str,
    layout: Layout,
    pages: &[Vec<Placed>],
    page: Page,
) -> Result<Vec<u8>, PdfError> {
    let Layout {
        pieces,
        heading_rows,
        pictures,
        mut tags,
        family,
        ..
    } = layout;
    let mut document = Document::new_with(SerializeSettings::default());
    let [width, height] = page.size;
    let mut artist = picture::Artist::new(family);
    let foot = foot(title, page, pages.len(), family);
    for (at, placed) in pages.iter().enumerate() {
        let settings = PageSettings::from_wh(width, height)
            .ok_or_else(|| PdfError::Writer("the page has no size".to_owned()))?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        let mut pen = Pen {
            surface: &mut surface,
            tags: &mut tags,
            pictures: &pictures,
            artist: &mut artist,
            family,
        };
        for Placed { what, top } in placed {
            let (piece, repeated) = match what {
                What::Piece(piece) => (pieces.get(*piece), false),
                What::HeadingRow(row) => (heading_rows.get(*row), true),
            };
            for mark in piece.iter().flat_map(|piece| &piece.marks) {
                pen.mark(mark, MARGIN + top, repeated);
            }
        }
        pen.foot(&foot, &format!("page {} of {}", at + 1, pages.len()), page);
        surface.finish();
        sheet.finish();
    }
    document.set_outline(outline(&pieces, pages));
    document.set_tag_tree(tags.tree());
    document.set_metadata(
        Metadata::new()
            .title(title.to_owned())
            .language(LANGUAGE.to_owned()),
    );
    document
        .finish()
        .map_err(|fault| PdfError::Writer(fault.to_string()))
}

/// The outline: sections, and the headings in them.
fn outline(pieces: &[Piece], pages: &[Vec<Placed>]) -> Outline {
    let mut sections: Vec<OutlineNode> = Vec::new();
    for (page, placed) in pages
        .iter()
        .enumerate()
        .flat_map(|(page, all)| all.iter().map(move |placed| (page, placed)))
    {
        let What::Piece(piece) = placed.what else {
            continue;
        };
        let Some(anchor) = pieces.get(piece).and_then(|piece| piece.anchor.as_ref()) else {
            continue;
        };
        let place = XyzDestination::new(page, Point::from_xy(MARGIN, MARGIN + placed.top));
        let node = OutlineNode::new(anchor.title.clone(), place);
        match sections.last_mut() {
            Some(section) if !anchor.section => section.push_child(node),
            _ => sections.push(node),
        }
    }
    let mut outline = Outline::new();
    sections
        .into_iter()
        .for_each(|section| outline.push_child(section));
    outline
}

/// Writes on one page.
struct Pen<'a, 'b, 'c> {
    surface: &'a mut Surface<'b>,
    tags: &'a mut Tags,
    pictures: &'a [&'c Picture],
    artist: &'a mut picture::Artist<'c>,
    family: &'a Family,
}

impl Pen<'_, '_, '_> {
    /// Writes a mark of a piece whose top is here. What is repeated is not read again.
    fn mark(&mut self, mark: &Mark, top: f32, repeated: bool) {
        match mark {
            Mark::Line {
                left,
                baseline,
                line,
                part,
            } => {
                self.tagged((!repeated).then_some(*part), |pen| {
                    pen.line(line, MARGIN + left, top + baseline)
                });
            }
            Mark::Rule {
                left,
                top: down,
                width,
                thickness,
                grey,
            } => {
                self.tagged(None, |pen| {
                    pen.rule([MARGIN + left, top + down], [*width, *thickness], *grey)
                });
            }
            Mark::Tick {
                left,
                top: down,
                part,
            } => {
                self.tagged(Some(*part), |pen| pen.tick(MARGIN + left, top + down));
            }
            Mark::Picture {
                top: down,
                times,
                picture,
                part,
            } => {
                let Some(picture) = self.pictures.get(*picture) else {
                    return;
                };
                self.tagged(Some(*part), |pen| {
                    pen.artist
                        .draw(picture, [MARGIN, top + down], *times, pen.surface)
                });
            }
        }
    }

    /// Writes something as belonging to a part, or as nothing that is read.
    fn tagged(&mut self, part: Option<Part>, write: impl FnOnce(&mut Self)) {
        let aside = ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout));
        let content = self.surface.start_tagged(if part.is_some() {
            ContentTag::Other
        } else {
            aside
        });
        write(self);
        self.surface.end_tagged();
        if let Some(part) = part {
            self.tags.write(part, content);
        }
    }

    /// Writes a line of text with its baseline here.
    fn line(&mut self, line: &Line, left: f32, baseline: f32) {
        self.surface.set_fill(Some(ink(line.style.grey)));
        self.surface.set_stroke(None);
        line.draw(Point::from_xy(left, baseline), self.family, self.surface);
    }

    fn rule(&mut self, [left, top]: [f32; 2], [width, thickness]: [f32; 2], grey: u8) {
        let Some(rectangle) = Rect::from_xywh(left, top, width, thickness) else {
            return;
        };
        let mut path = PathBuilder::new();
        path.push_rect(rectangle);
        if let Some(path) = path.finish() {
            self.surface.set_fill(Some(ink(grey)));
            self.surface.set_stroke(None);
            self.surface.draw_path(&path);
        }
    }

    fn tick(&mut self, left: f32, top: f32) {
        let half = TICK_LINE / 2.0;
        let Some(rectangle) =
            Rect::from_xywh(left + half, top + half, TICK - TICK_LINE, TICK - TICK_LINE)
        else {
            return;
        };
        let mut path = PathBuilder::new();
        path.push_rect(rectangle);
        if let Some(path) = path.finish() {
            self.surface.set_fill(None);
            self.surface.set_stroke(Some(Stroke {
                paint: luma::Color::black().into(),
                width: TICK_LINE,
                ..Stroke::default()
            }));
            self.surface.draw_path(&path);
        }
    }

    /// Writes the running line: the title at the left, and the number of the page at the right.
    fn foot(&mut self, title: &Line, number: &str, page: Page) {
        let baseline = page.size[1] - MARGIN - RUNNING.leading + RUNNING.baseline();
        let artifact = ContentTag::Artifact(Artifact::with_kind(ArtifactType::Footer));
        self.surface.start_tagged(artifact);
        let right = page.size[0] - MARGIN;
        let number = text::line(number, RUNNING, self.family);
        self.line(title, MARGIN, baseline);
        self.line(&number, right - number.width, baseline);
        self.surface.end_tagged();
    }
}

/// The title as it stands in the running line: cut to the room that the longest number of a page leaves.
fn foot(title: &str, page: Page, pages: usize, family: &Family) -> Line {
    let number = text::line(&format!("page {pages} of {pages}"), RUNNING, family);
    let room = page.room()[0] - number.width - 12.0;
    let lines = Shaped::new(title, RUNNING, family).lines(room);
    let first = lines.into_iter().next();
    first.unwrap_or_else(|| text::line("", RUNNING, family))
}

/// How thick the side of a box to tick is, in points.
const TICK_LINE: f32 = 0.9;

/// Ink this light, without see-through.
fn ink(grey: u8) -> Fill {
    Fill {
        paint: luma::Color::new(grey).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}
