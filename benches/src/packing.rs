//! Bin packing instances drawn at random, as scenarios. The classes are those that are known to be hard (Delorme, Iori and Martello, Bin
//! packing and cutting stock problems: mathematical models and exact algorithms, European Journal of Operational Research 255 (2016)
//! 1–20, from memory); the instances are our own.

use sashwright_tests::bin_packing::{self, instance, scenario};
use sashwright_tests::random::SplitMix64;

/// The scenario of single items. How many bins they need at least is not known, but that each item needs no more than one.
fn of_items(name: &str, capacity: u64, items: &[u64]) -> String {
    let items: Vec<(u64, u64)> = items.iter().map(|size| (*size, 1)).collect();
    scenario(&instance(name, capacity, &items, items.len() as u64))
}

/// So many items, each of a size between two.
pub fn uniform(capacity: u64, count: u64, [first, last]: [i64; 2]) -> String {
    scenario(&bin_packing::uniform(
        count,
        capacity,
        usize::try_from(count).expect("a number of items"),
        [first, last],
    ))
}

/// Three items for each bin, which fill it: nothing may be wasted. One is of 38 to 49 % of the bin, the others of at least 25 %. (The class of
/// triplets of Falkenauer, A hybrid grouping genetic algorithm for bin packing, Journal of Heuristics 2 (1996) 5–30, from memory.)
pub fn triplets(capacity: i64, bins: u64) -> String {
    let mut random = SplitMix64::new(bins);
    let mut items = Vec::new();
    for _ in 0..bins {
        let one = random.between(capacity * 38 / 100, capacity * 49 / 100);
        let other = random.between(capacity / 4, (capacity - one) / 2);
        items.extend([one, other, capacity - one - other].map(i64::unsigned_abs));
    }
    of_items("triplets", capacity.unsigned_abs(), &items)
}

/// Three items for each bin, which fill it, none smaller than a tenth of the bin or larger than half.
pub fn triples(capacity: i64, bins: u64) -> String {
    scenario(&bin_packing::triples(bins, capacity, bins, [10, 50]))
}

/// The edges of Petersen's graph, and triples.
pub fn on_petersen(capacity: i64, bins: u64) -> String {
    scenario(&bin_packing::on_petersen(bins, capacity, bins))
}

/// The same, but the graph's edges cannot fill bins, nor with the others: one bin more than the sizes need.
pub fn apart_from_petersen(capacity: i64, bins: u64) -> String {
    scenario(&bin_packing::apart_from_petersen(bins, capacity, bins))
}
