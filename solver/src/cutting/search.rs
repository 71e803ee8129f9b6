//! The search: a cutting at once, a bound, better cuttings, and branches until the two meet. From each branch with the least bound
//! it goes on downwards first, since points that are whole lie deep.

use std::collections::BTreeMap;

use crate::cutting::branch::{Branch, choose};
use crate::cutting::dive::dive;
use crate::cutting::greedy::greedy;
use crate::cutting::lift::Totals;
use crate::cutting::master::{Column, Pool, Rest, relax};
use crate::cutting::model::{Model, Spot};
use crate::cutting::{CannotCut, Cutting, Level, Order, Used};
use crate::deadline::Deadline;
use crate::length::Length;

/// Branches that are looked into at most.
const MOST_BRANCHES: usize = 20_000;
/// A dive is made at each of the first branches, then at every so many.
const FIRST_DIVES: usize = 20;
const DIVE_EVERY: usize = 25;

/// The best cutting that is found by the deadline, with what no cutting can beat. Once the time is over it is the one at once.
///
/// # Errors
/// See [`CannotCut`].
pub fn cut(order: &Order, deadline: &Deadline) -> Result<Cutting, CannotCut> {
    let model = Model::of(order)?;
    let mut best = greedy(&model, deadline).map(|chosen| written(order, &model, &chosen));
    let most = best.as_ref().map_or(0, |cutting| cutting.cost);
    let totals = Totals::of(&model, most);
    let bound = prove(order, &model, &totals, &mut best, deadline);
    let mut cutting = best.ok_or(CannotCut::NotEnough)?;
    cutting.bound = bound.min(cutting.cost);
    Ok(cutting)
}

/// Branch and bound. Answers with what no cutting can beat.
fn prove(
    order: &Order,
    model: &Model,
    totals: &Totals,
    best: &mut Option<Cutting>,
    deadline: &Deadline,
) -> i128 {
    let mut pool = Pool::default();
    let mut open: BTreeMap<(i128, usize), Vec<Branch>> = BTreeMap::new();
    open.insert((0, 0), Vec::new());
    // What is left open by branches that could not be finished.
    let mut unfinished: Option<i128> = None;
    let mut looked = 0;
    let mut made = 0;
    // The branch to go on with, before the least bound is taken up again.
    let mut next: Option<(i128, Vec<Branch>)> = None;
    loop {
        let least = open.first_key_value().map(|((bound, _), _)| *bound);
        let plunged = next.take();
        let least = least
            .into_iter()
            .chain(plunged.as_ref().map(|(bound, _)| *bound))
            .min();
        let Some((bound, branches)) =
            plunged.or_else(|| open.pop_first().map(|((bound, _), of)| (bound, of)))
        else {
            break;
        };
        let enough = best.as_ref().map(|cutting| cutting.cost);
        if enough.is_some_and(|enough| bound >= enough) {
            continue;
        }
        if deadline.over() || looked >= MOST_BRANCHES {
            return least.unwrap_or(bound).min(unfinished.unwrap_or(i128::MAX));
        }
        looked += 1;
        let relaxed = relax(
            model,
            &Rest::all(model),
            &branches,
            &mut pool,
            enough,
            deadline,
        );
        let own = totals.lift(relaxed.bound).max(bound);
        if enough.is_some_and(|enough| own >= enough) {
            continue;
        }
        if relaxed.point.is_empty() {
            unfinished = Some(unfinished.map_or(own, |known| known.min(own)));
            continue;
        }
        let worth_diving = looked <= FIRST_DIVES || looked % DIVE_EVERY == 0;
        let dived = worth_diving.then(|| dive(model, &relaxed, &mut pool, deadline));
        if let Some(chosen) = dived.flatten() {
            keep(best, written(order, model, &chosen));
        }
        if best.as_ref().is_some_and(|cutting| own >= cutting.cost) {
            continue;
        }
        match choose(&pool.columns, &relaxed.point, model.wanted.len()) {
            Some((feature, value)) => {
                let up = value - value.floor() >= 0.5;
                for (at_least, number) in [(true, value.ceil()), (false, value.floor())] {
                    let branch = Branch {
                        feature: feature.clone(),
                        at_least,
                        number: number as i64,
                    };
                    made += 1;
                    let all = branches.iter().cloned().chain([branch]).collect();
                    if at_least == up {
                        next = Some((own, all));
                    } else {
                        open.insert((own, made), all);
                    }
                }
            }
            None => {
                // All that is looked at is whole: so is the point, unless sheets of one kind are mixed.
                let chosen: Vec<(Column, u32)> = pool
                    .columns
                    .iter()
                    .zip(&relaxed.point)
                    .filter(|(_, value)| **value > 0.5)
                    .map(|(column, value)| (column.clone(), value.round() as u32))
                    .collect();
                if covers(model, &chosen) {
                    keep(best, written(order, model, &chosen));
                }
                if best.as_ref().is_none_or(|cutting| own < cutting.cost) {
                    unfinished = Some(unfinished.map_or(own, |known| known.min(own)));
                }
            }
        }
    }
    let cost = best.as_ref().map_or(i128::MAX, |cutting| cutting.cost);
    cost.min(unfinished.unwrap_or(i128::MAX))
}

