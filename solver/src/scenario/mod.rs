//! The scenario: what she wants stitched, what she owns, and what counts.
//!
//! [`read`] turns a JSON document into a [`Scenario`] or into the list of all its faults. The sections of the
//! document are files of this folder.

mod allowances;
mod begun;
mod designs;
mod goal;
mod hoops;
mod materials;
mod measured;
pub(crate) mod node;
mod quilt;
mod quilts;
mod rates;
mod rules;
mod schema;
mod wishes;

pub use allowances::Allowances;
pub use begun::{Begun, DoneEnd};
pub use designs::{Design, ScaleRange, Size};
pub use goal::{Goal, Price, Term};
pub use hoops::Hoop;
pub use materials::{
    Batting, BattingBy, Bolt, Fabric, LongStrips, Materials, OnHand, Sheet, Stabilizer, Stocks,
    Tape, Thread,
};
pub use measured::MeasuredStrip;
pub use quilt::{
    Border, BorderCorner, Centre, Cope, First, Quilt, Sashing, Side, StripEntry, Widths,
};
pub use quilts::QuiltEntry;
pub use rates::Rates;
pub use rules::{Align, Growth, Rules};
pub use schema::scenario_schema;
pub use wishes::{Spot, Wish, Wished};

use std::collections::HashMap;
use std::time::Duration;

use serde_json::Value;

use crate::exact::Exact;
use crate::fault::{Fault, FaultCode};
use crate::length::Unit;
use node::{Node, all, read_document};

/// The most strips that a scenario may have, counting each copy.
pub const MOST_STRIPS: usize = 100_000;
/// The most hoops, designs, borders, or sizes of one design.
const MOST_ENTRIES: usize = 100;
/// The most entries under `strips` and `designs`.
pub(crate) const MOST_LISTED: usize = 10_000;
/// The longest time that a plan may be asked to take.
const MOST_SECONDS: i128 = 3600;

/// A scenario that has been read and found without fault.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// A name for people; may be empty.
    pub name: String,
    /// The unit of the document's lengths, and of the plan's.
    pub unit: Unit,
    /// The quilt top, where one is described.
    pub quilt: Option<Quilt>,
    /// Further quilt tops, each with a name and in so many copies.
    pub quilts: Vec<QuiltEntry>,
    /// Strips that are listed one by one.
    pub strips: Vec<StripEntry>,
    /// The hoops that she owns.
    pub hoops: Vec<Hoop>,
    /// Hoops that she does not own: a plan makes no use of them, a comparison tells what each would bring.
    pub candidates: Vec<Hoop>,
    /// The designs that she owns.
    pub designs: Vec<Design>,
    /// Seam, trim and gap.
    pub allowances: Allowances,
    /// What is allowed and how strips are stitched.
    pub rules: Rules,
    /// What is best.
    pub goal: Goal,
    /// What is hooped, cut and stitched with.
    pub materials: Materials,
    /// How long the work takes.
    pub rates: Rates,
    /// Lengths of single strips, read off the cloth.
    pub measured: Vec<MeasuredStrip>,
    /// The strips that carry stitching already.
    pub begun: Vec<Begun>,
    /// What she wants of single strips and of every hooping.
    pub wishes: Vec<Wish>,
    /// How long a plan may take.
    pub time_limit: Duration,
}

/// Indices of designs by id, for the sections that refer to them.
type DesignIds = HashMap<String, usize>;

const KNOWN: &[&str] = &[
    "format",
    "name",
    "unit",
    "quilt",
    "quilts",
    "strips",
    "hoops",
    "candidates",
    "designs",
    "allowances",
    "rules",
    "goal",
    "materials",
    "rates",
    "measured",
    "begun",
    "wishes",
    "limits",
];

/// Reads a scenario document.
///
/// # Errors
/// Every fault of the document, in the order of its sections; at least one.
pub fn read(document: &[u8]) -> Result<Scenario, Vec<Fault>> {
    read_document(document, read_root)
}

/// Reads a scenario document that is there as a JSON value.
///
/// # Errors
/// As for [`read`].
pub fn read_value(document: &Value) -> Result<Scenario, Vec<Fault>> {
    node::read_value(document, read_root)
}

/// Reads a list of hoops as a scenario of that unit has it.
pub(crate) fn read_hoops(node: &Node<'_>, unit: Unit) -> Option<Vec<Hoop>> {
    hoops::read(node, unit, &[])
}

