//! Whether things laid side by side fit a field: runs along a lane, or lanes across a field.
//!
//! Both follow one rule: half of the first margin, the things themselves, between two of them half of both margins or
//! the room between two fabrics, whichever is more, and half of the last margin. All numbers are doubled nanometres.

use super::report::TOLERANCE;
use crate::length::Length;

/// One thing in a row, with the margin that it asks for, both sides together.
#[derive(Clone, Copy, Debug)]
pub(super) struct Item {
    pub(super) size: Length,
    pub(super) margin: Length,
    /// Twice the printed place of its lower edge.
    pub(super) twice_low: i128,
}

/// What is wrong with the printed places of a row.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Misplaced {
    /// This item or its margin reaches past the field.
    Outside(usize),
    /// This item is too close to the one before it.
    TooClose(usize),
}

impl Misplaced {
    /// Which item of its row it is.
    pub(super) fn index(self) -> usize {
        match self {
            Misplaced::Outside(index) | Misplaced::TooClose(index) => index,
        }
    }
}

fn twice(length: Length) -> i128 {
    2 * i128::from(length.nanometres())
}

/// Twice the room from the first edge to the start of the first item.
fn before(item: &Item) -> i128 {
    i128::from(item.margin.nanometres())
}

/// Twice the room between two items.
fn apart(first: &Item, second: &Item, between: Length) -> i128 {
    let margins = before(first) + before(second);
    margins.max(twice(between))
}

/// Twice the room that the row needs, in the given order, where two fabrics keep `between` (2e + g) apart.
pub(super) fn twice_needed(row: &[Item], between: Length) -> i128 {
    let (Some(first), Some(last)) = (row.first(), row.last()) else {
        return 0;
    };
    let items: i128 = row.iter().map(|item| twice(item.size)).sum();
    let gaps: i128 = row
        .windows(2)
        .map(|pair| apart(&pair[0], &pair[1], between))
        .sum();
    before(first) + items + gaps + before(last)
}

/// Whether exact places within 0.005 mm of the printed ones keep all distances in `field`. Each item is put as low
/// as its printed place and its neighbour below allow; if that fails, nothing else would do.
pub(super) fn check_places(row: &[Item], between: Length, field: Length) -> Result<(), Misplaced> {
    let mut lowest = row.first().map_or(0, before);
    for (index, item) in row.iter().enumerate() {
        if lowest > item.twice_low + twice(TOLERANCE) {
            return Err(match index {
                0 => Misplaced::Outside(0),
                _ => Misplaced::TooClose(index),
            });
        }
        let low = lowest.max(item.twice_low - twice(TOLERANCE));
        let high = low + twice(item.size);
        match row.get(index + 1) {
            Some(next) => lowest = high + apart(item, next, between),
            None if high + before(item) > twice(field) => return Err(Misplaced::Outside(index)),
            None => {}
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn item(size: i64, margin: i64, low: i64) -> Item {
        let mm = |value: i64| Length::from_nanometres(value * 1_000_000);
        Item {
            size: mm(size),
            margin: mm(margin),
            twice_low: twice(mm(low)),
        }
    }

    /// 2/2 + 50 + max((2 + 4)/2, 10) + 30 + 4/2 = 93 mm; with 2 mm between fabrics the margins' 3 mm count: 86 mm.
    #[test]
    fn margins_or_fabrics_keep_runs_apart() {
        let row = [item(50, 2, 1), item(30, 4, 61)];
        let mm = |value: i64| Length::from_nanometres(value * 1_000_000);
        assert_eq!(twice_needed(&row, mm(10)), twice(mm(93)));
        assert_eq!(twice_needed(&row, mm(2)), twice(mm(86)));
        assert_eq!(check_places(&row, mm(10), mm(93)), Ok(()));
        assert_eq!(
            check_places(&row, mm(11), mm(93)),
            Err(Misplaced::TooClose(1))
        );
        assert_eq!(
            check_places(&row, mm(10), mm(92)),
            Err(Misplaced::Outside(1))
        );
        assert_eq!(
            check_places(&[item(50, 2, 0)], mm(10), mm(93)),
            Err(Misplaced::Outside(0))
        );
    }
}
