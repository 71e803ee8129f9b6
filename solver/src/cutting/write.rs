//! Columns written out as a cutting.

use std::collections::BTreeMap;

use crate::cutting::master::Column;
use crate::cutting::model::{Model, Spot};
use crate::cutting::{Cutting, Level, Order, Used};
use crate::length::Length;

/// Columns as a cutting: what is more than wanted is left out, and each level is as long as its longest piece.
pub fn written(order: &Order, model: &Model, chosen: &[(Column, u32)]) -> Cutting {
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
