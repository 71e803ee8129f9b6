//! A cutting at once: the largest piece that is left begins a level, and the rest of its width is filled with as much cloth as goes in.

use crate::cutting::level;
use crate::cutting::master::{Column, Rest};
use crate::cutting::model::{Model, Spot, Way};
use crate::cutting::sheet;
use crate::deadline::Deadline;

/// Columns and how often each, or `None` where what is on hand does not hold everything this way. Once the time is over a level
/// holds one kind, in the first place where there is room.
pub fn greedy(model: &Model, deadline: &Deadline) -> Option<Vec<(Column, u32)>> {
    let mut rest = Rest::all(model);
    let mut chosen = Vec::new();
    let tables = tables(model);
    let ways = |kind: usize| tables.iter().flat_map(move |table| &table[kind]);
    // What a piece is worth is its area; the same however it lies.
    let area = |kind: usize| {
        let areas = ways(kind).map(|way| i128::from(way.along) * i128::from(way.across));
        areas.min().unwrap_or(0)
    };
    let areas: Vec<i128> = (0..model.wanted.len()).map(area).collect();
    let shortest = |kind: usize| ways(kind).map(|way| way.along).min().unwrap_or(0);
    let mut order: Vec<usize> = (0..model.wanted.len()).collect();
    order.sort_by_cached_key(|kind| (-shortest(*kind), -areas[*kind], *kind));
    for kind in order {
        while rest.wanted[kind] > 0 {
            let (column, times) = best_for(model, &rest, kind, &areas, deadline)?;
            rest.take(&column, times);
            chosen.push((column, times));
        }
    }
    Some(chosen)
}

/// The table of ways of each stock. Levels of a stock follow each other and share one.
fn tables(model: &Model) -> Vec<&[Vec<Way>]> {
    let sheets = model.sheets.iter().flat_map(|sheet| &sheet.levels);
    let all = model.spots.iter().chain(sheets).map(|spot| &*spot.ways);
    let mut tables: Vec<&[Vec<Way>]> = all.collect();
    tables.dedup_by(|a, b| std::ptr::eq(*a, *b));
    tables
}

/// A column that holds a kind, the cheapest for the area that it cuts, and how often it can be cut as it is.
fn best_for(
    model: &Model,
    rest: &Rest,
    kind: usize,
    areas: &[i128],
    deadline: &Deadline,
) -> Option<(Column, u32)> {
    let mut best: Option<(i128, i128, Column)> = None;
    let mut see = |cost: i128, cut: i128, column: Column| {
        let better = best
            .as_ref()
            .is_none_or(|(of_cost, of_cut, _)| cost * of_cut < of_cost * cut);
        if better {
            best = Some((cost, cut, column));
        }
    };
    let mut hurried = false;
    let mut seen: Vec<(usize, bool)> = Vec::new();
    // The shortest levels come last.
    for (place, spot) in model.spots.iter().enumerate().rev() {
        let Some((_, lengthwise)) = spot.takes(kind) else {
            continue;
        };
        let way = (spot.origin, lengthwise);
        let left = spot.container.map(|container| rest.lengths[container]);
        if left.is_some_and(|left| spot.length > left) || seen.contains(&way) {
            continue;
        }
        seen.push(way);
        hurried = deadline.over();
        let pieces = if hurried {
            alone(spot, rest, kind)
        } else {
            filled(spot, rest, kind, areas)
        };
        let cut = cut(areas, &rest.wanted, &pieces);
        see(spot.cost, cut, Column::level(model, place, pieces));
        if hurried {
            break;
        }
    }
    for (place, sheet) in model.sheets.iter().enumerate() {
        if hurried {
            break;
        }
        // The kind at hand is worth more than all others, so that it is in.
        let mut worth = areas.to_vec();
        worth[kind] = areas.iter().sum::<i128>() * 1000;
        let levels = match sheet::best(sheet, &rest.wanted, &worth, deadline) {
            Some((_, levels)) => levels,
            None => {
                hurried = true;
                let last = sheet
                    .levels
                    .iter()
                    .rposition(|spot| spot.takes(kind).is_some());
                let level = last.map(|last| (last, alone(&sheet.levels[last], rest, kind)));
                level.into_iter().collect()
            }
        };
        let column = Column::sheet(sheet, place, levels);
        if column.holds(kind) > 0 {
            let cut = cut(areas, &rest.wanted, &column.pieces);
            see(sheet.cost, cut, column);
        }
    }
    let (_, _, column) = best?;
    let whole = column
        .pieces
        .iter()
        .map(|(of, count)| rest.wanted[*of] / count);
    let times = whole.min().unwrap_or(1).max(1).min(rest.room(&column));
    Some((column, times))
}

/// The area that is cut of what is still wanted.
fn cut(areas: &[i128], wanted: &[u32], pieces: &[(usize, u32)]) -> i128 {
    let areas = pieces
        .iter()
        .map(|(kind, count)| areas[*kind] * i128::from(*count.min(&wanted[*kind])));
    areas.sum()
}

/// A level with as many of a kind as go in.
fn alone(spot: &Spot, rest: &Rest, kind: usize) -> Vec<(usize, u32)> {
    let fitting = spot.takes(kind).map_or(0, |(width, _)| spot.width / width);
    let fitting = u32::try_from(fitting).unwrap_or(u32::MAX);
    vec![(kind, fitting.min(rest.wanted[kind]))]
}

/// A level with one of the kind, and as much area as goes in beside it.
fn filled(spot: &Spot, rest: &Rest, kind: usize, areas: &[i128]) -> Vec<(usize, u32)> {
    let own = spot.takes(kind).map_or(0, |(width, _)| width);
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