fn read_root(root: &Node<'_>) -> Option<Scenario> {
    if is_plan(root.value()) {
        root.fault(
            FaultCode::WrongKind,
            "This is a plan, not a scenario.",
            "Give the scenario that it was made for: the document with the strips, hoops and designs.",
        );
        return None;
    }
    let fields = root.fields(KNOWN)?;
    let format = fields
        .need("format", "the number 1, the version of this document")
        .and_then(|node| node.whole(1, 1));
    let name = fields.or("name", String::new(), read_name);
    let unit = fields
        .need("unit", "\"in\" or \"mm\"")
        .and_then(|node| node.word(&[("in", Unit::Inch), ("mm", Unit::Millimetre)]));
    // With an unknown unit the rest is read as inches, so that its faults come in the same pass.
    let assumed = unit.unwrap_or(Unit::Inch);

    let designs = fields
        .need("designs", "the designs that you own, each with its sizes")
        .and_then(|node| designs::read(&node, assumed));
    let ids = designs::ids(fields.get("designs"));
    let hoops = fields
        .need("hoops", "the hoops that you own")
        .and_then(|node| hoops::read(&node, assumed, &[]));
    let owned = hoops.as_deref().unwrap_or_default();
    let candidates = fields.or("candidates", Vec::new(), |node| {
        hoops::read(node, assumed, owned)
    });
    let quilt = fields.maybe("quilt", |node| quilt::read(node, assumed, &ids));
    let quilts = fields.or("quilts", Vec::new(), |node| {
        quilts::read(node, assumed, &ids)
    });
    let strips = fields.or("strips", Vec::new(), |node| {
        let items = node.items("strip", MOST_LISTED)?;
        all(items
            .iter()
            .map(|item| quilt::read_entry(item, assumed, &ids)))
    });
    if ["quilt", "quilts", "strips"]
        .iter()
        .all(|name| fields.get(name).is_none())
    {
        root.fault(
            FaultCode::MissingField,
            "There is neither a \"quilt\" nor a list of \"quilts\" or \"strips\".",
            "Add one of them, or several.",
        );
    }
    let allowances = fields.or("allowances", Allowances::default(), |node| {
        allowances::read(node, assumed)
    });
    let rules = fields.or("rules", Rules::default(), |node| rules::read(node, assumed));
    let goal = fields.or("goal", Goal::default(), goal::read);
    let materials = fields.or("materials", Materials::default(), |node| {
        materials::read(node, assumed)
    });
    let rates = fields.or("rates", Rates::default(), rates::read);
    let time_limit = fields.or("limits", Duration::from_secs(10), read_limits);
    let measured = fields.or("measured", Vec::new(), |node| measured::read(node, assumed));
    let begun = fields.or("begun", Vec::new(), |node| begun::read(node, assumed));
    let (wishes, all_wishes) = fields
        .get("wishes")
        .map_or((Vec::new(), true), |node| wishes::read(&node, assumed));
    let is_whole = [
        format.is_some(),
        name.is_some(),
        allowances.is_some(),
        rules.is_some(),
        goal.is_some(),
        materials.is_some(),
        rates.is_some(),
        measured.is_some(),
        begun.is_some(),
        time_limit.is_some(),
        hoops.is_some(),
        candidates.is_some(),
        all_wishes,
    ];
    // What names in wishes stand for is looked up though there are faults elsewhere, unless these say what strips there are.
    let has_hoops = hoops.is_some() && candidates.is_some();
    let (has_lengths, has_parts, has_roll) = (
        measured.is_some(),
        measured.is_some() && begun.is_some(),
        materials.is_some() && has_hoops,
    );
    let mut scenario = Scenario {
        name: name.unwrap_or_default(),
        unit: unit?,
        quilt: quilt?,
        quilts: quilts?,
        strips: strips?,
        candidates: candidates.unwrap_or_default(),
        hoops: hoops.unwrap_or_default(),
        designs: designs?,
        allowances: allowances.unwrap_or_default(),
        rules: rules.unwrap_or_default(),
        goal: goal.unwrap_or_default(),
        materials: materials.unwrap_or_default(),
        rates: rates.unwrap_or_default(),
        measured: measured.unwrap_or_default(),
        begun: begun.unwrap_or_default(),
        wishes,
        time_limit: time_limit.unwrap_or_default(),
    };
    if has_lengths {
        quilt::check_strips(&scenario, root);
        measured::check(&scenario, root);
        begun::check(&scenario, root);
    }
    if has_parts {
        wishes::resolve(&mut scenario, has_hoops, root);
    }
    goal::check_stitches(&scenario, root);
    if has_roll {
        goal::check_roll(&scenario, root);
    }
    is_whole.iter().all(|there| *there).then_some(scenario)
}

/// Whether a document is a plan, all of whose fields would be unknown here.
fn is_plan(document: &Value) -> bool {
    let has = |name: &str| document.get(name).is_some();
    has("hoopings") && has("objective") && !has("designs")
}

/// The scenario's name; unlike an id it may be empty.
fn read_name(node: &Node<'_>) -> Option<String> {
    if node.is_empty_text() {
        return Some(String::new());
    }
    node.text()
}

fn read_limits(node: &Node<'_>) -> Option<Duration> {
    let wanted = "a number of seconds of more than 0 and at most 3600";
    let fields = node.fields(&["seconds"])?;
    fields.or("seconds", Duration::from_secs(10), |node| {
        let seconds = node.exact(wanted)?;
        let milliseconds = seconds
            .times_rounded(1000)
            // Less than a millisecond is one.
            .map(|value| value.max(i128::from(seconds > Exact::ZERO)))
            .filter(|value| (1..=MOST_SECONDS * 1000).contains(value))
            .and_then(|value| u64::try_from(value).ok());
        if milliseconds.is_none() {
            node.fault(
                FaultCode::OutOfRange,
                format!("The limit is {seconds} seconds."),
                format!("Give {wanted}."),
            );
        }
        milliseconds.map(Duration::from_millis)
    })
}

/// Notes a fault for each id that an earlier entry has already.
fn refuse_twins<'a>(entries: impl Iterator<Item = (&'a str, &'a Node<'a>)>, what: &str) {
    let mut seen: HashMap<&str, &str> = HashMap::new();
    for (id, node) in entries {
        match seen.get(id) {
            Some(first) => node.fault(
                FaultCode::DuplicateId,
                format!("The {what} id {id:?} is already used at {first}."),
                "Give each an id of its own.",
            ),
            None => {
                seen.insert(id, node.pointer());
            }
        }
    }
}
