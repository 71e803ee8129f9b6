//! How strips lie, which names their ends, and where to find them by their ids.

use std::collections::{HashMap, HashSet};

use sashwright_solver::plan::{Plan, StripEntry};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::strips::End;

/// How a strip lies in the quilt top, which names its ends.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Lie {
    /// From the top to the bottom.
    Upright,
    /// From left to right; so do strips that the scenario lists on their own.
    Lying,
}

impl Lie {
    /// The end in words: `left end`, `bottom end`.
    pub fn end(self, end: End) -> &'static str {
        match (self, end) {
            (Lie::Upright, End::Start) => "top end",
            (Lie::Upright, End::End) => "bottom end",
            (Lie::Lying, End::Start) => "left end",
            (Lie::Lying, End::End) => "right end",
        }
    }

    /// How a strip of the quilt lies, by the form of its id.
    pub fn of_quilt_strip(id: &str) -> Lie {
        // What is left of a strip lies as the strip does.
        let part = |suffix| id.strip_suffix(suffix);
        let id = part("-start").or_else(|| part("-end")).unwrap_or(id);
        let upright = id.starts_with("sash-v-") || id.ends_with("-left") || id.ends_with("-right");
        if upright { Lie::Upright } else { Lie::Lying }
    }
}

/// Where to find the strips of a plan by their ids.
pub struct Book<'a> {
    strips: HashMap<&'a str, &'a StripEntry>,
    /// Strips that the scenario lists on their own, whatever their ids look like.
    listed: HashSet<String>,
}

impl<'a> Book<'a> {
    /// The strips of that plan.
    pub fn new(scenario: &Scenario, plan: &'a Plan) -> Book<'a> {
        let listed = scenario.strips.iter().flat_map(|entry| {
            let several = (1..=entry.count).map(|copy| match entry.count {
                1 => entry.id.clone(),
                _ => format!("{}-{copy}", entry.id),
            });
            several.collect::<Vec<String>>()
        });
        let strips = plan.strips.iter().map(|strip| (strip.id.as_str(), strip));
        Book {
            strips: strips.collect(),
            listed: listed.collect(),
        }
    }

    /// The strip with that id.
    pub fn strip(&self, id: &str) -> Option<&'a StripEntry> {
        self.strips.get(id).copied()
    }

    /// How the strip with that id lies.
    pub fn lie(&self, id: &str) -> Lie {
        let part = |suffix| {
            id.strip_suffix(suffix)
                .is_some_and(|whole| self.listed.contains(whole))
        };
        if self.listed.contains(id) || part("-start") || part("-end") {
            Lie::Lying
        } else {
            Lie::of_quilt_strip(id)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_are_named_as_the_strip_lies_in_the_quilt() {
        let checks = [
            ("sash-v-1-1", "top end", "bottom end"),
            ("border-1-left", "top end", "bottom end"),
            ("sash-h-1-1", "left end", "right end"),
            ("sash-row-2", "left end", "right end"),
            ("border-1-bottom", "left end", "right end"),
        ];
        for (id, start, end) in checks {
            let lie = Lie::of_quilt_strip(id);
            assert_eq!((lie.end(End::Start), lie.end(End::End)), (start, end));
        }
    }
}
