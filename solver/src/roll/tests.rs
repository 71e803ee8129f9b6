//! Rolls by hand.

use std::collections::BTreeSet;
use std::time::Duration;

use super::*;
use crate::deadline::StopSignal;

const INCH: i64 = 25_400_000;

fn roll(width: i64, pieces: &[[i64; 2]], lay: Lay) -> Roll {
    let mut roll = Roll {
        width: Length::from_nanometres(width * INCH),
        lay,
        pieces: pieces
            .iter()
            .map(|piece| piece.map(|side| Length::from_nanometres(side * INCH)))
            .collect(),
        piece_of: (0..pieces.len()).collect(),
        levels: Vec::new(),
        listed: true,
        deadline: Deadline::after(Duration::from_secs(60), StopSignal::new()),
        lengths: Mutex::default(),
        all_lengths: Mutex::default(),
    };
    roll.levels = roll.list_levels().expect("few levels");
    roll
}

fn inches(length: Length) -> i64 {
    length.nanometres() / INCH
}

/// On a 20-in roll a 10 × 15 piece takes 10 in of length turned, or half of a level of 15 in: two beside each other.
#[test]
fn levels_are_the_ones_that_no_other_stands_in_for() {
    let roll = roll(20, &[[10, 15], [6, 8]], Lay::Either);
    let levels: Vec<(i64, Vec<i64>)> = roll
        .levels
        .iter()
        .map(|level| (inches(level.length), level.counts.clone()))
        .collect();
    // 6 in: two of 8 across; 8 in: three of 6 across; 10 in: one of 15; 15 in: two of 10, or one and one of 6.
    let expected = [
        (6, vec![0, 2]),
        (8, vec![0, 3]),
        (10, vec![1, 0]),
        (15, vec![2, 0]),
        (15, vec![1, 1]),
    ];
    assert_eq!(levels, expected);
}

/// By hand: one piece takes 10 in; two take 15 in beside each other; three take 25 in; with a small one beside the third, 30 in:
/// 15 for two, and 15 for one and a small one, or 25 for three and 6 for the small one, 31.
#[test]
fn the_least_length_is_that_of_the_best_levels() {
    let roll = roll(20, &[[10, 15], [6, 8]], Lay::Either);
    let lengths: Vec<i64> = [[0, 0], [1, 0], [2, 0], [3, 0], [3, 1], [0, 3], [0, 5]]
        .map(|counts| inches(roll.length(&counts)))
        .to_vec();
    assert_eq!(lengths, [0, 10, 15, 25, 30, 8, 14]);
}

/// Of three hoopings: three small 8, two small and a large one 15 + 6 or 10 + 6, so 16 or 15 and 6 … the least 16; one small and two
/// large 15 + 6 = 21, or 10 + 15 = 25; three large 25. Each is held against the cutting that is found for it.
#[test]
fn all_lengths_are_those_of_the_cuttings() {
    let roll = roll(20, &[[10, 15], [6, 8]], Lay::Either);
    let lengths = roll.lengths(3..=3).expect("few choices");
    let inch = i128::from(INCH);
    assert_eq!(lengths, [8, 16, 21, 25].map(|value| value * inch).into());
    for count in 0..=12 {
        let lengths = roll
            .lengths(i64::from(count)..=i64::from(count))
            .expect("few choices");
        let cut = (0..=count).map(|large| roll.length(&[large, count - large]));
        let cut: BTreeSet<i128> = cut.map(|length| i128::from(length.nanometres())).collect();
        assert_eq!(lengths, cut, "{count} hoopings");
    }
}

#[test]
fn what_may_not_be_turned_is_not() {
    let roll = roll(20, &[[10, 15]], Lay::Crosswise);
    assert_eq!(inches(roll.length(&[2])), 15);
    let roll = self::roll(20, &[[10, 15]], Lay::Lengthwise);
    assert_eq!(inches(roll.length(&[2])), 20);
}

/// Twelve pieces that differ, three of each, are more than can be worked out exactly. (Sides of 7 to 18 in and of 5 to 10 1/2 in.)
fn many() -> Roll {
    let pieces: Vec<[i64; 2]> = (0..12).map(|kind| [7 + kind, 5 + kind / 2]).collect();
    roll(20, &pieces, Lay::Either)
}

#[test]
fn a_signal_to_stop_is_heard_in_the_middle_of_a_cutting() {
    let stop = StopSignal::new();
    stop.give();
    let mut roll = many();
    roll.deadline = Deadline::after(Duration::from_secs(60), stop);
    let begun = std::time::Instant::now();
    roll.length(&[3; 12]);
    let took = begun.elapsed();
    assert!(took < Duration::from_secs(1), "{took:?}");
}

/// With another deadline for each: no clock has a say in a cutting that ends before it.
#[test]
fn many_pieces_have_the_same_length_each_time() {
    let lengths = [60, 600].map(|seconds| {
        let mut roll = many();
        roll.deadline = Deadline::after(Duration::from_secs(seconds), StopSignal::new());
        [3, 4].map(|count| roll.length(&[count; 12]))
    });
    assert_eq!(lengths[0], lengths[1]);
    // By area no cutting is shorter.
    let area: i64 = (0..12).map(|kind| (7 + kind) * (5 + kind / 2)).sum();
    assert!(lengths[0][0].nanometres() >= 3 * area * INCH / 20);
}
