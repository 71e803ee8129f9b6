//! The roll call: every strip of the scenario once, planned or left out.

use std::collections::HashMap;

use super::geometry::{Geometry, Strip};
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
    let mut first_time = |id: &str, pointer: String, place: Seen, report: &mut Report| {
        let name = quoted(id);
        let Some(&index) = index_of.get(id) else {
            let message = format!("The scenario has no strip {name}.");
            report.broken(pointer, "unknown-strip", message);
            return None;
        };
        if !matches!(seen[index], Seen::Nowhere) {
            let message =
                format!("The strip {name} is listed before; a plan lists each strip once.");
            report.broken(pointer, "strip-listed-twice", message);
            return None;
        }
        seen[index] = place;
        Some(&geometry.strips[index])
    };
    let mut planned = Vec::with_capacity(plan.strips.len());
    for (entry, strip) in plan.strips.iter().enumerate() {
        let pointer = format!("/strips/{entry}/id");
        planned.push(first_time(&strip.id, pointer, Seen::Planned(entry), report));
    }
    let mut unplanned = Vec::new();
    for (entry, left_out) in plan.unplanned.iter().enumerate() {
        let pointer = format!("/unplanned/{entry}/strip");
        if let Some(strip) = first_time(&left_out.strip, pointer, Seen::Unplanned, report) {
            unplanned.push((entry, strip));
        }
    }
    for (strip, seen) in geometry.strips.iter().zip(&seen) {
        if matches!(seen, Seen::Nowhere) {
            let name = quoted(&strip.id);
            let message = format!("The strip {name} is neither planned nor left out.");
            report.broken("/strips", "strip-missing", message);
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
    }
}
