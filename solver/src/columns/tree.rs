//! Branch and bound: finds a point of at most a given cost, or proves that there is none.
//!
//! Whether a branch is cut off is decided in floating point and then verified in whole numbers; a branch that cannot be
//! verified leaves the search without a proof, never with a wrong one.

use std::collections::BTreeMap;

use crate::columns::crowd::Cut;
use crate::columns::model::Model;
use crate::columns::split::{Branching, CUT, FIRST, Split};
use crate::deadline::Deadline;

/// The most cuts before a branch.
const MOST_CUTS: usize = 100;
/// Efforts are meant for so many columns.
const USUAL_COLUMNS: usize = 1_000;

/// What came of a search.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Found {
    /// A point that was accepted; the best there is, where the search was for improvement.
    Point(Vec<i64>),
    /// A point that was accepted, and perhaps there is a better one.
    Better(Vec<i64>),
    /// There is no point that could be accepted.
    None,
    /// The search ended early, or something could not be verified.
    Unknown,
}

/// What is said of a point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Verdict {
    /// It will do.
    Accepted,
    /// It will not do.
    Rejected,
    /// It will not do, but perhaps it would on a closer look.
    Doubtful,
}

/// What is known of a branch once its linear program is solved.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Branch {
    /// Proven: no point of it costs little enough.
    Closed,
    /// There may be one.
    Open,
    /// Nothing: it is left without a proof.
    Doubtful,
}

/// A program that is searched.
pub trait Program {
    /// Its columns and its linear program.
    fn model(&self) -> &Model;

    /// The same, to be changed.
    fn model_mut(&mut self) -> &mut Model;

    /// Solves the linear program of a branch.
    fn solve(&mut self, most: i64) -> Branch;

    /// Adds a column that counts the columns of a set.
    fn count(&mut self, set: &[usize], most: i64) -> usize;

    /// The point at hand, once nothing is left to branch on; `None` where it is none.
    fn point(&self, most: i64) -> Option<Vec<i64>>;

    /// Says whether a point will do.
    fn judge(&mut self, point: &[i64]) -> Verdict;

    /// Whether it is proven of the branch at hand that no point of it costs less.
    fn proves(&self, cost: i128) -> bool;

    /// A row that every acceptable point fulfils and the one at hand does not.
    fn cut(&mut self) -> Option<Cut>;
}

/// How much a search may do.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// The most branches.
    pub nodes: usize,
    /// The most points that are offered.
    pub offers: usize,
    /// The most cuts at the root.
    pub root_cuts: usize,
    /// Whether to go on after a point was accepted, for one that costs less.
    pub improve: bool,
}

impl Effort {
    /// So many branches and offers, without cuts, to the first point that will do.
    pub const fn of(nodes: usize, offers: usize) -> Effort {
        Effort {
            nodes,
            offers,
            root_cuts: 0,
            improve: false,
        }
    }

    /// The same work with so many columns: a small program may be looked at for longer.
    pub fn for_columns(self, columns: usize) -> Effort {
        let columns = columns.max(1);
        let longer = |count: usize| count.max(count.saturating_mul(USUAL_COLUMNS) / columns);
        Effort {
            nodes: longer(self.nodes),
            offers: longer(self.offers),
            ..self
        }
    }
}

/// A search for a point that costs at most `most`.
struct Tree<'p, P> {
    program: &'p mut P,
    branching: &'p Branching,
    /// The column that counts a feature, once there was need of it.
    counts: BTreeMap<u32, usize>,
    most: i64,
    left: Effort,
    /// Whether the root is done.
    begun: bool,
    deadline: &'p Deadline,
    doubtful: bool,
    improves: bool,
    point: Option<Vec<i64>>,
}

/// Looks for a point of a program that costs at most `most` and is accepted.
pub fn search<P: Program>(
    program: &mut P,
    branching: &Branching,
    most: i64,
    effort: Effort,
    deadline: &Deadline,
) -> Found {
    let mut tree = Tree {
        program,
        branching,
        counts: BTreeMap::new(),
        most,
        left: effort,
        begun: false,
        deadline,
        doubtful: false,
        improves: effort.improve,
        point: None,
    };
    tree.branch();
    match tree.point {
        Some(point) if tree.improves && tree.doubtful => Found::Better(point),
        Some(point) => Found::Point(point),
        None if tree.doubtful => Found::Unknown,
        None => Found::None,
    }
}

