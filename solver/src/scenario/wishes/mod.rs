//! Wishes: what she wants of single strips and of every hooping, whatever the goal says.

mod resolve;

pub(super) use resolve::resolve;

use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::node::{Fields, Node, Span, all};

/// The most wishes of a scenario.
const MOST_WISHES: usize = 1_000;
/// The most names of strips or hoops that one wish lists.
const MOST_NAMES: usize = 10_000;
/// The most spots that one wish keeps joints away from.
const MOST_SPOTS: usize = 100;
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
    /// Every joint of a strip is at least so far from each of the spots.
    JointsAway {
        /// Where no joint should be.
        spots: Vec<Spot>,
        /// How far from there the nearest joint may be.
        distance: Length,
    },
    /// A strip's runs read the same from either end: two that mirror each other hold as many repeats of each size.
    Symmetric,
    /// Those of the strips that have one length, width and design are stitched with the same segments in the same runs.
    Alike,
}

/// A place along a strip.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Spot {
    /// Half of its finished length.
    Middle,
    /// So far from its finished left or top end.
    At(Length),
}

impl Wished {
    /// Whether it says which hoopings may hold which runs, or when.
    pub fn is_about_hoopings(&self) -> bool {
        match self {
            Wished::OnlyIn(_)
            | Wished::Together
            | Wished::Apart
            | Wished::First
            | Wished::AtMost(_) => true,
            Wished::OneSize | Wished::JointsAway { .. } | Wished::Symmetric | Wished::Alike => {
                false
            }
        }
    }

    /// Its name in the document.
    pub fn name(&self) -> &'static str {
        match self {
            Wished::OnlyIn(_) => "only_in",
            Wished::Together => "together",
            Wished::Apart => "apart",
            Wished::First => "first",
            Wished::AtMost(_) => "at_most",
            Wished::OneSize => "one_size",
            Wished::JointsAway { .. } => "joints_away",
            Wished::Symmetric => "symmetric",
            Wished::Alike => "alike",
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
    JointsAway,
    Symmetric,
    Alike,
}

/// The fields that some wishes have.
const FIELDS: [&str; 5] = ["strips", "hoops", "runs", "spots", "distance"];

impl Word {
    /// Whether its wish has a field.
    fn has(self, field: &str) -> bool {
        match field {
            "strips" => self != Word::AtMost,
            "hoops" => self == Word::OnlyIn,
            "runs" => self == Word::AtMost,
            _ => self == Word::JointsAway,
        }
    }
}

const WORDS: [(&str, Word); 9] = [
    ("only_in", Word::OnlyIn),
    ("together", Word::Together),
    ("apart", Word::Apart),
    ("first", Word::First),
    ("at_most", Word::AtMost),
    ("one_size", Word::OneSize),
    ("joints_away", Word::JointsAway),
    ("symmetric", Word::Symmetric),
    ("alike", Word::Alike),
];

/// Reads the list of wishes, whose lengths are in `unit`: those without fault, and whether that is all of them. Names of strips are
/// looked up later, by [`resolve`].
pub(super) fn read(node: &Node<'_>, unit: Unit) -> (Vec<Wish>, bool) {
    if node.is_empty_list() {
        return (Vec::new(), true);
    }
    let Some(items) = node.items("wish", MOST_WISHES) else {
        return (Vec::new(), false);
    };
    let wishes = items.iter().filter_map(|item| read_wish(item, unit));
    let wishes: Vec<Wish> = wishes.collect();
    let are_all = wishes.len() == items.len();
    (wishes, are_all)
}

fn read_wish(node: &Node<'_>, unit: Unit) -> Option<Wish> {
    let fields = node.fields(&["wish", "strips", "hoops", "runs", "spots", "distance"])?;
    let word = fields
        .need("wish", "what is wished, such as \"together\"")?
        .word(&WORDS)?;
    let mut fine = true;
    for name in FIELDS {
        if let Some(field) = fields.get(name).filter(|_| !word.has(name)) {
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
    let strips = if word.has("strips") {
        names(&fields, "strips", "the ids of the strips that it is about")
    } else {
        Some(Vec::new())
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
        Word::JointsAway => joints_away(&fields, unit),
        Word::Symmetric => Some(Wished::Symmetric),
        Word::Alike => Some(Wished::Alike),
    };
    Some(Wish {
        strips: strips?,
        what: what?,
        pointer: node.pointer().to_string(),
    })
    .filter(|_| fine)
}

fn joints_away(fields: &Fields<'_>, unit: Unit) -> Option<Wished> {
    let spots = fields.or("spots", vec![Spot::Middle], |node| {
        let items = node.items("spot", MOST_SPOTS)?;
        all(items.iter().map(|item| spot(item, unit)))
    });
    let distance = fields
        .need("distance", "how far from there the nearest joint may be")
        .and_then(|node| node.length(unit, Span::Positive));
    Some(Wished::JointsAway {
        spots: spots?,
        distance: distance?,
    })
}

fn spot(node: &Node<'_>, unit: Unit) -> Option<Spot> {
    if node.is_word("middle") {
        return Some(Spot::Middle);
    }
    node.length(unit, Span::ZeroOrMore).map(Spot::At)
}

fn names(fields: &Fields<'_>, field: &str, purpose: &str) -> Option<Vec<String>> {
    let node = fields.need(field, purpose)?;
    let items = node.items("id", MOST_NAMES)?;
    all(items.iter().map(Node::text))
}
