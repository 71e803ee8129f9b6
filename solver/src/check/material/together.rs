//! One order list for many plans, worked out anew: which pieces all of them need, how these lie, what that takes, and what is bought.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};

use super::list::{self, Line};
use super::pieces::{Kind, add_marked};
use super::stocks::{self, Used};
use super::wanted::{self, Cloth, Wanted};
use super::{MOST_KINDS, used_up};
use crate::check::Violation;
use crate::check::place::Place;
use crate::check::report::{Report, TOLERANCE, quoted};
use crate::cutting::Lay;
use crate::exact::Exact;
use crate::job::{ClothCuts, CutPiece, Material, OrderList};
use crate::length::{Length, Unit};
use crate::plan::Plan;
use crate::scenario::{Scenario, Stocks};

/// What many plans need together, as it is added up, for a check of their order list.
pub struct OrderCheck {
    unit: Unit,
    cloths: Vec<Together>,
    used_up: Vec<UsedUp>,
}

/// A cloth of all plans that call it alike and cut it from the same stocks.
struct Together {
    material: Material,
    /// What the scenarios call it.
    called: String,
    stocks: Stocks,
    /// How many pieces there are of each size and lay.
    kinds: BTreeMap<([Length; 2], Lay), i128>,
    /// Strips that are sewn together from parts, by their width and the seams between parts.
    sewn: BTreeMap<(Length, Length), Sewn>,
}

/// Strips that are sewn together from parts: where the joins fall is not told in an order list.
#[derive(Default)]
struct Sewn {
    strips: i128,
    /// Nanometres, all strips together.
    long: i128,
}

/// A tape or a thread.
struct UsedUp {
    material: Material,
    name: String,
    roll: Option<Length>,
    price: Option<Exact>,
    /// Nanometres; of a thread they may be fractions.
    long: Exact,
}

/// The pieces of a cloth that an order list tells, against those that are needed.
struct Told<'t> {
    /// Those that are not listed yet.
    kinds: BTreeMap<([Length; 2], Lay), i128>,
    all: &'t BTreeMap<([Length; 2], Lay), i128>,
    sewn: &'t BTreeMap<(Length, Length), Sewn>,
    /// By width: how many parts of strips there are, and their nanometres together.
    parts: BTreeMap<Length, (i128, i128)>,
}

impl OrderCheck {
    /// Nothing so far. Every plan that is added is in this unit.
    pub fn new(unit: Unit) -> OrderCheck {
        OrderCheck {
            unit,
            cloths: Vec::new(),
            used_up: Vec::new(),
        }
    }

    /// Adds what so many copies of a plan need.
    pub fn add(&mut self, scenario: &Scenario, plan: &Plan, copies: u64) {
        let copies = i128::from(copies);
        for cloth in wanted::cloths(scenario, plan) {
            if !cloth.is_without_pieces() {
                self.cloth(&cloth).add(&cloth, copies);
            }
        }
        let of = &scenario.materials;
        if let (Some(long), Some(tape)) = (used_up::tape_length(scenario, plan), of.tape) {
            self.use_up(Material::Tape, "tape", tape.roll, tape.price, long, copies);
        }
        let (spool, price) = (of.thread.spool, of.thread.price);
        for (name, long) in used_up::thread_lengths(scenario, plan).unwrap_or_default() {
            self.use_up(Material::Thread, name, spool, price, long, copies);
        }
    }

    fn cloth(&mut self, cloth: &Cloth<'_>) -> &mut Together {
        let same = |of: &Together| {
            of.material == cloth.material && of.called == cloth.name && of.stocks == *cloth.stocks
        };
        let place = self.cloths.iter().position(same).unwrap_or_else(|| {
            self.cloths.push(Together {
                material: cloth.material,
                called: cloth.name.into(),
                stocks: cloth.stocks.clone().into_owned(),
                kinds: BTreeMap::new(),
                sewn: BTreeMap::new(),
            });
            self.cloths.len() - 1
        });
        &mut self.cloths[place]
    }

