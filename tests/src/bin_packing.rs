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

/// Three items for each bin, which fill it, each of so many per cent of the capacity at least and at most: nothing may be wasted, bins can be
/// filled in many more ways than one, and hardly any of them leads to an end. As many bins as triples is the optimum.
pub fn triples(seed: u64, capacity: i64, bins: u64, [first, last]: [i64; 2]) -> Instance {
    let mut random = SplitMix64::new(seed);
    let (first, last) = (capacity * first / 100, capacity * last / 100);
    let mut items = Vec::new();
    while items.len() < 3 * bins as usize {
        let (one, other) = (random.between(first, last), random.between(first, last));
        let third = capacity - one - other;
        if (first..=last).contains(&third) {
            items.extend([one, other, third].map(|size| (size.unsigned_abs(), 1)));
        }
    }
    let name = format!("{bins} triples of {capacity}, seed {seed}");
    instance(&name, capacity.unsigned_abs(), &items, bins)
}

/// Fifteen items that fill three bins by the linear program, but not in truth, and triples that fill bins, so that there may be ways. The
/// items are the edges of Petersen's graph: each is as large as the two numbers at its ends, which add up to the capacity over all ten
/// vertices. Five edges that meet every vertex once fill a bin; such sets hold each edge equally often, but no three of them hold each
/// once, as the graph's edges cannot be coloured with three colours. (Caprara, Dell'Amico, Díaz-Díaz, Iori and Rizzi, Friendly bin packing
/// instances without integer round-up property, Mathematical Programming 150 (2015) 5–17, from memory.) As many bins as the sizes need is a
/// bound, not always the optimum.
pub fn on_petersen(seed: u64, capacity: i64, bins: u64) -> Instance {
    let mut random = SplitMix64::new(seed);
    let last = |numbers: &[i64]| capacity - numbers.iter().sum::<i64>();
    let mut numbers: Vec<i64> = Vec::new();
    while numbers.is_empty() || last(&numbers) < 1 {
        numbers = (0..9).map(|_| random.between(1, capacity / 5)).collect();
    }
    numbers.push(last(&numbers));
    let edges = (0..5).flat_map(|at| {
        let (outer, inner) = ((at + 1) % 5, 5 + (at + 2) % 5);
        [(at, outer), (at, at + 5), (at + 5, inner)]
    });
    let sizes = edges.map(|(one, other)| (numbers[one] + numbers[other]).unsigned_abs());
    let mut items: Vec<(u64, u64)> = sizes.map(|size| (size, 1)).collect();
    items.extend(triples(seed, capacity, bins - 3, [10, 50]).items);
    let name = format!("Petersen's graph and triples of {capacity}, seed {seed}");
    instance(&name, capacity.unsigned_abs(), &items, bins)
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
