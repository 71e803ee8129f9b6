//! What the plan's two lists say of each other: runs name hoopings, placements name runs.

use super::covering::{Covering, Run};
use super::geometry::Strip;
use super::place::Place;
use super::report::{Report, quoted};
use super::roll::Roll;
use crate::plan::{Placement, Plan};

/// The strips of the plan with their recomputed coverings, and where each of their runs is placed.
pub(super) struct Placed<'a> {
    roll: &'a Roll<'a>,
    coverings: &'a [Option<Covering<'a>>],
    /// Where each run of each entry is placed.
    runs: Rows<Stitched>,
    /// What each placement of each hooping holds; `None` where it names no strip or run of the plan.
    held: Rows<Option<Held<'a>>>,
}

/// What a placement holds.
pub(super) struct Held<'a> {
    /// The strip's place in the plan's list.
    pub(super) entry: usize,
    pub(super) strip: &'a Strip,
    /// `None` where the strip's segments cannot be made out.
    pub(super) run: Option<&'a Run>,
}

/// The hooping (from 0) that a run is placed in; of several, the first.
#[derive(Clone, Copy)]
enum Stitched {
    Nowhere,
    Once(usize),
    Again(usize),
}

impl Stitched {
    fn first(self) -> Option<usize> {
        match self {
            Stitched::Nowhere => None,
            Stitched::Once(hooping) | Stitched::Again(hooping) => Some(hooping),
        }
    }
}

/// Rows of different lengths, one after the other in a single list.
struct Rows<T> {
    items: Vec<T>,
    /// Where each row starts, and where the last one ends.
    starts: Vec<usize>,
}

impl<T> Rows<T> {
    fn new() -> Rows<T> {
        Rows {
            items: Vec::new(),
            starts: vec![0],
        }
    }

    fn end_row(&mut self) {
        self.starts.push(self.items.len());
    }

    fn row(&self, index: usize) -> &[T] {
        &self.items[self.starts[index]..self.starts[index + 1]]
    }

    fn row_mut(&mut self, index: usize) -> &mut [T] {
        &mut self.items[self.starts[index]..self.starts[index + 1]]
    }
}

impl<'a> Placed<'a> {
    /// Reads all placements, and checks that each run is placed once, in the hooping that it names.
    pub(super) fn check(
        plan: &'a Plan,
        roll: &'a Roll<'a>,
        coverings: &'a [Option<Covering<'a>>],
        report: &mut Report,
    ) -> Placed<'a> {
        let mut placed = Placed {
            roll,
            coverings,
            runs: Rows::new(),
            held: Rows::new(),
        };
        for strip in &plan.strips {
            let nowhere = strip.runs.iter().map(|_| Stitched::Nowhere);
            placed.runs.items.extend(nowhere);
            placed.runs.end_row();
        }
        let hoopings = Place::of("hoopings");
        for (hooping, entry) in plan.hoopings.iter().enumerate() {
            let place = hoopings.at(hooping);
            let place = place.at("placements");
            for (index, placement) in entry.placements.iter().enumerate() {
                let held = placed.note(hooping, placement, place.at(index), report);
                placed.held.items.push(held);
            }
            placed.held.end_row();
        }
        placed.check_runs(plan, report);
        placed
    }

    fn note(
        &mut self,
        hooping: usize,
        placement: &Placement,
        place: Place<'_>,
        report: &mut Report,
    ) -> Option<Held<'a>> {
        let name = quoted(&placement.strip);
        let entry = self.roll.entry_of(&placement.strip);
        let Some((entry, strip)) = entry.and_then(|entry| Some((entry, self.roll.planned[entry]?)))
        else {
            report.broken(
                place.at("strip"),
                "unknown-strip",
                format_args!("The plan lists no strip {name} that could be placed."),
            );
            return None;
        };
        let runs = self.runs.row_mut(entry);
        let count = runs.len();
        let run = usize::try_from(placement.run).ok();
        let run = run.and_then(|run| run.checked_sub(1));
        let Some((run, stitched)) = run.and_then(|run| Some((run, runs.get_mut(run)?))) else {
            report.broken(
                place.at("run"),
                "unknown-run",
                format_args!(
                    "The placement names run {} of the strip {name}; it has runs 1 to {count}.",
                    placement.run
                ),
            );
            return None;
        };
        *stitched = match stitched.first() {
            None => Stitched::Once(hooping),
            Some(first) => {
                report.broken(
                    place,
                    "run-placed-twice",
                    format_args!(
                        "Run {} of the strip {name} is placed in hooping {} already; a run is stitched once.",
                        placement.run,
                        first + 1
                    ),
                );
                Stitched::Again(first)
            }
        };
        let covering = self.coverings[entry].as_ref();
        Some(Held {
            entry,
            strip,
            run: covering.and_then(|covering| covering.runs.get(run)),
        })
    }

    fn check_runs(&self, plan: &Plan, report: &mut Report) {
        let strips = Place::of("strips");
        for (entry, strip) in plan.strips.iter().enumerate() {
            if self.roll.planned[entry].is_none() {
                continue;
            }
            let name = quoted(&strip.id);
            let runs = strips.at(entry);
            let runs = runs.at("runs");
            for (index, (run, stitched)) in strip.runs.iter().zip(self.runs.row(entry)).enumerate()
            {
                let place = runs.at(index);
                let named = usize::try_from(run.hooping).ok();
                let named = named.and_then(|number| number.checked_sub(1));
                let number = index + 1;
                if named.is_none_or(|hooping| hooping >= plan.hoopings.len()) {
                    report.broken(
                        place.at("hooping"),
                        "unknown-hooping",
                        format_args!(
                            "Run {number} of the strip {name} is said to be in hooping {}; there are hoopings 1 to {}.",
                            run.hooping,
                            plan.hoopings.len()
                        ),
                    );
                    continue;
                }
                match stitched.first() {
                    None => report.broken(
                        place,
                        "run-not-placed",
                        format_args!("Run {number} of the strip {name} is placed in no hooping."),
                    ),
                    Some(first) if Some(first) != named => report.broken(
                        place.at("hooping"),
                        "run-in-other-hooping",
                        format_args!(
                            "Run {number} of the strip {name} is said to be in hooping {}; it is placed in hooping {}.",
                            run.hooping,
                            first + 1
                        ),
                    ),
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

    /// How many runs the plan gives a strip.
    pub(super) fn runs_of(&self, entry: usize) -> usize {
        self.runs.row(entry).len()
    }

    /// The hooping (from 0) of each run of a strip; `None` unless each is placed just once.
    pub(super) fn hoopings_of(&self, entry: usize) -> Option<Vec<usize>> {
        let once = |stitched: &Stitched| match stitched {
            Stitched::Once(hooping) => Some(*hooping),
            Stitched::Nowhere | Stitched::Again(_) => None,
        };
        self.runs.row(entry).iter().map(once).collect()
    }

    /// What each placement of a hooping holds; `None` where it names no strip or run of the plan.
    pub(super) fn held_in(&self, hooping: usize) -> &[Option<Held<'a>>] {
        self.held.row(hooping)
    }
}