    fn use_up(
        &mut self,
        material: Material,
        name: &str,
        roll: Option<Length>,
        price: Option<Exact>,
        long: Exact,
        copies: i128,
    ) {
        let all = long.numerator().saturating_mul(copies);
        let long = Exact::new(all, long.denominator()).unwrap_or(long);
        let same = |of: &&mut UsedUp| {
            of.material == material && of.name == name && (of.roll, of.price) == (roll, price)
        };
        match self.used_up.iter_mut().find(same) {
            Some(of) => of.long = sum(of.long, long).unwrap_or(of.long),
            None => self.used_up.push(UsedUp {
                material,
                name: name.into(),
                roll,
                price,
                long,
            }),
        }
    }

    /// Every fault of an order list for all that was added, with its place in it; empty where it is right.
    ///
    /// Where joins of strips fall that are sewn together is told in no order list: of their parts widths and the sum of lengths are
    /// checked.
    pub fn check(mut self, order: &OrderList) -> Vec<Violation> {
        let mut report = Report::new(order.unit);
        if order.unit != self.unit {
            let message = "The list is in another unit than the plans.";
            report.broken(Place::of("unit"), "wrong-unit", message);
            return report.into_violations();
        }
        self.cloths.sort_by_key(|cloth| cloth.material);
        let place = Place::of("cutting");
        let mut listed = order.cutting.iter().enumerate().peekable();
        // By cloth: the name that it has in the list, and what is used of it.
        let mut used: Vec<Option<(String, Used)>> = Vec::new();
        for (number, cloth) in self.cloths.iter().enumerate() {
            let called_alike =
                |of: &Together| of.material == cloth.material && of.called == cloth.called;
            let first = !self.cloths[..number].iter().any(called_alike);
            let mut name: Option<&str> = None;
            let mut cuts = Vec::new();
            while let Some((index, next)) = listed
                .peek()
                .copied()
                .filter(|(_, next)| cloth.is_listed_as(next, first, &mut name, cuts.len()))
            {
                cuts.push((index, next));
                listed.next();
            }
            used.push(cloth.check(name, &cuts, order, place, &mut report));
        }
        for (index, cuts) in listed {
            report.broken(
                place.at(index).at("cloth"),
                "unknown-cloth",
                format_args!(
                    "Nothing is cut from {}, or not in this place.",
                    quoted(&cuts.cloth)
                ),
            );
        }
        let mut lines: Vec<Line<'_>> = Vec::new();
        for (cloth, used) in self.cloths.iter().zip(&used) {
            if let Some((name, used)) = used {
                lines.extend(list::of_cloth(cloth.material, name, &cloth.stocks, used));
            }
        }
        lines.extend(self.used_up.iter().map(UsedUp::line));
        list::check_lines(&lines, &order.materials, self.unit, &mut report);
        report.into_violations()
    }
}

fn sum(one: Exact, other: Exact) -> Option<Exact> {
    let upper = one
        .numerator()
        .checked_mul(other.denominator())?
        .checked_add(other.numerator().checked_mul(one.denominator())?)?;
    Exact::new(upper, one.denominator().checked_mul(other.denominator())?)
}

impl UsedUp {
    fn line(&self) -> Line<'_> {
        used_up::line(self.material, &self.name, self.long, self.roll, self.price)
    }
}

impl Together {
    fn add(&mut self, cloth: &Cloth<'_>, copies: i128) {
        let mut want = |wanted: &Wanted| {
            let count = self.kinds.entry((wanted.sides, wanted.lay)).or_insert(0);
            *count = count.saturating_add(copies);
        };
        cloth.wanted.iter().for_each(&mut want);
        for long in &cloth.long {
            if long.fewest_parts().is_none() {
                want(&long.whole);
                continue;
            }
            let [length, width] = long.whole.sides;
            let sewn = self.sewn.entry((width, long.seam)).or_default();
            sewn.strips = sewn.strips.saturating_add(copies);
            let all = i128::from(length.nanometres()).saturating_mul(copies);
            sewn.long = sewn.long.saturating_add(all);
        }
    }

