//! How the pieces of a cloth lie on its bolts, sheets and pieces on hand.

use std::collections::HashMap;

use super::pieces::Kind;
use super::value;
use super::wanted::{Cloth, turned};
use crate::check::place::Place;
use crate::check::report::{Report, TOLERANCE, quoted};
use crate::job::{ClothCuts, CutLevel, CutStock, LevelPiece, StockKind};
use crate::length::{Length, Unit};

/// What is used of a cloth, by the number of each in the scenario.
pub(super) struct Used {
    /// How many of each sheet are bought.
    pub(super) sheets: Vec<i128>,
    /// How many nanometres are cut off each bolt.
    pub(super) bolts: Vec<i128>,
    on_hand: Vec<u64>,
}

/// What a stock of the plan is in the scenario.
struct Source {
    /// Which one of its kind.
    number: usize,
    width: Length,
    /// `None` of a bolt, off which any length is cut.
    length: Option<Length>,
}

fn source(cloth: &Cloth<'_>, stock: &CutStock) -> Option<Source> {
    let stocks = &cloth.stocks;
    let name = stock.stock.as_str();
    let (number, [length, width], any_length) = match stock.kind {
        StockKind::Bolt => {
            let number = stocks.bolts.iter().position(|bolt| bolt.id == name)?;
            (number, [Length::ZERO, stocks.bolts[number].width], true)
        }
        StockKind::Sheet => {
            let number = stocks.sheets.iter().position(|sheet| sheet.id == name)?;
            (number, stocks.sheets[number].size, false)
        }
        StockKind::OnHand => {
            let told: usize = name.strip_prefix("on hand ")?.parse().ok()?;
            let number = told.checked_sub(1)?;
            (number, stocks.on_hand.get(number)?.size, false)
        }
    };
    Some(Source {
        number,
        width,
        length: Some(length).filter(|_| !any_length),
    })
}

/// Checks what is cut up and in which levels, and what that comes to.
pub(super) fn check(
    cloth: &Cloth<'_>,
    kinds: &HashMap<&str, Kind>,
    cuts: &ClothCuts,
    unit: Unit,
    place: Place<'_>,
    report: &mut Report,
) -> Used {
    let mut used = Used {
        sheets: vec![0; cloth.stocks.sheets.len()],
        bolts: vec![0; cloth.stocks.bolts.len()],
        on_hand: vec![0; cloth.stocks.on_hand.len()],
    };
    let mut tally = Tally {
        kinds,
        cut: vec![0; cuts.pieces.len()],
    };
    let of_stocks = place.at("stocks");
    for (index, stock) in cuts.stocks.iter().enumerate() {
        let place = of_stocks.at(index);
        let Some(source) = source(cloth, stock) else {
            report.broken(
                place.at("stock"),
                "unknown-stock",
                format_args!(
                    "The scenario has no {} of this kind to cut from.",
                    quoted(&stock.stock)
                ),
            );
            continue;
        };
        let long = tally.stock(&source, stock, place, report);
        used.add(cloth, &source, stock, long, place, report);
    }
    let mut in_order: Vec<&Kind> = kinds.values().collect();
    in_order.sort_by_key(|kind| kind.index);
    for kind in in_order {
        let cut = tally.cut[kind.index];
        if cut != i128::from(kind.count) {
            report.broken(
                place.at("pieces").at(kind.index).at("count"),
                "wrong-number-cut",
                format_args!("{} of this piece are wanted; {cut} are cut.", kind.count),
            );
        }
    }
    value::check(&cloth.stocks, &used, cuts, unit, place, report);
    used
}

impl Used {
    /// Adds what is used of the same stocks elsewhere.
    pub(super) fn add_all(&mut self, other: &Used) {
        let add = |sums: &mut Vec<i128>, others: &[i128]| {
            for (sum, other) in sums.iter_mut().zip(others) {
                *sum = sum.saturating_add(*other);
            }
        };
        add(&mut self.sheets, &other.sheets);
        add(&mut self.bolts, &other.bolts);
    }

    /// Adds a stock with levels so long in all.
    fn add(
        &mut self,
        cloth: &Cloth<'_>,
        source: &Source,
        stock: &CutStock,
        long: i128,
        place: Place<'_>,
        report: &mut Report,
    ) {
        let copies = i128::from(stock.copies);
        match stock.kind {
            StockKind::Bolt => {
                let all = &mut self.bolts[source.number];
                *all = all.saturating_add(long.saturating_mul(copies));
            }
            StockKind::Sheet => self.sheets[source.number] += copies,
            StockKind::OnHand => {
                let all = &mut self.on_hand[source.number];
                *all += u64::from(stock.copies);
                let count = cloth.stocks.on_hand[source.number].count;
                if *all > u64::from(count) {
                    report.broken(
                        place.at("copies"),
                        "more-than-on-hand",
                        format_args!(
                            "{all} of {} are cut up; there are {count}.",
                            quoted(&stock.stock)
                        ),
                    );
                }
            }
        }
    }
}

/// Counts what is cut of each kind of piece.
struct Tally<'k> {
    kinds: &'k HashMap<&'k str, Kind>,
    cut: Vec<i128>,
}

