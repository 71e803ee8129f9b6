//! A glyph as it is kept until it is written: small, for a sheet has many.

use std::ops::Range;

use krilla::surface::Location;
use krilla::text::GlyphId;

/// A glyph of a run. Lengths are in ems.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Glyph {
    /// Which one, in its face.
    pub(super) id: u32,
    /// The first byte of the run's text that it stands for.
    pub(super) from: u32,
    /// The byte after the last.
    pub(super) to: u32,
    /// From it to the next.
    pub(super) advance: f32,
    /// How far to the right it is drawn.
    pub(super) x: f32,
    /// How far up.
    pub(super) y: f32,
}

impl krilla::text::Glyph for Glyph {
    fn glyph_id(&self) -> GlyphId {
        GlyphId::new(self.id)
    }

    fn text_range(&self) -> Range<usize> {
        self.from as usize..self.to as usize
    }

    fn x_advance(&self, size: f32) -> f32 {
        self.advance * size
    }

    fn x_offset(&self, size: f32) -> f32 {
        self.x * size
    }

    fn y_offset(&self, size: f32) -> f32 {
        self.y * size
    }

    fn y_advance(&self, _: f32) -> f32 {
        0.0
    }

    fn location(&self) -> Option<Location> {
        None
    }
}
