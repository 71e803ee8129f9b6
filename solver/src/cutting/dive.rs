//! From a fractional point to a cutting: whole parts are taken, then the largest fraction, and what is left is relaxed anew.

use crate::cutting::master::{Column, Pool, Relaxed, Rest, relax};
use crate::cutting::model::Model;
use crate::deadline::Deadline;

/// Columns and how often each; `None` where the time was over or the pieces on hand do not hold the rest.
pub fn dive(
    model: &Model,
    start: &Relaxed,
    pool: &mut Pool,
    deadline: &Deadline,
) -> Option<Vec<(Column, u32)>> {
    let mut rest = Rest::all(model);
    let mut chosen = Vec::new();
    let mut point = start.point.clone();
    loop {
        let before = chosen.len();
        for (column, value) in pool.columns.iter().zip(&point) {
            let times = (value + 1e-6).floor();
            if times >= 1.0 {
                take(&mut rest, &mut chosen, column, times as u32);
            }
        }
        if chosen.len() == before && !rest.is_done() {
            let values = pool
                .columns
                .iter()
                .zip(&point)
                .filter(|(column, _)| rest.room(column) > 0);
            let (column, value) = values.max_by(|(_, a), (_, b)| a.total_cmp(b))?;
            if *value <= 1e-6 {
                return None;
            }
            take(&mut rest, &mut chosen, &column.clone(), 1);
        }
        if rest.is_done() {
            return Some(chosen);
        }
        let relaxed = relax(model, &rest, &[], pool, None, deadline);
        if relaxed.point.is_empty() {
            return None;
        }
        point = relaxed.point;
    }
}

/// Takes a column as often as it is of use and has room.
fn take(rest: &mut Rest, chosen: &mut Vec<(Column, u32)>, column: &Column, times: u32) {
    let needed = column
        .pieces
        .iter()
        .map(|(kind, count)| rest.wanted[*kind].div_ceil(*count));
    let times = times.min(rest.room(column)).min(needed.max().unwrap_or(0));
    if times > 0 {
        rest.take(column, times);
        chosen.push((column.clone(), times));
    }
}
