//! What is left of a begun strip on either side of what is stitched is on one cloth: no hooping holds both.

use std::collections::HashMap;

use super::place::Place;
use super::placed::Placed;
use super::report::{Report, quoted};
use crate::plan::Plan;
use crate::scenario::Scenario;

/// Checks that no hooping holds runs of two rests of one strip.
pub(super) fn check(scenario: &Scenario, plan: &Plan, placed: &Placed<'_>, report: &mut Report) {
    if scenario.begun.is_empty() {
        return;
    }
    let place = Place::of("hoopings");
    for hooping in 0..plan.hoopings.len() {
        let mut seen: HashMap<usize, usize> = HashMap::new();
        for (number, held) in placed.held_in(hooping).iter().enumerate() {
            let Some((held, rest)) = held
                .as_ref()
                .and_then(|held| Some((held, held.strip.rest?)))
            else {
                continue;
            };
            let first = *seen.entry(rest.of).or_insert(held.entry);
            if first != held.entry {
                report.broken(
                    place.at(hooping).at("placements").at(number),
                    "rests-share-hooping",
                    format_args!(
                        "{} and the rest at the other end of its strip are in one hooping; they are on one cloth.",
                        quoted(&held.strip.id)
                    ),
                );
            }
        }
    }
}
