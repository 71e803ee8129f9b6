//! The master program: how often each level is cut. Levels are priced in when they are worth it, and what the multipliers prove is
//! worked out in whole numbers.

use std::collections::{BTreeMap, HashSet};

use crate::cutting::branch::Branch;
use crate::cutting::level::{self, Extra};
use crate::cutting::model::{Model, Sheet, Spot};
use crate::cutting::sheet;
use crate::deadline::Deadline;
use crate::linear::{Outcome, Simplex};
use crate::program::Sense;

/// What multipliers are rounded to: so many parts of a unit of cost.
const PARTS: i128 = 1024;
/// A column enters where it is worth more than it costs by more than this part of the largest cost.
const WORTH_ENTERING: f64 = 1e-9;
/// What a piece costs that is not cut at all, in largest costs.
const MISSING: f64 = 1e3;

/// A level, or a whole sheet with its levels, that may be cut any number of times.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Column {
    /// The stock.
    pub stock: usize,
    /// The same, pieces on hand told apart.
    pub origin: usize,
    /// The level's length; `None` for a whole sheet.
    pub length: Option<i64>,
    /// The piece on hand in which it lies.
    pub container: Option<usize>,
    /// What it costs.
    pub cost: i128,
    /// Kinds and counts by kind, each at least 1.
    pub pieces: Vec<(usize, u32)>,
    /// Position among the model's spots, or among its sheets.
    pub place: usize,
    /// Of a whole sheet its levels: position in the sheet's list, and fillings.
    pub levels: sheet::Filled,
}

impl Column {
    /// A filled level.
    pub fn level(model: &Model, place: usize, pieces: Vec<(usize, u32)>) -> Column {
        let spot = &model.spots[place];
        Column {
            stock: spot.stock,
            origin: spot.origin,
            length: Some(spot.length),
            container: spot.container,
            cost: spot.cost,
            pieces,
            place,
            levels: Vec::new(),
        }
    }

    /// A whole sheet, by its place among the model's.
    pub fn sheet(sheet: &Sheet, place: usize, levels: sheet::Filled) -> Column {
        let mut counts = BTreeMap::new();
        for (kind, count) in levels.iter().flat_map(|(_, pieces)| pieces) {
            *counts.entry(*kind).or_insert(0) += *count;
        }
        Column {
            stock: sheet.stock,
            origin: sheet.stock,
            length: None,
            container: None,
            cost: sheet.cost,
            pieces: counts.into_iter().collect(),
            place,
            levels,
        }
    }

    /// How many of a kind it holds.
    pub fn holds(&self, kind: usize) -> u32 {
        let own = self.pieces.iter().find(|(of, _)| *of == kind);
        own.map_or(0, |(_, count)| *count)
    }
}

/// What is still to be cut, and what is left of the pieces on hand.
#[derive(Clone, Debug)]
pub struct Rest {
    /// How many of each kind.
    pub wanted: Vec<u32>,
    /// How long each container is.
    pub lengths: Vec<i64>,
}

impl Rest {
    /// Everything.
    pub fn all(model: &Model) -> Rest {
        Rest {
            wanted: model.wanted.clone(),
            lengths: model.containers.iter().map(|of| of.length).collect(),
        }
    }

    /// Whether nothing is left to cut.
    pub fn is_done(&self) -> bool {
        self.wanted.iter().all(|count| *count == 0)
    }

    /// How often a column can be cut from what is left of its container.
    pub fn room(&self, column: &Column) -> u32 {
        match (column.container, column.length) {
            (Some(container), Some(length)) => {
                u32::try_from(self.lengths[container] / length).unwrap_or(u32::MAX)
            }
            _ => u32::MAX,
        }
    }

    /// Takes columns off.
    pub fn take(&mut self, column: &Column, times: u32) {
        for (kind, count) in &column.pieces {
            let taken = count.saturating_mul(times);
            self.wanted[*kind] = self.wanted[*kind].saturating_sub(taken);
        }
        if let (Some(container), Some(length)) = (column.container, column.length) {
            self.lengths[container] -= length * i64::from(times);
        }
    }
}

/// The columns that are known, each once.
#[derive(Clone, Default, Debug)]
pub struct Pool {
    /// The columns, in the order in which they were found.
    pub columns: Vec<Column>,
    known: HashSet<Column>,
}

impl Pool {
    /// Adds a column; whether it is new.
    pub fn add(&mut self, column: Column) -> bool {
        let new = self.known.insert(column.clone());
        if new {
            self.columns.push(column);
        }
        new
    }
}

/// How a linear program ended.
#[derive(Clone, Debug)]
pub struct Relaxed {
    /// No choice of columns that keeps the branches costs less, columns that are not known included.
    pub bound: i128,
    /// How often each column of the pool is cut at the optimum; empty where the time was over or pieces stay uncut.
    pub point: Vec<f64>,
}

