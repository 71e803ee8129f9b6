//! Wishes: what she wants of single strips and of every hooping, whatever the goal says.

use std::collections::BTreeSet;

use crate::fault::FaultCode;
use crate::scenario::Scenario;
use crate::scenario::node::{Fields, Node, all};
use crate::strips::{self, Stage};

/// The most wishes of a scenario.
const MOST_WISHES: usize = 1_000;
/// The most names of strips or hoops that one wish lists.
const MOST_NAMES: usize = 10_000;
/// The most runs that a hooping could be limited to.
const MOST_RUNS: u64 = 1_000;

/// One wish.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Wish {
    /// Ids of the strips that it is about, each once; none where it is about every hooping.
    pub strips: Vec<String>,
    /// What is wished.
    pub what: Wished,
    /// Where the scenario says so (JSON Pointer).
    pub pointer: String,
}

/// What is wished.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Wished {
    /// Every run of the strips is stitched in one of these hoops (ids).
    OnlyIn(Vec<String>),
    /// The strips are stitched in one and the same hooping, each in one run.
    Together,
    /// No hooping holds runs of two of the strips.
    Apart,
    /// The hoopings that hold runs of these strips come before all others.
    First,
    /// A hooping holds at most so many runs.
    AtMost(usize),
    /// All segments of a strip are of one size.
    OneSize,
}

impl Wished {
    /// Its name in the document.
    pub fn name(&self) -> &'static str {
        match self {
            Wished::OnlyIn(_) => "only_in",
            Wished::Together => "together",
            Wished::Apart => "apart",
            Wished::First => "first",
            Wished::AtMost(_) => "at_most",
            Wished::OneSize => "one_size",
        }
    }
}

/// The words of a wish, before its own fields are read.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Word {
    OnlyIn,
    Together,
    Apart,
    First,
    AtMost,
    OneSize,
}

const WORDS: [(&str, Word); 6] = [
    ("only_in", Word::OnlyIn),
    ("together", Word::Together),
    ("apart", Word::Apart),
    ("first", Word::First),
    ("at_most", Word::AtMost),
    ("one_size", Word::OneSize),
];

/// Reads the list of wishes. Names of strips are looked up later, by [`resolve`].
pub(super) fn read(node: &Node<'_>) -> Option<Vec<Wish>> {
    if node.is_empty_list() {
        return Some(Vec::new());
    }
    let items = node.items("wish", MOST_WISHES)?;
    all(items.iter().map(read_wish))
}

fn read_wish(node: &Node<'_>) -> Option<Wish> {
    let fields = node.fields(&["wish", "strips", "hoops", "runs"])?;
    let word = fields
        .need("wish", "what is wished, such as \"together\"")?
        .word(&WORDS)?;
    let about_hoopings = word == Word::AtMost;
    let belongs = |name: &str| match name {
        "strips" => !about_hoopings,
        "hoops" => word == Word::OnlyIn,
        _ => about_hoopings,
    };
    let mut fine = true;
    for name in ["strips", "hoops", "runs"] {
        if let Some(field) = fields.get(name).filter(|_| !belongs(name)) {
            let known = WORDS.iter().find(|(_, of)| *of == word);
            field.fault(
                FaultCode::Conflict,
                format!(
                    "A wish {:?} has no \"{name}\".",
                    known.map_or("", |(word, _)| word)
                ),
                "Take the field out.",
            );
            fine = false;
        }
    }
    let strips = if about_hoopings {
        Some(Vec::new())
    } else {
        names(&fields, "strips", "the ids of the strips that it is about")
    };
    let what = match word {
        Word::OnlyIn => {
            names(&fields, "hoops", "the ids of the hoops that may be used").map(Wished::OnlyIn)
        }
        Word::AtMost => fields
            .need("runs", "how many runs a hooping may hold")
            .and_then(|node| node.whole(1, MOST_RUNS))
            .map(|runs| Wished::AtMost(usize::try_from(runs).unwrap_or(usize::MAX))),
        Word::Together => Some(Wished::Together),
        Word::Apart => Some(Wished::Apart),
        Word::First => Some(Wished::First),
        Word::OneSize => Some(Wished::OneSize),
    };
    Some(Wish {
        strips: strips?,
        what: what?,
        pointer: node.pointer().to_string(),
    })
    .filter(|_| fine)
}

