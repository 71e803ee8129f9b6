//! From kits to questions where strips of different kits may meet in a hooping: all kits of a hoop set ask one question together.

use std::collections::HashMap;
use std::rc::Rc;
use std::time::Duration;

use serde_json::Value;

use super::document::{Entry, Row, Shelf};
use super::pool::{Member, together};
use super::questions::{Asked, Asking, Asks, Questions, rows};
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

/// The kits of each hoop set so far, and the questions that they ask.
struct Pools<'e> {
    questions: Questions,
    pools: Vec<Pool<'e>>,
    by_set: HashMap<Option<&'e str>, usize>,
    looking: Deadline,
}

/// Each kit with each of its hoop sets, and the questions that they ask: one for all kits of a set. A kit that cannot be stitched with a
/// set asks by itself, so that it is known why, and keeps nobody else from it.
pub(super) fn of<'e>(
    root: &Node<'_>,
    name: &str,
    entries: &'e [Entry<'e>],
    shelf: &'e Shelf<'e>,
) -> Option<(Vec<Row>, Vec<Asked>)> {
    let mut pools = Pools {
        questions: Questions::default(),
        pools: Vec::new(),
        by_set: HashMap::new(),
        looking: Deadline::after(LOOKING, StopSignal::new()),
    };
    // Faults of several kinds are told together.
    let rows = rows(root, entries, shelf, &mut pools);
    let Pools {
        mut questions,
        pools,
        ..
    } = pools;
    let mut fine = true;
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
    rows.filter(|_| fine)
        .map(|rows| (rows, questions.into_asked()))
}

impl<'e> Asks<'e> for Pools<'e> {
    type Read = Rc<Told>;

    fn read(&mut self, root: &Node<'_>, asking: &Asking<'e>) -> Option<Rc<Told>> {
        let document = asking.with_hoops();
        let scenario = match scenario::read_value(&document) {
            Ok(scenario) => scenario,
            Err(faults) => {
                self.questions.note(root, faults, asking);
                return None;
            }
        };
        let makeable = scenario.rules.allow_partial
            || self.looking.over()
            || all_stitchable(&scenario, &strips::of(&scenario), &self.looking);
        Some(Rc::new(Told {
            document,
            scenario,
            makeable,
        }))
    }

    fn ask(&mut self, root: &Node<'_>, asking: &Asking<'e>, told: Rc<Told>) -> Option<usize> {
        if !told.makeable {
            let question = self.questions.number(root, &told.document, asking)?;
            return self.questions.ask(root, asking, question);
        }
        let place = *self.by_set.entry(asking.set).or_insert_with(|| {
            self.pools.push(Pool {
                set: asking.set,
                question: self.questions.reserve(),
                members: Vec::new(),
            });
            self.pools.len() - 1
        });
        let pool = self.pools.get_mut(place)?;
        pool.members.push(Member {
            kit: &asking.entry.kit,
            place: &asking.entry.pointer,
            pointer: asking.pointer,
            told,
        });
        Some(pool.question)
    }

    fn count(&self) -> usize {
        self.questions.count()
    }
}
