//! Lengths by hand, what takes too long, and what the planner works out by its own reckoning.

use std::time::{Duration, Instant};

use super::*;
use crate::deadline::{Deadline, StopSignal};
use crate::drawn::Drawn;
use crate::roll::Roll;
use crate::scenario::read;

/// A 20-in roll; pieces of 10 × 15 and 6 × 8, either way: three large and a small one take 30 (15 for two of the large ones, and 15
/// for a large one beside a small one), by hand.
#[test]
fn levels_are_tried_one_after_the_other() {
    let ways = [vec![[10, 15], [15, 10]], vec![[6, 8], [8, 6]]];
    let least = |left: &[u32]| super::least(&ways, left, 20);
    assert_eq!(
        [least(&[3, 1]), least(&[0, 5]), least(&[1, 0])],
        [Some(30), Some(14), Some(10)]
    );
    // 4 pieces: 3 · 150 + 48 = 498 square inches, a bit less than 25 in of 20; alone 2 · 15 or 3 · 10, and 6.
    assert_eq!(between(&ways, &[3, 1], 20), RollLength::Between(25, 36));
}

/// Two of 10 beside each other: 100,000 levels of 15 hold 200,000 pieces.
#[test]
fn many_pieces_of_one_kind_are_no_deep_thought() {
    assert_eq!(least(&[vec![[15, 10]]], &[200_000], 20), Some(100_000 * 15));
}

/// 18 kinds that all fit beside each other have 2^18 sets in each of 18 lengths of level: more than are tried.
#[test]
fn many_kinds_side_by_side_are_too_many_to_try() {
    let ways: Vec<Vec<[i64; 2]>> = (1..=18).map(|along| vec![[along, 1]]).collect();
    let begun = Instant::now();
    assert_eq!(least(&ways, &[1; 18], 18), None);
    assert!(begun.elapsed() < Duration::from_secs(5));
}

/// Wherever the check works the length out, the planner's is the same; elsewhere it lies between those that the check allows.
#[test]
fn the_planner_knows_what_the_check_knows() {
    let (mut exact, mut open) = (0, 0);
    let mut drawn = Drawn(7);
    for case in 0..150 {
        let kinds = drawn.between(1, 12);
        let frame = |drawn: &mut Drawn| [drawn.between(8, 40), drawn.between(8, 40)];
        let frames: Vec<[u64; 2]> = (0..kinds).map(|_| frame(&mut drawn)).collect();
        let lay = ["either", "lengthwise", "crosswise"][drawn.between(0, 2) as usize];
        let most = drawn.between(1, 5);
        let counts: Vec<u32> = (0..kinds).map(|_| drawn.between(0, most) as u32).collect();
        let width = drawn.between(40, 90);
        let hoops = frames.iter().enumerate().map(|(number, frame)| {
            serde_json::json!({"id": number.to_string(), "field": [4, 4], "frame": frame})
        });
        let document = serde_json::json!({
            "format": 1, "unit": "mm", "hoops": hoops.collect::<Vec<_>>(),
            "strips": [{"id": "a", "length": 4, "width": 1, "design": "d"}],
            "designs": [{"id": "d", "sizes": [{"id": "s", "width": 1, "repeat": 1, "repeats": 4}]}],
            "goal": {"priorities": ["roll_length"]},
            "materials": {"stabilizer": {"margin": 0, "bolts": [{"id": "roll", "width": width}], "lay": lay}}
        });
        let scenario = read(document.to_string().as_bytes()).expect("no fault");
        let deadline = Deadline::after(Duration::from_secs(60), StopSignal::new());
        let roll = Roll::of(&scenario, &deadline).expect("a roll");
        let length = i128::from(roll.length(&counts).nanometres());
        let ids = scenario.hoops.iter().zip(&counts);
        let ids = ids.flat_map(|(hoop, count)| (0..*count).map(|_| hoop.id.as_str()));
        match of_hoops(&scenario, ids).expect("known hoops") {
            RollLength::Exactly(least) => {
                assert_eq!(length, least, "case {case}: {document}");
                exact += 1;
            }
            RollLength::Between(least, most) => {
                assert!(
                    (least..=most).contains(&length),
                    "case {case}: {length} is not from {least} to {most}: {document}"
                );
                open += 1;
            }
        }
    }
    println!("{exact} exactly, {open} between");
    assert!(exact >= 100 && open >= 5, "{exact}, {open}");
}
