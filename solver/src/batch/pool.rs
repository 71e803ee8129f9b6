//! Puts kits into one scenario: each becomes a quilt with the kit's id, in as many copies as are made of it.

use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use serde_json::{Map, Value, json};

use super::document::Kit;
use super::shared::Told;
use crate::fault::{Fault, FaultCode};
use crate::scenario::node::{LONGEST_TEXT, Node};
use crate::scenario::{self, Design, MOST_LISTED, Scenario};

/// A kit that is put together with others.
pub(super) struct Member<'e> {
    pub kit: &'e Kit,
    /// Where the kit stands in the batch (JSON Pointer).
    pub place: &'e str,
    /// Where its scenario stands.
    pub pointer: &'e str,
    pub told: Rc<Told>,
}

/// What all of them have to say alike, and whether two do.
type Section = (&'static str, fn(&Scenario, &Scenario) -> bool);
const ALIKE: [Section; 7] = [
    ("unit", |one, other| one.unit == other.unit),
    ("hoops", |one, other| one.hoops == other.hoops),
    ("allowances", |one, other| {
        one.allowances == other.allowances
    }),
    ("rules", |one, other| one.rules == other.rules),
    ("goal", |one, other| one.goal == other.goal),
    ("materials", |one, other| one.materials == other.materials),
    ("rates", |one, other| one.rates == other.rates),
];

/// What a kit can have by itself only, and whether it does.
type Own = (&'static str, fn(&Scenario) -> bool);
const BY_ITSELF: [Own; 3] = [
    ("measured", |scenario| !scenario.measured.is_empty()),
    ("begun", |scenario| !scenario.begun.is_empty()),
    ("wishes", |scenario| !scenario.wishes.is_empty()),
];

/// The scenario document of all kits together. Where they cannot be put together, that is noted.
pub(super) fn together(root: &Node<'_>, name: &str, members: &[Member<'_>]) -> Option<Value> {
    let first = members.first()?;
    if !few_enough(root, members) || !agree(root, first, members) {
        return None;
    }
    let mut pooled = Pooled::default();
    for member in members {
        pooled.add(member);
    }
    let mut document = Map::new();
    document.insert("format".into(), json!(1));
    document.insert("name".into(), json!(shortened(name)));
    for (section, _) in ALIKE {
        if let Some(told) = first.told.document.get(section) {
            document.insert(section.into(), told.clone());
        }
    }
    let longest = members
        .iter()
        .max_by_key(|member| member.told.scenario.time_limit);
    if let Some(limits) = longest.and_then(|member| member.told.document.get("limits")) {
        document.insert("limits".into(), limits.clone());
    }
    document.insert("designs".into(), std::mem::take(&mut pooled.designs).into());
    for (section, list) in [
        ("quilts", &mut pooled.quilts),
        ("strips", &mut pooled.strips),
    ] {
        if !list.is_empty() {
            let entries = list.iter_mut().map(|entry| entry.told.take());
            document.insert(section.into(), entries.collect());
        }
    }
    if let Some(materials) = document.get_mut("materials") {
        name_loose_strips(materials, members);
    }
    let document = Value::Object(document);
    match scenario::read_value(&document) {
        Ok(_) => Some(document),
        Err(faults) => {
            for fault in faults {
                let pointer = pooled.place(&fault.pointer);
                root.fault_at(&pointer, fault.code, message(&fault), fault.mend);
            }
            None
        }
    }
}

fn message(fault: &Fault) -> String {
    format!("With all kits in one plan: {}", fault.message)
}

/// The name of a scenario has an end.
fn shortened(name: &str) -> String {
    name.chars().take(LONGEST_TEXT).collect()
}

/// Whether one scenario can list what all of them bring; where not, that is noted.
fn few_enough(root: &Node<'_>, members: &[Member<'_>]) -> bool {
    let scenarios = || members.iter().map(|member| &member.told.scenario);
    let quilts: usize = scenarios()
        .map(|of| of.quilts.len() + usize::from(of.quilt.is_some()))
        .sum();
    let strips: usize = scenarios().map(|of| of.strips.len()).sum();
    let few = quilts.max(strips) <= MOST_LISTED;
    if !few {
        root.fault_at(
            "/share_across_kits",
            FaultCode::OutOfRange,
            format!("The kits of one hoop set have {quilts} quilts and {strips} listed strips."),
            format!("At most {MOST_LISTED} of each can be in one plan: share the kits out among several batches, or count alike ones as copies of one kit."),
        );
    }
    few
}

