//! From kits to the different questions that they ask.

use std::collections::{HashMap, HashSet};

use serde_json::Value;

use super::document::{Entry, Row, Shelf, Source};
use crate::fault::{Fault, FaultCode};
use crate::pool::{PoolKit, pooled};
use crate::scenario;
use crate::scenario::node::{Node, child};

/// The most different questions of a batch.
pub const MOST_QUESTIONS: usize = 10_000;

/// A question that kits ask: how is this scenario stitched?
#[derive(Clone, Debug)]
pub struct Asked {
    /// The scenario document (JSON), with the hoops that it is asked for.
    pub scenario: String,
    /// How many copies of the scenario are made in all. Where hoopings are shared, 1: the copies are within the scenario.
    pub copies: u64,
    /// Why it cannot be asked at all with these hoops: wishes that name hoops which the set does not have.
    pub faults: Vec<Fault>,
}

/// The questions so far.
#[derive(Default)]
struct Questions {
    asked: Vec<Asked>,
    by_text: HashMap<String, usize>,
    /// What was noted already: the same fault of a scenario shows up with each hoop set.
    noted: HashSet<(String, String)>,
}

/// Each kit with each of its hoop sets, and the different questions that they ask; `None` where one of their scenarios is faulty.
pub(super) fn of(
    root: &Node<'_>,
    name: &str,
    entries: &[Entry<'_>],
    shelf: &Shelf<'_>,
    share: bool,
) -> Option<(Vec<Row>, Vec<Asked>)> {
    let mut questions = Questions::default();
    let rows = if share {
        questions.together(root, name, entries, shelf)
    } else {
        questions.each_alone(root, entries, shelf)
    };
    rows.map(|rows| (rows, questions.asked))
}

/// The scenario of a kit, and where it stands.
fn scenario_of<'e>(entry: &'e Entry<'_>, shelf: &'e Shelf<'_>) -> Option<(&'e Value, &'e str)> {
    let node = match &entry.scenario {
        Source::Own(node) => node,
        Source::Named(name) => shelf.scenarios.get(name)?,
    };
    Some((node.value(), node.pointer()))
}

/// The names of a kit's hoop sets; one that is none where the scenario's own hoops are meant.
fn sets_of<'e>(entry: &'e Entry<'_>) -> Vec<Option<&'e str>> {
    if entry.hoop_sets.is_empty() {
        return vec![None];
    }
    entry
        .hoop_sets
        .iter()
        .map(|set| Some(set.as_str()))
        .collect()
}

fn with_hoops(scenario: &Value, set: Option<&str>, shelf: &Shelf<'_>) -> Value {
    match set.and_then(|set| shelf.sets.get(set)) {
        Some(set) => set.put_into(scenario),
        None => scenario.clone(),
    }
}

