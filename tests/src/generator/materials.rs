//! Drawn materials: cloths from bolts, sheets and what is on hand, tape, thread, and plain borders to cut.

use serde_json::{Map, Value, json};

use crate::random::SplitMix64;

/// Gives a drawn scenario materials, and sometimes stitches and a plain border around everything.
pub fn furnish(random: &mut SplitMix64, fields: &mut Map<String, Value>) {
    let inches = fields.get("unit") == Some(&json!("in"));
    let mut draw = Draw { random, inches };
    if draw.random.chance(40) {
        let place = if fields.contains_key("quilt") {
            fields.get_mut("quilt")
        } else {
            let quilts = fields.get_mut("quilts");
            quilts.and_then(|quilts| quilts.pointer_mut("/0/quilt"))
        };
        if let Some(borders) = place.and_then(|quilt| quilt.get_mut("borders")?.as_array_mut()) {
            borders.push(draw.plain_border());
        }
    }
    if draw.random.chance(60) {
        for design in fields["designs"].as_array_mut().into_iter().flatten() {
            if draw.random.chance(50) {
                design["threads"] = json!(draw.random.pick(&[vec!["sand"], vec!["sand", "moss"]]));
            }
            for size in design["sizes"].as_array_mut().into_iter().flatten() {
                size["stitches"] = json!(draw.random.between(50, 9000));
            }
        }
    }
    let margin = fields
        .get("materials")
        .map(|materials| materials["stabilizer"]["margin"].clone());
    let mut materials = Map::new();
    let mut stabilizer = if draw.random.chance(85) {
        draw.stocks("roll_width", 10, 60)
    } else {
        Map::new()
    };
    stabilizer.extend(margin.map(|margin| ("margin".to_string(), margin)));
    materials.insert("stabilizer".into(), Value::Object(stabilizer));
    if draw.random.chance(75) {
        materials.insert("fabrics".into(), draw.fabrics());
    }
    if draw.random.chance(60) {
        let mut batting = draw.stocks("width", 20, 100);
        batting.insert(
            "by".into(),
            json!(draw.random.pick(&["strip", "run", "run"])),
        );
        if draw.random.chance(50) {
            batting.insert("reach".into(), draw.length(0, 3));
        }
        materials.insert("batting".into(), Value::Object(batting));
    }
    if draw.random.chance(50) {
        let backing = draw.stocks("width", 10, 60);
        materials.insert("backing".into(), Value::Object(backing));
    }
    if draw.random.chance(50) {
        let mut tape = Map::new();
        tape.insert("each_run".into(), draw.length(1, 20));
        if draw.random.chance(50) {
            tape.insert("roll".into(), draw.length(50, 500));
        }
        draw.maybe_price(&mut tape, 60);
        materials.insert("tape".into(), Value::Object(tape));
    }
    if draw.random.chance(50) {
        let mut thread = Map::new();
        if draw.random.chance(60) {
            thread.insert("spool".into(), json!(draw.random.between(1, 1000)));
        }
        if draw.random.chance(40) {
            thread.insert("extra".into(), json!("1/8"));
        }
        draw.maybe_price(&mut thread, 60);
        materials.insert("thread".into(), Value::Object(thread));
    }
    fields.insert("materials".into(), Value::Object(materials));
}

struct Draw<'r> {
    random: &'r mut SplitMix64,
    inches: bool,
}

impl Draw<'_> {
    /// So many half inches, or steps of 12.5 mm.
    fn length(&mut self, least: i64, most: i64) -> Value {
        let steps = self.random.between(least, most);
        if self.inches {
            json!(steps as f64 / 2.0)
        } else {
            json!(steps as f64 * 12.5)
        }
    }

    fn price(&mut self) -> Value {
        let prices = [json!(0.5), json!(3), json!("12.99"), json!(7.125)];
        self.random.pick(&prices)
    }

    fn maybe_price(&mut self, fields: &mut Map<String, Value>, percent: i64) {
        if self.random.chance(percent) {
            fields.insert("price".into(), self.price());
        }
    }

    /// What a cloth is cut from: one bolt, told by this field; or several bolts, or sheets, or both; and what is on hand.
    fn stocks(&mut self, width: &str, least: i64, most: i64) -> Map<String, Value> {
        let mut fields = Map::new();
        let kind = self.random.between(1, 100);
        if kind <= 50 {
            fields.insert(width.into(), self.length(least, most));
            self.maybe_price(&mut fields, 50);
        } else {
            let bolts = if kind <= 80 {
                self.random.between(1, 3)
            } else {
                0
            };
            let sheets = if kind > 65 {
                self.random.between(1, 2)
            } else {
                0
            };
            let list = |draw: &mut Self, count: i64, sheet: bool| {
                let mut items = Vec::new();
                for number in 1..=count {
                    let price = draw.price();
                    let across = draw.length(least, most);
                    // A bolt and a sheet may have one name.
                    items.push(if sheet {
                        json!({"id": format!("no {number}"), "size": [draw.length(least, most), across], "price": price})
                    } else {
                        json!({"id": format!("no {number}"), "width": across, "price": price})
                    });
                }
                items
            };
            for (name, count) in [("bolts", bolts), ("sheets", sheets)] {
                if count > 0 {
                    let items = list(self, count, name == "sheets");
                    fields.insert(name.into(), Value::Array(items));
                }
            }
        }
        if self.random.chance(40) {
            let mut items = Vec::new();
            for _ in 0..self.random.between(1, 3) {
                let size = [self.length(4, most), self.length(4, most)];
                items.push(json!({"size": size, "count": self.random.between(1, 3)}));
            }
            fields.insert("on_hand".into(), Value::Array(items));
        }
        if self.random.chance(50) {
            let lay = self.random.pick(&["either", "lengthwise", "crosswise"]);
            fields.insert("lay".into(), json!(lay));
        }
        fields
    }

    /// One to four fabrics; the last one is mostly for all the rest.
    fn fabrics(&mut self) -> Value {
        let names = [
            "border-1",
            "border-1-left",
            "border",
            "border-2",
            "strip-1",
            "strip",
            "strip-2-1",
            "sash",
            "sash-v",
            "cornerstone",
            "cornerstone-border-1",
        ];
        let count = self.random.between(1, 4);
        let mut fabrics = Vec::new();
        for number in 1..=count {
            let mut fabric = self.stocks("width", 10, 60);
            fabric.insert("id".into(), json!(format!("fabric {number}")));
            if number < count || self.random.chance(20) {
                let mut own: Vec<&str> = Vec::new();
                for _ in 0..self.random.between(1, 3) {
                    own.push(self.random.pick(&names));
                }
                fabric.insert("for".into(), json!(own));
            }
            if self.random.chance(70) {
                fabric.insert("long_strips".into(), json!("pieced"));
                if self.random.chance(50) {
                    fabric.insert("joins_clear".into(), self.length(0, 4));
                }
            }
            fabrics.push(Value::Object(fabric));
        }
        Value::Array(fabrics)
    }

    /// A border without a design, its ends sometimes of another width than its sides.
    fn plain_border(&mut self) -> Value {
        let corner = self.random.pick(&["butted", "mitred", "cornerstone"]);
        let mut border = json!({"width": self.length(1, 6), "corner": corner});
        if corner == "butted" {
            border["first"] = json!(self.random.pick(&["sides", "ends"]));
        }
        if self.random.chance(50) {
            border["width_of_ends"] = self.length(1, 6);
        }
        border
    }
}