/// The multipliers in whole parts.
struct Worths {
    kinds: Vec<i128>,
    /// What using up a whole container costs, at least 0.
    containers: Vec<i128>,
    branches: Vec<i128>,
}

/// Solves the master program for what is left under branches, columns priced in. Ends early once the bound is no less than
/// `enough`.
pub fn relax(
    model: &Model,
    rest: &Rest,
    branches: &[Branch],
    pool: &mut Pool,
    enough: Option<i128>,
    deadline: &Deadline,
) -> Relaxed {
    let kinds = model.wanted.len();
    let largest = model.spots.iter().map(|spot| spot.cost);
    let largest = largest.chain(model.sheets.iter().map(|sheet| sheet.cost));
    let unit = largest.max().unwrap_or(1).max(1) as f64;
    let rows = rest
        .wanted
        .iter()
        .map(|wanted| (Sense::AtLeast, f64::from(*wanted)));
    let rows = rows.chain(
        rest.lengths
            .iter()
            .zip(&model.containers)
            .map(|(left, container)| (Sense::AtMost, *left as f64 / container.length as f64)),
    );
    let rows = rows.chain(branches.iter().map(|branch| {
        let sense = if branch.at_least {
            Sense::AtLeast
        } else {
            Sense::AtMost
        };
        (sense, branch.number as f64)
    }));
    let mut program = Simplex::new(rows.collect::<Vec<_>>().into_iter());
    let uncut: Vec<usize> = (0..kinds + model.containers.len() + branches.len())
        .filter(|row| *row < kinds || *row >= model.rows() && branches[row - model.rows()].at_least)
        .map(|row| {
            let column = program.add_column(vec![(row, 1.0)], 0.0, f64::INFINITY);
            program.set_cost(column, MISSING);
            column
        })
        .collect();
    let mut numbers: Vec<usize> = Vec::new();
    let mut bound = 0;
    let mut complete = false;
    loop {
        for column in &pool.columns[numbers.len()..] {
            let pieces = column
                .pieces
                .iter()
                .map(|(kind, count)| (*kind, f64::from(*count)));
            let mut entries: Vec<(usize, f64)> = pieces.collect();
            if let (Some(container), Some(length)) = (column.container, column.length) {
                let whole = model.containers[container].length as f64;
                entries.push((kinds + container, length as f64 / whole));
            }
            let having = branches.iter().enumerate();
            let having = having.filter(|(_, branch)| branch.feature.of(column));
            entries.extend(having.map(|(at, _)| (model.rows() + at, 1.0)));
            let most = if rest.room(column) > 0 {
                f64::INFINITY
            } else {
                0.0
            };
            let number = program.add_column(entries, 0.0, most);
            program.set_cost(number, column.cost as f64 / unit);
            numbers.push(number);
        }
        if program.solve(deadline) != Outcome::Optimal {
            break;
        }
        let worths = rounded(model, branches, program.multipliers(), unit);
        let Some((proven, found)) = price(model, rest, branches, &worths, unit, deadline) else {
            break;
        };
        bound = bound.max(proven);
        if enough.is_some_and(|enough| bound >= enough) {
            break;
        }
        let before = pool.columns.len();
        for column in found {
            pool.add(column);
        }
        if pool.columns.len() == before {
            complete = true;
            break;
        }
    }
    let whole = complete && uncut.iter().all(|column| program.value(*column) < 1e-7);
    let point = numbers.iter().map(|number| program.value(*number));
    Relaxed {
        bound,
        point: if whole { point.collect() } else { Vec::new() },
    }
}

/// The multipliers in whole parts, each on the side on which it proves something.
fn rounded(model: &Model, branches: &[Branch], multipliers: &[f64], unit: f64) -> Worths {
    let parts = |value: f64| (value * unit * PARTS as f64).round() as i128;
    let (kinds, others) = multipliers.split_at(model.wanted.len());
    let (containers, own) = others.split_at(model.containers.len());
    Worths {
        kinds: kinds.iter().map(|value| parts(*value).max(0)).collect(),
        containers: containers
            .iter()
            .map(|value| parts(-*value).max(0))
            .collect(),
        branches: own
            .iter()
            .zip(branches)
            .map(|(value, branch)| {
                let value = parts(*value);
                if branch.at_least {
                    value.max(0)
                } else {
                    value.min(0)
                }
            })
            .collect(),
    }
}

