//! How each cloth is cut: its pieces by kind, and the best cutting in levels.

use std::collections::BTreeMap;

use crate::cutting::{CannotCut, Cutting, Extent, Lay, Level, Order, Piece, Stock, cut};
use crate::deadline::Deadline;
use crate::exact::{Exact, gcd};
use crate::job::document::{
    ClothCuts, CutLevel, CutPiece, CutStock, LevelPiece, Material, StockKind,
};
use crate::job::needs::{Cloth, Need};
use crate::length::{Length, Measure, Unit};
use crate::scenario::Stocks;

/// Of a cloth with more kinds of pieces than this no cutting is made.
pub const MOST_KINDS: usize = 500;

/// What a stock of an order is in the scenario.
struct Told {
    name: String,
    kind: StockKind,
}

/// Pieces that are cut alike.
#[derive(Clone, Debug)]
pub struct Kind {
    /// The two sides of each.
    pub sides: [Length; 2],
    /// Which way they may lie.
    pub lay: Lay,
    /// How many.
    pub count: u32,
    /// What they are for, in words.
    pub uses: Vec<String>,
}

/// What is cut up.
#[derive(Clone, Copy)]
pub struct Source<'s> {
    /// What it is for.
    pub material: Material,
    /// Its name.
    pub name: &'s str,
    /// What there is of it.
    pub stocks: &'s Stocks,
}

/// How a plan's cloth is cut; `None` where nothing is told of what it is cut from, or nothing could be cut. `warnings` is told why.
pub fn cuts(
    cloth: &Cloth<'_>,
    unit: Unit,
    deadline: &Deadline,
    warnings: &mut Vec<String>,
) -> Option<ClothCuts> {
    let source = Source {
        material: cloth.material,
        name: cloth.name,
        stocks: &cloth.stocks,
    };
    let kinds = kinds(&cloth.needs);
    if kinds.len() > MOST_KINDS && has_any(source.stocks) {
        warnings.push(format!(
            "Of {} {} kinds of pieces are cut, and no cutting is made of more than {MOST_KINDS}. Plan fewer strips at once.",
            cloth.name,
            kinds.len()
        ));
        return None;
    }
    cut_kinds(source, kinds, unit, deadline, warnings)
}

/// Whether there is anything to cut from.
fn has_any(stocks: &Stocks) -> bool {
    !(stocks.bolts.is_empty() && stocks.sheets.is_empty() && stocks.on_hand.is_empty())
}

/// How pieces of these kinds, at most [`MOST_KINDS`] of them, are cut; `None` as for [`cuts`].
pub fn cut_kinds(
    cloth: Source<'_>,
    mut kinds: Vec<Kind>,
    unit: Unit,
    deadline: &Deadline,
    warnings: &mut Vec<String>,
) -> Option<ClothCuts> {
    let stocks = cloth.stocks;
    if !has_any(stocks) {
        return None;
    }
    largest_first(&mut kinds);
    let scale = Scale::of(stocks, unit);
    let (sources, stock) = sources(stocks, &scale);
    let mut order = Order {
        pieces: kinds.iter().map(piece).collect(),
        stocks: stock,
    };
    let mut outcome = cut(&order, deadline);
    if let Err(CannotCut::TooLarge(which)) = &outcome {
        for number in which {
            warnings.push(too_large(cloth.name, &kinds[*number], unit));
        }
        let mut number = 0;
        kinds.retain(|_| {
            number += 1;
            !which.contains(&(number - 1))
        });
        if kinds.is_empty() {
            return None;
        }
        order.pieces = kinds.iter().map(piece).collect();
        outcome = cut(&order, deadline);
    }
    match outcome {
        Ok(cutting) => Some(written(
            cloth, unit, &scale, &sources, &order, &kinds, &cutting,
        )),
        Err(_) => {
            warnings.push(format!(
                "No way was found to cut all {} from what is on hand. Tell of a bolt or sheet that can be bought.",
                cloth.name
            ));
            None
        }
    }
}

fn too_large(cloth: &str, kind: &Kind, unit: Unit) -> String {
    let [first, second] = kind.sides.map(|side| match unit {
        Unit::Inch => side.sixteenths(),
        Unit::Millimetre => side.in_unit(unit).to_string(),
    });
    format!(
        "No {cloth} is large enough for a piece of {first} × {second} {} ({}), the way it may lie.",
        unit.symbol(),
        kind.uses.first().map_or("", String::as_str)
    )
}

fn piece(kind: &Kind) -> Piece {
    Piece {
        sides: kind.sides,
        count: kind.count,
        lay: kind.lay,
    }
}

/// Pieces by kind.
fn kinds(needs: &[Need]) -> Vec<Kind> {
    let mut by_kind: BTreeMap<([Length; 2], Lay), Kind> = BTreeMap::new();
    for need in needs {
        let kind = by_kind
            .entry((need.sides, need.lay))
            .or_insert_with(|| Kind {
                sides: need.sides,
                lay: need.lay,
                count: 0,
                uses: Vec::new(),
            });
        kind.count = kind.count.saturating_add(1);
        kind.uses.push(need.usage.clone());
    }
    by_kind.into_values().collect()
}

/// The order of the kinds in a cutting.
pub fn largest_first(kinds: &mut [Kind]) {
    let area = |kind: &Kind| {
        let [first, second] = kind.sides.map(|side| i128::from(side.nanometres()));
        first * second
    };
    kinds.sort_by_key(|kind| (-area(kind), kind.sides));
}

/// How costs are counted in whole numbers: in nanometres where nothing has a price, in parts of a price otherwise.
struct Scale {
    priced: bool,
    /// So many parts are one of the currency.
    parts: i128,
    unit: Unit,
}