impl Tally<'_> {
    /// Checks one stock. Answers with how long its levels are in all, in nanometres.
    fn stock(
        &mut self,
        source: &Source,
        stock: &CutStock,
        place: Place<'_>,
        report: &mut Report,
    ) -> i128 {
        let name = quoted(&stock.stock);
        report.compare(
            place.at("width"),
            "wrong-stock-width",
            format_args!("The width of {name}"),
            &stock.width,
            source.width,
        );
        something(stock.copies, place.at("copies"), report);
        something(stock.levels.len(), place.at("levels"), report);
        let mut long = 0_i128;
        let of_levels = place.at("levels");
        for (index, level) in stock.levels.iter().enumerate() {
            let length = self.level(source, stock, level, of_levels.at(index), report);
            let all = i128::from(length.nanometres()).saturating_mul(i128::from(level.copies));
            long = long.saturating_add(all);
        }
        match source.length {
            Some(length) => {
                report.compare(
                    place.at("length"),
                    "wrong-stock-length",
                    format_args!("The length of {name}"),
                    &stock.length,
                    length,
                );
                if long > i128::from(length.nanometres()) {
                    report.broken(
                        of_levels,
                        "levels-too-long",
                        format_args!(
                            "The levels of {name} are {} long together; it has {}.",
                            report.show_half(long.saturating_mul(2)),
                            report.show(length)
                        ),
                    );
                }
            }
            None => report.compare_half(
                place.at("length"),
                "wrong-cut-length",
                format_args!("The length cut off {name}"),
                &stock.length,
                long.min(i128::from(i64::MAX)) * 2,
            ),
        }
        long
    }

    /// Checks one level. Answers with its exact length.
    fn level(
        &mut self,
        source: &Source,
        stock: &CutStock,
        level: &CutLevel,
        place: Place<'_>,
        report: &mut Report,
    ) -> Length {
        something(level.copies, place.at("copies"), report);
        something(level.pieces.len(), place.at("pieces"), report);
        let times = i128::from(stock.copies) * i128::from(level.copies);
        let of_pieces = place.at("pieces");
        let (mut wide, mut longest) = (0_i128, Length::ZERO);
        for (index, piece) in level.pieces.iter().enumerate() {
            let place = of_pieces.at(index);
            let Some([along, across]) = self.piece(piece, times, place, report) else {
                continue;
            };
            let all = i128::from(across.nanometres()).saturating_mul(i128::from(piece.count));
            wide = wide.saturating_add(all);
            longest = longest.max(along);
        }
        if wide > i128::from(source.width.nanometres()) {
            report.broken(
                of_pieces,
                "level-too-wide",
                format_args!(
                    "The pieces of this level need {} across; {} has {}.",
                    report.show_half(wide.saturating_mul(2)),
                    quoted(&stock.stock),
                    report.show(source.width)
                ),
            );
        }
        let Some(printed) = report.read(place.at("length"), &level.length) else {
            return longest;
        };
        // What is printed may be rounded; what fits is decided on the pieces.
        let more = i128::from(printed.nanometres()) - i128::from(longest.nanometres());
        let rounding = i128::from(TOLERANCE.nanometres());
        if more < -rounding {
            report.broken(
                place.at("length"),
                "piece-longer-than-level",
                format_args!(
                    "The level is {} long; a piece of it is {} long.",
                    report.show(printed),
                    report.show(longest)
                ),
            );
        }
        if more > rounding { printed } else { longest }
    }

    /// Checks alike pieces of a level and counts them. Answers with what one takes up: along, across.
    fn piece(
        &mut self,
        piece: &LevelPiece,
        times: i128,
        place: Place<'_>,
        report: &mut Report,
    ) -> Option<[Length; 2]> {
        let name = quoted(&piece.mark);
        let Some(kind) = self.kinds.get(piece.mark.as_str()) else {
            report.broken(
                place.at("mark"),
                "unknown-mark",
                format_args!("No kind of piece that is needed has the mark {name}."),
            );
            return None;
        };
        something(piece.count, place.at("count"), report);
        if !kind.may_lie(piece.lengthwise) {
            report.broken(
                place.at("lengthwise"),
                "wrong-lay",
                format_args!("The piece {name} may not lie this way on the cloth."),
            );
        }
        let takes = turned(kind.sides, piece.lengthwise);
        for (side, exact) in takes.into_iter().enumerate() {
            let way = ["along", "across"][side];
            report.compare(
                place.at("takes").at(side),
                "wrong-takes",
                format_args!("What the piece {name} takes up {way} the cloth"),
                &piece.takes[side],
                exact,
            );
        }
        let all = times.saturating_mul(i128::from(piece.count));
        let cut = &mut self.cut[kind.index];
        *cut = cut.saturating_add(all);
        Some(takes)
    }
}

/// Notes a count of nothing.
fn something(count: impl TryInto<u64>, place: Place<'_>, report: &mut Report) {
    if count.try_into().is_ok_and(|count| count == 0) {
        report.broken(place, "nothing-cut", "Here nothing is cut; leave it out.");
    }
}
