//! Deals the places of chosen hoopings out to strips and puts the hoopings in order, so that no gap is ever filled in.
//!
//! [`assign`] gives each run a place; classes of strips do not get in each other's way there, so that it goes class by
//! class. [`order`] then finds the order of the hoopings with the fewest hoop changes, if there is an order at all; where wishes
//! say how runs follow each other along a strip, [`sequenced`] does, or [`peeled`].

mod assign;
mod bundles;
mod chains;
mod flow;
mod likely;
mod order;
mod peeled;
mod sequenced;

pub use sequenced::Along;

use std::collections::{BTreeMap, BTreeSet};

use crate::deadline::Deadline;
use crate::hooping::kind::Kind;
use crate::hooping::pattern::Pattern;
use crate::scenario::Growth;
use crate::wishes::Bound;

/// A strip whose runs are to be placed.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Job {
    /// The strip.
    pub strip: usize,
    /// The kinds of its runs: the start run, the inner ones, the end run; or a single one.
    pub runs: Vec<usize>,
    /// Whether it is the rest of a strip: its runs come from what is stitched outward, the outer one last.
    pub is_rest: bool,
    /// How its runs follow each other along it, where that is told.
    pub along: Option<Along>,
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
pub struct Deal {
    /// The hoopings in the order of the work, with the fewest hoop changes that were found, and their number.
    pub best: Option<(usize, Vec<Dealt>)>,
    /// Whether nothing better was left out.
    pub complete: bool,
}

/// The parts of a deal that do not change while it is searched for.
pub struct Table<'a> {
    /// The kinds of runs.
    pub kinds: &'a [Kind],
    /// The patterns.
    pub patterns: &'a [Pattern],
    /// Where the next run of a strip may butt up.
    pub growth: Growth,
    /// What wishes say of single strips.
    pub bound: &'a Bound,
}

/// With more pairs of a kind of places and one of runs than this none has a share.
const MOST_SHARES: usize = 1_000_000;

/// How many places of a kind (first) go to runs of a kind.
type Shares = BTreeMap<(usize, usize), i64>;

/// Who has a place: strip and run.
type Holder = Option<(usize, usize)>;

/// A hooping whose places are being dealt out.
#[derive(Clone, Debug)]
struct Hooping {
    pattern: usize,
    /// By lane: the kind that each place is made for, and who has it: strip and run.
    lanes: Vec<Vec<(usize, Holder)>>,
}