impl Scale {
    fn of(stocks: &Stocks, unit: Unit) -> Scale {
        let prices = stocks.bolts.iter().map(|bolt| bolt.price);
        let prices = prices.chain(stocks.sheets.iter().map(|sheet| sheet.price));
        let prices: Option<Vec<Exact>> = prices.collect();
        // A bolt that is free is counted by its length.
        let priced = prices.filter(|prices| prices.iter().all(|price| *price > Exact::ZERO));
        let fine = priced.as_ref().map_or(1, |prices| {
            prices.iter().fold(1, |common, price| {
                common / gcd(common, price.denominator()) * price.denominator()
            })
        });
        Scale {
            priced: priced.is_some(),
            parts: fine * i128::from(unit.yard_or_metre()),
            unit,
        }
    }

    fn each_nanometre(&self, price: Option<Exact>) -> i128 {
        match price.filter(|_| self.priced) {
            Some(price) => {
                let fine = self.parts / i128::from(self.unit.yard_or_metre());
                price.numerator() * (fine / price.denominator())
            }
            None => 1,
        }
    }

    fn each(&self, price: Option<Exact>, length: Length) -> i128 {
        match price.filter(|_| self.priced) {
            Some(price) => price.numerator() * (self.parts / price.denominator()),
            None => i128::from(length.nanometres()),
        }
    }

    /// A cost as it is printed, a bound never above what it is.
    fn printed(&self, cost: i128, down: bool) -> Measure {
        let divisor = if self.priced {
            self.parts
        } else {
            i128::from(self.unit.nanometres())
        };
        if down {
            Measure::rounded_down(cost, divisor)
        } else {
            Measure::from_ratio(cost, divisor)
        }
    }
}

/// The stocks of an order, those on hand first.
fn sources(stocks: &Stocks, scale: &Scale) -> (Vec<Told>, Vec<Stock>) {
    let mut sources = Vec::new();
    let mut all = Vec::new();
    for (number, piece) in (1..).zip(&stocks.on_hand) {
        sources.push(Told {
            name: format!("on hand {number}"),
            kind: StockKind::OnHand,
        });
        all.push(Stock {
            width: piece.size[1],
            extent: Extent::OnHand {
                length: piece.size[0],
                count: piece.count,
            },
        });
    }
    for sheet in &stocks.sheets {
        sources.push(Told {
            name: sheet.id.clone(),
            kind: StockKind::Sheet,
        });
        all.push(Stock {
            width: sheet.size[1],
            extent: Extent::Sheet {
                length: sheet.size[0],
                each: scale.each(sheet.price, sheet.size[0]),
            },
        });
    }
    for bolt in &stocks.bolts {
        sources.push(Told {
            name: bolt.id.clone(),
            kind: StockKind::Bolt,
        });
        all.push(Stock {
            width: bolt.width,
            extent: Extent::Bolt {
                each_nanometre: scale.each_nanometre(bolt.price),
            },
        });
    }
    (sources, all)
}

/// Letters for what has this number, from 0: `A` … `Z`, `AA`, … They mark kinds of pieces and whatever else a picture has to name.
pub fn mark(number: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = number + 1;
    while rest > 0 {
        let letter = u8::try_from((rest - 1) % 26).unwrap_or(0);
        letters.push(char::from(b'A' + letter));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect()
}

fn written(
    cloth: Source<'_>,
    unit: Unit,
    scale: &Scale,
    sources: &[Told],
    order: &Order,
    kinds: &[Kind],
    cutting: &Cutting,
) -> ClothCuts {
    let pieces = kinds.iter().enumerate().map(|(number, kind)| CutPiece {
        mark: mark(number),
        size: kind.sides.map(|side| side.in_unit(unit)),
        count: kind.count,
        uses: kind.uses.clone(),
    });
    let level = |(level, copies): &(Level, u32)| CutLevel {
        copies: *copies,
        length: level.length.in_unit(unit),
        pieces: level
            .pieces
            .iter()
            .map(|(kind, lengthwise, count)| {
                let [first, second] = order.pieces[*kind].sides;
                let [along, across] = if *lengthwise {
                    [first, second]
                } else {
                    [second, first]
                };
                LevelPiece {
                    mark: mark(*kind),
                    count: *count,
                    lengthwise: *lengthwise,
                    takes: [along.in_unit(unit), across.in_unit(unit)],
                }
            })
            .collect(),
    };
    let stocks = cutting.used.iter().map(|used| {
        let stock = order.stocks[used.stock];
        let length = match stock.extent {
            Extent::Bolt { .. } => used.length(),
            Extent::Sheet { length, .. } | Extent::OnHand { length, .. } => length,
        };
        CutStock {
            stock: sources[used.stock].name.clone(),
            kind: sources[used.stock].kind,
            copies: used.copies,
            width: stock.width.in_unit(unit),
            length: length.in_unit(unit),
            levels: used.levels.iter().map(level).collect(),
        }
    });
    ClothCuts {
        material: cloth.material,
        cloth: cloth.name.into(),
        counts: if scale.priced { "price" } else { "length" }.into(),
        value: scale.printed(cutting.cost, false),
        bound: scale.printed(cutting.bound, !cutting.proven()),
        proven: cutting.proven(),
        pieces: pieces.collect(),
        stocks: stocks.collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::mark;

    #[test]
    fn kinds_are_lettered_like_columns() {
        let marks = [0, 1, 25, 26, 27, 51, 52, 701, 702].map(mark);
        assert_eq!(marks, ["A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA"]);
    }
}