impl<P: Program> Tree<'_, P> {
    /// Whether one more part is looked at. A part that is not, for want of effort or time, leaves a doubt.
    fn may_go_on(&mut self) -> bool {
        if self.point.is_some() && !self.improves {
            return false;
        }
        if self.left.nodes == 0 || self.left.offers == 0 || self.deadline.over() {
            self.left.nodes = 0;
            self.doubtful = true;
            return false;
        }
        true
    }

    fn branch(&mut self) {
        if !self.may_go_on() {
            return;
        }
        self.left.nodes -= 1;
        let root = !std::mem::replace(&mut self.begun, true);
        let mut split = None;
        for round in 0..MOST_CUTS {
            match self.program.solve(self.most) {
                Branch::Closed => return,
                Branch::Doubtful => {
                    self.doubtful = true;
                    return;
                }
                Branch::Open => {}
            }
            split = self.branching.split(self.program.model());
            // Cuts cost time: the root is worth some, and a whole point that breaks one is no point.
            if split.is_some() && (!root || round >= self.left.root_cuts) {
                break;
            }
            match self.program.cut() {
                Some(cut) => self.program.model_mut().add_cut(&cut.terms, cut.least),
                None => break,
            }
        }
        self.divide(split);
    }

    /// Goes on with the parts of what is left.
    fn divide(&mut self, split: Option<Split>) {
        match split {
            Some(Split::Count(feature, value)) => {
                let column = self.count_of(feature);
                let (least, most) = self.bounds(column);
                let (down, above) = (value.floor() as i64, value.ceil() as i64);
                self.within(column, above, most);
                self.within(column, least, down);
            }
            Some(Split::Between(column, down, above, up_first)) => {
                let (least, most) = self.bounds(column);
                let halves = if up_first {
                    [(above, most), (least, down)]
                } else {
                    [(least, down), (above, most)]
                };
                for (least, most) in halves {
                    self.within(column, least, most);
                }
            }
            Some(Split::Apart(likely, unlikely)) => {
                for closed in [unlikely, likely] {
                    self.without(&closed);
                }
            }
            None => self.offer(),
        }
    }

    /// The column that counts a feature.
    fn count_of(&mut self, feature: u32) -> usize {
        if let Some(column) = self.counts.get(&feature) {
            return *column;
        }
        let counted = &self.branching.counted;
        let with = counted.features.iter();
        let with = with.filter(|(_, features)| features.contains(&feature));
        let set: Vec<usize> = with.map(|(column, _)| *column).collect();
        let column = self.program.count(&set, counted.most);
        self.counts.insert(feature, column);
        column
    }

    /// Branches without some columns.
    fn without(&mut self, closed: &[usize]) {
        let before: Vec<(i64, i64)> = closed.iter().map(|column| self.bounds(*column)).collect();
        if before.iter().any(|(least, _)| *least > 0) || !self.may_go_on() {
            return;
        }
        for column in closed {
            self.program.model_mut().set_bounds(*column, 0, 0);
        }
        self.branch();
        for (column, (least, most)) in closed.iter().zip(before) {
            self.program.model_mut().set_bounds(*column, least, most);
        }
    }

    fn bounds(&self, column: usize) -> (i64, i64) {
        let column = &self.program.model().columns[column];
        (column.least, column.most)
    }

    /// Branches with a column between two bounds.
    fn within(&mut self, column: usize, least: i64, most: i64) {
        if least > most || !self.may_go_on() {
            return;
        }
        let before = self.bounds(column);
        self.program.model_mut().set_bounds(column, least, most);
        self.branch();
        self.program
            .model_mut()
            .set_bounds(column, before.0, before.1);
    }

    /// Offers the point of the linear program. Where it is not accepted the search goes on around it.
    fn offer(&mut self) {
        let Some(point) = self.program.point(self.most) else {
            self.doubtful = true;
            return;
        };
        self.left.offers -= 1;
        match self.program.judge(&point) {
            Verdict::Accepted if self.improves => {
                // This is the least of the linear program, as far as its floating point can tell.
                let cost = self.program.model().cost_at(&point);
                self.doubtful |= !self.program.proves(cost);
                self.most = i64::try_from(cost).unwrap_or(self.most) - 1;
                self.point = Some(point);
                return;
            }
            Verdict::Accepted => {
                self.point = Some(point);
                return;
            }
            Verdict::Doubtful => self.doubtful = true,
            Verdict::Rejected => {}
        }
        // Other points: one column after the other differs, and those before it do not.
        let free: Vec<usize> = (0..self.program.model().columns.len())
            .filter(|number| {
                let column = &self.program.model().columns[*number];
                let deep = (FIRST + 1..CUT).contains(&column.rank)
                    && self.branching.ranks.contains(&column.rank);
                column.whole && deep && column.least < column.most
            })
            .collect();
        let bounds: Vec<(i64, i64)> = free.iter().map(|column| self.bounds(*column)).collect();
        // Columns in use first: most of the others can only be 0.
        let (used, idle): (Vec<usize>, Vec<usize>) =
            (0..free.len()).partition(|at| point[free[*at]] > 0);
        for at in used.into_iter().chain(idle) {
            let (column, value) = (free[at], point[free[at]]);
            let (least, most) = bounds[at];
            self.within(column, least, value - 1);
            self.within(column, value + 1, most);
            if self.point.is_some() && !self.improves {
                break;
            }
            self.program.model_mut().set_bounds(column, value, value);
        }
        for (column, (least, most)) in free.iter().zip(bounds) {
            self.program.model_mut().set_bounds(*column, least, most);
        }
    }
}
