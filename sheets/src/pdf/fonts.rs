//! The one type family of the printed sheets, read once and shared by texts and pictures.
//!
//! DejaVu Sans Condensed, in two weights: it covers Latin, Greek, Cyrillic, Hebrew, Arabic and the arrows and signs of a sheet, and its
//! licence (that of Bitstream Vera, with changes in the public domain) lets a document carry it.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::{Arc, OnceLock};

use krilla::text::Font;
use rustybuzz::ttf_parser::GlyphId;
use rustybuzz::{Direction, GlyphBuffer, ShapePlan, UnicodeBuffer, script};

use super::glyph::Glyph;

/// How heavy a text is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Weight {
    /// For what is read.
    Regular,
    /// For headings.
    Bold,
}

/// One weight of the family.
pub(super) struct Face {
    /// For finding and placing glyphs.
    shaper: rustybuzz::Face<'static>,
    /// How Latin letters, digits and signs are shaped from left to right: made once, for it takes longer than shaping a cell.
    latin: ShapePlan,
    /// For writing them.
    pub(super) font: Font,
    /// Font units in one em.
    units_per_em: f32,
    /// What stands where the family has no glyph: the glyph of U+FFFD, and its width in font units.
    stand_in: (u32, i32),
}

impl Face {
    fn read(data: &'static [u8]) -> Option<Self> {
        let shaper = rustybuzz::Face::from_slice(data, 0)?;
        let glyph = shaper.glyph_index('\u{FFFD}').unwrap_or(GlyphId(0));
        let width = shaper.glyph_hor_advance(glyph).unwrap_or(0);
        let shared: Arc<dyn AsRef<[u8]> + Send + Sync> = Arc::new(data);
        Some(Self {
            latin: ShapePlan::new(
                &shaper,
                Direction::LeftToRight,
                Some(script::LATIN),
                None,
                &[],
            ),
            units_per_em: shaper.units_per_em() as f32,
            stand_in: (u32::from(glyph.0), i32::from(width)),
            font: Font::new(shared.into(), 0)?,
            shaper,
        })
    }

    /// The glyphs of a text whose letters are all read in one direction, from left to right as they are seen. Each stands for the text
    /// from its first byte on.
    pub(super) fn shape(&self, text: &str, backwards: bool) -> Vec<Glyph> {
        let shaped = self.buffer(text, backwards);
        let em = |units: i32| units as f32 / self.units_per_em;
        let placed = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
        placed
            .map(|(info, position)| {
                let (id, advance) = match info.glyph_id {
                    0 => self.stand_in,
                    id => (id, position.x_advance),
                };
                Glyph {
                    id,
                    from: info.cluster,
                    to: info.cluster,
                    advance: em(advance),
                    x: em(position.x_offset),
                    y: em(position.y_offset),
                }
            })
            .collect()
    }

    fn buffer(&self, text: &str, backwards: bool) -> GlyphBuffer {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        if backwards {
            buffer.set_direction(Direction::RightToLeft);
            return rustybuzz::shape(&self.shaper, &[], buffer);
        }
        buffer.set_direction(Direction::LeftToRight);
        if [script::LATIN, script::COMMON, script::UNKNOWN].contains(&buffer.script()) {
            buffer.set_script(script::LATIN);
            rustybuzz::shape_with_plan(&self.shaper, &self.latin, buffer)
        } else {
            rustybuzz::shape(&self.shaper, &[], buffer)
        }
    }
}

/// One weight, and the words that were shaped in it for one document: most words of a sheet stand in it many times.
pub(super) struct Words {
    pub(super) face: &'static Face,
    known: RefCell<HashMap<String, Rc<[Glyph]>>>,
}

impl Words {
    fn new(face: &'static Face) -> Self {
        let known = RefCell::default();
        Self { face, known }
    }

    /// The glyphs of a word that is read from left to right, as [`Face::shape`] has them.
    pub(super) fn shape(&self, word: &str) -> Rc<[Glyph]> {
        if let Some(glyphs) = self.known.borrow().get(word) {
            return glyphs.clone();
        }
        let glyphs: Rc<[Glyph]> = self.face.shape(word, false).into();
        let (key, value) = (word.to_owned(), glyphs.clone());
        self.known.borrow_mut().insert(key, value);
        glyphs
    }
}

/// The family as it is used for one document: both weights.
pub(super) struct Family {
    regular: Words,
    bold: Words,
}

impl Family {
    /// The family, its fonts read at the first call; none where the data built into the program cannot be read, which a test rules out.
    pub(super) fn get() -> Option<Self> {
        static FACES: OnceLock<Option<[Face; 2]>> = OnceLock::new();
        let read = || {
            let [regular, bold] = [
                dejavu::sans_condensed::regular(),
                dejavu::sans_condensed::bold(),
            ];
            Some([Face::read(regular)?, Face::read(bold)?])
        };
        let [regular, bold] = FACES.get_or_init(read).as_ref()?;
        Some(Self {
            regular: Words::new(regular),
            bold: Words::new(bold),
        })
    }

    /// A weight.
    pub(super) fn words(&self, weight: Weight) -> &Words {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_family_has_the_signs_that_sheets_use() {
        let family = Family::get().expect("the built-in fonts are read");
        for weight in [Weight::Regular, Weight::Bold] {
            let face = family.words(weight).face;
            for sign in
                "9 3/4 × – — ≈ ≤ ≥ ± ° ′ ″ ← → ↑ ↓ ↔ ✓ • … “ ” äöüßéñç ΑΒΩ Жуй \u{FFFD}".chars()
            {
                assert!(
                    face.shaper.glyph_index(sign).is_some(),
                    "{weight:?} has no glyph for {sign:?}"
                );
            }
            assert_ne!(face.stand_in.0, 0);
            assert!(face.stand_in.1 > 0);
        }
    }
}