/// Whether columns hold everything that is wanted, within what is on hand.
fn covers(model: &Model, chosen: &[(Column, u32)]) -> bool {
    let mut rest = Rest::all(model);
    for (column, times) in chosen {
        rest.take(column, *times);
    }
    rest.is_done() && rest.lengths.iter().all(|left| *left >= 0)
}

fn keep(best: &mut Option<Cutting>, cutting: Cutting) {
    if best.as_ref().is_none_or(|known| cutting.cost < known.cost) {
        *best = Some(cutting);
    }
}

/// Columns as a cutting: what is more than wanted is left out, and each level is as long as its longest piece.
fn written(order: &Order, model: &Model, chosen: &[(Column, u32)]) -> Cutting {
    let mut wanted = model.wanted.clone();
    // By stock and container: levels of bolts and pieces on hand.
    let mut cut: BTreeMap<(usize, Option<usize>), BTreeMap<Level, u32>> = BTreeMap::new();
    let mut sheets: BTreeMap<(usize, Vec<Level>), u32> = BTreeMap::new();
    for (column, times) in chosen {
        let mut left = *times;
        while left > 0 {
            // So many times in a row the column is of full use; then once with what is still wanted of it.
            let whole = column
                .pieces
                .iter()
                .map(|(kind, count)| wanted[*kind] / count);
            let turns = whole.min().unwrap_or(0).clamp(1, left);
            left -= turns;
            if column.length.is_some() {
                let spot = &model.spots[column.place];
                if let Some(level) = trimmed(order, spot, &column.pieces, &mut wanted, turns) {
                    let own = cut.entry((column.stock, column.container)).or_default();
                    *own.entry(level).or_insert(0) += turns;
                }
            } else {
                let spots = &model.sheets[column.place].levels;
                let levels = column.levels.iter().filter_map(|(position, pieces)| {
                    trimmed(order, &spots[*position], pieces, &mut wanted, turns)
                });
                let mut levels: Vec<Level> = levels.collect();
                levels.sort_by(|a, b| b.length.cmp(&a.length).then(a.cmp(b)));
                if !levels.is_empty() {
                    *sheets.entry((column.stock, levels)).or_insert(0) += turns;
                }
            }
        }
    }
    let mut used: Vec<Used> = Vec::new();
    for ((stock, _), levels) in cut {
        let mut levels: Vec<(Level, u32)> = levels.into_iter().collect();
        levels.sort_by(|(a, _), (b, _)| b.length.cmp(&a.length).then(a.cmp(b)));
        used.push(Used {
            stock,
            copies: 1,
            levels,
        });
    }
    for ((stock, levels), copies) in sheets {
        let mut counted: Vec<(Level, u32)> = Vec::new();
        for level in levels {
            match counted.last_mut().filter(|(known, _)| *known == level) {
                Some((_, count)) => *count += 1,
                None => counted.push((level, 1)),
            }
        }
        used.push(Used {
            stock,
            copies,
            levels: counted,
        });
    }
    used.sort_by_key(|used| used.stock);
    let cost = used.iter().map(|used| used.cost(order)).sum();
    Cutting {
        used,
        cost,
        bound: 0,
    }
}

/// A level with what is still wanted of its pieces, so many times; `None` where that is nothing.
fn trimmed(
    order: &Order,
    spot: &Spot,
    pieces: &[(usize, u32)],
    wanted: &mut [u32],
    turns: u32,
) -> Option<Level> {
    let mut kept = Vec::new();
    let mut length = 0;
    for (kind, count) in pieces {
        let count = (*count).min(wanted[*kind] / turns.max(1));
        let Some((_, lengthwise)) = spot.takes(*kind).filter(|_| count > 0) else {
            continue;
        };
        wanted[*kind] -= count * turns;
        let along = order.pieces[*kind].sides[usize::from(!lengthwise)];
        length = along.nanometres().max(length);
        kept.push((*kind, lengthwise, count));
    }
    (!kept.is_empty()).then(|| Level {
        length: Length::from_nanometres(length),
        pieces: kept,
    })
}
