//! Whether a plan keeps the wishes of its scenario.

use std::collections::{BTreeSet, HashMap};

use super::place::Place;
use super::report::{Report, quoted};
use crate::plan::{HoopingEntry, Plan};
use crate::scenario::{Scenario, Wish, Wished};

/// A wish and the strips that it names.
struct Asked<'a> {
    wish: &'a Wish,
    about: BTreeSet<&'a str>,
}

/// Checks every wish. Strips that the plan leaves out are no matter of wishes.
pub(super) fn check(scenario: &Scenario, plan: &Plan, report: &mut Report) {
    for wish in &scenario.wishes {
        let asked = Asked {
            wish,
            about: wish.strips.iter().map(String::as_str).collect(),
        };
        match &wish.what {
            Wished::OnlyIn(hoops) => asked.only_in(hoops, plan, report),
            Wished::Together => asked.together(plan, report),
            Wished::Apart => asked.apart(plan, report),
            Wished::First => asked.first(plan, report),
            Wished::AtMost(runs) => asked.at_most(*runs, plan, report),
            Wished::OneSize => asked.one_size(plan, report),
            // See `along.rs`.
            Wished::JointsAway { .. } | Wished::Symmetric | Wished::Alike => {}
        }
    }
}

impl Asked<'_> {
    fn names(&self, id: &str) -> bool {
        self.about.contains(id)
    }

    fn only_in(&self, hoops: &[String], plan: &Plan, report: &mut Report) {
        let place = Place::of("hoopings");
        for (number, hooping) in plan.hoopings.iter().enumerate() {
            if hoops.contains(&hooping.hoop) {
                continue;
            }
            let place = place.at(number);
            let place = place.at("placements");
            for (index, run) in hooping.placements.iter().enumerate() {
                if self.names(&run.strip) {
                    report.broken(
                        place.at(index),
                        "wish-only-in",
                        format_args!(
                            "The strip {} lies in the hoop {}; the wish at {} leaves only {}.",
                            quoted(&run.strip),
                            quoted(&hooping.hoop),
                            self.wish.pointer,
                            hoops.join(", ")
                        ),
                    );
                }
            }
        }
    }

    fn together(&self, plan: &Plan, report: &mut Report) {
        let mut held: HashMap<&str, BTreeSet<usize>> = HashMap::new();
        for (number, hooping) in plan.hoopings.iter().enumerate() {
            for run in hooping
                .placements
                .iter()
                .filter(|run| self.names(&run.strip))
            {
                held.entry(run.strip.as_str()).or_default().insert(number);
            }
        }
        let planned = || {
            plan.strips
                .iter()
                .enumerate()
                .filter(|(_, strip)| self.names(&strip.id))
        };
        let first = planned().find_map(|(_, strip)| held.get(strip.id.as_str())?.first());
        let place = Place::of("strips");
        for (index, strip) in planned() {
            let hoopings = held.get(strip.id.as_str());
            let fine = hoopings.is_some_and(|held| held.len() == 1 && held.first() == first)
                && strip.runs.len() == 1;
            if !fine {
                report.broken(
                    place.at(index).at("runs"),
                    "wish-together",
                    format_args!(
                        "The strip {} is not stitched in one run, in one hooping with the others that the wish at {} names.",
                        quoted(&strip.id),
                        self.wish.pointer
                    ),
                );
            }
        }
    }

    fn apart(&self, plan: &Plan, report: &mut Report) {
        let place = Place::of("hoopings");
        for (number, hooping) in plan.hoopings.iter().enumerate() {
            let runs = hooping.placements.iter().map(|run| run.strip.as_str());
            let here: BTreeSet<&str> = runs.filter(|strip| self.names(strip)).collect();
            let mut here = here.into_iter();
            if let (Some(one), Some(other)) = (here.next(), here.next()) {
                report.broken(
                    place.at(number).at("placements"),
                    "wish-apart",
                    format_args!(
                        "The strips {} and {} share a hooping; the wish at {} keeps them apart.",
                        quoted(one),
                        quoted(other),
                        self.wish.pointer
                    ),
                );
            }
        }
    }

    fn first(&self, plan: &Plan, report: &mut Report) {
        let holds =
            |hooping: &HoopingEntry| hooping.placements.iter().any(|run| self.names(&run.strip));
        let Some(other) = plan.hoopings.iter().position(|hooping| !holds(hooping)) else {
            return;
        };
        let place = Place::of("hoopings");
        let late = plan.hoopings.iter().enumerate().skip(other);
        for (number, _) in late.filter(|(_, hooping)| holds(hooping)) {
            report.broken(
                place.at(number),
                "wish-first",
                format_args!(
                    "This hooping holds a strip that comes first by the wish at {}; hooping {} comes before it and holds none.",
                    self.wish.pointer,
                    other + 1
                ),
            );
        }
    }

    fn at_most(&self, runs: usize, plan: &Plan, report: &mut Report) {
        let place = Place::of("hoopings");
        for (number, hooping) in plan.hoopings.iter().enumerate() {
            if hooping.placements.len() > runs {
                report.broken(
                    place.at(number).at("placements"),
                    "wish-at-most",
                    format_args!(
                        "The hooping holds {} runs; the wish at {} allows at most {runs}.",
                        hooping.placements.len(),
                        self.wish.pointer
                    ),
                );
            }
        }
    }

    fn one_size(&self, plan: &Plan, report: &mut Report) {
        let place = Place::of("strips");
        let strips = plan.strips.iter().enumerate();
        for (index, strip) in strips.filter(|(_, strip)| self.names(&strip.id)) {
            let segments = strip.runs.iter().flat_map(|run| &run.segments);
            let sizes: BTreeSet<&str> = segments.map(|segment| segment.size.as_str()).collect();
            if sizes.len() > 1 {
                report.broken(
                    place.at(index).at("runs"),
                    "wish-one-size",
                    format_args!(
                        "The strip {} is stitched with {} sizes; the wish at {} keeps it to one.",
                        quoted(&strip.id),
                        sizes.len(),
                        self.wish.pointer
                    ),
                );
            }
        }
    }
}
