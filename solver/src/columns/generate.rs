//! Column generation: solves the linear program over all covers and hoopings by adding those that are worth it, and proves
//! in whole numbers what it found.

use crate::columns::costs::Costs;
use crate::columns::restricted::{Restricted, Turn};
use crate::columns::tree::Branch;
use crate::cover::Cover;
use crate::deadline::Deadline;
use crate::hooping::kind::Openness;
use crate::hooping::pattern::Pattern;
use crate::hooping::price::OfHoop;
use crate::hooping::way::Ways;
use crate::length::Length;
use crate::linear::Outcome;

/// The most rounds of pricing for one linear program.
const MOST_ROUNDS: usize = 5_000;
/// A column whose reduced cost is nearer to 0 than this (in parts, of which the largest cost has about 2^42) is not worth
/// adding.
const WORTH: i128 = 1 << 14;

/// So many rounds go by the linear program's own multipliers.
const UNSMOOTHED: usize = 12;
/// A point that costs so many steps more than the bound is near enough.
pub(super) const NEAR: f64 = 0.02;

/// What the linear program over all columns says.
#[derive(Clone, Debug)]
pub enum Relaxed {
    /// No point costs less than so many parts, and these multipliers prove it.
    Bound(Bound),
    /// There is no point at all: proven.
    Empty,
    /// The time was over, or the numbers went bad.
    Unknown,
}

/// A bound in parts, and its multipliers.
#[derive(Clone, Debug)]
pub struct Bound {
    /// No point costs less, in parts.
    pub parts: i128,
    /// The multipliers of the rows.
    pub multipliers: Vec<i64>,
    /// A step has 2^places parts.
    pub places: u32,
}

impl Bound {
    /// No point costs less: a whole number.
    pub fn steps(&self) -> i128 {
        -(-self.parts).div_euclid(1 << self.places)
    }

    /// Whether this proves more than another bound, whose parts may be finer or coarser.
    fn is_above(&self, other: &Bound) -> bool {
        let finest = self.places.max(other.places);
        let parts = |of: &Bound| of.parts << (finest - of.places);
        parts(self) > parts(other)
    }
}

/// How closely a linear program is solved.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Precision {
    /// Until the bound, rounded up, cannot rise any more.
    Bound,
    /// Until nearly nothing can be gained: points have room to become whole.
    Point,
    /// The same, and for as long as it is not clear whether so little can be had.
    Within(f64),
}

impl Precision {
    fn reached(self, bound: &Bound, objective: f64) -> bool {
        match self {
            Precision::Bound => bound.steps() as f64 >= (objective - 1e-6).ceil(),
            Precision::Point => is_near(bound, objective),
            Precision::Within(most) => {
                bound.steps() as f64 > most || objective <= most && is_near(bound, objective)
            }
        }
    }
}

fn is_near(bound: &Bound, objective: f64) -> bool {
    objective - bound.parts as f64 / (1_u64 << bound.places) as f64 <= NEAR
}

/// What a cover of a class may have at most, by what is settled of a plan.
#[derive(Clone, Copy, Debug)]
pub struct Allowed {
    /// Runs.
    pub runs: usize,
    /// Overhang.
    pub overhang: Length,
}

/// The covers that are asked for.
#[derive(Clone, Copy)]
pub struct Asked<'l> {
    /// What their reduced costs may be, in parts.
    pub spare: i128,
    /// What those of each class may have.
    pub allowed: &'l [Allowed],
    /// For each kind of runs one that stands for it, where covers need not be told apart by more.
    pub alike: Option<&'l [usize]>,
    /// The most of each class.
    pub limit: usize,
}

/// What pricing found.
struct Priced {
    /// What is proven of all points, in parts.
    proven: i128,
    covers: Vec<(usize, Cover)>,
    hoopings: Vec<(Turn, Pattern)>,
}

impl Restricted<'_, '_> {
    /// Minimises a form over the atoms, so closely.
    pub fn relax(&mut self, form: &[i64], precision: Precision, deadline: &Deadline) -> Relaxed {
        self.aim(form);
        let mut best: Option<Bound> = None;
        let mut smoothed = false;
        for round in 0..MOST_ROUNDS {
            let outcome = self.model.solve(deadline);
            if outcome == Outcome::Unfinished {
                break;
            }
            let optimal = outcome == Outcome::Optimal;
            let places = self.model.places(optimal);
            let own = self.rounded(places, optimal);
            // Long searches swing from one set of multipliers to another: half-way to the best ones so far says more. Where
            // that finds nothing new, the own ones do.
            let centre = best
                .as_ref()
                .filter(|best| optimal && !smoothed && round > UNSMOOTHED && best.places == places);
            let multipliers = match centre {
                Some(best) => half_way(&own, &best.multipliers),
                None => own,
            };
            let mixed = centre.is_some();
            let priced = self.price(&multipliers, optimal.then_some((form, places)));
            if !optimal && priced.proven > 0 {
                return Relaxed::Empty;
            }
            let bound = Bound {
                parts: priced.proven,
                multipliers,
                places,
            };
            if optimal && best.as_ref().is_none_or(|best| bound.is_above(best)) {
                best = Some(bound);
            }
            if let Some(best) = best.as_ref().filter(|_| optimal)
                && precision.reached(best, self.model.objective())
            {
                break;
            }
            let mut grown = false;
            for (class, cover) in priced.covers {
                if self.spaces[class].is_valid(self.scenario, &cover) {
                    grown |= self.add_unlike_cover(class, cover);
                }
            }
            for (turn, pattern) in priced.hoopings {
                grown |= self.add_hooping(turn, pattern);
            }
            smoothed = mixed && !grown;
            if !grown && !mixed {
                if !optimal {
                    return Relaxed::Unknown;
                }
                break;
            }
        }
        best.map_or(Relaxed::Unknown, Relaxed::Bound)
    }

