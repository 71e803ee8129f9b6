//! The scenario of what is left: the old document with what is stitched, what is measured, and without what is gone.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use crate::fault::Fault;
use crate::length::{Length, Unit};
use crate::replan::Asked;
use crate::replan::stretch::Fate;
use crate::replan::wishes::still_wished;
use crate::scenario::{self, DoneEnd, Scenario};
use crate::wishes::Contradiction;

/// The scenario of what is left, as a document and read, and what had to be left out of its wishes.
pub(super) struct Rest {
    pub document: Value,
    pub scenario: Scenario,
    /// A sentence for each wish that cannot be kept any more.
    pub dropped: Vec<String>,
    /// For each wish that is left its place in the scenario of before (JSON Pointer).
    wished_at: Vec<String>,
}

/// The scenario of what is left.
///
/// # Errors
/// The faults of that scenario, where ids of strips would meet.
pub(super) fn rest(asked: &Asked, fates: &[Fate]) -> Result<Rest, Vec<Fault>> {
    let unit = asked.scenario.unit;
    let mut document = asked.document.clone();
    let Value::Object(fields) = &mut document else {
        // A document that was read as a scenario is an object.
        return Err(Vec::new());
    };
    let begun: Vec<Value> = fates.iter().filter_map(|fate| begun(fate, unit)).collect();
    set(fields, "begun", begun);
    set(fields, "measured", measured(&asked.scenario, fates, unit));
    without_equipment(asked, fields);
    let wishes = fields.remove("wishes");
    // Which strips there are is known once the document is read without its wishes.
    let plain = read(&document)?;
    let (mut dropped, mut wished_at) = (Vec::new(), Vec::new());
    if let (Some(wishes), Value::Object(fields)) = (wishes, &mut document) {
        let still = still_wished(asked, &plain, wishes, &mut dropped);
        let wishes: Vec<Value>;
        (wishes, wished_at) = still.into_iter().unzip();
        set(fields, "wishes", wishes);
    }
    let scenario = read(&document)?;
    Ok(Rest {
        document,
        scenario,
        dropped,
        wished_at,
    })
}

impl Rest {
    /// The same contradiction with its wishes where the scenario of before has them: nobody has seen this one.
    pub fn as_asked(&self, mut contradiction: Contradiction) -> Contradiction {
        let before = |pointer: &String| {
            let wishes = &self.scenario.wishes;
            let place = wishes.iter().position(|wish| wish.pointer == *pointer);
            let at = place.and_then(|place| self.wished_at.get(place));
            at.unwrap_or(pointer).clone()
        };
        let mut distances: BTreeMap<String, Length> = BTreeMap::new();
        for (wish, distance) in &contradiction.distances {
            let least = distances.entry(before(wish)).or_insert(*distance);
            *least = (*least).min(*distance);
        }
        contradiction.distances = distances;
        contradiction.wishes = contradiction.wishes.iter().map(before).collect();
        // A wish can be several now, one for each part of a strip.
        contradiction.wishes.dedup();
        contradiction
    }

    /// The same with leave to plan without strips that cannot be stitched.
    pub fn partial(mut self) -> Rest {
        if let Value::Object(fields) = &mut self.document {
            let rules = fields.entry("rules").or_insert_with(|| json!({}));
            rules["allow_partial"] = json!(true);
        }
        self.scenario.rules.allow_partial = true;
        self
    }
}

fn read(document: &Value) -> Result<Scenario, Vec<Fault>> {
    scenario::read(document.to_string().as_bytes())
}

/// Sets a list, or takes the field out where it is empty.
fn set(fields: &mut Map<String, Value>, name: &str, list: Vec<Value>) {
    if list.is_empty() {
        fields.remove(name);
    } else {
        fields.insert(name.to_string(), Value::Array(list));
    }
}

fn begun(fate: &Fate, unit: Unit) -> Option<Value> {
    let stretch = fate.stretch.as_ref()?;
    let shown = |length: Length| json!(length.in_unit(unit));
    let mut begun = json!({
        "strip": fate.id,
        "from": shown(stretch.from),
        "to": shown(stretch.to),
    });
    let pattern = |end: DoneEnd| json!({"repeat": shown(end.repeat), "past": shown(end.past)});
    if let Some(end) = stretch.start {
        begun["start"] = pattern(end);
    }
    if let Some(end) = stretch.end {
        begun["end"] = pattern(end);
    }
    if stretch.unscaled {
        begun["unscaled"] = json!(true);
    }
    Some(begun)
}

/// The measured lengths: those of before and the new ones.
fn measured(scenario: &Scenario, fates: &[Fate], unit: Unit) -> Vec<Value> {
    let before = scenario.measured.iter();
    let mut lengths: BTreeMap<&str, Length> = before
        .map(|measured| (measured.strip.as_str(), measured.length))
        .collect();
    let new = fates.iter().filter(|fate| fate.length != fate.planned);
    lengths.extend(new.map(|fate| (fate.id.as_str(), fate.length)));
    let entry =
        |(strip, length): (&str, Length)| json!({"strip": strip, "length": length.in_unit(unit)});
    lengths.into_iter().map(entry).collect()
}

/// Takes broken hoops and lost sizes out of the document.
fn without_equipment(asked: &Asked, fields: &mut Map<String, Value>) {
    let progress = &asked.progress;
    let id = |value: &Value| value["id"].as_str().unwrap_or_default().to_string();
    if let Some(Value::Array(hoops)) = fields.get_mut("hoops") {
        hoops.retain(|hoop| {
            !progress
                .broken_hoops
                .iter()
                .any(|(broken, _)| *broken == id(hoop))
        });
    }
    if let Some(Value::Array(designs)) = fields.get_mut("designs") {
        for design in designs {
            let of = id(design);
            if let Value::Array(sizes) = &mut design["sizes"] {
                sizes.retain(|size| {
                    let mut lost = progress.lost_sizes.iter();
                    !lost.any(|(design, lost, _)| *design == of && *lost == id(size))
                });
            }
        }
    }
}
