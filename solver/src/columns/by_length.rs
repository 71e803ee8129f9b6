//! Hoopings that are all full: where lengths alone say how many there are at least, and leave nothing to waste, they are looked for
//! before any linear program is solved.

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
use crate::hooping::one_by_one::Packing;

/// Binary places of what a hooping costs, in parts.
const PLACES: u32 = 42;

impl Search<'_, '_, '_> {
    /// Looks for a plan whose first stage has the least that lengths allow, where strips are in one run and lanes are not listed.
    pub fn full_hoopings(&self) -> Option<Hit> {
        let of = self.stages.first()?;
        let alone = self.stages.get(1).is_none_or(|next| next.entry != of.entry);
        let single = |space: &CoverSpace<'_>| space.most_runs() == 1;
        let plain = self.of.any.are_filled() && self.of.spaces.iter().all(single);
        if !of.exact || !alone || !plain || self.task.classes.iter().any(|class| class.cornered) {
            return None;
        }
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

impl Restricted<'_, '_> {
    /// A point of at most `most` steps, where covers are settled and there is one way to lay hoops, in single lanes that are not listed: if
    /// one is found as runs are put into one hooping after the other.
    pub fn one_by_one(&mut self, form: &[i64], most: i64, deadline: &Deadline) -> Option<Vec<i64>> {
        let (hoop, fill) = self.any.only_lane()?;
        let cost = form[self.atoms.number(Atom::Hooping(hoop))?];
        let asked = no_waste::asked(self);
        let mut runs: Vec<(usize, usize)> = Vec::new();
        let mut room = 0;
        for (kind, size, all) in fill.shares() {
            runs.extend(std::iter::repeat_n((size, kind), asked[kind] as usize));
            room = all;
        }
        // Runs that no lane takes are not among them.
        if runs.len() != no_waste::runs(&asked) {
            return None;
        }
        let sizes: Vec<usize> = runs.iter().map(|(size, _)| *size).collect();
        let packing = Packing {
            sizes: &sizes,
            room,
            lanes: usize::try_from(most.checked_div(cost)?).ok()?,
        };
        let kinds = |lane: Vec<usize>| lane.into_iter().map(|run| runs[run].1).collect();
        let lanes = packing.find(deadline)?.into_iter().map(kinds).collect();
        let hoopings = self.any.of_only_lane(lanes)?;
        no_waste::point(self, hoopings, deadline)
    }

    /// The bound on the form at hand by lengths alone, where covers are settled and there is one way to lay hoops, in single lanes that
    /// are not listed.
    pub fn by_length(&self, form: &[i64]) -> Option<Bound> {
        let (hoop, fill) = self.any.only_lane()?;
        let cost = form[self.atoms.number(Atom::Hooping(hoop))?];
        let places = PLACES.checked_sub(cost.max(1).ilog2())?;
        let cost = i128::from(cost) << places;
        let mut multipliers = vec![0; self.model.rows()];
        multipliers[self.hoop_rows[hoop]] = i64::try_from(-cost).ok()?;
        for (kind, share, room) in fill.shares() {
            let worth = cost * share as i128 / room.max(1) as i128;
            multipliers[self.kind_rows[kind]] = i64::try_from(worth).ok()?;
        }
        // No lane is worth more than it costs: its runs have no more than its room.
        Some(Bound {
            parts: self.model.proves(&multipliers, Some(places), false),
            multipliers,
            places,
        })
    }
}