/// Whether all say the same where they have to; what does not is noted.
fn agree(root: &Node<'_>, first: &Member<'_>, members: &[Member<'_>]) -> bool {
    let mut fine = true;
    // Kits of one scenario are told once.
    let mut seen = HashSet::new();
    for member in members {
        if !seen.insert(Rc::as_ptr(&member.told)) {
            continue;
        }
        for (section, has) in BY_ITSELF {
            if has(&member.told.scenario) {
                fine = false;
                root.fault_at(
                    &format!("{}/{section}", member.pointer),
                    FaultCode::Conflict,
                    format!("The kit {:?} has \"{section}\", and its strips are to meet those of other kits.", member.kit.id),
                    format!("Take \"{section}\" out, or leave out \"share_across_kits\" so that each kit is planned by itself."),
                );
            }
        }
        for (section, alike) in ALIKE {
            if !alike(&first.told.scenario, &member.told.scenario) {
                fine = false;
                root.fault_at(
                    &format!("{}/{section}", member.pointer),
                    FaultCode::Conflict,
                    format!(
                        "The kits {:?} and {:?} say different things under \"{section}\", and their strips are to meet in one hooping.",
                        first.kit.id, member.kit.id
                    ),
                    "Say the same there, give them different hoop sets, or leave out \"share_across_kits\".",
                );
            }
        }
    }
    fine
}

/// What all kits bring.
#[derive(Default)]
struct Pooled {
    quilts: Vec<Brought>,
    strips: Vec<Brought>,
    designs: Vec<Value>,
    /// By the id that kits give them, the designs with the ids that they have here.
    by_id: HashMap<String, Vec<(String, Design)>>,
}

/// An entry, and where it comes from.
struct Brought {
    told: Value,
    /// Where the kit stands.
    kit: String,
    /// Where the entry stands.
    source: String,
}

impl Pooled {
    fn add(&mut self, member: &Member<'_>) {
        let names = self.name_designs(member);
        let document = &member.told.document;
        let (id, copies) = (&member.kit.id, member.kit.copies);
        let brought = |told: Value, source: String| Brought {
            told,
            kit: member.place.to_string(),
            source: format!("{}{source}", member.pointer),
        };
        if let Some(quilt) = document.get("quilt") {
            let told = json!({"id": id, "count": copies, "quilt": renamed(quilt, &names)});
            self.quilts.push(brought(told, String::new()));
        }
        let lists = [("quilts", &mut self.quilts), ("strips", &mut self.strips)];
        for (section, list) in lists {
            let entries = document.get(section).and_then(Value::as_array);
            for (place, entry) in entries.into_iter().flatten().enumerate() {
                let mut told = renamed(entry, &names);
                let own = entry["id"].as_str().unwrap_or_default();
                let count = entry.get("count").map_or(Some(1), Value::as_u64);
                told["id"] = json!(format!("{id}-{own}"));
                told["count"] = json!(count.unwrap_or(1).saturating_mul(copies));
                list.push(brought(told, format!("/{section}/{place}")));
            }
        }
    }

    /// The designs of a kit: those that others have alike are there once, those that only have the same id get another one. Answers the
    /// new ids.
    fn name_designs(&mut self, member: &Member<'_>) -> HashMap<String, String> {
        let mut names = HashMap::new();
        let told = member.told.document.get("designs");
        let told = told
            .and_then(Value::as_array)
            .map_or(&[][..], Vec::as_slice);
        for (design, told) in member.told.scenario.designs.iter().zip(told) {
            let known = self.by_id.get(&design.id);
            let alike = known.and_then(|known| known.iter().find(|(_, other)| other == design));
            if let Some((id, _)) = alike {
                names.insert(design.id.clone(), id.clone());
                continue;
            }
            let id = match known {
                None => design.id.clone(),
                Some(_) => format!("{} ({})", design.id, member.kit.id),
            };
            let mut told = told.clone();
            told["id"] = json!(id);
            self.designs.push(told);
            let known = self.by_id.entry(design.id.clone()).or_default();
            known.push((id.clone(), design.clone()));
            names.insert(design.id.clone(), id);
        }
        names
    }

    /// Where in the batch stands what is at this place of the pooled document: as nearly as can be told.
    fn place(&self, pointer: &str) -> String {
        let mut parts = pointer.splitn(4, '/').skip(1);
        let list = match parts.next() {
            Some("quilts") => &self.quilts,
            Some("strips") => &self.strips,
            _ => return "/share_across_kits".into(),
        };
        let number = parts.next().and_then(|number| number.parse::<usize>().ok());
        let Some(of) = number.and_then(|number| list.get(number)) else {
            return "/share_across_kits".into();
        };
        match parts.next() {
            Some("count") => format!("{}/copies", of.kit),
            Some(rest) if rest != "id" => format!("{}/{rest}", of.source),
            _ => format!("{}/id", of.kit),
        }
    }
}

/// The same with other ids of designs.
fn renamed(value: &Value, names: &HashMap<String, String>) -> Value {
    match value {
        Value::Array(items) => items.iter().map(|item| renamed(item, names)).collect(),
        Value::Object(fields) => {
            let fields = fields.iter().map(|(name, value)| {
                let design = value.as_str().filter(|_| name == "design");
                let other = design.and_then(|design| names.get(design));
                let value = other.map_or_else(|| renamed(value, names), |other| json!(other));
                (name.clone(), value)
            });
            Value::Object(fields.collect())
        }
        other => other.clone(),
    }
}

/// A fabric that is for strips which kits list is for them under their new ids as well. Strips of quilts are known within their quilt.
fn name_loose_strips(materials: &mut Value, members: &[Member<'_>]) {
    let fabrics = materials.get_mut("fabrics").and_then(Value::as_array_mut);
    for fabric in fabrics.into_iter().flatten() {
        let Some(names) = fabric.get_mut("for").and_then(Value::as_array_mut) else {
            continue;
        };
        let mut more = Vec::new();
        for member in members {
            let ids = member.told.scenario.strips.iter().map(|strip| &strip.id);
            for name in names.iter().filter_map(Value::as_str) {
                let begins = |id: &String| {
                    let rest = id.strip_prefix(name);
                    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('-'))
                };
                if ids.clone().any(begins) {
                    more.push(json!(format!("{}-{name}", member.kit.id)));
                }
            }
        }
        names.extend(more);
    }
}
