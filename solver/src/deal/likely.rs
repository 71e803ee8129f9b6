//! Orders of hoopings that are likely to work, to be tried before any thorough search.

use crate::deal::{Hooping, Table};
use crate::hooping::kind::Openness;

/// With up to this many hoops every sequence of them is tried.
const MOST_HOOPS: usize = 4;
/// Shuffled orders to try after the tidy ones.
const SHUFFLED: u64 = 24;

/// Orders of the hoopings (indices), each from the last hooping backwards. Hoopings with few inner runs come late in the
/// work, since each inner run has to be followed by an outer one of its strip; hoopings in one hoop come together.
pub(super) fn orders(table: &Table<'_>, hoopings: &[Hooping]) -> Vec<Vec<usize>> {
    let hoop = |index: usize| table.patterns[hoopings[index].pattern].hoop;
    let inner = |index: usize| {
        let kinds = hoopings[index].lanes.iter().flatten();
        kinds
            .filter(|(kind, _)| table.kinds[*kind].openness == Openness::Inner)
            .count()
    };
    let mut hoops: Vec<usize> = (0..hoopings.len()).map(hoop).collect();
    hoops.sort_unstable();
    hoops.dedup();
    let mut found = Vec::new();
    for sequence in sequences(&hoops) {
        let rank = |index: usize| sequence.iter().position(|other| *other == hoop(index));
        let mut order: Vec<usize> = (0..hoopings.len()).collect();
        order.sort_by_key(|index| (rank(*index), inner(*index), *index));
        found.push(order);
    }
    let mut order: Vec<usize> = (0..hoopings.len()).collect();
    order.sort_by_key(|index| (inner(*index), hoop(*index), *index));
    found.push(order);
    for seed in 1..=SHUFFLED {
        let mut order: Vec<usize> = (0..hoopings.len()).collect();
        let key = |index: usize| mixed(seed << 32 | index as u64);
        // Hoopings without inner runs stay last.
        order.sort_by_key(|index| (inner(*index) > 0, key(*index)));
        found.push(order);
    }
    found
}

/// All sequences of a few hoops; of many, those that differ in which comes first.
fn sequences(hoops: &[usize]) -> Vec<Vec<usize>> {
    if hoops.len() > MOST_HOOPS {
        let turned = |first: usize| {
            hoops[first..]
                .iter()
                .chain(&hoops[..first])
                .copied()
                .collect()
        };
        return (0..hoops.len()).map(turned).collect();
    }
    let mut found = vec![Vec::new()];
    for _ in hoops {
        let longer = |sequence: &Vec<usize>| {
            let sequence = sequence.clone();
            let left = hoops.iter().filter(move |hoop| !sequence.contains(hoop));
            left.copied().collect::<Vec<usize>>()
        };
        let grown = found.iter().flat_map(|sequence: &Vec<usize>| {
            longer(sequence)
                .into_iter()
                .map(|hoop| [sequence.as_slice(), &[hoop]].concat())
        });
        found = grown.collect();
    }
    found
}

/// Spreads a number over all bits (the finaliser of SplitMix64; Steele, Lea and Flood 2014).
fn mixed(number: u64) -> u64 {
    let mut z = number.wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
