//! Where each hooping has one lane and each strip one run, lengths alone say how many hoopings there are at least: before any linear
//! program is solved so many are looked for, one after the other, and, where nothing may be wasted, those that are all full.

use std::collections::BTreeMap;

use crate::columns::atoms::Atom;
use crate::columns::dealer::{Covered, Hit};
use crate::columns::generate::Bound;
use crate::columns::no_waste;
use crate::columns::rehoop::{Depth, Rehoop, Target};
use crate::columns::restricted::Restricted;
use crate::columns::search::Search;
use crate::columns::tree::Effort;
use crate::cover::CoverSpace;
use crate::deadline::Deadline;
use crate::hooping::one_by_one::{Packing, fewest_lanes};
use crate::hooping::way::Way;

/// Binary places of what a hooping costs, in parts.
const PLACES: u32 = 42;

impl Search<'_, '_, '_> {
    /// Whether strips are in one run, lanes are not listed, and the first stage is all of the first entry of the goal.
    pub fn is_of_lengths(&self) -> bool {
        let Some(of) = self.stages.first() else {
            return false;
        };
        let alone = self.stages.get(1).is_none_or(|next| next.entry != of.entry);
        let single = |space: &CoverSpace<'_>| space.most_runs() == 1;
        let plain = self.of.any.are_filled() && self.of.spaces.iter().all(single);
        let cornered = self.task.classes.iter().any(|class| class.cornered);
        of.exact && alone && plain && !cornered
    }

    /// Raises the least of a first stage of lengths to what they ask for; says whether it was less before.
    pub fn raise_least(&mut self) -> bool {
        let of_lengths = self.least_of_lengths();
        let raised = of_lengths.filter(|value| self.least.is_some_and(|least| *value > least));
        if let Some(value) = raised {
            self.least = raised;
            self.note(0, &[], value);
            self.tell(None);
        }
        raised.is_some()
    }

    /// Looks for a plan whose first stage, one of lengths, has the least that they ask for.
    pub fn look_by_length(&self) -> Option<Hit> {
        let most = [self.least?];
        if self.first.is_some_and(|first| first <= most[0]) {
            return None;
        }
        let forms = self.forms();
        let target = Target {
            forms: &forms,
            most: &most,
            most_changes: self.hoped_changes(&most),
        };
        let rehoop = Rehoop {
            task: self.task,
            plan: &self.plan,
            target: &target,
            effort: Effort::of(0, 0),
            depth: Depth::Shallow,
            deadline: &self.deadline,
        };
        rehoop.look_by_length(&self.covered()?)
    }

    /// What the first stage has at least for want of room in single lanes, where every cover is listed: that of all hoopings that each strip's
    /// shortest run needs.
    fn least_of_lengths(&self) -> Option<i64> {
        let lane = OneLane::of(&self.of)?;
        let mut sizes = Vec::new();
        let is_left = |class: &usize| !self.task.classes[*class].stage.is_done();
        for class in (0..self.of.spaces.len()).filter(is_left) {
            let space = &self.of.spaces[class];
            let runs = space.listed.iter();
            let runs = runs.flat_map(|cover| self.of.run_kinds(class, cover));
            let shortest = runs.filter_map(|kind| lane.size_of.get(&kind)).min();
            let shortest = shortest.filter(|_| space.lists_all())?;
            sizes.extend(std::iter::repeat_n(*shortest, self.task.members(class)));
        }
        let hoopings = fewest_lanes(&sizes, lane.room);
        let cost = lane.cost(&self.of, &self.stages.first()?.form)?;
        i64::try_from(hoopings).ok()?.checked_mul(cost)
    }

    /// The covers of the first plan, and what they count for.
    fn covered(&self) -> Option<Covered> {
        let mut covers = Vec::new();
        let mut made_of: Vec<(Atom, i64)> = Vec::new();
        for choice in &self.first_plan.covers {
            let choice = *choice.as_ref()?;
            let cover = self.task.cover(choice).clone();
            made_of.extend(self.of.atoms_of(choice.0, &cover));
            covers.push(Some((choice.0, cover)));
        }
        Some(Covered { covers, made_of })
    }
}

/// The lane of a program in which each hooping has one lane, which is not listed.
struct OneLane<'w> {
    way: &'w Way,
    /// What there is, and what a run of each kind takes of it, in units.
    room: usize,
    size_of: BTreeMap<usize, usize>,
}

impl OneLane<'_> {
    fn of<'w>(of: &'w Restricted<'_, '_>) -> Option<OneLane<'w>> {
        let (way, fill) = of.any.only_lane()?;
        let sizes = fill.shares().map(|(kind, size, _)| (kind, size));
        Some(OneLane {
            way,
            room: fill.shares().map(|(_, _, room)| room).next()?,
            size_of: sizes.collect(),
        })
    }

    /// What a hooping counts for.
    fn cost(&self, of: &Restricted<'_, '_>, form: &[i64]) -> Option<i64> {
        Some(form[of.atoms.number(Atom::Hooping(self.way.hoop))?])
    }
}

impl Restricted<'_, '_> {
    /// A point of at most `most` steps, where covers are settled and there is one way to lay hoops, in single lanes that are not listed: if
    /// one is found as runs are put into one hooping after the other.
    pub fn one_by_one(&mut self, form: &[i64], most: i64, deadline: &Deadline) -> Option<Vec<i64>> {
        let lane = OneLane::of(self)?;
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for (kind, asked) in no_waste::asked(self).into_iter().enumerate() {
            if asked > 0 {
                let size = *lane.size_of.get(&kind)?;
                runs.extend(std::iter::repeat_n((size, kind), asked as usize));
            }
        }
        runs.sort_unstable_by_key(|run| std::cmp::Reverse(*run));
        // What covers count for is none of the hoopings'.
        let settled: Vec<i64> = self.model.columns.iter().map(|of| of.least).collect();
        let left = i128::from(most) - self.model.cost_at(&settled);
        let lanes = left.checked_div(lane.cost(self, form)?.into())?;
        let packing = Packing {
            sizes: runs.iter().map(|(size, _)| *size).collect(),
            room: lane.room,
            lanes: usize::try_from(lanes).ok()?,
        };
        let hooping = |packed: Vec<usize>| {
            let kinds = packed.into_iter().map(|run| runs[run].1);
            lane.way.of_lanes(vec![kinds.collect()])
        };
        let hoopings = packing.find(deadline)?.into_iter().map(hooping).collect();
        let point = no_waste::point(self, hoopings, deadline)?;
        (self.model.cost_at(&point) <= i128::from(most)).then_some(point)
    }

    /// The bound on the form at hand by lengths alone, where covers are settled and there is one way to lay hoops, in single lanes that
    /// are not listed.
    pub fn by_length(&self, form: &[i64]) -> Option<Bound> {
        let lane = OneLane::of(self)?;
        let cost = lane.cost(self, form)?;
        let places = PLACES.checked_sub(cost.max(1).ilog2())?;
        let cost = i128::from(cost) << places;
        let mut multipliers = vec![0; self.model.rows()];
        multipliers[self.hoop_rows[lane.way.hoop]] = i64::try_from(-cost).ok()?;
        for (kind, size) in &lane.size_of {
            let worth = cost * *size as i128 / lane.room.max(1) as i128;
            multipliers[self.kind_rows[*kind]] = i64::try_from(worth).ok()?;
        }
        // No lane is worth more than it costs: its runs have no more than its room.
        Some(Bound {
            parts: self.model.proves(&multipliers, Some(places), false),
            multipliers,
            places,
        })
    }
}