fn names(fields: &Fields<'_>, field: &str, purpose: &str) -> Option<Vec<String>> {
    let node = fields.need(field, purpose)?;
    let items = node.items("id", MOST_NAMES)?;
    all(items.iter().map(Node::text))
}

/// Looks up the strips and hoops that wishes name. A name stands for the strip with this id, or where there is none for
/// every strip whose id begins with it and a dash: `border-1`, or `tie` for `tie-1` and `tie-2`.
pub(super) fn resolve(scenario: &mut Scenario, root: &Node<'_>) {
    if scenario.wishes.is_empty() || strips::count(scenario) > 1_000_000 {
        return;
    }
    let left = strips::of(scenario).strips.into_iter();
    let left = left.filter(|strip| !matches!(strip.stage, Stage::Done { .. }));
    let ids: Vec<String> = left.map(|strip| strip.id).collect();
    let by_id: BTreeSet<&str> = ids.iter().map(String::as_str).collect();
    let mut first: Option<String> = None;
    let mut wishes = std::mem::take(&mut scenario.wishes);
    for wish in &mut wishes {
        let mut found: BTreeSet<String> = BTreeSet::new();
        for (place, name) in wish.strips.iter().enumerate() {
            let before = found.len();
            if by_id.contains(name.as_str()) {
                found.insert(name.clone());
            } else {
                let start = format!("{name}-");
                let range = by_id.range(start.as_str()..);
                let several = range.take_while(|id| id.starts_with(&start));
                found.extend(several.map(|id| id.to_string()));
            }
            if found.len() == before {
                let pointer = format!("{}/strips/{place}", wish.pointer);
                let known = by_id.contains(name.as_str())
                    || ids.iter().any(|id| id.starts_with(&format!("{name}-")));
                let (code, message, mend) = if known {
                    (
                        FaultCode::DuplicateId,
                        format!("The strip {name:?} is named twice in this wish."),
                        "Name each strip once.".to_string(),
                    )
                } else {
                    (
                        FaultCode::UnknownId,
                        format!("There is no stitched strip {name:?}."),
                        format!(
                            "Name strips as a plan does, such as {:?}.",
                            ids.first().map_or("", String::as_str)
                        ),
                    )
                };
                root.fault_at(&pointer, code, message, mend);
            }
        }
        let needs_two = matches!(wish.what, Wished::Together | Wished::Apart);
        if needs_two && found.len() == 1 {
            root.fault_at(
                &wish.pointer,
                FaultCode::OutOfRange,
                format!(
                    "A wish {:?} about a single strip says nothing.",
                    wish.what.name()
                ),
                "Name two strips or more.",
            );
        }
        wish.strips = found.into_iter().collect();
        if let Wished::OnlyIn(hoops) = &wish.what {
            let known = |id: &String| {
                scenario
                    .hoops
                    .iter()
                    .chain(&scenario.candidates)
                    .any(|hoop| hoop.id == *id)
            };
            for (place, id) in hoops.iter().enumerate().filter(|(_, id)| !known(id)) {
                root.fault_at(
                    &format!("{}/hoops/{place}", wish.pointer),
                    FaultCode::UnknownId,
                    format!("There is no hoop {id:?}."),
                    "Name hoops of this scenario.",
                );
            }
        }
        if wish.what == Wished::First {
            if let Some(other) = &first {
                root.fault_at(
                    &wish.pointer,
                    FaultCode::Conflict,
                    format!("The wish at {other} says already what comes first."),
                    "Name all strips that come first in one wish.",
                );
            }
            first.get_or_insert(wish.pointer.clone());
        }
    }
    scenario.wishes = wishes;
}
