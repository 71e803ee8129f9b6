//! Branch and bound over a program all of whose columns are at hand: finds a point of at most a given cost, or proves that
//! there is none.
//!
//! Whether a branch is cut off is decided in floating point and then verified in whole numbers; a branch that cannot be
//! verified leaves the search without a proof, never with a wrong one.

use std::collections::BTreeMap;

use crate::columns::crowd::Cut;
use crate::columns::model::Model;
use crate::deadline::Deadline;
use crate::linear::Outcome;

/// Values nearer than this to a whole number count as whole in the choice of a branch.
const WHOLE: f64 = 1e-6;

/// The most cuts before a branch.
const MOST_CUTS: usize = 100;

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

/// Who looks at the points that a search finds.
pub trait Judge {
    /// Says whether a whole point will do.
    fn judge(&mut self, point: &[i64]) -> Verdict;

    /// A row that every acceptable point fulfils and this one does not.
    fn cut(&mut self, value: &dyn Fn(usize) -> f64) -> Option<Cut>;
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

/// Columns of which exactly one is 1, with what each has in common with others: numbers of features, in ascending order.
#[derive(Clone, Default, Debug)]
pub struct Alternatives(pub Vec<(usize, Vec<u32>)>);

/// Columns whose sum over what some of them have in common has to be whole.
#[derive(Clone, Default, Debug)]
pub struct Counted {
    /// Column, and the features that it has: numbers.
    pub features: Vec<(usize, Vec<u32>)>,
    /// The most that a sum can be.
    pub most: i64,
}

/// A way to branch.
enum Split {
    /// The number of columns with a feature is at most the one, or at least the other.
    Count(u32, f64),
    /// A column is at most the one, or at least the other.
    Between(usize, i64, i64, bool),
    /// One set of columns is 0, or the other.
    Apart(Vec<usize>, Vec<usize>),
}

/// A search for a point that costs at most `most`.
pub struct Tree<'m> {
    alternatives: &'m [Alternatives],
    counted: &'m Counted,
    /// The column that counts a feature, once there was need of it.
    counts: BTreeMap<u32, usize>,
    model: &'m mut Model,
    most: i64,
    left: Effort,
    judge: &'m mut dyn Judge,
    /// Whether the root is done.
    begun: bool,
    deadline: &'m Deadline,
    doubtful: bool,
    improves: bool,
    point: Option<Vec<i64>>,
}