    /// Whether a cutting of the list is of this cloth, of which so many were before it. The first cutting gives it its name in the
    /// list: what the scenarios call it or, where another cloth is called so before it, that and which kit it is of.
    fn is_listed_as<'l>(
        &self,
        cuts: &'l ClothCuts,
        first: bool,
        name: &mut Option<&'l str>,
        before: usize,
    ) -> bool {
        if cuts.material != self.material {
            return false;
        }
        // More kinds of pieces than one cutting may have are cut in parts, which are numbered.
        let many = self.kinds.len() + self.sewn.len() > MOST_KINDS || !self.sewn.is_empty();
        let number = format!(" ({})", before + 1);
        let part = cuts.cloth.strip_suffix(number.as_str()).filter(|_| many);
        let base = part.unwrap_or(&cuts.cloth);
        match *name {
            Some(name) => part.is_some() && base == name,
            None => {
                let rest = base.strip_prefix(self.called.as_str());
                let asked = |rest: &str| match first {
                    true => rest.is_empty(),
                    false => rest.starts_with(" (of "),
                };
                let own = rest.is_some_and(asked);
                if own {
                    *name = Some(base);
                }
                own
            }
        }
    }

    /// Checks the cuttings of this cloth. Answers with its name in the list and with what is used of it, where that is told.
    fn check(
        &self,
        name: Option<&str>,
        cuts: &[(usize, &ClothCuts)],
        order: &OrderList,
        place: Place<'_>,
        report: &mut Report,
    ) -> Option<(String, Used)> {
        let unit = order.unit;
        let told = order
            .warnings
            .iter()
            .any(|warning| warning.contains(&self.called));
        let mut cloth = Cloth {
            material: self.material,
            name: &self.called,
            stocks: Cow::Borrowed(&self.stocks),
            wanted: Vec::new(),
            long: Vec::new(),
        };
        let Some(name) = name else {
            if cloth.has_stocks() && !told {
                report.broken(
                    place,
                    "cloth-missing",
                    format_args!(
                        "Pieces are cut from the cloth {}, and the list does not say how.",
                        quoted(&self.called)
                    ),
                );
            }
            return None;
        };
        let mut open = Told {
            kinds: self.kinds.clone(),
            all: &self.kinds,
            sewn: &self.sewn,
            parts: BTreeMap::new(),
        };
        let mut all: Option<Used> = None;
        for (index, cuts) in cuts {
            let place = place.at(*index);
            let kinds = open.of_cuts(&cloth, cuts, unit, place, report);
            let used = stocks::check(&cloth, &kinds, cuts, unit, place, report);
            // What is on hand is cut up once.
            cloth.stocks.to_mut().on_hand.clear();
            all = Some(match all {
                None => used,
                Some(mut all) => {
                    all.add_all(&used);
                    all
                }
            });
        }
        cloth.stocks = Cow::Borrowed(&self.stocks);
        open.check_left(&cloth, told, place, report);
        all.map(|used| (name.to_string(), used))
    }
}

