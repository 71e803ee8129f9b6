//! The master program: the integer program of the whole plan, over classes of strips and patterns of hoopings.
//!
//! Side by side with the rules of a valid plan it says:
//!
//! | rule | here |
//! | --- | --- |
//! | every strip is covered | for each class: Σ over its covers of `y` = number of its strips |
//! | every run is stitched in a hooping that takes it | for each kind of run: places in the hoopings `x`, exchanged along `v`, are at least the runs of the covers `y` |
//! | two runs of one strip never share a hooping | a pattern holds at most as many open runs of a class as the class has strips |
//! | no gap is ever filled in | the last hooping (with growth one way, the first one too) holds no run with two open ends: `last`, `first` |
//! | corners | for each strip end one pattern `b`; for each corner one pair of patterns `q` |
//! | hoop changes | at least one less than the hoops used `u` |
//!
//! What it leaves open — which strip of a class gets which place, and in which order — is settled by
//! [`deal`](crate::deal). A choice that cannot be dealt out comes back as a cut (logic-based Benders decomposition:
//! Hooker and Ottosson, Mathematical Programming 96 (2003) 33–60, from memory).

mod build;
mod corners;
mod cuts;
mod forms;
mod supply;
mod unlisted;

pub use build::{Master, build, stabilizer_area};
pub use forms::{Form, cost_parts, weight};

use std::collections::BTreeMap;

use crate::program::Program;
use crate::task::Task;

/// A point of the master program: how many of each pattern, and a cover for each strip.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Choice {
    /// Patterns (indices) and how often each is hooped.
    pub patterns: Vec<(usize, usize)>,
    /// For each strip of the quilt top its class and cover; `None` for a strip that is not planned.
    pub covers: Vec<Option<(usize, usize)>>,
}

impl Master {
    /// Reads a point of the program.
    pub fn choice(&self, task: &Task<'_>, values: &[i64]) -> Choice {
        let count = |column: usize| usize::try_from(values[column]).unwrap_or(0);
        let patterns = self.patterns.iter().enumerate();
        let patterns = patterns.map(|(pattern, column)| (pattern, count(*column)));
        let mut chosen = Choice {
            patterns: patterns.filter(|(_, count)| *count > 0).collect(),
            covers: vec![None; task.top.strips.len()],
        };
        // Covers that a class's strips still have to be given, those of cornered classes by the pattern at their ends.
        let mut stock: BTreeMap<_, Vec<(usize, usize)>> = BTreeMap::new();
        for cover in &self.covers {
            let phases = task
                .cover((cover.class, cover.cover))
                .ends
                .map(|ends| ends.phases);
            let copies = std::iter::repeat_n((cover.class, cover.cover), count(cover.column));
            stock
                .entry((cover.class, phases))
                .or_default()
                .extend(copies);
        }
        for stack in stock.values_mut() {
            stack.reverse();
        }
        for (number, class) in task.classes.iter().enumerate() {
            for strip in &class.members {
                let phases = self
                    .end_choices
                    .iter()
                    .find(|end| end.strip == *strip && values[end.column] > 0);
                let key = (number, phases.map(|end| end.phases));
                chosen.covers[*strip] = stock.get_mut(&key).and_then(Vec::pop);
            }
        }
        chosen
    }

    /// The program with hoopings in a set of hoops only, given as bits.
    pub fn only_hoops(&self, program: &Program, set: u128) -> Program {
        let mut narrowed = program.clone();
        for (pattern, column) in self.pattern_list.iter().zip(&self.patterns) {
            if set >> pattern.hoop & 1 == 0 {
                narrowed.columns[*column].most = 0;
            }
        }
        narrowed
    }
}
