//! Drawn strips, borders and sashing.

use serde_json::{Map, Value, json};

use super::Scale;
use super::grid::Grid;
use super::sizes::DrawnSize;
use crate::random::SplitMix64;

/// What the strips are drawn for.
pub struct Layout<'a> {
    pub grid: &'a Grid,
    /// Width of every strip, in steps.
    pub width: i64,
    /// The sizes of the design "vine".
    pub main: &'a [DrawnSize],
    /// The sizes of the design "feather".
    pub other: Option<&'a [DrawnSize]>,
    pub scale: Scale,
}

impl Layout<'_> {
    /// The scenario's `quilt`, `strips` or both.
    pub fn draw(&self, random: &mut SplitMix64) -> Map<String, Value> {
        let mut fields = Map::new();
        let kind = random.between(1, 100);
        let quilted = kind <= 50;
        if kind <= 35 {
            fields.insert("quilt".into(), self.bordered(random));
        } else if quilted {
            fields.insert("quilt".into(), self.sashed(random));
        }
        let also = self.other.is_some() && random.chance(50) || self.scale == Scale::Bigger;
        if !quilted || also {
            fields.insert("strips".into(), self.strips(random, !quilted));
        }
        // Drawn aside, so that every scenario but for this stays what its seed has always made of it.
        let mut aside = random.clone();
        if let Some(copies) = several(&mut aside, &fields)
            && let Some(quilt) = fields.remove("quilt")
        {
            let mut entry = Map::from_iter([("id".into(), json!("q")), ("quilt".into(), quilt)]);
            if copies > 1 || aside.chance(50) {
                entry.insert("count".into(), json!(copies));
            }
            fields.insert("quilts".into(), json!([entry]));
        }
        fields
    }

    fn strips(&self, random: &mut SplitMix64, alone: bool) -> Value {
        let (grid, width, main, scale) = (self.grid, self.width, self.main, self.scale);
        let mut budget = match (scale, alone) {
            (Scale::Tiny, true) => random.between(3, 7),
            (Scale::Tiny, false) => 1,
            (Scale::Bigger, _) => random.between(10, 40),
        };
        let longest = if scale == Scale::Tiny { 3 } else { 6 };
        let mut entries = Vec::new();
        while budget > 0 && entries.len() < 6 {
            let (design, sizes) = match self.other {
                Some(other) if random.chance(40) => ("feather", other),
                _ => ("vine", main),
            };
            let runs = random.between(1, longest).min(budget);
            let most = (budget / runs).min(if scale == Scale::Tiny { 3 } else { 8 });
            let count = random.between(1, most);
            budget -= runs * count;
            let length = covered_length(random, sizes, runs);
            let mut entry = Map::new();
            entry.insert("id".into(), json!(format!("strip-{}", entries.len() + 1)));
            entry.insert("length".into(), grid.length(random, length));
            entry.insert("width".into(), grid.length(random, width));
            entry.insert("design".into(), json!(design));
            if count > 1 || random.chance(20) {
                entry.insert("count".into(), json!(count));
            }
            entries.push(Value::Object(entry));
        }
        Value::Array(entries)
    }

    /// A pieced centre with one border, its sides one or two stretches long.
    fn bordered(&self, random: &mut SplitMix64) -> Value {
        let (grid, width, main) = (self.grid, self.width, self.main);
        let side = |random: &mut SplitMix64| {
            let runs = random.pick(&[1, 1, 2]);
            (covered_length(random, main, runs) - random.pick(&[0, 0, 2 * width])).max(2)
        };
        let (across, down) = (side(random), side(random));
        let centre = [grid.length(random, across), grid.length(random, down)];
        let mut border = Map::new();
        border.insert("width".into(), grid.length(random, width));
        border.insert("design".into(), json!("vine"));
        let corner = random.pick(&["butted", "butted", "mitred", "cornerstone"]);
        if corner != "butted" || random.chance(50) {
            border.insert("corner".into(), json!(corner));
        }
        if random.chance(50) {
            border.insert("first".into(), json!(random.pick(&["sides", "ends"])));
        }
        if random.chance(15) {
            let measured = down + random.between(0, 1);
            let measured = grid.length(random, measured);
            border.insert("measured".into(), json!({"left": measured}));
        }
        let mut borders = vec![Value::Object(border)];
        if random.chance(20) {
            // A plain border in between; it grows the quilt and is not stitched.
            borders.insert(0, json!({"width": grid.length(random, 1)}));
        }
        json!({"centre": centre, "borders": borders})
    }

    fn sashed(&self, random: &mut SplitMix64) -> Value {
        let (grid, width, main) = (self.grid, self.width, self.main);
        let side = |random: &mut SplitMix64| {
            let length = covered_length(random, main, 1);
            grid.length(random, length)
        };
        let (across, down) = (side(random), side(random));
        let (columns, rows, outer) = random.pick(&[
            (2, 1, false),
            (2, 2, false),
            (3, 1, false),
            (1, 1, true),
            (1, 2, false),
        ]);
        json!({
            "blocks": {"columns": columns, "rows": rows, "size": [across, down]},
            "sashing": {
                "width": grid.length(random, width),
                "cornerstones": random.chance(60),
                "outer": outer,
                "design": "vine",
            },
        })
    }
}

/// Whether the quilt becomes one of `quilts`, and in how many copies: two only of a few sashes, which stay few enough to be planned by
/// trying everything.
fn several(random: &mut SplitMix64, fields: &Map<String, Value>) -> Option<i64> {
    let quilt = fields.get("quilt")?;
    let few = quilt.get("blocks").is_some_and(|blocks| {
        let sides = ["columns", "rows"].map(|side| blocks[side].as_i64().unwrap_or(9));
        sides[0] * sides[1] <= 3 && quilt["sashing"]["outer"] == json!(false)
    });
    let copies = if few { random.between(1, 2) } else { 1 };
    random.chance(30).then_some(copies)
}

/// A length that is covered by about `runs` segments, exactly or with some overhang.
fn covered_length(random: &mut SplitMix64, sizes: &[DrawnSize], runs: i64) -> i64 {
    let mut length = 0;
    for _ in 0..runs {
        let size = random.pick(sizes);
        length += if size.stop_early {
            size.repeat * random.between(1, size.repeats)
        } else {
            size.stitched()
        };
    }
    (length - random.pick(&[0, 0, 1, 2, 3])).max(2)
}
