//! Deals the places of chosen hoopings out to strips and puts the hoopings in order, so that no gap is ever filled in.
//!
//! The order rule is simple once the order of the inner runs along a strip is free: of a strip's runs the last to be
//! stitched is an outer one (with growth one way, the first to be stitched is the other outer one). So the search goes
//! backwards from the last hooping: a strip's first run that it meets has to be an outer one.

mod flow;
mod search;

use std::collections::BTreeMap;

use crate::deadline::Deadline;
use crate::hooping::kind::{Kind, Openness};
use crate::hooping::pattern::Pattern;
use crate::scenario::Growth;
use search::Search;

/// A strip whose runs are to be placed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Job {
    /// The strip.
    pub strip: usize,
    /// The kinds of its runs: the start run, the inner ones, the end run; or a single one.
    pub runs: Vec<usize>,
}

/// One hooping with its places dealt out.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Dealt {
    /// Index of the hoop.
    pub hoop: usize,
    /// Whether strips lie along the second side of its field.
    pub turned: bool,
    /// In each lane the runs: strip, and index into its job's runs. No lane is empty.
    pub lanes: Vec<Vec<(usize, usize)>>,
}

/// What came of dealing.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// The hoopings in the order of the work.
    Done(Vec<Dealt>),
    /// No order and no assignment does it, within the hoop changes allowed.
    Impossible,
    /// The search ended without an answer.
    Unknown,
}

/// The parts of a deal that do not change while it is searched for.
pub struct Table<'a> {
    /// The kinds of runs.
    pub kinds: &'a [Kind],
    /// The patterns.
    pub patterns: &'a [Pattern],
    /// Where the next run of a strip may butt up.
    pub growth: Growth,
}

impl Table<'_> {
    /// Deals out the chosen patterns (index, how often) to the jobs with at most `most_changes` hoop changes.
    pub fn deal(
        &self,
        chosen: &[(usize, usize)],
        jobs: &[Job],
        most_changes: Option<usize>,
        deadline: &Deadline,
    ) -> Outcome {
        let (split, whole): (Vec<&Job>, Vec<&Job>) =
            jobs.iter().partition(|job| job.runs.len() > 1);
        let mut search = Search::new(self, chosen, &split, &whole, most_changes);
        let steps = match search.run(deadline) {
            search::Found::Yes => search.steps(),
            search::Found::No => return Outcome::Impossible,
            search::Found::Unknown => return Outcome::Unknown,
        };
        match self.add_whole(steps, &whole) {
            Some(dealt) => Outcome::Done(dealt),
            None => Outcome::Unknown,
        }
    }

    /// Gives the free places to the strips with a single run, and drops what stays empty.
    fn add_whole(&self, steps: Vec<search::Step>, whole: &[&Job]) -> Option<Vec<Dealt>> {
        let mut places = vec![0; self.kinds.len()];
        for (kind, holder) in steps.iter().flat_map(|step| step.lanes.iter().flatten()) {
            places[*kind] += usize::from(holder.is_none());
        }
        let mut runs = vec![0; self.kinds.len()];
        let mut waiting: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for job in whole.iter().rev() {
            runs[job.runs[0]] += 1;
            waiting.entry(job.runs[0]).or_default().push(job.strip);
        }
        let mut given = flow::share_out(&places, &runs, |place, run| {
            self.kinds[run].openness == Openness::Closed
                && self.kinds[place].takes(&self.kinds[run])
        })?;
        let mut dealt = Vec::new();
        for step in steps {
            let pattern = &self.patterns[step.pattern];
            let mut lanes = Vec::new();
            for lane in step.lanes {
                let mut runs = Vec::new();
                for (kind, holder) in lane {
                    let closed = || {
                        let run = given[kind].iter().position(|count| *count > 0)?;
                        given[kind][run] -= 1;
                        Some((waiting.get_mut(&run)?.pop()?, 0))
                    };
                    runs.extend(holder.or_else(closed));
                }
                if !runs.is_empty() {
                    lanes.push(runs);
                }
            }
            if !lanes.is_empty() {
                dealt.push(Dealt {
                    hoop: pattern.hoop,
                    turned: pattern.turned,
                    lanes,
                });
            }
        }
        Some(dealt)
    }
}
