//! The one type family of the printed sheets, read once and shared by texts and pictures.
//!
//! DejaVu Sans Condensed, in two weights: it covers Latin, Greek, Cyrillic, Hebrew, Arabic and the arrows and signs of a sheet, and its
//! licence (that of Bitstream Vera, with changes in the public domain) lets a document carry it.

use std::sync::{Arc, OnceLock};

use krilla::text::Font;
use rustybuzz::ttf_parser::GlyphId;
use rustybuzz::{Direction, GlyphBuffer, ShapePlan, UnicodeBuffer, script};
use usvg::fontdb::{Database, ID, Source};

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
    pub(super) units_per_em: f32,
    /// What stands where the family has no glyph: the glyph of U+FFFD, and its width in font units.
    pub(super) stand_in: (u32, i32),
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
}

impl Face {
    /// The glyphs of a text whose letters are all read in one direction, from left to right as they are seen.
    pub(super) fn shape(&self, text: &str, backwards: bool) -> GlyphBuffer {
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

/// The family: both weights, and both again for the texts in pictures.
pub(super) struct Family {
    regular: Face,
    bold: Face,
    pictures: PictureFonts,
}

/// The family as the reader of pictures wants it.
pub(super) struct PictureFonts {
    /// Both weights.
    pub(super) database: Arc<Database>,
    /// The regular one.
    pub(super) regular: ID,
    /// The bold one.
    pub(super) bold: ID,
}

impl Family {
    /// The family, read at the first call; none where the data built into the program cannot be read, which a test rules out.
    pub(super) fn get() -> Option<&'static Self> {
        static FAMILY: OnceLock<Option<Family>> = OnceLock::new();
        FAMILY.get_or_init(Self::read).as_ref()
    }

    fn read() -> Option<Self> {
        let [regular, bold] = [
            dejavu::sans_condensed::regular(),
            dejavu::sans_condensed::bold(),
        ];
        let mut database = Database::new();
        let mut load = |data: &'static [u8]| {
            database
                .load_font_source(Source::Binary(Arc::new(data)))
                .first()
                .copied()
        };
        let [regular_id, bold_id] = [load(regular)?, load(bold)?];
        Some(Self {
            regular: Face::read(regular)?,
            bold: Face::read(bold)?,
            pictures: PictureFonts {
                database: Arc::new(database),
                regular: regular_id,
                bold: bold_id,
            },
        })
    }

    /// The face of a weight.
    pub(super) fn face(&self, weight: Weight) -> &Face {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// The family for pictures.
    pub(super) fn pictures(&self) -> &PictureFonts {
        &self.pictures
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_family_has_the_signs_that_sheets_use() {
        let family = Family::get().expect("the built-in fonts are read");
        for weight in [Weight::Regular, Weight::Bold] {
            let face = family.face(weight);
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