/// Looks for a point of `model` that costs at most `most` and is accepted.
pub fn search(
    model: &mut Model,
    alternatives: &[Alternatives],
    counted: &Counted,
    most: i64,
    effort: Effort,
    judge: &mut dyn Judge,
    deadline: &Deadline,
) -> Found {
    let mut tree = Tree {
        alternatives,
        counted,
        counts: BTreeMap::new(),
        model,
        most,
        left: effort,
        judge,
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

impl Tree<'_> {
    fn ended(&self) -> bool {
        self.point.is_some() && !self.improves || self.left.nodes == 0 || self.left.offers == 0
    }

    fn branch(&mut self) {
        if self.left.nodes == 0 || self.left.offers == 0 || self.deadline.over() {
            self.left.nodes = 0;
            self.doubtful = true;
            return;
        }
        self.left.nodes -= 1;
        let root = !std::mem::replace(&mut self.begun, true);
        let mut split = None;
        for round in 0..MOST_CUTS {
            if self.closed() {
                return;
            }
            split = self.split();
            // Cuts cost time: the root is worth some, and a whole point that breaks one is no point.
            if split.is_some() && (!root || round >= self.left.root_cuts) {
                break;
            }
            let model = &*self.model;
            match self.judge.cut(&|column| model.value(column)) {
                Some(cut) => self.model.add_cut(&cut.terms, cut.least),
                None => break,
            }
        }
        self.divide(split);
    }

    /// Solves the linear program; whether nothing is to be found here.
    fn closed(&mut self) -> bool {
        match self.model.solve(self.deadline) {
            Outcome::Unfinished => {
                self.doubtful = true;
                true
            }
            Outcome::Infeasible => {
                let multipliers = self.model.multipliers(self.model.places(false), false);
                self.doubtful |= self.model.proves(&multipliers, None, true) <= 0;
                true
            }
            Outcome::Optimal => {
                if self.model.objective() <= self.most as f64 + WHOLE {
                    return false;
                }
                let places = self.model.places(true);
                let multipliers = self.model.multipliers(places, true);
                let proven = self.model.proves(&multipliers, Some(places), true);
                proven > i128::from(self.most) << places
            }
        }
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

    /// How to branch on the point of the linear program; `None` where it is whole.
    fn split(&self) -> Option<Split> {
        let (column, value) = self.fractional()?;
        if self.model.columns[column].rank > 0 {
            let (apart, count) = (self.apart(), self.uneven());
            let of = |split: &Option<(f64, Split)>| split.as_ref().map_or(0.0, |(even, _)| *even);
            let better = if of(&count) >= of(&apart) {
                count
            } else {
                apart
            };
            if let Some((_, split)) = better {
                return Some(split);
            }
        }
        let up_first = value - value.floor() >= 0.4;
        Some(Split::Between(
            column,
            value.floor() as i64,
            value.ceil() as i64,
            up_first,
        ))
    }

    /// Of all features of alternatives that are used in parts only, the one that parts them most evenly.
    fn apart(&self) -> Option<(f64, Split)> {
        let mut best: Option<(f64, &Alternatives, u32, f64)> = None;
        for of in self.alternatives {
            let mut shares: BTreeMap<u32, f64> = BTreeMap::new();
            let used =
                of.0.iter()
                    .map(|(column, features)| (self.model.value(*column), features));
            for (value, features) in used.filter(|(value, _)| *value > WHOLE) {
                for feature in features {
                    *shares.entry(*feature).or_default() += value;
                }
            }
            for (feature, share) in shares {
                let even = share.min(1.0 - share);
                if even > WHOLE && best.is_none_or(|(known, ..)| even > known + 1e-9) {
                    best = Some((even, of, feature, share));
                }
            }
        }
        let (even, of, feature, share) = best?;
        let open =
            of.0.iter()
                .filter(|(column, _)| self.model.columns[*column].most > 0);
        let (with, without): (Vec<_>, Vec<_>) =
            open.partition(|(_, features)| features.binary_search(&feature).is_ok());
        let columns = |of: Vec<&(usize, Vec<u32>)>| of.iter().map(|(column, _)| *column).collect();
        let (with, without): (Vec<usize>, Vec<usize>) = (columns(with), columns(without));
        let split = if share >= 0.5 {
            Split::Apart(with, without)
        } else {
            Split::Apart(without, with)
        };
        Some((even, split))
    }

    /// Of all features whose columns do not add up to a whole number, the one that is furthest from one.
    fn uneven(&self) -> Option<(f64, Split)> {
        let mut sums: BTreeMap<u32, f64> = BTreeMap::new();
        for (column, features) in &self.counted.features {
            let value = self.model.value(*column);
            if value > WHOLE {
                for feature in features {
                    *sums.entry(*feature).or_default() += value;
                }
            }
        }
        let mut best: Option<(f64, u32, f64)> = None;
        for (feature, sum) in sums {
            let over = sum - sum.floor();
            let even = over.min(1.0 - over);
            if even > WHOLE && best.is_none_or(|(known, ..)| even > known + 1e-9) {
                best = Some((even, feature, sum));
            }
        }
        let (even, feature, sum) = best?;
        Some((even, Split::Count(feature, sum)))
    }

    /// The column that counts a feature.
    fn count_of(&mut self, feature: u32) -> usize {
        if let Some(column) = self.counts.get(&feature) {
            return *column;
        }
        let with = self.counted.features.iter();
        let with = with.filter(|(_, features)| features.contains(&feature));
        let set: Vec<usize> = with.map(|(column, _)| *column).collect();
        let column = self.model.add_count(&set, self.counted.most);
        self.counts.insert(feature, column);
        column
    }

    /// Branches without some columns.
    fn without(&mut self, closed: &[usize]) {
        if self.ended() {
            self.doubtful |= self.improves || self.point.is_none();
            return;
        }
        let before: Vec<(i64, i64)> = closed.iter().map(|column| self.bounds(*column)).collect();
        if before.iter().any(|(least, _)| *least > 0) {
            return;
        }
        for column in closed {
            self.model.set_bounds(*column, 0, 0);
        }
        self.branch();
        for (column, (least, most)) in closed.iter().zip(before) {
            self.model.set_bounds(*column, least, most);
        }
    }

    fn bounds(&self, column: usize) -> (i64, i64) {
        let column = &self.model.columns[column];
        (column.least, column.most)
    }

    /// Branches with a column between two bounds.
    fn within(&mut self, column: usize, least: i64, most: i64) {
        if self.ended() {
            self.doubtful |= self.improves || self.point.is_none();
            return;
        }
        let before = self.bounds(column);
        if least > most {
            return;
        }
        self.model.set_bounds(column, least, most);
        self.branch();
        self.model.set_bounds(column, before.0, before.1);
    }

    /// The column to branch on: of the lowest rank, the one nearest to its next whole number.
    fn fractional(&self) -> Option<(usize, f64)> {
        let mut best: Option<(u8, f64, usize, f64)> = None;
        for (number, column) in self.model.columns.iter().enumerate() {
            if !column.whole || column.least == column.most {
                continue;
            }
            let value = self.model.value(number);
            let over = value - value.floor();
            if !(WHOLE..=1.0 - WHOLE).contains(&over) {
                continue;
            }
            let better = best.is_none_or(|(rank, known, _, _)| {
                column.rank < rank || column.rank == rank && over > known + 1e-9
            });
            if better {
                best = Some((column.rank, over, number, value));
            }
        }
        best.map(|(_, _, number, value)| (number, value))
    }

    /// Offers the point of the linear program. Where it is not accepted the search goes on around it.
    fn offer(&mut self) {
        let Some(point) = self.model.whole_point() else {
            self.doubtful = true;
            return;
        };
        if self.model.cost_at(&point) > i128::from(self.most) {
            // The solver believes that it costs less than it does.
            self.doubtful = true;
            return;
        }
        self.left.offers -= 1;
        match self.judge.judge(&point) {
            Verdict::Accepted if self.improves => {
                // Nothing here costs less: this is the least of the linear program.
                self.most = i64::try_from(self.model.cost_at(&point)).unwrap_or(self.most) - 1;
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
        let free: Vec<usize> = (0..self.model.columns.len())
            .filter(|number| {
                let column = &self.model.columns[*number];
                column.whole && column.rank > 0 && column.least < column.most
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
            if self.ended() {
                break;
            }
            self.model.set_bounds(column, value, value);
        }
        for (column, (least, most)) in free.iter().zip(bounds) {
            self.model.set_bounds(*column, least, most);
        }
    }
}
