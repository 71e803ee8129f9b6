//! Whether some runs lie together in one hoop: every order of them, cut into lanes at every set of places.

use sashwright_solver::scenario::{Hoop, Scenario};

use super::choice::Run;

/// Whether some hoop that it may lie in takes the run alone.
pub fn fits_alone(run: &Run, scenario: &Scenario, may_lie_in: &dyn Fn(usize) -> bool) -> bool {
    let hoops = scenario.hoops.iter().enumerate();
    let mut allowed = hoops.filter(|(hoop, _)| may_lie_in(*hoop));
    allowed.any(|(_, hoop)| fits(&[*run], hoop, between(scenario)))
}

/// 2e + g in nanometres: from stitching to stitching across two fabrics.
pub fn between(scenario: &Scenario) -> i128 {
    let allowances = &scenario.allowances;
    let reach = i128::from(allowances.seam.nanometres() + allowances.trim.nanometres());
    2 * reach + i128::from(allowances.gap.nanometres())
}

/// Whether the hoop takes all the runs at once.
pub fn fits(runs: &[Run], hoop: &Hoop, between: i128) -> bool {
    let [first, second] = hoop.field.map(|side| i128::from(side.nanometres()));
    let mut orders = Vec::new();
    add_orders(&mut runs.to_vec(), 0, &mut orders);
    orders.iter().any(|order| {
        lanes_of(order).iter().any(|lanes| {
            fits_as_laid(lanes, first, second, between)
                || hoop.turn && fits_as_laid(lanes, second, first, between)
        })
    })
}

/// Adds every order of the runs from `fixed` on.
fn add_orders(runs: &mut Vec<Run>, fixed: usize, orders: &mut Vec<Vec<Run>>) {
    if fixed == runs.len() {
        orders.push(runs.clone());
        return;
    }
    for next in fixed..runs.len() {
        runs.swap(fixed, next);
        add_orders(runs, fixed + 1, orders);
        runs.swap(fixed, next);
    }
}

/// Every way to cut a row of runs into lanes.
fn lanes_of(order: &[Run]) -> Vec<Vec<&[Run]>> {
    if order.is_empty() {
        return vec![Vec::new()];
    }
    let mut found = Vec::new();
    for length in 1..=order.len() {
        let (lane, rest) = order.split_at(length);
        for mut lanes in lanes_of(rest) {
            lanes.insert(0, lane);
            found.push(lanes);
        }
    }
    found
}

/// Whether these lanes, in this order and each in its order, lie in a field of `along` × `across`. All is doubled, as
/// margins are halved.
fn fits_as_laid(lanes: &[&[Run]], along: i128, across: i128, between: i128) -> bool {
    let lane_fits = |lane: &&[Run]| {
        let parts = lane.iter().map(|run| (run.length, run.margin_along));
        opens_outward(lane) && doubled_extent(parts, between) <= 2 * along
    };
    let widest = |lane: &[Run], of: fn(&Run) -> i128| lane.iter().map(of).max().unwrap_or(0);
    let parts = lanes.iter().map(|lane| {
        (
            widest(lane, |run| run.width),
            widest(lane, |run| run.margin_across),
        )
    });
    lanes.iter().all(lane_fits) && doubled_extent(parts, between) <= 2 * across
}

/// Twice the room for parts (extent, margin) laid in a row.
fn doubled_extent(parts: impl Iterator<Item = (i128, i128)>, between: i128) -> i128 {
    let mut total = 0;
    let mut before = None;
    for (extent, margin) in parts {
        total += match before {
            None => margin,
            Some(before) => i128::max(before + margin, 2 * between),
        };
        total += 2 * extent;
        before = Some(margin);
    }
    total + before.unwrap_or(0)
}

/// Whether every open end can face out of the hoop; a run may point either way.
fn opens_outward(lane: &[Run]) -> bool {
    lane.len() == 1
        || lane.iter().enumerate().all(|(index, run)| {
            let outermost = index == 0 || index == lane.len() - 1;
            run.open_ends == 0 || run.open_ends == 1 && outermost
        })
}
