//! A cutting at once: the largest piece that is left begins a level, and the rest of its width is filled with as much cloth as goes in.

use crate::cutting::level;
use crate::cutting::master::{Column, Rest};
use crate::cutting::model::{Model, Spot};
use crate::cutting::sheet;

/// Columns and how often each, or `None` where what is on hand does not hold everything this way.
pub fn greedy(model: &Model) -> Option<Vec<(Column, u32)>> {
    let mut rest = Rest::all(model);
    let mut chosen = Vec::new();
    // What a piece is worth is its area; the same however it lies.
    let areas: Vec<i128> = (0..model.wanted.len())
        .map(|kind| area(model, kind))
        .collect();
    let mut order: Vec<usize> = (0..model.wanted.len()).collect();
    order.sort_by_key(|kind| (-longest(model, *kind), -areas[*kind], *kind));
    for kind in order {
        while rest.wanted[kind] > 0 {
            let (column, times) = best_for(model, &rest, kind, &areas)?;
            rest.take(&column, times);
            chosen.push((column, times));
        }
    }
    Some(chosen)
}

/// The shortest level that a kind can lie in.
fn longest(model: &Model, kind: usize) -> i64 {
    let sheets = model.sheets.iter().flat_map(|sheet| &sheet.levels);
    let spots = model.spots.iter().chain(sheets);
    let fitting = spots.filter(|spot| spot.takes[kind].is_some());
    fitting.map(|spot| spot.length).min().unwrap_or(0)
}

fn area(model: &Model, kind: usize) -> i128 {
    let sheets = model.sheets.iter().flat_map(|sheet| &sheet.levels);
    let spots = model.spots.iter().chain(sheets);
    let areas = spots.filter_map(|spot| {
        spot.takes[kind].map(|(width, _)| i128::from(width) * i128::from(spot.length))
    });
    areas.min().unwrap_or(0)
}

/// A column that holds a kind, the cheapest for the area that it cuts, and how often it can be cut as it is.
fn best_for(model: &Model, rest: &Rest, kind: usize, areas: &[i128]) -> Option<(Column, u32)> {
    let mut best: Option<(i128, i128, Column)> = None;
    let mut see = |cost: i128, cut: i128, column: Column| {
        let better = best
            .as_ref()
            .is_none_or(|(of_cost, of_cut, _)| cost * of_cut < of_cost * cut);
        if better {
            best = Some((cost, cut, column));
        }
    };
    let mut seen: Vec<(usize, Option<usize>, bool)> = Vec::new();
    // The shortest levels come last.
    for (place, spot) in model.spots.iter().enumerate().rev() {
        let Some((_, lengthwise)) = spot.takes[kind] else {
            continue;
        };
        let way = (spot.stock, spot.container, lengthwise);
        let left = spot.container.map(|container| rest.lengths[container]);
        if left.is_some_and(|left| spot.length > left) || seen.contains(&way) {
            continue;
        }
        seen.push(way);
        let pieces = filled(spot, rest, kind, areas);
        let cut = pieces
            .iter()
            .map(|(of, count)| areas[*of] * i128::from(*count))
            .sum();
        see(spot.cost, cut, Column::level(model, place, pieces));
    }
    for (place, sheet) in model.sheets.iter().enumerate() {
        // The kind at hand is worth more than all others, so that it is in.
        let mut worth = areas.to_vec();
        worth[kind] = areas.iter().sum::<i128>() * 1000;
        let (_, levels) = sheet::best(sheet, &rest.wanted, &worth);
        let column = Column::sheet(model, place, levels);
        if column.holds(kind) > 0 {
            let held = column.pieces.iter();
            let held =
                held.map(|(of, count)| areas[*of] * i128::from(*(count.min(&rest.wanted[*of]))));
            see(sheet.cost, held.sum(), column);
        }
    }
    let (_, _, column) = best?;
    let whole = column
        .pieces
        .iter()
        .map(|(of, count)| rest.wanted[*of] / count);
    let mut times = whole.min().unwrap_or(1).max(1);
    if let (Some(container), Some(length)) = (column.container, column.length) {
        times = times.min(u32::try_from(rest.lengths[container] / length).unwrap_or(1));
    }
    Some((column, times))
}

/// A level with one of the kind, and as much area as goes in beside it.
fn filled(spot: &Spot, rest: &Rest, kind: usize, areas: &[i128]) -> Vec<(usize, u32)> {
    let own = spot.takes[kind].map_or(0, |(width, _)| width);
    let mut wanted = rest.wanted.clone();
    wanted[kind] -= 1;
    let narrower = Spot {
        width: spot.width - own,
        ..spot.clone()
    };
    let mut pieces = level::best(&narrower, &wanted, areas, &[], 0)
        .pieces
        .unwrap_or_default();
    match pieces.iter_mut().find(|(of, _)| *of == kind) {
        Some((_, count)) => *count += 1,
        None => pieces.push((kind, 1)),
    }
    pieces.sort_unstable();
    pieces
}