/// What the worths prove (weak duality), and the columns that are worth more than they cost; `None` where the time was over.
fn price(
    model: &Model,
    rest: &Rest,
    branches: &[Branch],
    worths: &Worths,
    unit: f64,
    deadline: &Deadline,
) -> Option<(i128, Vec<Column>)> {
    let entering = (unit * PARTS as f64 * WORTH_ENTERING) as i128 + 1;
    let mut sum: i128 = 0;
    for (wanted, worth) in rest.wanted.iter().zip(&worths.kinds) {
        sum += i128::from(*wanted) * worth;
    }
    for (left, (worth, container)) in rest
        .lengths
        .iter()
        .zip(worths.containers.iter().zip(&model.containers))
    {
        // Rounded up: what is taken off is no less than exact.
        sum -= (worth * i128::from(*left) + i128::from(container.length) - 1)
            / i128::from(container.length);
    }
    for (branch, worth) in branches.iter().zip(&worths.branches) {
        sum += worth * i128::from(branch.number);
    }
    let mut found = Vec::new();
    for (place, spot) in model.spots.iter().enumerate() {
        if deadline.over() {
            return None;
        }
        if !rest_holds(rest, spot) {
            continue;
        }
        let charge = spot.container.map_or(0, |container| {
            worths.containers[container] * i128::from(spot.length)
                / i128::from(model.containers[container].length)
        });
        let concerned = branches
            .iter()
            .zip(&worths.branches)
            .filter(|(branch, worth)| {
                **worth != 0 && branch.feature.concerns(spot.origin, spot.length)
            });
        let (flat, held): (Vec<_>, Vec<_>) =
            concerned.partition(|(branch, _)| branch.feature.holds.is_empty());
        let flat: i128 = flat.into_iter().map(|(_, worth)| worth).sum();
        let extras: Vec<Extra> = held
            .into_iter()
            .map(|(branch, worth)| Extra {
                holds: branch.feature.holds.clone(),
                worth: *worth,
            })
            .collect();
        let costs = spot.cost * PARTS + charge - flat;
        let best = level::best(spot, &rest.wanted, &worths.kinds, &extras, costs);
        let over = best.at_most - costs;
        if over > 0 {
            sum -= over * spot.most;
            if let Some(pieces) = best.pieces.filter(|_| over > entering) {
                found.push(Column::level(model, place, pieces));
            }
        }
    }
    let pieces: i128 = rest.wanted.iter().map(|count| i128::from(*count)).sum();
    for (place, sheet) in model.sheets.iter().enumerate() {
        if deadline.over() {
            return None;
        }
        let (at_most, column) = match &sheet.listed {
            Some(listed) => best_listed(listed, branches, worths),
            None => best_unlisted(sheet, place, rest, branches, worths, deadline)?,
        };
        let over = at_most - sheet.cost * PARTS;
        if over > 0 {
            sum -= over * pieces;
            found.extend(column.filter(|_| over > entering));
        }
    }
    // A cost is whole: parts of a unit are rounded up.
    let bound = sum.max(0);
    Some(((bound + PARTS - 1) / PARTS, found))
}

/// What the best of the listed cuttings of a sheet is worth, and which one it is.
fn best_listed(listed: &[Column], branches: &[Branch], worths: &Worths) -> (i128, Option<Column>) {
    let worth = |column: &&Column| {
        let pieces = column.pieces.iter();
        let pieces = pieces.map(|(kind, count)| worths.kinds[*kind] * i128::from(*count));
        let own = branches.iter().zip(&worths.branches);
        let own = own.filter(|(branch, _)| branch.feature.of(column));
        pieces.sum::<i128>() + own.map(|(_, worth)| worth).sum::<i128>()
    };
    let best = listed.iter().max_by_key(worth);
    best.map_or((0, None), |column| (worth(&column), Some(column.clone())))
}

/// What no cutting of a sheet is worth more than, and the best one that was found; `None` where the time was over.
fn best_unlisted(
    sheet: &Sheet,
    place: usize,
    rest: &Rest,
    branches: &[Branch],
    worths: &Worths,
    deadline: &Deadline,
) -> Option<(i128, Option<Column>)> {
    let own = branches.iter().zip(&worths.branches);
    let own = own.filter(|(branch, _)| branch.feature.concerns(sheet.stock, 0));
    // What depends on the pieces is granted where it is worth something, and not charged where it costs.
    let more = own.map(|(branch, worth)| match branch.feature.holds.is_empty() {
        true => *worth,
        false => (*worth).max(0),
    });
    let (at_most, levels) = sheet::best(sheet, &rest.wanted, &worths.kinds, deadline)?;
    let column = (!levels.is_empty()).then(|| Column::sheet(sheet, place, levels));
    Some((at_most + more.sum::<i128>(), column))
}

/// Whether a level can still be cut: its container is long enough.
fn rest_holds(rest: &Rest, spot: &Spot) -> bool {
    let left = spot.container.map(|container| rest.lengths[container]);
    left.is_none_or(|left| spot.length <= left)
}
