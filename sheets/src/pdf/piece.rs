//! What stands on a page, before it is known on which: pieces that are not parted, one below the other.

use super::lines::Line;
use super::tags::Part;

/// Something to be written, at a place counted from the left margin and the top of its piece, in points.
pub(super) enum Mark {
    /// A line of text.
    Line {
        /// From the left margin.
        left: f32,
        /// Of the baseline, from the top.
        baseline: f32,
        /// What is written.
        line: Line,
        /// What it belongs to.
        part: Part,
    },
    /// A line across, which says nothing by itself.
    Rule {
        /// From the left margin.
        left: f32,
        /// From the top.
        top: f32,
        /// How long.
        width: f32,
        /// How thick.
        thickness: f32,
        /// How light: 0 is black.
        grey: u8,
    },
    /// A box to tick.
    Tick {
        /// From the left margin.
        left: f32,
        /// From the top.
        top: f32,
        /// What it belongs to.
        part: Part,
    },
    /// A picture.
    Picture {
        /// From the top.
        top: f32,
        /// How many times its own size it is drawn.
        times: f32,
        /// Which one, by its place among all pictures.
        picture: usize,
        /// What it belongs to.
        part: Part,
    },
}

impl Mark {
    /// Moves it down by so many points.
    pub(super) fn move_down(&mut self, by: f32) {
        match self {
            Self::Line { baseline: down, .. }
            | Self::Rule { top: down, .. }
            | Self::Tick { top: down, .. }
            | Self::Picture { top: down, .. } => {
                *down += by;
            }
        }
    }

    /// Moves it to the right by so many points; a picture stands where it is.
    pub(super) fn move_right(&mut self, by: f32) {
        match self {
            Self::Line { left, .. } | Self::Rule { left, .. } | Self::Tick { left, .. } => {
                *left += by;
            }
            Self::Picture { .. } => {}
        }
    }
}

/// The length of a side of a box to tick, in points.
pub(super) const TICK: f32 = 9.0;

/// A line in the outline of the document.
pub(super) struct Anchor {
    /// What it says.
    pub(super) title: String,
    /// Whether it stands for a section; else for a heading in the section before.
    pub(super) section: bool,
}

/// Something that is not parted. Lengths are in points.
pub(super) struct Piece {
    /// The least room above, unless it is the first of its page.
    pub(super) above: f32,
    /// Its height.
    pub(super) height: f32,
    /// The least room below, unless it is the last of its page.
    pub(super) below: f32,
    /// What is written.
    pub(super) marks: Vec<Mark>,
    /// Whether the next piece should stand on the same page.
    pub(super) keep: bool,
    /// Whether it begins a page.
    pub(super) new_page: bool,
    /// The heading row, by its place among all, that is repeated above it where it is the first of its page.
    pub(super) heading_row: Option<usize>,
    /// Its line in the outline.
    pub(super) anchor: Option<Anchor>,
}

impl Piece {
    /// A piece of this height with nothing in it.
    pub(super) fn new(height: f32) -> Self {
        let (marks, heading_row, anchor) = (Vec::new(), None, None);
        Self {
            above: 0.0,
            height,
            below: 0.0,
            marks,
            keep: false,
            new_page: false,
            heading_row,
            anchor,
        }
    }
}