    /// What is known of a branch of a search in which some columns are priced, where a form may have at most so much.
    pub fn branch(&mut self, form: &[i64], most: i64, deadline: &Deadline) -> Branch {
        match self.relax(form, Precision::Bound, deadline) {
            Relaxed::Empty => Branch::Closed,
            Relaxed::Bound(bound) if bound.steps() > i128::from(most) => Branch::Closed,
            Relaxed::Bound(_) => Branch::Open,
            Relaxed::Unknown => Branch::Doubtful,
        }
    }

    /// Multipliers in which no place is worth less than one that it can be given for.
    pub(super) fn rounded(&self, places: u32, objective: bool) -> Vec<i64> {
        let mut multipliers = self.model.multipliers(places, objective);
        // Exchanges go from strong to weak; a pass in any order ends, since values only fall.
        loop {
            let mut changed = false;
            for (strong, weak) in &self.exchanges {
                let (strong, weak) = (self.kind_rows[*strong], self.kind_rows[*weak]);
                if multipliers[weak] > multipliers[strong] {
                    multipliers[weak] = multipliers[strong];
                    changed = true;
                }
            }
            if !changed {
                return multipliers;
            }
        }
    }

    /// What multipliers prove of all points of a form, in parts.
    pub(super) fn proven(&self, multipliers: &[i64], form: &[i64], places: u32) -> i128 {
        self.price(multipliers, Some((form, places))).proven
    }

    /// Adds the hoopings that are worth more than they cost; false where there are no new ones.
    pub(super) fn add_worthwhile_hoopings(
        &mut self,
        multipliers: &[i64],
        form: &[i64],
        places: u32,
    ) -> bool {
        let priced = self.price(multipliers, Some((form, places)));
        let mut grown = false;
        for (turn, pattern) in priced.hoopings {
            grown |= self.add_hooping(turn, pattern);
        }
        grown
    }

    /// Prices everything that is no column yet; `objective` is missing where only feasibility counts.
    fn price(&self, multipliers: &[i64], objective: Option<(&[i64], u32)>) -> Priced {
        let mut priced = Priced {
            proven: self
                .model
                .proves(multipliers, objective.map(|(_, places)| places), false),
            covers: Vec::new(),
            hoopings: Vec::new(),
        };
        let costs = Costs {
            of: self,
            multipliers,
            objective,
            alike: None,
        };
        let open = if self.covers_settled {
            0
        } else {
            self.classes.len()
        };
        for class in 0..open {
            let members = self.classes[class].members.len() as i128;
            let mut least = 0_i128;
            for (cost, cover) in costs.cheapest(class) {
                if cost < -WORTH {
                    priced.covers.push((class, cover));
                }
                least = least.min(cost);
            }
            priced.proven += least * members;
        }
        if !self.hoopings_settled {
            self.price_hoopings(multipliers, &mut priced);
        }
        priced
    }

    /// Prices every hooping that is no column yet.
    fn price_hoopings(&self, multipliers: &[i64], priced: &mut Priced) {
        let worth = self.worth(multipliers);
        let hoops = self.scenario.hoops.len();
        let mut see = |turn: Turn, best: Vec<OfHoop>| {
            let mut least_of_turn = 0;
            for (hoop, of_hoop) in best.into_iter().enumerate() {
                let fixed = self.fixed_worth(turn, hoop, multipliers);
                let least = (-i128::from(of_hoop.most) - fixed).min(0);
                match turn {
                    Turn::Any => {
                        let most = self.model.columns[self.hoop_columns[hoop]].most;
                        priced.proven += least * i128::from(most);
                    }
                    Turn::Last | Turn::First => least_of_turn = least.min(least_of_turn),
                }
                for best in of_hoop.found {
                    if -i128::from(best.worth) - fixed < -WORTH {
                        priced.hoopings.push((turn, best.pattern));
                    }
                }
            }
            priced.proven += least_of_turn;
        };
        // A hooping that is worth no more than this has no negative reduced cost.
        let enough = |turns: &[Turn], hoop: usize| {
            let fixed = turns
                .iter()
                .map(|turn| self.fixed_worth(*turn, hoop, multipliers));
            i64::try_from(fixed.max().map_or(0, |fixed| -fixed)).unwrap_or(0)
        };
        let left = self.left.as_deref();
        let of_any = |hoop: usize| enough(&[Turn::Any], hoop);
        see(
            Turn::Any,
            self.any.best(hoops, &worth, &self.caps, &of_any, left),
        );
        if let Some(bare) = &self.bare {
            let turns: Vec<Turn> = self.turn_rows.keys().copied().collect();
            let of_turns = |hoop: usize| enough(&turns, hoop);
            let best = bare.best(hoops, &worth, &self.caps, &of_turns, left);
            for turn in turns {
                see(turn, best.clone());
            }
            self.add_first_and_last(multipliers, bare, priced);
        }
    }

