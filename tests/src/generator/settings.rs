//! Drawn allowances, rules and goals.

use serde_json::{Map, Value, json};

use super::grid::Grid;
use crate::random::SplitMix64;

/// Seam, trim and gap, and 2e + g in grid steps, rounded up.
pub fn allowances(random: &mut SplitMix64, grid: &Grid) -> (Option<Value>, i64) {
    let kind = random.between(1, 100);
    if kind <= 20 {
        // The defaults come to an inch and a half: three half inches, or five thirds rounded up.
        return (None, if grid.unit() == "in" { 5 } else { 4 });
    }
    if kind <= 50 {
        return (Some(json!({"seam": 0, "trim": 0, "gap": 0})), 0);
    }
    let [seam, trim, gap] = [(); 3].map(|()| random.between(0, 3));
    let value = json!({
        "seam": grid.quarters(seam),
        "trim": grid.quarters(trim),
        "gap": grid.quarters(gap),
    });
    (Some(value), (2 * (seam + trim) + gap + 3) / 4)
}

/// Each rule left at its default, or set to any of its values.
pub fn rules(random: &mut SplitMix64, grid: &Grid) -> Option<Value> {
    let mut rules = Map::new();
    let mut set = |random: &mut SplitMix64, name: &str, percent: i64| {
        if random.chance(50) {
            rules.insert(name.into(), json!(random.chance(percent)));
        }
    };
    set(random, "share_hoopings", 85);
    set(random, "combine_sizes", 50);
    set(random, "split_short", 60);
    set(random, "allow_partial", 60);
    if random.chance(60) {
        let growth = random.pick(&["either_way", "one_way"]);
        rules.insert("growth".into(), json!(growth));
    }
    if random.chance(50) {
        let align = random.pick(&["centred", "start"]);
        rules.insert("align".into(), json!(align));
    }
    if random.chance(30) {
        let steps = random.between(0, 6);
        let most = match steps {
            0 => Value::Null,
            _ => grid.length(random, steps - 1),
        };
        rules.insert("max_overhang".into(), most);
    }
    (!rules.is_empty()).then_some(Value::Object(rules))
}

/// The default, any order of any terms, or prices.
pub fn goal(random: &mut SplitMix64) -> Option<Value> {
    let mut terms = [
        "hoopings",
        "joints",
        "corner_mismatch",
        "stabilizer",
        "overhang",
        "hoop_changes",
    ];
    let kind = random.between(1, 100);
    if kind <= 25 {
        return None;
    }
    if kind <= 75 {
        random.shuffle(&mut terms);
        // Hoopings come first as often as not: it is what most will ask for.
        if random.chance(50) {
            terms.sort_by_key(|term| *term != "hoopings");
        }
        let count = random.pick(&[1, 2, 3, 4, 6, 6]);
        return Some(json!({"priorities": terms[..count]}));
    }
    let mut prices = Map::new();
    for term in terms {
        if random.chance(60) {
            let each = [json!(0), json!(1), json!(2.5), json!("3/4"), json!(0.125)];
            prices.insert(term.into(), random.pick(&each));
        }
    }
    Some(json!({"prices": prices}))
}
