//! The roll call: every strip of the scenario once, planned or left out.

use std::collections::HashMap;

use super::geometry::{Geometry, Strip};
use super::place::Place;
use super::report::{Report, quoted};
use crate::plan::Plan;

/// Which entries of the plan stand for which strips.
pub(super) struct Roll<'a> {
    /// For each entry of the plan's `strips`, its strip; `None` for an unknown or repeated one.
    pub(super) planned: Vec<Option<&'a Strip>>,
    /// For each strip of the geometry, its entry in the plan's `strips`.
    pub(super) entries: Vec<Option<usize>>,
    /// The left-out strips, each with its place in `unplanned`.
    pub(super) unplanned: Vec<(usize, &'a Strip)>,
    index_of: HashMap<&'a str, usize>,
}

impl Roll<'_> {
    /// The entry of the plan's `strips` that stands for the strip of this id.
    pub(super) fn entry_of(&self, id: &str) -> Option<usize> {
        self.entries[*self.index_of.get(id)?]
    }
}

/// Where a strip was first seen.
#[derive(Clone, Copy)]
enum Seen {
    Nowhere,
    Planned(usize),
    Unplanned,
}

/// Calls the roll.
pub(super) fn call<'a>(geometry: &'a Geometry, plan: &Plan, report: &mut Report) -> Roll<'a> {
    let index_of: HashMap<&str, usize> = geometry
        .strips
        .iter()
        .enumerate()
        .map(|(index, strip)| (strip.id.as_str(), index))
        .collect();
    let mut seen = vec![Seen::Nowhere; geometry.strips.len()];
    let mut first_time = |id: &str, place: Place<'_>, as_what: Seen, report: &mut Report| {
        let name = quoted(id);
        let Some(&index) = index_of.get(id) else {
            report.broken(
                place,
                "unknown-strip",
                format_args!("The scenario has no strip {name}."),
            );
            return None;
        };
        if !matches!(seen[index], Seen::Nowhere) {
            report.broken(
                place,
                "strip-listed-twice",
                format_args!("The strip {name} is listed before; a plan lists each strip once."),
            );
            return None;
        }
        seen[index] = as_what;
        Some(&geometry.strips[index])
    };
    let strips = Place::of("strips");
    let mut planned = Vec::with_capacity(plan.strips.len());
    for (entry, strip) in plan.strips.iter().enumerate() {
        let place = strips.at(entry);
        let seen = Seen::Planned(entry);
        planned.push(first_time(&strip.id, place.at("id"), seen, report));
    }
    let left_out = Place::of("unplanned");
    let mut unplanned = Vec::new();
    for (entry, strip) in plan.unplanned.iter().enumerate() {
        let place = left_out.at(entry);
        if let Some(strip) = first_time(&strip.strip, place.at("strip"), Seen::Unplanned, report) {
            unplanned.push((entry, strip));
        }
    }
    for (strip, seen) in geometry.strips.iter().zip(&seen) {
        if matches!(seen, Seen::Nowhere) {
            report.broken(
                strips,
                "strip-missing",
                format_args!(
                    "The strip {} is neither planned nor left out.",
                    quoted(&strip.id)
                ),
            );
        }
    }
    let entries = seen.into_iter().map(|seen| match seen {
        Seen::Planned(entry) => Some(entry),
        Seen::Nowhere | Seen::Unplanned => None,
    });
    Roll {
        planned,
        entries: entries.collect(),
        unplanned,
        index_of,
    }
}
