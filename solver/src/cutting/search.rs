//! The search: a cutting at once, a bound, better cuttings, and branches until the two meet. From each branch with the least bound
//! it goes on downwards first, since points that are whole lie deep.

use std::collections::BTreeMap;

use crate::cutting::branch::{Branch, choose};
use crate::cutting::dive::dive;
use crate::cutting::greedy::greedy;
use crate::cutting::lift::Totals;
use crate::cutting::master::{Column, Pool, Rest, relax};
use crate::cutting::model::Model;
use crate::cutting::write::written;
use crate::cutting::{CannotCut, Cutting, Order};
use crate::deadline::Deadline;

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
    cut_within(order, MOST_BRANCHES, deadline)
}

/// The same, looking into so many branches at most.
///
/// # Errors
/// See [`CannotCut`].
pub fn cut_within(
    order: &Order,
    most_branches: usize,
    deadline: &Deadline,
) -> Result<Cutting, CannotCut> {
    let model = Model::of(order)?;
    let mut best = greedy(&model, deadline).map(|chosen| written(order, &model, &chosen));
    let most = best.as_ref().map_or(0, |cutting| cutting.cost);
    let totals = Totals::of(&model, most);
    let bound = prove(order, &model, &totals, &mut best, most_branches, deadline);
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
    most_branches: usize,
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
        if deadline.over() || looked >= most_branches {
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
