//! Orders of hoopings that are likely to work, to be tried before any thorough search.

use std::rc::Rc;

use crate::deal::{Hooping, Table};
use crate::hooping::kind::Openness;
use crate::random::{STEP, spread};

/// With up to this many hoops every sequence of them is tried.
const MOST_HOOPS: usize = 4;
/// Shuffled orders to try after the tidy ones.
const SHUFFLED: u64 = 24;

/// Orders of the hoopings (indices), each from the last hooping backwards. Hoopings with few inner runs come late in the
/// work, since each inner run has to be followed by an outer one of its strip; hoopings in one hoop come together. Each is worked out
/// when it is asked for: mostly the first will do.
pub(super) fn orders(table: &Table<'_>, hoopings: &[Hooping]) -> impl Iterator<Item = Vec<usize>> {
    let hoop = |of: &Hooping| table.patterns[of.pattern].hoop;
    let inner = |of: &Hooping| {
        let kinds = of.lanes.iter().flatten();
        kinds
            .filter(|(kind, _)| table.kinds[*kind].openness == Openness::Inner)
            .count()
    };
    // Of each hooping its hoop and its inner runs.
    let each: Rc<[(usize, usize)]> = hoopings.iter().map(|of| (hoop(of), inner(of))).collect();
    let mut hoops: Vec<usize> = each.iter().map(|(hoop, _)| *hoop).collect();
    hoops.sort_unstable();
    hoops.dedup();
    let of_each = Rc::clone(&each);
    let by_hoop = sequences(&hoops).into_iter().map(move |sequence| {
        let rank = |hoop: usize| sequence.iter().position(|other| *other == hoop);
        sorted(&of_each, |_, (hoop, inner)| (rank(hoop), inner))
    });
    let of_each = Rc::clone(&each);
    let by_inner = std::iter::once_with(move || sorted(&of_each, |_, (hoop, inner)| (inner, hoop)));
    let shuffled = (1..=SHUFFLED).map(move |seed| {
        // Hoopings without inner runs stay last.
        let key = |index: usize| spread((seed << 32 | index as u64).wrapping_mul(STEP));
        sorted(&each, |index, (_, inner)| (inner > 0, key(index)))
    });
    by_hoop.chain(by_inner).chain(shuffled)
}

/// The hoopings in the order of a key, those alike in their own order.
fn sorted<K: Ord>(each: &[(usize, usize)], key: impl Fn(usize, (usize, usize)) -> K) -> Vec<usize> {
    let mut order: Vec<usize> = (0..each.len()).collect();
    order.sort_by_cached_key(|index| key(*index, each[*index]));
    order
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
