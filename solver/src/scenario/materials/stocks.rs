//! What a cloth is cut from: bolts, sheets and pieces on hand, and which way pieces may lie on it.

use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::hoops::two_sides;
use crate::scenario::node::{Fields, Node, Span, all};
use crate::scenario::refuse_twins;

pub use crate::cutting::Lay;

/// The most bolts, sheets or kinds of pieces on hand of one cloth.
const MOST_STOCKS: usize = 20;
/// The most pieces on hand of one size.
const MOST_ON_HAND: u64 = 20;
/// The highest price.
const HIGHEST_PRICE: u32 = 100_000;

/// Cloth that is sold by length.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bolt {
    /// Its name.
    pub id: String,
    /// Its usable width.
    pub width: Length,
    /// Price of a yard where lengths are in inches, of a metre where they are in millimetres.
    pub price: Option<Exact>,
}

/// A sheet or roll that is sold whole.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Sheet {
    /// Its name.
    pub id: String,
    /// Its length and its width.
    pub size: [Length; 2],
    /// Price of one.
    pub price: Option<Exact>,
}

/// Pieces that she has.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct OnHand {
    /// Length, along the bolt that it came from, and width.
    pub size: [Length; 2],
    /// How many.
    pub count: u32,
}

/// Everything that one cloth is cut from.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stocks {
    /// Which way pieces may lie.
    pub lay: Lay,
    /// What is sold by length.
    pub bolts: Vec<Bolt>,
    /// What is sold whole.
    pub sheets: Vec<Sheet>,
    /// What she has.
    pub on_hand: Vec<OnHand>,
}

impl Default for Stocks {
    fn default() -> Stocks {
        Stocks {
            lay: Lay::Either,
            bolts: Vec::new(),
            sheets: Vec::new(),
            on_hand: Vec::new(),
        }
    }
}

impl Stocks {
    /// The one bolt that it is cut from, where there is one and no sheets beside it.
    pub fn single_bolt(&self) -> Option<&Bolt> {
        match &self.bolts[..] {
            [bolt] if self.sheets.is_empty() => Some(bolt),
            _ => None,
        }
    }

    /// One bolt of a width, without a price.
    pub(super) fn of_bolt(width: Length) -> Stocks {
        let bolt = Bolt {
            id: "bolt".into(),
            width,
            price: None,
        };
        Stocks {
            bolts: vec![bolt],
            ..Stocks::default()
        }
    }
}

/// The names of the fields that [`read_fields`] reads.
pub(super) const FIELDS: [&str; 5] = ["price", "lay", "bolts", "sheets", "on_hand"];

/// Reads what a cloth is cut from out of its fields. `width` is that of the one bolt where no bolts are listed, or else `usual`.
pub(super) fn read_fields(
    fields: &Fields<'_>,
    node: &Node<'_>,
    width: Option<Length>,
    usual: Option<Length>,
    unit: Unit,
) -> Option<Stocks> {
    let own_price = fields.maybe("price", price);
    let lays = [
        ("either", Lay::Either),
        ("lengthwise", Lay::Lengthwise),
        ("crosswise", Lay::Crosswise),
    ];
    let lay = fields.or("lay", Lay::Either, |node| node.word(&lays));
    let bolts = fields.or("bolts", Vec::new(), |node| {
        let items = node.items("bolt", MOST_STOCKS)?;
        let bolts: Vec<Option<Bolt>> = items.iter().map(|item| read_bolt(item, unit)).collect();
        let named = bolts.iter().zip(&items);
        refuse_twins(
            named.filter_map(|(bolt, node)| Some((bolt.as_ref()?.id.as_str(), node))),
            "bolt",
        );
        all(bolts)
    });
    let sheets = fields.or("sheets", Vec::new(), |node| {
        let items = node.items("sheet", MOST_STOCKS)?;
        let sheets: Vec<Option<Sheet>> = items.iter().map(|item| read_sheet(item, unit)).collect();
        let named = sheets.iter().zip(&items);
        refuse_twins(
            named.filter_map(|(sheet, node)| Some((sheet.as_ref()?.id.as_str(), node))),
            "sheet",
        );
        all(sheets)
    });
    let on_hand = fields.or("on_hand", Vec::new(), |node| {
        let items = node.items("piece on hand", MOST_STOCKS)?;
        all(items.iter().map(|item| read_on_hand(item, unit)))
    });
    let (mut bolts, sheets, own_price) = (bolts?, sheets?, own_price?);
    if bolts.is_empty() {
        let width = width.or(usual.filter(|_| sheets.is_empty()));
        bolts.extend(width.map(|width| Bolt {
            id: "bolt".into(),
            width,
            price: own_price,
        }));
    } else if own_price.is_some() || width.is_some() {
        node.fault(
            FaultCode::Conflict,
            "Bolts are listed, and a width or a price is told beside them.",
            "Give each bolt its width and price, or leave the bolts out.",
        );
        return None;
    }
    let prices = bolts.iter().map(|bolt| bolt.price);
    let unpriced = prices
        .chain(sheets.iter().map(|sheet| sheet.price))
        .any(|price| price.is_none());
    if unpriced && bolts.len() + sheets.len() > 1 {
        node.fault(
            FaultCode::MissingField,
            "Several things can be bought, and not all of them have a price.",
            "Give each bolt and sheet its price, so that the cheapest can be chosen.",
        );
        return None;
    }
    Some(Stocks {
        lay: lay?,
        bolts,
        sheets,
        on_hand: on_hand?,
    })
}

fn read_bolt(node: &Node<'_>, unit: Unit) -> Option<Bolt> {
    let fields = node.fields(&["id", "width", "price"])?;
    let id = fields
        .need("id", "a name for the bolt")
        .and_then(|node| node.text());
    let width = fields.need("width", "the usable width of the bolt");
    let width = width.and_then(|node| node.length(unit, Span::Positive));
    let price = fields.maybe("price", price);
    Some(Bolt {
        id: id?,
        width: width?,
        price: price?,
    })
}

fn read_sheet(node: &Node<'_>, unit: Unit) -> Option<Sheet> {
    let fields = node.fields(&["id", "size", "price"])?;
    let id = fields
        .need("id", "a name for the sheet")
        .and_then(|node| node.text());
    let size = fields.need("size", "the length and the width of the sheet");
    let size =
        size.and_then(|node| two_sides(&node, unit, "the length and the width of the sheet"));
    let price = fields.maybe("price", |node| {
        let price = price(node)?;
        if price == Exact::ZERO {
            node.fault(
                FaultCode::OutOfRange,
                "The sheet costs nothing.",
                "List what she has under \"on_hand\"; what is bought has a price above 0.",
            );
            return None;
        }
        Some(price)
    });
    Some(Sheet {
        id: id?,
        size: size?,
        price: price?,
    })
}

fn read_on_hand(node: &Node<'_>, unit: Unit) -> Option<OnHand> {
    let fields = node.fields(&["size", "count"])?;
    let size = fields.need("size", "the length and the width of the piece");
    let size =
        size.and_then(|node| two_sides(&node, unit, "the length and the width of the piece"));
    let count = fields.or("count", 1, |node| node.whole(1, MOST_ON_HAND));
    Some(OnHand {
        size: size?,
        count: u32::try_from(count?).ok()?,
    })
}

/// A price of cloth, tape or thread.
pub(super) fn price(node: &Node<'_>) -> Option<Exact> {
    node.price(HIGHEST_PRICE, 4)
}