impl Told<'_> {
    /// Checks the kinds of pieces of one cutting. Answers with them by their marks.
    fn of_cuts<'c>(
        &mut self,
        cloth: &Cloth<'_>,
        cuts: &'c ClothCuts,
        unit: Unit,
        place: Place<'_>,
        report: &mut Report,
    ) -> HashMap<&'c str, Kind> {
        let of_pieces = place.at("pieces");
        let mut kinds = HashMap::new();
        for (index, piece) in cuts.pieces.iter().enumerate() {
            let place = of_pieces.at(index);
            check_uses(piece, place, report);
            let Some((sides, lay)) = self.take(cloth, piece, unit) else {
                report.broken(
                    place,
                    "unknown-use",
                    format_args!(
                        "No {} pieces, or no further ones, of this size are needed.",
                        piece.count
                    ),
                );
                continue;
            };
            let kind = Kind::of(sides, lay, piece.count, index);
            add_marked(&mut kinds, piece, kind, place, report);
        }
        kinds
    }

    /// The exact sides and the lay of a kind that is needed, as it is printed and as often; or of parts of strips.
    fn take(
        &mut self,
        cloth: &Cloth<'_>,
        piece: &CutPiece,
        unit: Unit,
    ) -> Option<([Length; 2], Lay)> {
        let [length, width] = [0, 1].map(|side: usize| piece.size[side].length(unit));
        let printed = [length?, width?];
        let mut count = i128::from(piece.count);
        let near = |one: Length, other: Length| (one - other).max(other - one) <= TOLERANCE;
        let alike = |sides: &[Length; 2]| near(sides[0], printed[0]) && near(sides[1], printed[1]);
        let mut widths = self.sewn.keys().map(|(width, _)| *width);
        let sewn = widths.find(|width| near(*width, printed[1]));
        // Parts that are as large as whole pieces are listed with these.
        let fits = |((sides, lay), needed): &(&([Length; 2], Lay), &i128)| {
            let with_parts = sewn.is_some() && *lay == Lay::Crosswise && **needed < count;
            alike(sides) && (**needed == count || with_parts)
        };
        let off = |sides: &[Length; 2]| {
            let off = [0, 1].map(|side| (sides[side] - printed[side]).nanometres().abs());
            off[0] + off[1]
        };
        let found = self.kinds.iter().filter(fits);
        let found = found.min_by_key(|((sides, _), needed)| (**needed != count, off(sides)));
        let whole = found.map(|(kind, needed)| (*kind, *needed));
        if let Some((kind, needed)) = whole {
            self.kinds.remove(&kind);
            count -= needed;
        }
        if count > 0 {
            let across = cloth.stocks.bolts.iter().map(|bolt| bolt.width).max()?;
            let width = sewn.filter(|_| printed[0] <= across + TOLERANCE)?;
            let parts = self.parts.entry(width).or_default();
            parts.0 = parts.0.saturating_add(count);
            let all = i128::from(printed[0].nanometres()).saturating_mul(count);
            parts.1 = parts.1.saturating_add(all);
            let as_large = self.all.keys().any(|(sides, _)| alike(sides));
            // Which of them are parts and which whole pieces cannot be told apart.
            let lay = if as_large {
                Lay::Either
            } else {
                Lay::Crosswise
            };
            return Some(whole.map_or(([printed[0].min(across), width], lay), |(kind, _)| kind));
        }
        whole.map(|(kind, _)| kind)
    }

    /// Checks that nothing is left that could be cut, and that parts come to their strips.
    fn check_left(&self, cloth: &Cloth<'_>, told: bool, place: Place<'_>, report: &mut Report) {
        for (sides, lay) in self.kinds.keys() {
            let missing = Wanted {
                name: String::new(),
                sides: *sides,
                lay: *lay,
            };
            if told && !cloth.fits(&missing) {
                continue;
            }
            report.broken(
                place,
                "piece-missing",
                format_args!(
                    "Pieces of {} × {} are needed of {}, and are not listed, or not as many.",
                    report.show(sides[0]),
                    report.show(sides[1]),
                    quoted(cloth.name)
                ),
            );
        }
        let mut widths: Vec<Length> = self.sewn.keys().map(|(width, _)| *width).collect();
        widths.dedup();
        for width in widths {
            let of_width = self.sewn.iter().filter(|((of, _), _)| *of == width);
            let (parts, long) = self.parts.get(&width).copied().unwrap_or_default();
            let mut needed = 0_i128;
            let (mut least_seam, mut most_seam, mut strips) =
                (Length::LONGEST, Length::ZERO, 0_i128);
            for ((_, seam), sewn) in of_width {
                needed = needed.saturating_add(sewn.long);
                strips = strips.saturating_add(sewn.strips);
                (least_seam, most_seam) = (least_seam.min(*seam), most_seam.max(*seam));
            }
            // Each join takes a seam of both its parts.
            let joins = parts.saturating_sub(strips);
            let with = |seam: Length| {
                needed.saturating_add(joins.saturating_mul(2 * i128::from(seam.nanometres())))
            };
            let off = i128::from(TOLERANCE.nanometres()).saturating_mul(parts.max(1));
            let right = with(least_seam) - off <= long && long <= with(most_seam) + off;
            if joins < 0 || !right {
                report.broken(
                    place,
                    "wrong-parts",
                    format_args!(
                        "The parts of strips {} wide do not come to what is needed of {}.",
                        report.show(width),
                        quoted(cloth.name)
                    ),
                );
            }
        }
    }
}

/// What pieces are for begins with how many they are.
fn check_uses(piece: &CutPiece, place: Place<'_>, report: &mut Report) {
    let counts = piece.uses.iter().map(|usage| {
        let (count, _) = usage.split_once(' ')?;
        count.parse::<i128>().ok()
    });
    let sum: Option<i128> = counts.sum();
    if sum != Some(i128::from(piece.count)) {
        report.broken(
            place.at("uses"),
            "wrong-piece-count",
            format_args!(
                "The count is {}; what they are for comes to another.",
                piece.count
            ),
        );
    }
}
