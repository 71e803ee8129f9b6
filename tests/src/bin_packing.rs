//! One-dimensional bin packing instances, written as scenarios.

use serde_json::json;

use crate::random::SplitMix64;

/// A bin packing instance.
#[derive(Clone, Debug)]
pub struct Instance {
    /// What its source calls it.
    pub name: String,
    /// Size of each bin.
    pub capacity: u64,
    /// Item sizes, each with how many there are.
    pub items: Vec<(u64, u64)>,
    /// The published least number of bins.
    pub optimum: u64,
}

impl Instance {
    /// What all items take together.
    pub fn size(&self) -> u64 {
        self.items.iter().map(|(size, count)| size * count).sum()
    }
}

/// An instance with its parts.
pub fn instance(name: &str, capacity: u64, items: &[(u64, u64)], optimum: u64) -> Instance {
    Instance {
        name: name.into(),
        capacity,
        items: items.to_vec(),
        optimum,
    }
}

/// Examples of textbooks and documentation with their published optimum.
pub fn textbook() -> Vec<Instance> {
    vec![
        // Wikipedia, "Cutting stock problem" (CC BY-SA): a paper machine with rolls of 5600 mm.
        instance(
            "paper rolls of 5600",
            5600,
            &[
                (1380, 22),
                (1520, 25),
                (1560, 12),
                (1710, 14),
                (1820, 18),
                (1880, 18),
                (1930, 20),
                (2000, 10),
                (2050, 12),
                (2100, 14),
                (2140, 16),
                (2150, 18),
                (2200, 20),
            ],
            73,
        ),
        // Chvatal, Linear Programming (1983), page 195.
        instance(
            "Chvatal page 195",
            100,
            &[(45, 97), (36, 610), (31, 395), (14, 211)],
            453,
        ),
        // Fourer, Gay and Kernighan, AMPL, chapter 15 (roll trim).
        instance(
            "roll trim",
            110,
            &[(20, 48), (45, 35), (50, 24), (55, 10), (75, 8)],
            47,
        ),
        // JuMP documentation, "Column generation" tutorial (MPL-2.0): widths with one decimal, here ten times as large.
        instance(
            "twenty widths",
            1000,
            &[
                (750, 189),
                (538, 33),
                (530, 36),
                (510, 41),
                (502, 35),
                (322, 37),
                (308, 44),
                (298, 49),
                (201, 37),
                (162, 36),
                (145, 42),
                (110, 33),
                (86, 47),
                (82, 35),
                (66, 49),
                (51, 42),
            ],
            334,
        ),
    ]
}

/// So many items, each of a size between two. As many bins as the sizes need is a bound, not always the optimum.
pub fn uniform(seed: u64, capacity: u64, count: usize, [first, last]: [i64; 2]) -> Instance {
    let mut random = SplitMix64::new(seed);
    let sizes = (0..count).map(|_| random.between(first, last).unsigned_abs());
    let sizes: Vec<u64> = sizes.collect();
    let bins = sizes.iter().sum::<u64>().div_ceil(capacity);
    let items: Vec<(u64, u64)> = sizes.into_iter().map(|size| (size, 1)).collect();
    let name = format!("{count} of {first} to {last}, bins of {capacity}, seed {seed}");
    instance(&name, capacity, &items, bins)
}

/// Three items for each bin, which fill it: nothing may be wasted, and as many bins as triples is the optimum. One is of 38 to 49 % of the bin,
/// the others of at least 25 %. (The class of triplets of Falkenauer, A hybrid grouping genetic algorithm for bin packing, Journal of
/// Heuristics 2 (1996) 5–30, from memory.)
pub fn triplets(seed: u64, capacity: i64, bins: u64) -> Instance {
    let mut random = SplitMix64::new(seed);
    let mut items = Vec::new();
    for _ in 0..bins {
        let one = random.between(capacity * 38 / 100, capacity * 49 / 100);
        let other = random.between(capacity / 4, (capacity - one) / 2);
        items.extend([one, other, capacity - one - other].map(|size| (size.unsigned_abs(), 1)));
    }
    let name = format!("{bins} triplets of {capacity}, seed {seed}");
    instance(&name, capacity.unsigned_abs(), &items, bins)
}

