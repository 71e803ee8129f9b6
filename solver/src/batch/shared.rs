//! From kits to questions where strips of different kits may meet in a hooping: all kits of a hoop set ask one question together.

use std::collections::HashMap;
use std::rc::Rc;
use std::time::Duration;

use serde_json::Value;

use super::document::{Entry, Row, Shelf, Source};
use super::pool::{Member, together};
use super::questions::{Asked, Questions, scenario_of, sets_of, with_hoops};
use crate::deadline::{Deadline, StopSignal};
use crate::scenario::node::Node;
use crate::scenario::{self, Scenario};
use crate::strips;
use crate::wishes::all_stitchable;

/// How long it may take to find out which kits can be stitched at all. Past that the others are taken to be among them: their plan says
/// which strips cannot.
const LOOKING: Duration = Duration::from_secs(10);

/// A scenario with the hoops that it is asked for, read.
pub(super) struct Told {
    /// The document.
    pub document: Value,
    pub scenario: Scenario,
    /// Whether each of its strips can be stitched, or is left out where it cannot.
    makeable: bool,
}

/// The kits of one hoop set.
struct Pool<'e> {
    set: Option<&'e str>,
    /// The number of their question.
    question: usize,
    members: Vec<Member<'e>>,
}

/// Each kit with each of its hoop sets, and the questions that they ask: one for all kits of a set. A kit that cannot be stitched with a
/// set asks by itself, so that it is known why, and keeps nobody else from it.
pub(super) fn of(
    root: &Node<'_>,
    name: &str,
    entries: &[Entry<'_>],
    shelf: &Shelf<'_>,
) -> Option<(Vec<Row>, Vec<Asked>)> {
    let mut questions = Questions::default();
    let deadline = Deadline::after(LOOKING, StopSignal::new());
    let mut rows = Vec::new();
    let mut pools: Vec<Pool<'_>> = Vec::new();
    let mut by_set: HashMap<Option<&str>, usize> = HashMap::new();
    let mut by_name: HashMap<(&str, Option<&str>), Option<Rc<Told>>> = HashMap::new();
    let mut fine = true;
    for (kit, entry) in entries.iter().enumerate() {
        let (scenario, pointer) = scenario_of(entry, shelf)?;
        for set in sets_of(entry) {
            let mut read = || {
                let document = with_hoops(scenario, set, shelf);
                tell(root, &mut questions, document, pointer, set, &deadline)
            };
            let told = match &entry.scenario {
                Source::Named(name) => by_name.entry((name, set)).or_insert_with(read).clone(),
                Source::Own(_) => read(),
            };
            let Some(told) = told else {
                fine = false;
                continue;
            };
            let question = if told.makeable {
                let place = *by_set.entry(set).or_insert_with(|| {
                    pools.push(Pool {
                        set,
                        question: questions.reserve(),
                        members: Vec::new(),
                    });
                    pools.len() - 1
                });
                let pool = pools.get_mut(place)?;
                pool.members.push(Member {
                    kit: &entry.kit,
                    place: &entry.pointer,
                    pointer,
                    told,
                });
                pool.question
            } else {
                questions.ask_for(root, &told.document, pointer, set, entry.kit.copies)?
            };
            rows.push(Row {
                kit,
                hoop_set: set.map(String::from),
                question,
            });
        }
    }
    for pool in &pools {
        let title = match pool.set {
            None => name.to_string(),
            Some(set) if name.is_empty() => set.to_string(),
            Some(set) => format!("{name}: {set}"),
        };
        match together(root, &title, &pool.members) {
            Some(document) => questions.fill(pool.question, &document),
            None => fine = false,
        }
    }
    fine.then(|| (rows, questions.into_asked()))
}

/// Reads a scenario; `None` where it is faulty, which is noted.
fn tell(
    root: &Node<'_>,
    questions: &mut Questions,
    document: Value,
    pointer: &str,
    set: Option<&str>,
    deadline: &Deadline,
) -> Option<Rc<Told>> {
    let scenario = match scenario::read_value(&document) {
        Ok(scenario) => scenario,
        Err(faults) => {
            questions.note(root, faults, pointer, set);
            return None;
        }
    };
    let makeable = scenario.rules.allow_partial
        || deadline.over()
        || all_stitchable(&scenario, &strips::of(&scenario), deadline);
    Some(Rc::new(Told {
        document,
        scenario,
        makeable,
    }))
}
