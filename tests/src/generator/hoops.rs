//! Drawn hoops, cut to the designs so that fits are often exact.

use serde_json::{Map, Value, json};

use super::Scale;
use super::grid::Grid;
use super::sizes::DrawnSize;
use crate::random::SplitMix64;

/// One to three hoops. `between` is 2e + g in steps, rounded up.
pub fn hoops(
    random: &mut SplitMix64,
    grid: &Grid,
    sizes: &[DrawnSize],
    between: i64,
    scale: Scale,
) -> Value {
    let most = if scale == Scale::Tiny { 2 } else { 3 };
    let count = random.between(1, most) + i64::from(random.chance(10));
    let hoops = (1..=count).map(|number| {
        let [along, across] = field(random, sizes, between);
        let mut sides = [along, across];
        if random.chance(20) {
            sides.reverse();
        }
        let mut fields = Map::new();
        fields.insert("id".into(), json!(format!("hoop-{number}")));
        let field = sides.map(|side| grid.length(random, side));
        fields.insert("field".into(), json!(field));
        if random.chance(50) {
            let frame = sides.map(|side| {
                let wider = side + random.between(0, 3);
                grid.length(random, wider)
            });
            fields.insert("frame".into(), json!(frame));
        }
        if random.chance(40) {
            fields.insert("turn".into(), json!(random.chance(40)));
        }
        Value::Object(fields)
    });
    Value::Array(hoops.collect())
}

/// Room for one or two stretches one after the other, in one to three lanes.
fn field(random: &mut SplitMix64, sizes: &[DrawnSize], between: i64) -> [i64; 2] {
    let one = random.pick(sizes);
    let mut along = one.stitched() + one.margin_along;
    if random.chance(40) {
        along += i64::max(one.margin_along, between) + random.pick(sizes).stitched();
    }
    if random.chance(30) {
        along += random.between(1, 4);
    }
    let lanes = random.pick(&[1, 2, 2, 3]);
    let apart = i64::max(one.margin_across, between);
    let across = lanes * one.width + one.margin_across + (lanes - 1) * apart;
    [along, across + random.pick(&[0, 0, 1, 3])]
}
