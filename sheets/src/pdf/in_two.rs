//! Items in two columns of about one height.

use super::layout::ABOVE;
use super::piece::Piece;

/// Room above an item in two columns, in points.
const CLOSE: f32 = 2.0;
/// Where two columns are parted between pages, at least so many items stand on each.
const FEWEST: usize = 3;

/// Heights in points.
#[derive(Clone, Copy)]
pub(super) struct Room {
    /// Of a page.
    pub(super) page: f32,
    /// What is left of the page below what the items are kept with.
    pub(super) left: f32,
}

/// Items as one piece with two columns. Where that is higher than what is left of the page it is two pieces, the first of which fits; where it
/// is higher than a page the items are given back. `starts` says where each item begins; `right` is how far to the right the second
/// column is, in points.
pub(super) fn in_two(mut laid: Vec<Piece>, starts: &[usize], right: f32, room: Room) -> Vec<Piece> {
    let heights: Vec<f32> = laid
        .iter()
        .map(|piece| piece.above.min(CLOSE) + piece.height)
        .collect();
    let whole = Parting::of(&heights, starts);
    if whole.height > room.page {
        return laid;
    }
    let mut on_this_page = (FEWEST..(starts.len() + 1).saturating_sub(FEWEST)).rev();
    let fits = |items: usize| {
        let parting = Parting::of(&heights[..starts[items]], &starts[..items]);
        (parting.height <= room.left).then_some((items, parting))
    };
    if whole.height > room.left
        && let Some((items, parting)) = on_this_page.find_map(fits)
    {
        let end = starts[items];
        let starts: Vec<usize> = starts[items..].iter().map(|start| start - end).collect();
        let rest = Parting::of(&heights[end..], &starts);
        let after = laid.split_off(end);
        return vec![columns(laid, parting, right), columns(after, rest, right)];
    }
    vec![columns(laid, whole, right)]
}

/// Where the second column begins, and how high the higher one is.
#[derive(Clone, Copy)]
struct Parting {
    start: usize,
    height: f32,
}

impl Parting {
    /// The lowest; the second column begins with an item.
    fn of(heights: &[f32], starts: &[usize]) -> Parting {
        let all: f32 = heights.iter().sum();
        let mut best = Parting {
            start: heights.len(),
            height: all,
        };
        let (mut before, mut counted) = (0.0, 0);
        for start in starts {
            before += heights[counted..*start].iter().sum::<f32>();
            counted = *start;
            let height = before.max(all - before);
            if height < best.height {
                best = Parting {
                    start: *start,
                    height,
                };
            }
        }
        best
    }
}

/// The piece that these make.
fn columns(laid: Vec<Piece>, parting: Parting, right: f32) -> Piece {
    let mut both = Piece {
        above: ABOVE[0],
        ..Piece::new(0.0)
    };
    let mut used = 0.0_f32;
    for (at, piece) in laid.into_iter().enumerate() {
        if at == parting.start {
            used = 0.0;
        }
        // The first item of a column has no room above it.
        used += if used == 0.0 {
            0.0
        } else {
            piece.above.min(CLOSE)
        };
        for mut mark in piece.marks {
            mark.move_down(used);
            if at >= parting.start {
                mark.move_right(right);
            }
            both.marks.push(mark);
        }
        used += piece.height;
        both.height = both.height.max(used);
    }
    both
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Eight items of one line of 10 points each.
    fn eight() -> (Vec<Piece>, Vec<usize>) {
        let pieces = (0..8).map(|_| Piece::new(10.0)).collect();
        (pieces, (0..8).collect())
    }

    fn heights(page: f32, left: f32) -> Vec<f32> {
        let (pieces, starts) = eight();
        let room = Room { page, left };
        let laid = in_two(pieces, &starts, 100.0, room);
        laid.iter().map(|piece| piece.height).collect()
    }

    #[test]
    fn what_fits_is_one_piece() {
        assert_eq!(heights(100.0, 40.0), [40.0]);
    }

    #[test]
    fn what_does_not_fit_is_parted_so_that_the_page_is_filled() {
        assert_eq!(heights(100.0, 39.0), [30.0, 20.0]);
        assert_eq!(heights(100.0, 29.0), [20.0, 20.0]);
    }

    #[test]
    fn fewer_than_three_items_do_not_stand_alone() {
        assert_eq!(heights(100.0, 19.0), [40.0]);
    }

    #[test]
    fn what_is_higher_than_a_page_goes_on_as_single_items() {
        assert_eq!(heights(39.0, 39.0), [10.0; 8]);
    }
}
