//! The cloths of a quilt top: fabrics, batting, backing, and the tape that holds them.

use crate::exact::Exact;
use crate::length::{Length, Unit};
use crate::scenario::materials::stocks::{self, FIELDS, Stocks, price};
use crate::scenario::node::{Node, Span, all};
use crate::scenario::refuse_twins;

/// The most fabrics.
const MOST_FABRICS: usize = 50;
/// The most names that one fabric is told to be for.
const MOST_NAMES: usize = 1_000;
/// Usable width of quilting fabric: 40 in between the selvages (common practice).
const USUAL_FABRIC: Length = Length::from_nanometres(40 * 25_400_000);
/// Width of batting from the bolt: 90 in (common practice).
const USUAL_BATTING: Length = Length::from_nanometres(90 * 25_400_000);
/// Width of fusible backing from the bolt: 20 in (common practice).
const USUAL_BACKING: Length = Length::from_nanometres(20 * 25_400_000);
/// Half an inch (common practice).
const HALF_AN_INCH: Length = Length::from_nanometres(12_700_000);

/// A fabric and what is cut from it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fabric {
    /// Its name.
    pub id: String,
    /// Ids of strips, or beginnings of ids up to a dash, that are cut from it; none where it is for all that no other one is for.
    pub names: Vec<String>,
    /// What becomes of strips that are longer than the cloth is wide.
    pub long_strips: LongStrips,
    /// What it is cut from.
    pub stocks: Stocks,
}

impl Stocks {
    /// What fabric is cut from where nothing is told of it: one bolt of the usual width.
    pub fn of_usual_fabric() -> Stocks {
        Stocks::of_bolt(USUAL_FABRIC)
    }
}

/// What becomes of strips that are longer than the cloth is wide.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LongStrips {
    /// They are cut along the bolt, in one piece.
    Lengthwise,
    /// They are cut across it and sewn together, no join nearer than this to a joint of the stitching or to an end.
    Pieced {
        /// How near.
        clear: Length,
    },
}

/// The batting.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Batting {
    /// How it is laid.
    pub by: BattingBy,
    /// How far it reaches past the stitching before it is trimmed.
    pub reach: Length,
    /// What it is cut from.
    pub stocks: Stocks,
}

/// How batting is laid.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BattingBy {
    /// A piece for each strip.
    Strip,
    /// A piece for each run of a strip: it butts up to the last one.
    Run,
}

/// The tape.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Tape {
    /// How much is used up for each run that is laid.
    pub each_run: Length,
    /// How much is on a roll, where it is bought by the roll.
    pub roll: Option<Length>,
    /// Price of a roll; of a yard or a metre where none is told of.
    pub price: Option<Exact>,
}

pub(super) fn read_fabrics(node: &Node<'_>, unit: Unit) -> Option<Vec<Fabric>> {
    let items = node.items("fabric", MOST_FABRICS)?;
    let fabrics: Vec<Option<Fabric>> = items.iter().map(|item| read_fabric(item, unit)).collect();
    let named = fabrics.iter().zip(&items);
    refuse_twins(
        named.filter_map(|(fabric, node)| Some((fabric.as_ref()?.id.as_str(), node))),
        "fabric",
    );
    all(fabrics)
}

fn read_fabric(node: &Node<'_>, unit: Unit) -> Option<Fabric> {
    let own = ["id", "for", "width", "long_strips", "joins_clear"];
    let known: Vec<&str> = own.into_iter().chain(FIELDS).collect();
    let fields = node.fields(&known)?;
    let id = fields
        .need("id", "a name for the fabric")
        .and_then(|node| node.text());
    let names = fields.or("for", Vec::new(), |node| {
        let items = node.items("strip or beginning of strips' ids", MOST_NAMES)?;
        all(items.iter().map(Node::text))
    });
    let width = fields.maybe("width", |node| node.length(unit, Span::Positive));
    let clear = fields.or("joins_clear", HALF_AN_INCH * 2, |node| {
        node.length(unit, Span::ZeroOrMore)
    });
    let pieced = fields.or("long_strips", false, |node| {
        node.word(&[("lengthwise", false), ("pieced", true)])
    });
    let stocks = stocks::read_fields(&fields, node, width.flatten(), Some(USUAL_FABRIC), unit);
    let clear = clear?;
    Some(Fabric {
        id: id?,
        names: names?,
        long_strips: if pieced? {
            LongStrips::Pieced { clear }
        } else {
            LongStrips::Lengthwise
        },
        stocks: stocks?,
    })
}

pub(super) fn read_batting(node: &Node<'_>, unit: Unit) -> Option<Batting> {
    let known: Vec<&str> = ["width", "by", "reach"].into_iter().chain(FIELDS).collect();
    let fields = node.fields(&known)?;
    let width = fields.maybe("width", |node| node.length(unit, Span::Positive));
    let by = fields.or("by", BattingBy::Strip, |node| {
        node.word(&[("strip", BattingBy::Strip), ("run", BattingBy::Run)])
    });
    let reach = fields.or("reach", HALF_AN_INCH, |node| {
        node.length(unit, Span::ZeroOrMore)
    });
    let stocks = stocks::read_fields(&fields, node, width.flatten(), Some(USUAL_BATTING), unit);
    Some(Batting {
        by: by?,
        reach: reach?,
        stocks: stocks?,
    })
}

pub(super) fn read_backing(node: &Node<'_>, unit: Unit) -> Option<Stocks> {
    let known: Vec<&str> = ["width"].into_iter().chain(FIELDS).collect();
    let fields = node.fields(&known)?;
    let width = fields.maybe("width", |node| node.length(unit, Span::Positive));
    stocks::read_fields(&fields, node, width?, Some(USUAL_BACKING), unit)
}

pub(super) fn read_tape(node: &Node<'_>, unit: Unit) -> Option<Tape> {
    let fields = node.fields(&["each_run", "roll", "price"])?;
    let each_run = fields.need("each_run", "how much tape a run takes");
    let each_run = each_run.and_then(|node| node.length(unit, Span::Positive));
    let roll = fields.maybe("roll", |node| node.length(unit, Span::Positive));
    let price = fields.maybe("price", price);
    Some(Tape {
        each_run: each_run?,
        roll: roll?,
        price: price?,
    })
}
