//! What a stage of the goal can have: its bound, values that can be reached, and what settled stages leave to the others.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use crate::bounds::sums;
use crate::columns::atoms::Atom;
use crate::columns::generate::{Allowed, Bound, Precision, Relaxed};
use crate::columns::search::Search;
use crate::length::Length;
use crate::scenario::{Goal, Term};

/// With up to this many hoops, sets of hoops are tried one by one.
const MOST_HOOPS: usize = 8;
/// The most sums of stabilizer pieces that are told apart.
const MOST_VALUES: usize = 3_000;

impl Search<'_, '_, '_> {
    /// The bound of a stage in steps: a value that it can have.
    pub fn bound(&mut self, stage: usize, settled: &[i64]) -> Option<(i64, Bound)> {
        let form = self.stages[stage].form.clone();
        let relaxed = self.of.relax(&form, Precision::Bound, &self.deadline);
        match relaxed {
            Relaxed::Bound(bound) => {
                let mut steps = i64::try_from(bound.steps().max(0)).ok()?;
                if self.term(stage) == Some(Term::HoopChanges) {
                    steps = self.fewest_changes(stage, steps);
                }
                Some((self.reachable(stage, steps, settled)?, bound))
            }
            Relaxed::Empty | Relaxed::Unknown => None,
        }
    }

    /// The fewest hoop changes that cannot be ruled out: with k of them at most k + 1 hoops are used, and the linear program
    /// may have no point with so few.
    fn fewest_changes(&mut self, stage: usize, steps: i64) -> i64 {
        let hoops = self.of.hoop_columns.clone();
        let Ok(least) = usize::try_from(steps) else {
            return steps;
        };
        if hoops.len() > MOST_HOOPS {
            return steps;
        }
        let form = self.stages[stage].form.clone();
        for changes in least..hoops.len() {
            let sets =
                (0..1_u32 << hoops.len()).filter(|set| set.count_ones() as usize == changes + 1);
            for set in sets {
                let before: Vec<i64> = hoops
                    .iter()
                    .map(|column| self.of.model.columns[*column].most)
                    .collect();
                for (hoop, column) in hoops.iter().enumerate() {
                    if set >> hoop & 1 == 0 {
                        self.of.model.set_bounds(*column, 0, 0);
                    }
                }
                let relaxed = self.of.relax(&form, Precision::Bound, &self.deadline);
                for (column, most) in hoops.iter().zip(before) {
                    self.of.model.set_bounds(*column, 0, most);
                }
                if !matches!(relaxed, Relaxed::Empty) {
                    return i64::try_from(changes).unwrap_or(steps);
                }
            }
        }
        steps
    }

    /// The term that a stage belongs to, if it belongs to one.
    fn term(&self, stage: usize) -> Option<Term> {
        match &self.task.scenario.goal {
            Goal::Priorities(terms) => terms.get(self.stages[stage].entry).copied(),
            Goal::Prices(_) => None,
        }
    }

    /// The least value from `steps` on that a stage can have.
    pub fn reachable(&self, stage: usize, steps: i64, settled: &[i64]) -> Option<i64> {
        let of = &self.stages[stage];
        let divisor = of.divisor.max(1);
        let rounded = steps + (-steps).rem_euclid(divisor);
        let values = self.stabilizer_values(stage, settled, rounded);
        let Some(values) = values.or_else(|| self.roll_values(stage, settled)) else {
            return Some(rounded);
        };
        let least = values.range(i128::from(rounded)..).next()?;
        i64::try_from(*least).ok()
    }

    /// Every value from `least` on that the stabilizer can have where the number of hoopings is settled.
    fn stabilizer_values(
        &self,
        stage: usize,
        settled: &[i64],
        least: i64,
    ) -> Option<BTreeSet<i128>> {
        let of = &self.stages[stage];
        if self.term(stage) != Some(Term::Stabilizer) || !of.exact {
            return None;
        }
        let hoops = (0..self.task.scenario.hoops.len())
            .filter_map(|hoop| self.of.atoms.number(Atom::Hooping(hoop)));
        let each = hoops.map(|atom| i128::from(of.form[atom])).collect();
        let mut values = BTreeSet::new();
        for count in self.hoopings(settled)? {
            values.extend(sums(&each, count, i128::from(least), MOST_VALUES)?);
        }
        Some(values)
    }

    /// Every value that the length of roll can have where the number of hoopings is settled.
    fn roll_values(&self, stage: usize, settled: &[i64]) -> Option<BTreeSet<i128>> {
        let of = &self.stages[stage];
        let roll = self.task.roll?;
        let alone = self.stages.iter().filter(|other| other.entry == of.entry);
        if self.term(stage) != Some(Term::RollLength) || !of.exact || alone.count() > 1 {
            return None;
        }
        let lengths = roll.lengths(self.hoopings(settled)?)?;
        Some(lengths.into_iter().map(|length| length / of.unit).collect())
    }

    /// The numbers of hoopings that are left, where they are settled: where the settled number is not proven to be the least, there
    /// may be fewer.
    fn hoopings(&self, settled: &[i64]) -> Option<RangeInclusive<i64>> {
        let Goal::Priorities(terms) = &self.task.scenario.goal else {
            return None;
        };
        let hoopings = terms.iter().position(|term| *term == Term::Hoopings)?;
        let mut stages = self.stages.iter().zip(settled);
        let (_, count) = stages.find(|(stage, _)| stage.entry == hoopings)?;
        let fewest = self.unproven.get(&hoopings).unwrap_or(count);
        Some(*fewest.min(count)..=*count)
    }

    /// Notes a bound on an entry, given the values of the stages before.
    pub fn note(&mut self, stage: usize, settled: &[i64], value: i64) {
        let entry = self.stages[stage].entry;
        // A value in several stages says something of plans with at most that value only where its first stage is as low as
        // can be.
        let stages = |entry: &usize| {
            let of = self.stages.iter().filter(|stage| stage.entry == *entry);
            of.count()
        };
        let vague = |of: &usize| *of == entry || stages(of) > 1;
        if entry >= self.counted || self.unproven.keys().any(vague) {
            return;
        }
        let value_of = |entry: usize, settled: &[i64]| -> i128 {
            let stages = self.stages.iter().zip(settled);
            stages
                .filter(|(stage, _)| stage.entry == entry)
                .map(|(stage, steps)| stage.unit * i128::from(*steps))
                .sum()
        };
        // The last stage of an earlier entry that is not exact says less than the entry's value.
        let earlier: Vec<i128> = (0..entry).map(|entry| value_of(entry, settled)).collect();
        let steps: Vec<i64> = settled.iter().copied().chain([value]).collect();
        let bound = value_of(entry, &steps);
        self.proven.push((earlier, bound));
    }

    /// The value of a term, where it is settled.
    fn settled_term(&self, term: Term, settled: &[i64]) -> Option<i128> {
        let Goal::Priorities(terms) = &self.task.scenario.goal else {
            return None;
        };
        let entry = terms.iter().position(|other| *other == term)?;
        let of_entry = |number: &usize| self.stages[*number].entry == entry;
        let stages: Vec<usize> = (0..self.stages.len()).filter(of_entry).collect();
        let whole = stages
            .last()
            .is_some_and(|last| *last < settled.len() && self.stages[*last].exact);
        let value = |number: &usize| self.stages[*number].unit * i128::from(settled[*number]);
        whole.then(|| stages.iter().map(value).sum())
    }

    /// What the covers of each class may have at most: what is settled, less the least that all others have.
    pub fn allowed(&self, settled: &[i64]) -> Vec<Allowed> {
        let joints = self
            .settled_term(Term::Joints, settled)
            .and_then(|value| usize::try_from(value - self.task.fewest_joints()).ok());
        let least = |class: usize| self.task.covers[class].least_overhang;
        let classes = 0..self.task.classes.len();
        let all: Length = classes
            .clone()
            .map(|class| least(class) * i64::try_from(self.task.members(class)).unwrap_or(1))
            .sum();
        let overhang = self
            .settled_term(Term::Overhang, settled)
            .and_then(|value| i64::try_from(value).ok())
            .map(|value| Length::from_nanometres(value) - all);
        // The runs of a strip are in as many hoopings.
        let hoopings = self
            .settled_term(Term::Hoopings, settled)
            .and_then(|value| usize::try_from(value).ok())
            .unwrap_or(usize::MAX);
        let of_class = |class: usize| {
            // The same as the settled joints are counted from.
            let fewest = usize::try_from(self.task.fewest_runs(class)).unwrap_or(1);
            Allowed {
                runs: joints.map_or(hoopings, |more| hoopings.min(fewest + more)),
                overhang: overhang.map_or(Length::LONGEST * 9, |more| least(class) + more),
            }
        };
        classes.map(of_class).collect()
    }

    /// The hoop changes that a point may have, where they are settled or hoped for.
    pub fn hoped_changes(&self, hoped: &[i64]) -> usize {
        let changes = self.settled_term(Term::HoopChanges, hoped);
        changes.map_or(usize::MAX, |changes| {
            usize::try_from(changes).unwrap_or(usize::MAX)
        })
    }
}
