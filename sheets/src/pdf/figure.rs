//! Pictures among what is laid out: how large they are, and what stays on a page with them.

use krilla::tagging::Tag;

use super::PdfError;
use super::layout::{ABOVE, CAPTION, Layout, MEASURE};
use super::picture;
use super::piece::{Mark, Piece};
use super::tags;
use super::text::Shaped;
use crate::content::Picture;

/// The most lines below a picture that are kept with it.
const CAPTION_LINES: usize = 8;

impl<'a> Layout<'a> {
    /// Lays a picture out: as large as told, or as fits on a page with what keeps it and the line below it.
    pub(super) fn picture(&mut self, picture: &'a Picture) -> Result<(), PdfError> {
        let told = picture::natural_size(picture).ok_or_else(|| PdfError::size(picture))?;
        let figure = self.tags.add(self.section, tags::picture(&picture.alt));
        let caption = self.tags.add(self.section, Tag::Caption);
        let mut lines = Shaped::new(&picture.caption, CAPTION, self.family)
            .lines(self.width.min(MEASURE))
            .into_iter()
            .peekable();
        let empty = lines.len() == 1 && lines.peek().is_some_and(|line| line.runs.is_empty());
        let caption_lines = if empty { 0 } else { lines.len() };

        let below = caption_lines.min(CAPTION_LINES) as f32 * CAPTION.leading + 2.0 * ABOVE[0];
        let kept = self.kept_height(self.pieces.len());
        let mut room = self.height - kept - ABOVE[2] - below;
        // Under very much that keeps it, the picture stands on a page of its own.
        if room < self.height / 2.0 {
            room = self.height - below;
        }
        let scale = (self.width / told[0]).min(room / told[1]).min(1.0);
        let height = told[1] * scale;
        let mark = Mark::Picture {
            top: 0.0,
            times: scale,
            picture: self.pictures.len(),
            part: figure,
        };
        self.pictures.push(picture);
        self.pieces.push(Piece {
            above: ABOVE[2],
            below: ABOVE[2],
            marks: vec![mark],
            keep: caption_lines > 0,
            ..Piece::new(height)
        });

        for (at, line) in lines.take(caption_lines).enumerate() {
            let marks = vec![Mark::Line {
                left: 0.0,
                baseline: CAPTION.baseline(),
                line,
                part: caption,
            }];
            let keep = at + 1 < caption_lines && (at + 1 < CAPTION_LINES);
            self.pieces.push(Piece {
                marks,
                keep,
                ..Piece::new(CAPTION.leading)
            });
        }
        if let (true, Some(last)) = (caption_lines > 0, self.pieces.last_mut()) {
            last.below = ABOVE[2];
        }
        Ok(())
    }

    /// The height of what stands above this place and keeps what comes next, no more than a page.
    fn kept_height(&self, at: usize) -> f32 {
        let mut height = 0.0;
        for piece in self
            .pieces
            .iter()
            .take(at)
            .rev()
            .take_while(|piece| piece.keep)
        {
            height += piece.height + piece.above.max(piece.below);
            if height > self.height || piece.new_page {
                break;
            }
        }
        height
    }

    /// How high it is down to each piece from this place on, together with what keeps them.
    fn heights(&self, from: usize) -> impl Iterator<Item = f32> {
        let mut height = self.kept_height(from);
        let mut below = None;
        self.pieces.iter().skip(from).map(move |piece| {
            let above = below.map_or(piece.above, |below| piece.above.max(below));
            below = Some(piece.below);
            height += above + piece.height;
            height
        })
    }

    /// How high all is with which the next piece is kept together.
    pub(super) fn height_together(&self) -> f32 {
        let together = self.together.and_then(|from| self.heights(from).last());
        together.unwrap_or_default()
    }

    /// Keeps all pieces from this place on together, where they fit on a page with what keeps them; else those down to the first
    /// picture, for a picture is not parted from what is said about it above.
    pub(super) fn keep_from(&mut self, from: usize) {
        let fitting = self
            .heights(from)
            .take_while(|height| *height <= self.height);
        let fitting = from + fitting.count();
        let is_picture = |mark: &Mark| matches!(mark, Mark::Picture { .. });
        let mut shown = self.pieces[..fitting].iter().skip(from);
        let end = if fitting == self.pieces.len() {
            fitting
        } else {
            let picture = shown.position(|piece| piece.marks.iter().any(is_picture));
            picture.map_or(from, |at| from + at + 1)
        };
        for piece in self
            .pieces
            .iter_mut()
            .take(end.saturating_sub(1))
            .skip(from)
        {
            piece.keep = true;
        }
    }
}
