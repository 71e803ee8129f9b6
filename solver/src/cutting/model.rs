//! Which levels there can be: for each stock the lengths that some piece has, and the width that each piece takes up in them.

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::cutting::listing::list;
use crate::cutting::master::Column;
use crate::cutting::{CannotCut, Extent, Order, Piece};
use crate::length::Length;

/// A level of one length in one stock, before it is filled.
#[derive(Clone, Debug)]
pub struct Spot {
    /// The stock that it is cut from.
    pub stock: usize,
    /// The same, pieces on hand told apart.
    pub origin: usize,
    /// Its length along the bolt, in nanometres.
    pub length: i64,
    /// What it costs.
    pub cost: i128,
    /// The piece on hand in which it lies.
    pub container: Option<usize>,
    /// The width of the stock.
    pub width: i64,
    /// For each kind of piece the ways in which it can lie in the stock; one table for all levels of a stock.
    pub ways: Rc<[Vec<Way>]>,
    /// No more such levels are worth having: each holds a piece of its length.
    pub most: i128,
}

impl Spot {
    /// The width that a piece of a kind takes up, and whether its first side lies along; `None` where it is longer than the level or
    /// wider than the stock.
    pub fn takes(&self, kind: usize) -> Option<(i64, bool)> {
        let short = self.ways[kind]
            .iter()
            .filter(|way| way.along <= self.length);
        let least = short.min_by_key(|way| (way.across, way.along));
        least.map(|way| (way.across, way.lengthwise))
    }
}

/// A way in which a piece can lie.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// What it takes up along the bolt.
    pub along: i64,
    /// What it takes up across it.
    pub across: i64,
    /// Whether its first side lies along.
    pub lengthwise: bool,
}

/// A sheet that is bought whole.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The stock.
    pub stock: usize,
    /// Its length.
    pub length: i64,
    /// What it costs.
    pub cost: i128,
    /// The levels that it can hold, the longest first.
    pub levels: Vec<Spot>,
    /// Every way to cut it that no other one can stand in for; `None` where they are too many to list.
    pub listed: Option<Vec<Column>>,
}

/// A piece on hand.
#[derive(Clone, Debug)]
pub struct Container {
    /// Its length.
    pub length: i64,
}

/// Everything that can be cut.
#[derive(Clone, Debug)]
pub struct Model {
    /// How many of each kind of piece are wanted.
    pub wanted: Vec<u32>,
    /// Levels of bolts and of pieces on hand.
    pub spots: Vec<Spot>,
    /// The pieces on hand.
    pub containers: Vec<Container>,
    /// Whole sheets.
    pub sheets: Vec<Sheet>,
}

/// More pieces on hand of one size than this are not told apart: the others are left alone.
const MOST_ON_HAND: u32 = 20;

impl Model {
    /// The model of an order.
    ///
    /// # Errors
    /// The kinds of pieces that fit nowhere.
    pub fn of(order: &Order) -> Result<Model, CannotCut> {
        let mut model = Model {
            wanted: order.pieces.iter().map(|piece| piece.count).collect(),
            spots: Vec::new(),
            containers: Vec::new(),
            sheets: Vec::new(),
        };
        for (index, stock) in order.stocks.iter().enumerate() {
            match stock.extent {
                Extent::Bolt { each_nanometre } => {
                    let rate = each_nanometre;
                    let spots = spots(order, index, i64::MAX);
                    model.spots.extend(spots.into_iter().map(|spot| Spot {
                        cost: rate * i128::from(spot.length),
                        ..spot
                    }));
                }
                Extent::Sheet { length, each } => {
                    let length = length.nanometres();
                    let levels = spots(order, index, length);
                    if !levels.is_empty() {
                        let mut sheet = Sheet {
                            stock: index,
                            length,
                            cost: each,
                            levels,
                            listed: None,
                        };
                        let place = model.sheets.len();
                        let listed = list(&sheet, &model.wanted);
                        sheet.listed = listed.map(|all| {
                            let columns = all.into_iter();
                            columns
                                .map(|levels| Column::sheet(&sheet, place, levels))
                                .collect()
                        });
                        model.sheets.push(sheet);
                    }
                }
                Extent::OnHand { length, count } => {
                    let length = length.nanometres();
                    let levels = spots(order, index, length);
                    let count = if levels.is_empty() { 0 } else { count };
                    for _ in 0..count.min(MOST_ON_HAND) {
                        let container = Some(model.containers.len());
                        let origin = order.stocks.len() + model.containers.len();
                        model.containers.push(Container { length });
                        model.spots.extend(levels.iter().cloned().map(|spot| Spot {
                            container,
                            origin,
                            ..spot
                        }));
                    }
                }
            }
        }
        let lonely = (0..model.wanted.len()).filter(|kind| {
            let fits = |spot: &Spot| !spot.ways[*kind].is_empty();
            model.wanted[*kind] > 0
                && !model.spots.iter().any(fits)
                && !model
                    .sheets
                    .iter()
                    .any(|sheet| sheet.levels.iter().any(fits))
        });
        let lonely: Vec<usize> = lonely.collect();
        if lonely.is_empty() {
            Ok(model)
        } else {
            Err(CannotCut::TooLarge(lonely))
        }
    }

    /// Rows of the master program before any branch: a kind each, then a container each.
    pub fn rows(&self) -> usize {
        self.wanted.len() + self.containers.len()
    }
}

/// The levels that a stock can have, at most `longest` long, the longest first; without their costs.
fn spots(order: &Order, stock: usize, longest: i64) -> Vec<Spot> {
    let width = order.stocks[stock].width.nanometres();
    let ways: Rc<[Vec<Way>]> = order
        .pieces
        .iter()
        .map(|piece| ways(piece, longest, width))
        .collect();
    let mut most: BTreeMap<i64, i128> = BTreeMap::new();
    for (ways, piece) in ways.iter().zip(&order.pieces) {
        for way in ways {
            *most.entry(way.along).or_insert(0) += i128::from(piece.count);
        }
    }
    let spot = |(length, most): (i64, i128)| Spot {
        stock,
        origin: stock,
        length,
        cost: 0,
        container: None,
        width,
        ways: Rc::clone(&ways),
        most,
    };
    most.into_iter().rev().map(spot).collect()
}

/// The ways in which a piece can lie on a cloth so long and wide.
fn ways(piece: &Piece, longest: i64, width: i64) -> Vec<Way> {
    let way = |(along, across, lengthwise): (Length, Length, bool)| Way {
        along: along.nanometres(),
        across: across.nanometres(),
        lengthwise,
    };
    let fits = |way: &Way| piece.count > 0 && way.along <= longest && way.across <= width;
    let ways = piece.lay.ways(piece.sides).map(way);
    ways.filter(fits).collect()
}