/// Three items for each bin, which fill it, each of so many per cent of the capacity at least and at most: nothing may be wasted, bins can be
/// filled in many more ways than one, and hardly any of them leads to an end. As many bins as triples is the optimum.
pub fn triples(seed: u64, capacity: i64, bins: u64, [first, last]: [i64; 2]) -> Instance {
    let mut random = SplitMix64::new(seed);
    let (first, last) = (capacity * first / 100, capacity * last / 100);
    let items = draw_triples(bins, capacity, [first, last], || {
        random.between(first, last)
    });
    let name = format!("{bins} triples of {capacity}, seed {seed}");
    instance(&name, capacity.unsigned_abs(), &items, bins)
}

/// Three items for each of so many bins, which fill it, each within these bounds: two are drawn.
fn draw_triples(
    bins: u64,
    capacity: i64,
    [first, last]: [i64; 2],
    mut draw: impl FnMut() -> i64,
) -> Vec<(u64, u64)> {
    let mut items = Vec::new();
    while items.len() < 3 * bins as usize {
        let (one, other) = (draw(), draw());
        let third = capacity - one - other;
        if (first..=last).contains(&third) {
            items.extend([one, other, third].map(|size| (size.unsigned_abs(), 1)));
        }
    }
    items
}

/// Fifteen items that fill three bins by the linear program, but not in truth, and triples that fill bins, so that there may be ways. The
/// items are the edges of Petersen's graph: each is as large as the two numbers at its ends, which add up to the capacity over all ten
/// vertices. Five edges that meet every vertex once fill a bin; such sets hold each edge equally often, but no three of them hold each
/// once, as the graph's edges cannot be coloured with three colours. (Caprara, Dell'Amico, Díaz-Díaz, Iori and Rizzi, Friendly bin packing
/// instances without integer round-up property, Mathematical Programming 150 (2015) 5–17, from memory.) As many bins as the sizes need is a
/// bound, not always the optimum.
pub fn on_petersen(seed: u64, capacity: i64, bins: u64) -> Instance {
    let mut random = SplitMix64::new(seed);
    let mut items = on_edges(&mut random, capacity, 1, 0);
    items.extend(triples(seed, capacity, bins - 3, [10, 50]).items);
    let name = format!("Petersen's graph and triples of {capacity}, seed {seed}");
    instance(&name, capacity.unsigned_abs(), &items, bins)
}

/// Items on the edges of Petersen's graph, whose numbers all leave the same remainder by `step`.
fn on_edges(random: &mut SplitMix64, capacity: i64, step: i64, remainder: i64) -> Vec<(u64, u64)> {
    let last = |numbers: &[i64]| capacity - numbers.iter().sum::<i64>();
    let mut numbers: Vec<i64> = Vec::new();
    while numbers.is_empty() || last(&numbers) < 1 {
        let least = if remainder == 0 { step } else { remainder };
        let number = |_| (random.between(1, capacity / 5 / step) - 1) * step + least;
        numbers = (0..9).map(number).collect();
    }
    numbers.push(last(&numbers));
    let edges = (0..5).flat_map(|at| {
        let (outer, inner) = ((at + 1) % 5, 5 + (at + 2) % 5);
        [(at, outer), (at, at + 5), (at + 5, inner)]
    });
    let sizes = edges.map(|(one, other)| (numbers[one] + numbers[other]).unsigned_abs());
    sizes.map(|size| (size, 1)).collect()
}

/// How sizes differ by remainders where they are kept apart.
const APART: i64 = 13;

