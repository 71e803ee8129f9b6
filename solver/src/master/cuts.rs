//! Cuts: what the master learns from a choice that cannot be dealt out.

use std::collections::BTreeSet;

use crate::master::Master;
use crate::program::{Program, Sense};

/// A choice in which some strip has more runs of certain kinds than there are hoopings with places for them.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Crowd {
    /// The covers with as many such runs (columns).
    covers: Vec<usize>,
    /// The patterns with places for them (columns).
    patterns: Vec<usize>,
    /// How many such runs each of the covers has.
    runs: i64,
    /// The strips of the class.
    strips: i64,
}

impl Crowd {
    /// Adds what the crowd teaches: if any of the covers is chosen, there are as many hoopings with places for such runs
    /// as the cover has of them, since no two may share a hooping.
    pub fn add(&self, program: &mut Program) {
        let chosen = program.whole(0, 1);
        let covers = self.covers.iter().map(|column| (*column, -1));
        program.row(covers.chain([(chosen, self.strips)]), Sense::AtLeast, 0);
        let patterns = self.patterns.iter().map(|column| (*column, 1));
        program.row(patterns.chain([(chosen, -self.runs)]), Sense::AtLeast, 0);
    }
}

impl Master {
    /// The first crowd in a point, if there is one.
    pub fn crowd(&self, values: &[i64]) -> Option<Crowd> {
        let chosen = self
            .covers
            .iter()
            .filter(|cover| values[cover.column] > 0 && cover.runs.len() > 1);
        for cover in chosen {
            let kinds: BTreeSet<usize> = cover.runs.iter().copied().collect();
            for kind in kinds {
                let runs = self.as_demanding(&cover.runs, kind);
                let patterns = self.patterns_taking(kind);
                let hoopings: i64 = patterns.iter().map(|column| values[*column]).sum();
                if i64::try_from(runs).is_ok_and(|runs| runs > hoopings) {
                    let alike = self
                        .covers
                        .iter()
                        .filter(|other| other.class == cover.class);
                    let alike = alike.filter(|other| self.as_demanding(&other.runs, kind) >= runs);
                    return Some(Crowd {
                        covers: alike.map(|other| other.column).collect(),
                        patterns,
                        runs: i64::try_from(runs).unwrap_or(i64::MAX),
                        strips: self.program.columns[cover.column].most,
                    });
                }
            }
        }
        None
    }

    /// How many of the runs can only have places that a run of this kind could have too.
    fn as_demanding(&self, runs: &[usize], kind: usize) -> usize {
        let least = &self.kinds.list[kind];
        runs.iter()
            .filter(|run| self.kinds.list[**run].takes(least))
            .count()
    }

    /// The patterns with a place for a run of this kind.
    fn patterns_taking(&self, kind: usize) -> Vec<usize> {
        let run = &self.kinds.list[kind];
        let takes = |pattern: &crate::hooping::pattern::Pattern| {
            pattern
                .lanes
                .iter()
                .flatten()
                .any(|place| self.kinds.list[*place].takes(run))
        };
        let patterns = self.pattern_list.iter().zip(&self.patterns);
        patterns
            .filter(|(pattern, _)| takes(pattern))
            .map(|(_, column)| *column)
            .collect()
    }

    /// Forbids a point's choice of patterns and covers; or, where `changes` is given, any fewer hoop changes with it.
    ///
    /// Some pattern or cover has to be chosen more often or, of a pattern, less often. Since every class has as many
    /// covers as strips, a choice of covers that differs has more of some cover.
    pub fn cut(&mut self, values: &[i64], changes: Option<i64>) {
        let mut differs = Vec::new();
        let covers: Vec<usize> = self.covers.iter().map(|cover| cover.column).collect();
        for column in self.patterns.iter().copied().chain(covers.iter().copied()) {
            let value = values[column];
            if value == 0 {
                differs.push((column, 1));
                continue;
            }
            let most = self.program.columns[column].most;
            if value < most {
                // more = 1 only where column ≥ value + 1
                let more = self.program.whole(0, 1);
                self.program
                    .row([(column, 1), (more, -(value + 1))], Sense::AtLeast, 0);
                differs.push((more, 1));
            }
            if !covers.contains(&column) {
                // less = 1 only where column ≤ value − 1
                let less = self.program.whole(0, 1);
                self.program
                    .row([(column, 1), (less, most - value + 1)], Sense::AtMost, most);
                differs.push((less, 1));
            }
        }
        match (changes, self.changes) {
            (Some(least), Some(column)) => {
                let weakened = differs
                    .into_iter()
                    .map(|(differs, one)| (differs, one * least));
                self.program
                    .row(weakened.chain([(column, 1)]), Sense::AtLeast, least);
            }
            _ => self.program.row(differs, Sense::AtLeast, 1),
        }
    }
}
