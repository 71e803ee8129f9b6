//! Bin packing instances drawn at random, as scenarios: one hoop as broad as the strips, and one strip for each item. The classes are
//! those that are known to be hard (Delorme, Iori and Martello, Bin packing and cutting stock problems: mathematical models and
//! exact algorithms, European Journal of Operational Research 255 (2016) 1–20, from memory); the instances are our own.

use std::collections::BTreeMap;

use serde_json::{Value, json};

/// Numbers that look like chance and are always the same (SplitMix64: Steele, Lea and Flood, Fast splittable pseudorandom
/// number generators, OOPSLA 2014; constants from memory).
struct Chance(u64);

impl Chance {
    /// A number from the first to the last.
    fn between(&mut self, first: u64, last: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut bits = self.0;
        bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        first + (bits ^ (bits >> 31)) % (last - first + 1)
    }
}

fn scenario(capacity: u64, items: impl Iterator<Item = u64>) -> Value {
    let mut counts: BTreeMap<u64, u64> = BTreeMap::new();
    for item in items {
        *counts.entry(item).or_default() += 1;
    }
    let strip = |(length, count): (&u64, &u64)| json!({"id": format!("item-{length}"), "length": length, "width": 1, "count": count, "design": "line"});
    json!({
        "format": 1, "name": "packing", "unit": "mm",
        "strips": counts.iter().rev().map(strip).collect::<Vec<Value>>(),
        "hoops": [{"id": "bin", "field": [capacity, 1], "turn": false}],
        "designs": [{"id": "line", "sizes": [{"id": "line", "width": 1, "repeat": 1, "repeats": capacity, "stop_early": true}]}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
        "goal": {"priorities": ["hoopings"]},
        "limits": {"seconds": 10}
    })
}

/// So many items, each of a size between two.
pub fn uniform(capacity: u64, count: u64, [first, last]: [u64; 2]) -> Value {
    let mut chance = Chance(count);
    scenario(capacity, (0..count).map(|_| chance.between(first, last)))
}

/// Three items for each bin, which fill it: nothing may be wasted. None is smaller than a tenth of the bin or larger than half.
pub fn triples(capacity: u64, bins: u64) -> Value {
    let mut chance = Chance(bins);
    let (first, last) = (capacity / 10, capacity / 2);
    let mut items = Vec::new();
    while items.len() < 3 * bins as usize {
        let (one, other) = (chance.between(first, last), chance.between(first, last));
        let third = capacity - one - other;
        if (first..=last).contains(&third) {
            items.extend([one, other, third]);
        }
    }
    scenario(capacity, items.into_iter())
}