/// The same, but with three items of 26 to 49 per cent in each other bin, and sizes of such remainders by thirteen that no full bin holds both
/// items of the graph and others: where one is filled by k of the graph and j others, 3k + 5j is 15 but for thirteens, which of up to three
/// others leaves (5, 0) and (0, 3), and (6, 2), (12, 1) and (13, 3), which are too large, or else other numbers are drawn; as they are until
/// the fifteen items do not fill three bins, which is tried. So one bin more than the sizes need is the optimum: the fifteen fit into four.
pub fn apart_from_petersen(seed: u64, capacity: i64, bins: u64) -> Instance {
    let mut random = SplitMix64::new(seed);
    let remainder = |parts: i64| {
        let all = (0..APART).find(|each| (parts * each - capacity) % APART == 0);
        all.expect("thirteen is a prime")
    };
    let bin = capacity.unsigned_abs();
    let items = loop {
        let items = on_edges(&mut random, capacity, APART, remainder(10));
        let mut sizes: Vec<u64> = items.iter().map(|(size, _)| *size).collect();
        sizes.sort_unstable();
        let smallest = |count: usize| sizes[..count].iter().sum::<u64>();
        let are_too_large = smallest(6) * 100 > 48 * bin && smallest(12) * 100 > 74 * bin;
        if are_too_large && !fill_three(&sizes, bin) && fit_into_four(&sizes, bin) {
            break items;
        }
    };
    let [first, last] = [26, 49].map(|per_cent| capacity * per_cent / 100);
    let of_triples = remainder(3);
    let apart = |size: i64| size - (size - of_triples).rem_euclid(APART);
    let draw = || apart(random.between(first + APART, last));
    let mut all = items;
    all.extend(draw_triples(bins - 3, capacity, [first, last], draw));
    let name = format!("Petersen's graph apart from triples of {capacity}, seed {seed}");
    instance(&name, bin, &all, bins + 1)
}

/// Whether fifteen items fill three bins of five: by trying all. Bins of other counts have other remainders.
fn fill_three(sizes: &[u64], capacity: u64) -> bool {
    let all = (1_u32 << sizes.len()) - 1;
    let sum = |set: &u32| {
        let chosen = sizes
            .iter()
            .enumerate()
            .filter(|(at, _)| set >> at & 1 == 1);
        chosen.map(|(_, size)| *size).sum::<u64>()
    };
    let full: Vec<u32> = (0..=all)
        .filter(|set| set.count_ones() == 5 && sum(set) == capacity)
        .collect();
    let rest_is_full = |one: &u32, other: &u32| full.contains(&(all & !one & !other));
    full.iter().any(|one| {
        let mut others = full.iter().filter(|other| one & **other == 0);
        others.any(|other| rest_is_full(one, other))
    })
}

/// Whether items fit into four bins, each put into the first that has room, the largest first.
fn fit_into_four(sizes: &[u64], capacity: u64) -> bool {
    let mut left = [capacity; 4];
    sizes.iter().rev().all(|size| {
        let bin = left.iter_mut().find(|left| **left >= *size);
        bin.map(|left| *left -= size).is_some()
    })
}

/// The scenario whose least number of hoopings is the instance's least number of bins, as JSON text.
///
/// Every item is a strip of as many millimetres that has to be stitched in one run; a hoop is a bin: one lane, no
/// allowances, one size as long as the hoop that stops after any millimetre.
pub fn scenario(instance: &Instance) -> String {
    let strips: Vec<_> = instance
        .items
        .iter()
        .enumerate()
        .map(|(index, (size, count))| {
            json!({"id": format!("item-{index}-{size}"), "length": size, "width": 1, "count": count, "design": "line"})
        })
        .collect();
    json!({
        "format": 1,
        "name": instance.name,
        "unit": "mm",
        "strips": strips,
        "hoops": [{"id": "bin", "field": [instance.capacity, 1], "turn": false}],
        "designs": [{"id": "line", "sizes": [
            {"id": "line-1", "width": 1, "repeat": 1, "repeats": instance.capacity, "stop_early": true},
        ]}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
        "rules": {"split_short": false},
        "goal": {"priorities": ["hoopings"]},
    })
    .to_string()
}