impl Questions {
    /// Each kit by itself.
    fn each_alone(
        &mut self,
        root: &Node<'_>,
        entries: &[Entry<'_>],
        shelf: &Shelf<'_>,
    ) -> Option<Vec<Row>> {
        let mut rows = Vec::new();
        let mut fine = true;
        // Of scenarios with a name it is known at once what they ask.
        let mut by_name: HashMap<(&str, Option<&str>), Option<usize>> = HashMap::new();
        for (kit, entry) in entries.iter().enumerate() {
            let (scenario, pointer) = scenario_of(entry, shelf)?;
            for set in sets_of(entry) {
                let mut ask = || {
                    let with_hoops = with_hoops(scenario, set, shelf);
                    self.ask(root, &with_hoops, pointer, set)
                };
                let question = match &entry.scenario {
                    Source::Named(name) => *by_name.entry((name, set)).or_insert_with(ask),
                    Source::Own(_) => ask(),
                };
                let Some(question) = question else {
                    fine = false;
                    continue;
                };
                if let Some(asked) = self.asked.get_mut(question) {
                    asked.copies = asked.copies.saturating_add(entry.kit.copies);
                }
                rows.push(Row {
                    kit,
                    hoop_set: set.map(String::from),
                    question,
                });
            }
            if self.asked.len() > MOST_QUESTIONS {
                root.fault(
                    FaultCode::OutOfRange,
                    format!("The kits ask for more than {MOST_QUESTIONS} different plans."),
                    "Share them out among several batches.",
                );
                return None;
            }
        }
        fine.then_some(rows)
    }

    /// The kits of each hoop set together.
    fn together(
        &mut self,
        root: &Node<'_>,
        name: &str,
        entries: &[Entry<'_>],
        shelf: &Shelf<'_>,
    ) -> Option<Vec<Row>> {
        let mut fine = true;
        let mut of_set: Vec<(Option<&str>, Vec<usize>)> = Vec::new();
        for (kit, entry) in entries.iter().enumerate() {
            for set in sets_of(entry) {
                match of_set.iter_mut().find(|(other, _)| *other == set) {
                    Some((_, kits)) => kits.push(kit),
                    None => of_set.push((set, vec![kit])),
                }
            }
        }
        let mut question_of: HashMap<Option<&str>, usize> = HashMap::new();
        for (set, kits) in &of_set {
            let mut told = Vec::new();
            for kit in kits {
                let (scenario, pointer) = scenario_of(&entries[*kit], shelf)?;
                let scenario = with_hoops(scenario, *set, shelf);
                // Faults of a kit's own scenario are told where it stands.
                fine &= self.readable(root, &scenario, pointer, *set);
                told.push(scenario);
            }
            if !fine {
                continue;
            }
            let pool: Vec<PoolKit<'_>> = kits
                .iter()
                .zip(&told)
                .map(|(kit, scenario)| PoolKit {
                    id: &entries[*kit].kit.id,
                    scenario,
                    copies: entries[*kit].kit.copies,
                })
                .collect();
            let pool = pooled(name, &pool).map_err(|faults| {
                for fault in faults {
                    // The pool counts its kits from 0; here each has a place of its own.
                    let pointer = place_of(&fault.pointer, kits, entries);
                    root.fault_at(&pointer, fault.code, fault.message, fault.mend);
                }
            });
            let question = pool.ok().and_then(|pool| self.ask(root, &pool, "", *set));
            match question {
                Some(question) => {
                    self.asked[question].copies = 1;
                    question_of.insert(*set, question);
                }
                None => fine = false,
            }
        }
        let mut rows = Vec::new();
        for (kit, entry) in entries.iter().enumerate() {
            for set in sets_of(entry) {
                let hoop_set = set.map(String::from);
                rows.extend(question_of.get(&set).map(|question| Row {
                    kit,
                    hoop_set,
                    question: *question,
                }));
            }
        }
        fine.then_some(rows)
    }

    /// Whether a scenario can be read; its faults are noted.
    fn readable(
        &mut self,
        root: &Node<'_>,
        scenario: &Value,
        pointer: &str,
        set: Option<&str>,
    ) -> bool {
        let read = scenario::read_value(scenario);
        let Err(faults) = read else {
            return true;
        };
        for fault in faults {
            // Those of a hoop set were told when it was read.
            if set.is_some() && fault.pointer.starts_with("/hoops") {
                continue;
            }
            let place = format!("{pointer}{}", fault.pointer);
            if self.noted.insert((place.clone(), fault.message.clone())) {
                root.fault_at(&place, fault.code, fault.message, fault.mend);
            }
        }
        false
    }

    /// The number of the question how this scenario is stitched; `None` where it is faulty.
    fn ask(
        &mut self,
        root: &Node<'_>,
        scenario: &Value,
        pointer: &str,
        set: Option<&str>,
    ) -> Option<usize> {
        let text = scenario.to_string();
        if let Some(known) = self.by_text.get(&text) {
            return Some(*known);
        }
        let mut faults = Vec::new();
        match scenario::read_value(scenario) {
            Ok(_) => {}
            Err(found) if set.is_some() && found.iter().all(is_about_hoops) => {
                faults = found
                    .into_iter()
                    .map(|fault| Fault {
                        pointer: format!("{pointer}{}", fault.pointer),
                        ..fault
                    })
                    .collect();
            }
            Err(_) => {
                self.readable(root, scenario, pointer, set);
                return None;
            }
        }
        let number = self.asked.len();
        self.by_text.insert(text.clone(), number);
        self.asked.push(Asked {
            scenario: text,
            copies: 0,
            faults,
        });
        Some(number)
    }
}

/// Whether a fault says only that a wish names a hoop which is not there.
fn is_about_hoops(fault: &Fault) -> bool {
    fault.code == FaultCode::UnknownId
        && fault.pointer.starts_with("/wishes/")
        && fault.pointer.contains("/hoop")
}

/// Where a fault of the pool stands in the batch: `/N/…` is a place in the scenario of its kit N.
fn place_of(fault: &str, kits: &[usize], entries: &[Entry<'_>]) -> String {
    let (number, rest) = match fault.strip_prefix('/').unwrap_or("").split_once('/') {
        Some((number, rest)) => (number, format!("/{rest}")),
        None => (fault.trim_start_matches('/'), String::new()),
    };
    let kit = number
        .parse()
        .ok()
        .and_then(|number: usize| kits.get(number));
    match kit.and_then(|kit| entries.get(*kit)) {
        Some(entry) => match &entry.scenario {
            Source::Own(node) => format!("{}{rest}", node.pointer()),
            Source::Named(name) => format!("{}{rest}", child("/scenarios", name)),
        },
        None => String::new(),
    }
}
