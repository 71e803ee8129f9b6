//! Pictures: read with bounds, and drawn as vectors.

use krilla::geom::{Size, Transform};
use krilla::surface::Surface;
use krilla_svg::{SurfaceExt, SvgSettings};
use rayon::prelude::*;
use usvg::roxmltree::{Document, ParsingOptions};
use usvg::{FontResolver, ImageHrefResolver, Options, Tree};

use super::PdfError;
use super::fonts::{Family, PictureFonts};
use crate::content::Picture;

/// Points in a millimetre: an inch is 72 points and 25.4 mm.
pub(super) const POINTS_IN_MM: f32 = 72.0 / 25.4;

/// The longest picture that is read, in bytes.
const LONGEST: usize = 4 << 20;
/// The most parts (elements, texts, attributes aside) of a picture.
const MOST_PARTS: u32 = 100_000;
/// The most elements within each other: readers of pictures go down step by step, and each step takes stack.
const DEEPEST: usize = 64;
/// What would be drawn as dots, read other files, or draw things many times over.
const NOT_DRAWN: [&str; 4] = ["filter", "image", "foreignObject", "use"];

/// Why a picture cannot be printed.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum PictureFault {
    /// Its size is not that of something printed.
    #[error("its size is {width} × {height} mm, but both must be more than 0")]
    Size {
        /// As told.
        width: String,
        /// As told.
        height: String,
    },
    /// It is too long to be read.
    #[error("it is {bytes} bytes long, but at most {LONGEST} are read")]
    Long {
        /// How long it is.
        bytes: usize,
    },
    /// Its elements are too deep within each other.
    #[error("its elements are more than {DEEPEST} deep within each other")]
    Deep,
    /// It has an element that is not drawn.
    #[error("it has an element `{0}`, which is not printed")]
    Element(String),
    /// It is no SVG document.
    #[error("it is no SVG document that can be read: {0}")]
    Svg(String),
}

/// A picture's width and height in points as told, before any scaling.
pub(super) fn natural_size(picture: &Picture) -> Result<[f32; 2], PictureFault> {
    let [width, height] = picture.size;
    if [width, height]
        .iter()
        .all(|length| length.is_finite() && *length > 0.0)
    {
        // Nothing printed is longer than a kilometre; the bound keeps the sums below finite.
        Ok([width, height].map(|length| length.min(1e6) as f32 * POINTS_IN_MM))
    } else {
        Err(PictureFault::Size {
            width: width.to_string(),
            height: height.to_string(),
        })
    }
}

/// Reads pictures in their order, some ahead and on all cores: reading their texts takes longer than all else in a sheet.
pub(super) struct Reader<'a> {
    pictures: &'a [&'a Picture],
    family: &'static Family,
    /// The place of the first picture read ahead.
    first: usize,
    /// Those read ahead, each until it is taken.
    ahead: Vec<Option<Result<Tree, PictureFault>>>,
}

/// How many pictures are read ahead: enough for many cores, few enough that a long sheet takes no more memory than a short one.
const AHEAD: usize = 32;

impl<'a> Reader<'a> {
    /// A reader of these pictures.
    pub(super) fn new(pictures: &'a [&'a Picture], family: &'static Family) -> Self {
        Self {
            pictures,
            family,
            first: 0,
            ahead: Vec::new(),
        }
    }

    /// The picture at this place, if there is one.
    pub(super) fn take(&mut self, at: usize) -> Result<Option<Tree>, PdfError> {
        let Some(picture) = self.pictures.get(at) else {
            return Ok(None);
        };
        let known = at
            .checked_sub(self.first)
            .and_then(|at| self.ahead.get_mut(at))
            .and_then(Option::take);
        let read = match known {
            Some(read) => read,
            None => {
                let next: Vec<&Picture> =
                    self.pictures.iter().skip(at).take(AHEAD).copied().collect();
                self.first = at;
                self.ahead = next
                    .par_iter()
                    .map(|picture| Some(read(picture, self.family)))
                    .collect();
                self.ahead
                    .first_mut()
                    .and_then(Option::take)
                    .unwrap_or_else(|| read(picture, self.family))
            }
        };
        read.map(Some)
            .map_err(|fault| PdfError::picture(picture, fault))
    }
}

/// Reads a picture.
fn read(picture: &Picture, family: &'static Family) -> Result<Tree, PictureFault> {
    if picture.svg.len() > LONGEST {
        return Err(PictureFault::Long {
            bytes: picture.svg.len(),
        });
    }
    let bounds = ParsingOptions {
        allow_dtd: false,
        nodes_limit: MOST_PARTS,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(&picture.svg, bounds)
        .map_err(|fault| PictureFault::Svg(fault.to_string()))?;
    check(&document)?;
    Tree::from_xmltree(&document, &options(family.pictures()))
        .map_err(|fault| PictureFault::Svg(fault.to_string()))
}

/// Looks for what is not drawn, and how deep the elements are.
fn check(document: &Document) -> Result<(), PictureFault> {
    let mut path = Vec::new();
    for node in document.descendants().filter(|node| node.is_element()) {
        while path
            .last()
            .is_some_and(|last| Some(*last) != node.parent_element().map(|parent| parent.id()))
        {
            path.pop();
        }
        path.push(node.id());
        if path.len() > DEEPEST {
            return Err(PictureFault::Deep);
        }
        let name = node.tag_name().name();
        if NOT_DRAWN.contains(&name) {
            return Err(PictureFault::Element(name.to_owned()));
        }
    }
    Ok(())
}

/// How pictures are read: with the family of the sheet whatever they ask for, and nothing from outside.
fn options(fonts: &'static PictureFonts) -> Options<'static> {
    Options {
        fontdb: fonts.database.clone(),
        font_resolver: FontResolver {
            select_font: Box::new(|font, _| {
                Some(if font.weight() >= 600 {
                    fonts.bold
                } else {
                    fonts.regular
                })
            }),
            select_fallback: Box::new(|_, _, _| None),
        },
        image_href_resolver: ImageHrefResolver {
            resolve_data: Box::new(|_, _, _| None),
            resolve_string: Box::new(|_, _| None),
        },
        ..Options::default()
    }
}

/// Draws a picture as large as fits in a box of this size, in its middle, without stretching it.
pub(super) fn draw(tree: &Tree, corner: [f32; 2], size: [f32; 2], surface: &mut Surface) {
    let own = [tree.size().width(), tree.size().height()];
    let scale = (size[0] / own[0]).min(size[1] / own[1]);
    let drawn = own.map(|length| length * scale);
    let Some(drawn_size) = Size::from_wh(drawn[0], drawn[1]) else {
        return;
    };
    let [left, top] = [0, 1].map(|axis| corner[axis] + (size[axis] - drawn[axis]) / 2.0);
    surface.push_transform(&Transform::from_translate(left, top));
    // Nothing that would be drawn as dots is let in, so the scale of filters does not matter.
    surface.draw_svg(
        tree,
        drawn_size,
        SvgSettings {
            embed_text: true,
            filter_scale: 1.0,
        },
    );
    surface.pop();
}
