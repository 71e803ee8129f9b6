//! The hoops that somebody owns, put in the place of those of a scenario, in whichever unit either of them is.

use serde_json::{Value, json};

use crate::length::Unit;
use crate::scenario::node::Node;
use crate::scenario::{Hoop, read_hoops};

/// A hoop set that has been read and found without fault.
pub(super) struct HoopSet<'a> {
    unit: Unit,
    /// As the document tells them.
    told: &'a Value,
    hoops: Vec<Hoop>,
}

/// Reads a hoop set: its unit, and its hoops as a scenario lists them.
pub(super) fn read<'a>(node: &Node<'a>) -> Option<HoopSet<'a>> {
    let fields = node.fields(&["unit", "hoops"])?;
    let unit = fields
        .need("unit", "\"in\" or \"mm\"")
        .and_then(|node| node.word(&[("in", Unit::Inch), ("mm", Unit::Millimetre)]));
    let list = fields.need("hoops", "the hoops of this set");
    let (unit, list) = (unit?, list?);
    Some(HoopSet {
        unit,
        hoops: read_hoops(&list, unit)?,
        told: list.value(),
    })
}

impl HoopSet<'_> {
    /// The scenario with these hoops in the place of its own. Candidates go: they are compared, and nothing is compared here.
    pub(super) fn put_into(&self, scenario: &Value) -> Value {
        let mut scenario = scenario.clone();
        if let Value::Object(fields) = &mut scenario {
            let unit = match fields.get("unit").and_then(Value::as_str) {
                Some("mm") => Unit::Millimetre,
                _ => Unit::Inch,
            };
            fields.remove("candidates");
            fields.insert("hoops".into(), self.in_unit(unit));
        }
        scenario
    }

    /// The hoops as a scenario of that unit lists them. Eight decimals name every nanometre, so nothing is rounded.
    fn in_unit(&self, unit: Unit) -> Value {
        if unit == self.unit {
            return self.told.clone();
        }
        let told = |hoop: &Hoop| {
            json!({
                "id": hoop.id,
                "field": hoop.field.map(|side| side.in_unit(unit)),
                "frame": hoop.frame.map(|side| side.in_unit(unit)),
                "turn": hoop.turn,
            })
        };
        self.hoops.iter().map(told).collect()
    }
}