    /// Adds some hooping to begin or end with, where that is worth something by itself and none was found: places may be worth nothing, and of
    /// these no best one is looked for.
    fn add_first_and_last(&self, multipliers: &[i64], bare: &Ways, priced: &mut Priced) {
        for turn in self.turn_rows.keys() {
            if priced.hoopings.iter().any(|(of, _)| of == turn) {
                continue;
            }
            let mut any = bare.any_of_each(&self.caps);
            let any = any.find(|any| -self.fixed_worth(*turn, any.hoop, multipliers) < -WORTH);
            priced.hoopings.extend(any.map(|any| (*turn, any)));
        }
    }

    /// What a place for each kind is worth.
    pub(super) fn worth(&self, multipliers: &[i64]) -> Vec<i64> {
        self.kind_rows.iter().map(|row| multipliers[*row]).collect()
    }

    /// What the runs of a hooping have to be worth for its reduced cost to be at most `spare` parts.
    pub(super) fn least_worth(&self, turn: Turn, hoop: usize, bound: &Bound, spare: i128) -> i64 {
        let least = -spare - self.fixed_worth(turn, hoop, &bound.multipliers);
        i64::try_from(least).unwrap_or(if least > 0 { i64::MAX } else { 0 })
    }

    /// What a hooping is worth whatever it holds.
    pub(super) fn fixed_worth(&self, turn: Turn, hoop: usize, multipliers: &[i64]) -> i128 {
        let of_turn = self.turn_rows.get(&turn).map_or(0, |row| multipliers[*row]);
        i128::from(multipliers[self.hoop_rows[hoop]]) + i128::from(of_turn)
    }

    /// Every cover whose reduced cost by the bound's multipliers is no more than what is asked for: no other can be part of a point
    /// that costs so much more than the bound. Of those with the same column one. `None` where they are too many, or where
    /// listing them takes too long.
    pub fn covers_within(
        &self,
        bound: &Bound,
        form: &[i64],
        asked: &Asked<'_>,
        deadline: &Deadline,
    ) -> Option<Vec<(usize, Cover)>> {
        let costs = Costs {
            of: self,
            multipliers: &bound.multipliers,
            objective: Some((form, bound.places)),
            alike: asked.alike,
        };
        let mut covers = Vec::new();
        let open = asked.allowed.iter().enumerate();
        for (class, allowed) in open.filter(|_| !self.covers_settled) {
            covers.extend(costs.up_to(class, asked.spare, allowed, asked.limit, deadline)?);
        }
        Some(covers)
    }

    /// The same of hoopings: as many as `limit` of each turn.
    pub fn hoopings_within(
        &self,
        bound: &Bound,
        spare: i128,
        limit: usize,
    ) -> Option<Vec<(Turn, Pattern)>> {
        let worth = self.worth(&bound.multipliers);
        let mut hoopings = Vec::new();
        let mut list = |turn: Turn, ways: &Ways| {
            let least = |hoop: usize| self.least_worth(turn, hoop, bound, spare);
            let found = ways.worth_at_least(&worth, &self.caps, &least, limit)?;
            hoopings.extend(found.into_iter().map(|pattern| (turn, pattern)));
            Some(())
        };
        list(Turn::Any, &self.any)?;
        if let Some(bare) = &self.bare {
            for turn in self.turn_rows.keys() {
                list(*turn, bare)?;
            }
        }
        Some(hoopings)
    }
}

/// The multipliers between two sets. (Smoothing: Wentges, Weighted Dantzig–Wolfe decomposition for linear mixed-integer
/// programming, International Transactions in Operational Research 4 (1997) 151–162, from memory.)
fn half_way(one: &[i64], other: &[i64]) -> Vec<i64> {
    // Rows that came later have no multiplier in the other set.
    let pairs = one.iter().enumerate();
    pairs
        .map(|(row, value)| other.get(row).map_or(*value, |other| (value + other) >> 1))
        .collect()
}

/// Whether a hooping holds a run with two open ends.
pub fn holds_inner(of: &Restricted<'_, '_>, pattern: &Pattern) -> bool {
    let mut kinds = pattern.lanes.iter().flatten();
    kinds.any(|kind| of.kinds.list[*kind].openness == Openness::Inner)
}
