//! What the plan's two lists say of each other: runs name hoopings, placements name runs.

use std::collections::HashMap;

use super::covering::{Covering, Run};
use super::geometry::Strip;
use super::report::{Report, quoted};
use super::roll::Roll;
use crate::plan::{Placement, Plan};

/// The strips of the plan with their recomputed coverings, and where each of their runs is placed.
pub(super) struct Placed<'a> {
    roll: &'a Roll<'a>,
    coverings: &'a [Option<Covering<'a>>],
    /// Hoopings (from 0) of each run of each entry.
    hoopings: Vec<Vec<Vec<usize>>>,
    entry_of: HashMap<&'a str, usize>,
}

/// What a placement holds.
pub(super) struct Held<'a> {
    /// The strip's place in the plan's list.
    pub(super) entry: usize,
    pub(super) strip: &'a Strip,
    /// `None` where the strip's segments cannot be made out.
    pub(super) run: Option<&'a Run>,
}

impl<'a> Placed<'a> {
    /// Reads all placements, and checks that each run is placed once, in the hooping that it names.
    pub(super) fn check(
        plan: &'a Plan,
        roll: &'a Roll<'a>,
        coverings: &'a [Option<Covering<'a>>],
        report: &mut Report,
    ) -> Placed<'a> {
        let known = plan.strips.iter().zip(&roll.planned).enumerate();
        let mut placed = Placed {
            roll,
            coverings,
            hoopings: plan
                .strips
                .iter()
                .map(|strip| vec![Vec::new(); strip.runs.len()])
                .collect(),
            entry_of: known
                .filter(|(_, (_, strip))| strip.is_some())
                .map(|(entry, (strip, _))| (strip.id.as_str(), entry))
                .collect(),
        };
        for (hooping, entry) in plan.hoopings.iter().enumerate() {
            for (place, placement) in entry.placements.iter().enumerate() {
                let pointer = format!("/hoopings/{hooping}/placements/{place}");
                placed.note(hooping, placement, &pointer, report);
            }
        }
        placed.check_runs(plan, report);
        placed
    }

    fn note(&mut self, hooping: usize, placement: &Placement, pointer: &str, report: &mut Report) {
        let name = quoted(&placement.strip);
        let Some(&entry) = self.entry_of.get(placement.strip.as_str()) else {
            let message = format!("The plan lists no strip {name} that could be placed.");
            report.broken(format!("{pointer}/strip"), "unknown-strip", message);
            return;
        };
        let runs = self.hoopings[entry].len();
        let run = usize::try_from(placement.run).ok();
        let run = run.and_then(|run| run.checked_sub(1));
        let Some(places) = run.and_then(|run| self.hoopings[entry].get_mut(run)) else {
            let message = format!(
                "The placement names run {} of the strip {name}; it has runs 1 to {runs}.",
                placement.run
            );
            report.broken(format!("{pointer}/run"), "unknown-run", message);
            return;
        };
        if let Some(first) = places.first() {
            let message = format!(
                "Run {} of the strip {name} is placed in hooping {} already; a run is stitched once.",
                placement.run,
                first + 1
            );
            report.broken(pointer, "run-placed-twice", message);
        }
        places.push(hooping);
    }

    fn check_runs(&self, plan: &Plan, report: &mut Report) {
        for (entry, strip) in plan.strips.iter().enumerate() {
            if self.roll.planned[entry].is_none() {
                continue;
            }
            let name = quoted(&strip.id);
            for (index, run) in strip.runs.iter().enumerate() {
                let pointer = format!("/strips/{entry}/runs/{index}");
                let named = usize::try_from(run.hooping).ok();
                let named = named.and_then(|number| number.checked_sub(1));
                let number = index + 1;
                if named.is_none_or(|hooping| hooping >= plan.hoopings.len()) {
                    let message = format!(
                        "Run {number} of the strip {name} is said to be in hooping {}; there are hoopings 1 to {}.",
                        run.hooping,
                        plan.hoopings.len()
                    );
                    report.broken(format!("{pointer}/hooping"), "unknown-hooping", message);
                    continue;
                }
                match self.hoopings[entry][index].first() {
                    None => {
                        let message =
                            format!("Run {number} of the strip {name} is placed in no hooping.");
                        report.broken(pointer, "run-not-placed", message);
                    }
                    Some(&first) if Some(first) != named => {
                        let message = format!(
                            "Run {number} of the strip {name} is said to be in hooping {}; it is placed in hooping {}.",
                            run.hooping,
                            first + 1
                        );
                        report.broken(
                            format!("{pointer}/hooping"),
                            "run-in-other-hooping",
                            message,
                        );
                    }
                    Some(_) => {}
                }
            }
        }
    }

    /// The known strips with their places in the plan's list.
    pub(super) fn strips(&self) -> impl Iterator<Item = (usize, &'a Strip)> + '_ {
        let planned = self.roll.planned.iter().enumerate();
        planned.filter_map(|(entry, strip)| strip.map(|strip| (entry, strip)))
    }

    /// The hooping (from 0) of each run of a strip; `None` unless each is placed just once.
    pub(super) fn hoopings_of(&self, entry: usize) -> Option<Vec<usize>> {
        let once = |places: &Vec<usize>| match places.as_slice() {
            [hooping] => Some(*hooping),
            _ => None,
        };
        self.hoopings[entry].iter().map(once).collect()
    }

    /// What a placement holds; `None` where it names no strip or run of the plan.
    pub(super) fn held(&self, placement: &Placement) -> Option<Held<'a>> {
        let entry = *self.entry_of.get(placement.strip.as_str())?;
        let strip = self.roll.planned[entry]?;
        let run = usize::try_from(placement.run).ok()?.checked_sub(1)?;
        self.hoopings[entry].get(run)?;
        Some(Held {
            entry,
            strip,
            run: self.coverings[entry]
                .as_ref()
                .and_then(|covering| covering.runs.get(run)),
        })
    }
}