impl Table<'_> {
    /// Deals out the chosen patterns (index, how often) to the jobs. The search ends as soon as a deal has at most
    /// `enough_changes` hoop changes.
    pub fn deal(
        &self,
        chosen: &[(usize, usize)],
        jobs: &[Job],
        enough_changes: usize,
        deadline: &Deadline,
    ) -> Deal {
        let (split, whole): (Vec<&Job>, Vec<&Job>) = jobs
            .iter()
            .filter(|job| !job.runs.is_empty())
            .partition(|job| job.runs.len() > 1);
        let copies = chosen
            .iter()
            .flat_map(|(pattern, count)| std::iter::repeat_n(*pattern, *count));
        let hoopings: Vec<Hooping> = copies
            .map(|pattern| Hooping {
                pattern,
                lanes: self.patterns[pattern]
                    .lanes
                    .iter()
                    .map(|lane| lane.iter().map(|kind| (*kind, None)).collect())
                    .collect(),
            })
            .collect();
        let mut best: Option<(usize, Vec<Dealt>)> = None;
        let mut see = |hoopings: &[Hooping], begins: &BTreeMap<usize, usize>| {
            // Strips in one run have no say in the order, unless they are wished first, which is seen to later: without an
            // order of the others nothing else needs to be tried.
            let open: Vec<Dealt> = hoopings.iter().map(|of| self.open_runs(of)).collect();
            let rules = order::Rules {
                growth: self.growth,
                first: &self.bound.first,
                begins,
                deadline,
            };
            let of_split = order::Rules {
                first: &BTreeSet::new(),
                ..rules
            };
            let ordered = order::fewest_changes(&open, &split, of_split, None);
            if ordered.best.is_none() {
                return if ordered.complete {
                    assign::Next::Another
                } else {
                    assign::Next::Doubtful
                };
            }
            let Some(dealt) = self.add_whole(hoopings, &whole) else {
                return assign::Next::Another;
            };
            let most = best.as_ref().map(|(changes, _)| *changes);
            let ordered = order::fewest_changes(&dealt, &split, rules, most);
            if let Some((changes, order)) = ordered.best {
                let in_order = order.into_iter().map(|index| dealt[index].clone());
                best = Some((changes, in_order.collect()));
            }
            match &best {
                Some((changes, _)) if *changes <= enough_changes => assign::Next::Enough,
                _ if !ordered.complete => assign::Next::Doubtful,
                _ => assign::Next::Another,
            }
        };
        let unknown = BTreeMap::new();
        if split.is_empty() {
            let said = see(&hoopings, &unknown);
            return Deal {
                best,
                complete: said != assign::Next::Doubtful,
            };
        }
        let shares = self.shares(&hoopings, split.iter().chain(&whole), deadline);
        let mut enough = false;
        'orders: for order in likely::orders(self, &hoopings) {
            // Runs that keep to their shares leave room for all others, but are more likely to get into each other's way.
            let with_shares = shares.iter().map(Some);
            for kept_to in with_shares.chain([None]) {
                if let Some(dealt) =
                    chains::dealt(self, &hoopings, &split, &order, kept_to, deadline)
                {
                    enough = see(&dealt.hoopings, &dealt.begins) == assign::Next::Enough;
                }
                if enough || deadline.over() {
                    break 'orders;
                }
            }
        }
        let mut see = |hoopings: &[Hooping]| see(hoopings, &unknown);
        let complete = enough || assign::every(self, hoopings, &split, deadline, &mut see);
        Deal { best, complete }
    }

    /// How many places of each kind go to runs of each kind, where only their numbers matter; `None` where some run goes without, or it is
    /// not worth finding out.
    fn shares<'j>(
        &self,
        hoopings: &[Hooping],
        jobs: impl Iterator<Item = &'j &'j Job>,
        deadline: &Deadline,
    ) -> Option<Shares> {
        let (mut places, mut runs) = (vec![0; self.kinds.len()], vec![0; self.kinds.len()]);
        for (kind, _) in hoopings.iter().flat_map(|of| of.lanes.iter().flatten()) {
            places[*kind] += 1;
        }
        for kind in jobs.flat_map(|job| &job.runs) {
            runs[*kind] += 1;
        }
        let occurring = |counts: &[usize]| counts.iter().filter(|count| **count > 0).count();
        if occurring(&places) * occurring(&runs) > MOST_SHARES {
            return None;
        }
        let takes = |place: usize, run: usize| self.kinds[place].takes(&self.kinds[run]);
        let given = flow::share_out(&places, &runs, takes, deadline)?;
        let shares = given.into_iter().flat_map(|(place, runs)| {
            let of_place = runs.into_iter();
            of_place
                .map(move |(run, count)| ((place, run), i64::try_from(count).unwrap_or(i64::MAX)))
        });
        Some(shares.collect())
    }

    /// A hooping with the runs that have a place so far.
    fn open_runs(&self, hooping: &Hooping) -> Dealt {
        let pattern = &self.patterns[hooping.pattern];
        let holders = hooping.lanes.iter();
        Dealt {
            hoop: pattern.hoop,
            turned: pattern.turned,
            lanes: holders
                .map(|lane| lane.iter().filter_map(|(_, holder)| *holder).collect())
                .collect(),
        }
    }

    /// Gives the free places to the strips with a single run, and drops what stays empty. `None` where some strip goes
    /// without.
    fn add_whole(&self, hoopings: &[Hooping], whole: &[&Job]) -> Option<Vec<Dealt>> {
        let mut held;
        let (mut hoopings, mut whole) = (hoopings, whole.to_vec());
        if !self.bound.bundles.is_empty() {
            held = hoopings.to_vec();
            let bundled = bundles::deal(self, &mut held, &whole)?;
            whole.retain(|job| !bundled.contains(&job.strip));
            hoopings = &held;
        }
        let mut places = vec![0; self.kinds.len()];
        for (kind, holder) in hoopings
            .iter()
            .flat_map(|hooping| hooping.lanes.iter().flatten())
        {
            places[*kind] += usize::from(holder.is_none());
        }
        let mut runs = vec![0; self.kinds.len()];
        let mut waiting: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for job in whole.iter().rev() {
            runs[job.runs[0]] += 1;
            waiting.entry(job.runs[0]).or_default().push(job.strip);
        }
        // What has no time left is not said to be impossible.
        let never = Deadline::never();
        let takes = |place: usize, run: usize| self.kinds[place].takes(&self.kinds[run]);
        let mut given = flow::share_out(&places, &runs, takes, &never)?;
        let mut dealt = Vec::new();
        for hooping in hoopings {
            let pattern = &self.patterns[hooping.pattern];
            let mut lanes = Vec::new();
            for lane in &hooping.lanes {
                let mut runs = Vec::new();
                for (kind, holder) in lane {
                    let closed = || {
                        let of_kind = given.get_mut(kind)?;
                        let (run, count) = of_kind.last_mut()?;
                        let strip = waiting.get_mut(run)?.pop()?;
                        *count -= 1;
                        if *count == 0 {
                            of_kind.pop();
                        }
                        Some((strip, 0))
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
