//! Which piece stands on which page, and how far down.

use super::piece::Piece;

/// A piece on a page.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Placed {
    /// Which one.
    pub(super) what: What,
    /// From the top margin, in points.
    pub(super) top: f32,
}

/// A piece by its place among all.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum What {
    /// A piece of the sheet.
    Piece(usize),
    /// A heading row, repeated.
    HeadingRow(usize),
}

/// Puts pieces on pages of this height, in their order. Each page has at least one; there is at least one page.
///
/// Pieces that keep each other are put on one page, unless they are higher than one together. No piece is higher than a page,
/// with its heading row.
pub(super) fn pages(pieces: &[Piece], heading_rows: &[Piece], height: f32) -> Vec<Vec<Placed>> {
    let mut flow = Flow {
        pieces,
        heading_rows,
        height,
        pages: vec![Vec::new()],
        used: 0.0,
        below: 0.0,
    };
    let mut next = 0;
    while let Some(piece) = pieces.get(next) {
        if piece.new_page {
            flow.turn();
        }
        let end = flow.chain(next);
        if !flow.fits(next, end) {
            flow.turn();
        }
        // Pieces higher than a page together are put one by one.
        let end = if flow.fits(next, end) { end } else { next + 1 };
        for piece in next..end {
            flow.put(piece);
        }
        next = end;
    }
    flow.pages
}

struct Flow<'a> {
    pieces: &'a [Piece],
    heading_rows: &'a [Piece],
    height: f32,
    pages: Vec<Vec<Placed>>,
    /// How much of the page is used.
    used: f32,
    /// The least room below the last piece.
    below: f32,
}

impl Flow<'_> {
    fn page_is_empty(&self) -> bool {
        self.pages.last().is_none_or(Vec::is_empty)
    }

    /// Begins a new page, unless nothing stands on this one.
    fn turn(&mut self) {
        if !self.page_is_empty() {
            self.pages.push(Vec::new());
        }
        (self.used, self.below) = (0.0, 0.0);
    }

    /// Where the pieces end that are kept with this one; not further than a page is high, so that long chains take no time.
    fn chain(&self, first: usize) -> usize {
        let (mut end, mut height) = (first + 1, 0.0);
        while let [kept, next, ..] = self.pieces.get(end - 1..).unwrap_or_default() {
            height += kept.height;
            if !kept.keep || next.new_page || height > self.height {
                break;
            }
            end += 1;
        }
        end
    }

    /// Whether these pieces fit on what is left of the page.
    fn fits(&self, first: usize, end: usize) -> bool {
        let (mut used, mut below) = (self.used, self.below);
        for (at, piece) in self.pieces.iter().enumerate().take(end).skip(first) {
            if used == 0.0 {
                used += self.heading_row(at).map_or(0.0, |(_, row)| row.height);
            } else {
                used += piece.above.max(below);
            }
            used += piece.height;
            below = piece.below;
        }
        // A piece as high as the page must not be moved on because sums of lengths are a little off.
        used <= self.height + 0.01
    }

    fn heading_row(&self, piece: usize) -> Option<(usize, &Piece)> {
        let row = self.pieces.get(piece)?.heading_row?;
        Some((row, self.heading_rows.get(row)?))
    }

    /// Puts a piece below the last.
    fn put(&mut self, at: usize) {
        if !self.fits(at, at + 1) {
            self.turn();
        }
        let Some(piece) = self.pieces.get(at) else {
            return;
        };
        if self.page_is_empty() {
            if let Some((row, height)) =
                self.heading_row(at).map(|(row, piece)| (row, piece.height))
            {
                self.place(What::HeadingRow(row), height);
            }
        } else {
            self.used += piece.above.max(self.below);
        }
        self.place(What::Piece(at), piece.height);
        self.below = piece.below;
    }

    fn place(&mut self, what: What, height: f32) {
        if let Some(page) = self.pages.last_mut() {
            page.push(Placed {
                what,
                top: self.used,
            });
        }
        self.used += height;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Pieces of these heights, each with whether it keeps the next.
    fn pieces(heights: &[(f32, bool)]) -> Vec<Piece> {
        heights
            .iter()
            .map(|(height, keep)| Piece {
                keep: *keep,
                above: 1.0,
                ..Piece::new(*height)
            })
            .collect()
    }

    /// The pieces on each page.
    fn on_pages(pieces: &[Piece], heading_rows: &[Piece]) -> Vec<Vec<What>> {
        pages(pieces, heading_rows, 10.0)
            .iter()
            .map(|page| page.iter().map(|placed| placed.what).collect())
            .collect()
    }

    #[test]
    fn a_piece_that_fits_stays() {
        // 4 + 1 + 5 is the page.
        assert_eq!(
            on_pages(&pieces(&[(4.0, false), (5.0, false)]), &[]),
            [[What::Piece(0), What::Piece(1)]]
        );
        assert_eq!(
            on_pages(&pieces(&[(4.0, false), (5.1, false)]), &[]),
            [[What::Piece(0)], [What::Piece(1)]]
        );
    }

    #[test]
    fn what_keeps_the_next_goes_with_it() {
        let kept = pieces(&[(4.0, false), (1.0, true), (5.0, false)]);
        assert_eq!(
            on_pages(&kept, &[]),
            [vec![What::Piece(0)], vec![What::Piece(1), What::Piece(2)]]
        );
    }

    #[test]
    fn what_is_too_high_together_is_parted() {
        let high = pieces(&[(1.0, false), (6.0, true), (6.0, true), (2.0, false)]);
        assert_eq!(
            on_pages(&high, &[]),
            [
                vec![What::Piece(0)],
                vec![What::Piece(1)],
                vec![What::Piece(2), What::Piece(3)]
            ]
        );
    }

    #[test]
    fn a_heading_row_is_repeated_at_the_top_only() {
        let mut rows = pieces(&[(2.0, true), (4.0, false), (4.0, false), (4.0, false)]);
        rows[1..]
            .iter_mut()
            .for_each(|row| row.heading_row = Some(0));
        let expected = [
            vec![What::Piece(0), What::Piece(1)],
            vec![What::HeadingRow(0), What::Piece(2)],
            vec![What::HeadingRow(0), What::Piece(3)],
        ];
        assert_eq!(on_pages(&rows, &pieces(&[(2.0, false)])), expected);
    }

    #[test]
    fn a_new_page_is_begun_once() {
        let mut new = pieces(&[(1.0, false), (1.0, false)]);
        new.iter_mut().for_each(|piece| piece.new_page = true);
        assert_eq!(on_pages(&new, &[]), [[What::Piece(0)], [What::Piece(1)]]);
        assert_eq!(on_pages(&[], &[]), [Vec::new()]);
    }
}
