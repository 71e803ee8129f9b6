//! Drawn sizes of a design.

use serde_json::{Map, Value, json};

use super::Scale;
use super::grid::Grid;
use crate::random::SplitMix64;

/// A size in grid steps.
#[derive(Clone, Copy, Debug)]
pub struct DrawnSize {
    pub width: i64,
    pub repeat: i64,
    pub repeats: i64,
    pub margin_along: i64,
    pub margin_across: i64,
    pub stop_early: bool,
    /// How far it may be stretched, lo and hi in hundredths.
    pub scale: Option<(i64, i64)>,
}

impl DrawnSize {
    /// n·p in steps.
    pub fn stitched(&self) -> i64 {
        self.repeat * self.repeats
    }

    /// The size as the document writes it.
    pub fn value(&self, random: &mut SplitMix64, grid: &Grid, id: &str) -> Value {
        let mut fields = Map::new();
        fields.insert("id".into(), json!(id));
        fields.insert("width".into(), grid.length(random, self.width));
        fields.insert("repeat".into(), grid.length(random, self.repeat));
        fields.insert("repeats".into(), json!(self.repeats));
        if (self.margin_along, self.margin_across) != (0, 0) || random.chance(30) {
            let along = grid.length(random, self.stitched() + self.margin_along);
            let across = grid.length(random, self.width + self.margin_across);
            fields.insert("field".into(), json!([along, across]));
        }
        if self.stop_early || random.chance(20) {
            fields.insert("stop_early".into(), json!(self.stop_early));
        }
        if let Some((least, most)) = self.scale {
            let (least, most) = (least as f64 / 100.0, most as f64 / 100.0);
            fields.insert("scale".into(), json!([least, most]));
        }
        Value::Object(fields)
    }
}

/// One to three sizes for strips of this width, of different repeats.
pub fn design(random: &mut SplitMix64, width: i64, scale: Scale) -> Vec<DrawnSize> {
    let most = if scale == Scale::Tiny { 2 } else { 3 };
    let count = random.between(1, most) + i64::from(random.chance(10));
    let stretches = random.chance(35);
    (0..count).map(|_| size(random, width, stretches)).collect()
}

fn size(random: &mut SplitMix64, width: i64, stretches: bool) -> DrawnSize {
    let stop_early = random.chance(35);
    let repeat = random.between(3, 8);
    let repeats = match (stop_early, repeat) {
        (true, _) => random.between(2, 3),
        (false, 3..=5) => random.between(1, 3),
        (false, _) => random.between(1, 2),
    };
    let ranges = [(90, 110), (97, 103), (100, 125), (80, 100)];
    DrawnSize {
        width,
        repeat,
        repeats,
        margin_along: random.pick(&[0, 0, 1, 2]),
        margin_across: random.pick(&[0, 0, 1, 2]),
        stop_early,
        scale: (stretches && random.chance(70)).then(|| random.pick(&ranges)),
    }
}
