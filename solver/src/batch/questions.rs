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

/// A kit with one of its hoop sets.
pub(super) struct Asking<'e> {
    pub entry: &'e Entry<'e>,
    /// Its scenario as it is told, and where that stands.
    pub scenario: &'e Value,
    pub pointer: &'e str,
    /// The hoop set; none where the scenario's own hoops are meant.
    pub set: Option<&'e str>,
    shelf: &'e Shelf<'e>,
}

impl Asking<'_> {
    /// The scenario with the hoops that it is asked for.
    pub(super) fn with_hoops(&self) -> Value {
        match self.set.and_then(|set| self.shelf.sets.get(set)) {
            Some(set) => set.put_into(self.scenario),
            None => self.scenario.clone(),
        }
    }
}

/// How kits ask: each by itself, or together.
pub(super) trait Asks<'e> {
    /// What is known of a scenario with the hoops of a set.
    type Read: Clone;

    /// Reads a scenario; `None` where it is faulty, which is noted. Called once for a scenario with a name and a set.
    fn read(&mut self, root: &Node<'_>, asking: &Asking<'e>) -> Option<Self::Read>;

    /// The number of the question that the kit asks.
    fn ask(&mut self, root: &Node<'_>, asking: &Asking<'e>, read: Self::Read) -> Option<usize>;

    /// How many questions there are so far.
    fn count(&self) -> usize;
}

/// Each kit with each of its hoop sets; `None` where a scenario is faulty, or where they ask too much.
pub(super) fn rows<'e, A: Asks<'e>>(
    root: &Node<'_>,
    entries: &'e [Entry<'e>],
    shelf: &'e Shelf<'e>,
    asks: &mut A,
) -> Option<Vec<Row>> {
    let mut rows = Vec::new();
    let mut fine = true;
    // Of scenarios with a name it is known at once what they ask.
    let mut by_name: HashMap<(&str, Option<&str>), Option<A::Read>> = HashMap::new();
    for (kit, entry) in entries.iter().enumerate() {
        let (scenario, pointer) = scenario_of(entry, shelf)?;
        for set in sets_of(entry) {
            let asking = Asking {
                entry,
                scenario,
                pointer,
                set,
                shelf,
            };
            let read = match &entry.scenario {
                Source::Named(name) => by_name
                    .entry((name, set))
                    .or_insert_with(|| asks.read(root, &asking))
                    .clone(),
                Source::Own(_) => asks.read(root, &asking),
            };
            match read.and_then(|read| asks.ask(root, &asking, read)) {
                Some(question) => rows.push(Row {
                    kit,
                    hoop_set: set.map(String::from),
                    question,
                }),
                None => fine = false,
            }
        }
        if asks.count() > MOST_QUESTIONS {
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

/// Each kit with each of its hoop sets, and the different questions that they ask, each by itself; `None` where one of their scenarios is
/// faulty.
pub(super) fn of<'e>(
    root: &Node<'_>,
    entries: &'e [Entry<'e>],
    shelf: &'e Shelf<'e>,
) -> Option<(Vec<Row>, Vec<Asked>)> {
    let mut questions = Questions::default();
    let rows = rows(root, entries, shelf, &mut questions)?;
    Some((rows, questions.asked))
}

impl<'e> Asks<'e> for Questions {
    type Read = usize;

    fn read(&mut self, root: &Node<'_>, asking: &Asking<'e>) -> Option<usize> {
        self.number(root, &asking.with_hoops(), asking)
    }

    fn ask(&mut self, _: &Node<'_>, asking: &Asking<'e>, question: usize) -> Option<usize> {
        let asked = self.asked.get_mut(question)?;
        asked.copies = asked.copies.saturating_add(asking.entry.kit.copies);
        Some(question)
    }

    fn count(&self) -> usize {
        self.asked.len()
    }
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

impl Questions {
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

    pub(super) fn into_asked(self) -> Vec<Asked> {
        self.asked
    }

    /// Notes the faults of a scenario, with their places in the batch.
    pub(super) fn note(&mut self, root: &Node<'_>, faults: Vec<Fault>, asking: &Asking<'_>) {
        for fault in faults {
            // Those of a hoop set were told when it was read.
            if asking.set.is_some() && fault.pointer.starts_with("/hoops") {
                continue;
            }
            let place = format!("{}{}", asking.pointer, fault.pointer);
            if self.noted.insert((place.clone(), fault.message.clone())) {
                root.fault_at(&place, fault.code, fault.message, fault.mend);
            }
        }
    }

    /// The number of the question how this scenario is stitched; `None` where it is faulty.
    pub(super) fn number(
        &mut self,
        root: &Node<'_>,
        scenario: &Value,
        asking: &Asking<'_>,
    ) -> Option<usize> {
        let text = scenario.to_string();
        if let Some(known) = self.by_text.get(&text) {
            return Some(*known);
        }
        let mut faults = Vec::new();
        match scenario::read_value(scenario) {
            Ok(_) => {}
            Err(found) if asking.set.is_some() && found.iter().all(is_about_hoops) => {
                faults = found
                    .into_iter()
                    .map(|fault| Fault {
                        pointer: format!("{}{}", asking.pointer, fault.pointer),
                        ..fault
                    })
                    .collect();
            }
            Err(found) => {
                self.note(root, found, asking);
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
