//! How wide the columns of a table are.

use super::text::Extent;

/// Widths for columns of these extents that fill at most `room` points.
///
/// All on one line where there is room. Else each column gets the same width, but none more than all on one line needs, nor
/// less than its longest word; words longer than half the room are broken. Where not even the words fit, all are broken alike.
pub(super) fn widths(columns: &[Extent], room: f32) -> Vec<f32> {
    let longest_word = if columns.len() > 1 { room / 2.0 } else { room };
    let least: Vec<f32> = columns
        .iter()
        .map(|column| column.narrowest.min(longest_word))
        .collect();
    let (words, all): (f32, f32) = (
        least.iter().sum(),
        columns.iter().map(|column| column.widest).sum(),
    );
    if all <= room {
        columns.iter().map(|column| column.widest).collect()
    } else if words >= room {
        least.iter().map(|word| word * room / words).collect()
    } else {
        let at = |level: f32| {
            columns
                .iter()
                .zip(&least)
                .map(move |(column, least)| level.max(*least).min(column.widest.max(*least)))
        };
        // The widths grow with the level; halving 32 times is nearer than a thousandth of a point for any room on paper.
        let (mut low, mut high) = (0.0, room);
        for _ in 0..32 {
            let middle = (low + high) / 2.0;
            if at(middle).sum::<f32>() <= room {
                low = middle
            } else {
                high = middle
            }
        }
        at(low).collect()
    }
}

/// Whether a column is of lengths or counts, which stand better at its right side.
pub(super) fn is_of_numbers<'a>(mut cells: impl Iterator<Item = &'a str>) -> bool {
    let is_unit = |word: &str| {
        matches!(
            word,
            "in" | "mm" | "cm" | "m" | "yd" | "ft" | "%" | "×" | "–" | "-" | ""
        )
    };
    let is_number = |word: &str| {
        let word = word.trim_end_matches(['"', '″', '%']);
        let is_digit = |end: Option<char>| end.is_some_and(|end| end.is_ascii_digit());
        is_digit(word.chars().next())
            && is_digit(word.chars().last())
            && word
                .chars()
                .all(|sign| sign.is_ascii_digit() || "./,–-".contains(sign))
    };
    let mut any = false;
    let all = cells.all(|cell| {
        any |= !cell.trim().is_empty();
        cell.split(' ').all(|word| is_unit(word) || is_number(word))
    });
    all && any
}

#[cfg(test)]
mod tests {
    use super::*;

    fn extents(widths: &[(f32, f32)]) -> Vec<Extent> {
        widths
            .iter()
            .map(|(narrowest, widest)| Extent {
                narrowest: *narrowest,
                widest: *widest,
            })
            .collect()
    }

    #[test]
    fn short_columns_are_as_wide_as_their_texts() {
        assert_eq!(
            widths(&extents(&[(10.0, 20.0), (5.0, 30.0)]), 100.0),
            [20.0, 30.0]
        );
    }

    #[test]
    fn long_columns_share_what_short_ones_leave() {
        let shared = widths(
            &extents(&[(10.0, 20.0), (30.0, 500.0), (30.0, 900.0)]),
            200.0,
        );
        assert!(
            shared
                .iter()
                .zip([20.0, 90.0, 90.0])
                .all(|(width, expected)| (width - expected).abs() < 0.01),
            "{shared:?}"
        );
    }

    #[test]
    fn words_stay_whole_where_they_can() {
        let shared = widths(&extents(&[(90.0, 400.0), (30.0, 900.0)]), 200.0);
        assert!(
            shared
                .iter()
                .zip([100.0, 100.0])
                .all(|(width, expected)| (width - expected).abs() < 0.01),
            "{shared:?}"
        );
        let shared = widths(
            &extents(&[(95.0, 400.0), (30.0, 900.0), (30.0, 900.0)]),
            200.0,
        );
        assert!(
            shared
                .iter()
                .zip([95.0, 52.5, 52.5])
                .all(|(width, expected)| (width - expected).abs() < 0.01),
            "{shared:?}"
        );
    }

    #[test]
    fn words_without_room_are_broken_alike() {
        assert_eq!(
            widths(&extents(&[(900.0, 900.0), (100.0, 100.0)]), 100.0),
            [50.0, 50.0]
        );
        assert_eq!(widths(&extents(&[(900.0, 900.0)]), 100.0), [100.0]);
    }

    #[test]
    fn columns_of_numbers_are_known() {
        for numbers in [
            ["9 3/4", "10"],
            ["12.5 mm", ""],
            ["3–5", "7 × 9"],
            ["4\"", "1 1/2 in"],
        ] {
            assert!(is_of_numbers(numbers.into_iter()), "{numbers:?}");
        }
        for others in [
            ["9 3/4", "left"],
            ["", " "],
            ["2nd", "3"],
            ["border 1", "2"],
        ] {
            assert!(!is_of_numbers(others.into_iter()), "{others:?}");
        }
    }
}
