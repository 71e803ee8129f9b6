//! Bin packing instances drawn at random, as scenarios. The classes are those that are known to be hard (Delorme, Iori and Martello, Bin
//! packing and cutting stock problems: mathematical models and exact algorithms, European Journal of Operational Research 255 (2016)
//! 1–20, from memory); the instances are our own.

use sashwright_tests::bin_packing::{self, scenario};

/// So many items, each of a size between two.
pub fn uniform(capacity: u64, count: u64, [first, last]: [i64; 2]) -> String {
    scenario(&bin_packing::uniform(
        count,
        capacity,
        usize::try_from(count).expect("a number of items"),
        [first, last],
    ))
}

/// Triplets of one large item and two smaller ones.
pub fn triplets(capacity: i64, bins: u64) -> String {
    scenario(&bin_packing::triplets(bins, capacity, bins))
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
