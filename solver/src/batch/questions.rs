//! From kits to the different questions that they ask.

use std::collections::{HashMap, HashSet};

use serde_json::Value;

use super::document::{Entry, Row, Shelf, Source};
use crate::fault::{Fault, FaultCode};
use crate::scenario;
use crate::scenario::node::Node;

/// The most different questions of a batch.
pub const MOST_QUESTIONS: usize = 10_000;

/// A question that kits ask: how is this scenario stitched?
#[derive(Clone, Debug)]
pub struct Asked {
    /// The scenario document (JSON), with the hoops that it is asked for.
    pub scenario: String,
    /// How many copies of the scenario are made in all.
    pub copies: u64,
    /// Why it cannot be asked at all with these hoops: wishes that name hoops which the set does not have.
    pub faults: Vec<Fault>,
}

/// The questions so far.
#[derive(Default)]
pub(super) struct Questions {
    asked: Vec<Asked>,
    by_text: HashMap<String, usize>,
    /// What was noted already: the same fault of a scenario shows up with each hoop set.
    noted: HashSet<(String, String)>,
}

/// Each kit with each of its hoop sets, and the different questions that they ask; `None` where one of their scenarios is faulty.
pub(super) fn of(
    root: &Node<'_>,
    entries: &[Entry<'_>],
    shelf: &Shelf<'_>,
) -> Option<(Vec<Row>, Vec<Asked>)> {
    let mut questions = Questions::default();
    let rows = questions.rows(root, entries, shelf)?;
    Some((rows, questions.asked))
}

/// The scenario of a kit, and where it stands.
pub(super) fn scenario_of<'e>(
    entry: &'e Entry<'_>,
    shelf: &'e Shelf<'_>,
) -> Option<(&'e Value, &'e str)> {
    let node = match &entry.scenario {
        Source::Own(node) => node,
        Source::Named(name) => shelf.scenarios.get(name)?,
    };
    Some((node.value(), node.pointer()))
}

/// The names of a kit's hoop sets; one that is none where the scenario's own hoops are meant.
pub(super) fn sets_of<'e>(entry: &'e Entry<'_>) -> Vec<Option<&'e str>> {
    if entry.hoop_sets.is_empty() {
        return vec![None];
    }
    entry
        .hoop_sets
        .iter()
        .map(|set| Some(set.as_str()))
        .collect()
}

pub(super) fn with_hoops(scenario: &Value, set: Option<&str>, shelf: &Shelf<'_>) -> Value {
    match set.and_then(|set| shelf.sets.get(set)) {
        Some(set) => set.put_into(scenario),
        None => scenario.clone(),
    }
}

impl Questions {
    /// Each kit with each of its hoop sets; what they ask is noted.
    fn rows(
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

    /// The number of a question that is not known yet, for kits that ask it together: it is planned once, whatever is in it.
    pub(super) fn reserve(&mut self) -> usize {
        self.asked.push(Asked {
            scenario: String::new(),
            copies: 1,
            faults: Vec::new(),
        });
        self.asked.len() - 1
    }

    /// Says what a reserved question is.
    pub(super) fn fill(&mut self, question: usize, scenario: &Value) {
        if let Some(asked) = self.asked.get_mut(question) {
            asked.scenario = scenario.to_string();
        }
    }

    /// The number of the question how this scenario is stitched, which so many copies more ask.
    pub(super) fn ask_for(
        &mut self,
        root: &Node<'_>,
        scenario: &Value,
        pointer: &str,
        set: Option<&str>,
        copies: u64,
    ) -> Option<usize> {
        let question = self.ask(root, scenario, pointer, set)?;
        let asked = self.asked.get_mut(question)?;
        asked.copies = asked.copies.saturating_add(copies);
        Some(question)
    }

    pub(super) fn into_asked(self) -> Vec<Asked> {
        self.asked
    }

    /// Notes the faults of a scenario, with their places in the batch.
    pub(super) fn note(
        &mut self,
        root: &Node<'_>,
        faults: Vec<Fault>,
        pointer: &str,
        set: Option<&str>,
    ) {
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
            Err(found) => {
                self.note(root, found, pointer, set);
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
