//! The search: one entry of the goal after the other is bounded over all covers and hoopings; then a point is looked for that
//! reaches every bound at once, and, where there is none, entry by entry.

use std::collections::{BTreeMap, BTreeSet};

use crate::bounds::sums;
use crate::columns::atoms::{Atom, Atoms};
use crate::columns::crowd::Worths;
use crate::columns::dealer::{FoundPlan, Hit};
use crate::columns::generate::{Allowed, Bound, Precision, Relaxed, holds_inner};
use crate::columns::restricted::{Plan, Restricted, Turn};
use crate::columns::tree::Found;
use crate::cover::CoverSpace;
use crate::deadline::Deadline;
use crate::hooping::pattern::Pattern;
use crate::length::Length;
use crate::scenario::{Goal, Term};
use crate::task::Task;

/// The most values of an entry that are tried from its bound upwards.
const MOST_CLIMBED: usize = 4;
/// The most values of an entry that are hoped for.
const MOST_HOPES: usize = 2;
/// The most values of an entry that are tried in all.
const MOST_TRIED: usize = 100;
/// The most values of an entry for which a plan is looked for before it is known which of them can be had.
const MOST_GUESSED: usize = 12;
/// With up to this many hoops, sets of hoops are tried one by one.
const MOST_HOOPS: usize = 8;
/// The most sums of stabilizer pieces that are told apart.
const MOST_VALUES: usize = 3_000;

/// What is known after the search.
#[derive(Clone, Debug, Default)]
pub struct Result {
    /// The best plan, if one was found.
    pub plan: Option<FoundPlan>,
    /// Bounds on an entry of the goal after some earlier ones: they hold among plans whose earlier entries are at most
    /// these.
    pub proven: Vec<(Vec<i128>, i128)>,
}

/// One stage of an entry's form.
#[derive(Clone, Debug)]
pub(super) struct Stage {
    entry: usize,
    pub form: Vec<i64>,
    unit: i128,
    exact: bool,
    /// Values are multiples of this.
    divisor: i64,
}

pub(super) struct Search<'r, 't, 'a> {
    pub task: &'r Task<'a>,
    pub of: Restricted<'t, 'a>,
    counted: usize,
    pub stages: Vec<Stage>,
    pub deadline: Deadline,
    proven: Vec<(Vec<i128>, i128)>,
    /// What the program was built for.
    pub plan: Plan<'t, 'a>,
    /// The program in which the runs of each class are told apart, once there was need of it.
    pub apart: Option<Restricted<'t, 'a>>,
    /// The first plan.
    pub first_plan: &'r crate::draft::Draft,
    /// The first stage's value of the first plan.
    first: Option<i64>,
    /// Entries of the goal some stage of which has a value that is not proven to be the least.
    unproven: BTreeSet<usize>,
    /// What was looked for already: values of the first stages.
    pub looked: BTreeSet<Vec<i64>>,
    /// What could not be dealt out so far.
    pub crowds: Vec<Worths>,
}

/// Searches from a first plan on. `spaces` are those of the task's classes.
pub fn search<'a>(
    task: &Task<'a>,
    spaces: &[CoverSpace<'a>],
    first: &crate::draft::Draft,
    deadline: &Deadline,
) -> Result {
    let Some(mut search) = Search::new(task, spaces, first, deadline) else {
        return Result::default();
    };
    let plan = search.run();
    Result {
        plan,
        proven: search.proven,
    }
}

impl<'r, 't, 'a> Search<'r, 't, 'a> {
    fn new(
        task: &'r Task<'a>,
        spaces: &'t [CoverSpace<'a>],
        first: &'r crate::draft::Draft,
        deadline: &'r Deadline,
    ) -> Option<Search<'r, 't, 'a>>
    where
        'r: 't,
    {
        let scenario = task.scenario;
        let goal = &scenario.goal;
        let hoopings_first = matches!(goal, Goal::Priorities(terms) if terms[0] == Term::Hoopings);
        let runs_of =
            |(class, space): (usize, &CoverSpace<'_>)| task.members(class) * space.most_runs();
        let most_runs: usize = spaces.iter().enumerate().map(runs_of).sum();
        let most_hoopings = if hoopings_first {
            first.hoopings.len()
        } else {
            most_runs.max(first.hoopings.len())
        };
        let overhangs: BTreeSet<Length> = spaces
            .iter()
            .flat_map(CoverSpace::overhangs)
            .filter(|overhang| overhang.nanometres() > 0)
            .collect();
        let mismatches = if goal.counts(Term::CornerMismatch) {
            mismatches(task, spaces)
        } else {
            BTreeSet::new()
        };
        let atoms = Atoms::of(scenario, overhangs.into_iter(), mismatches.into_iter());
        let strips: usize = (0..task.classes.len())
            .map(|class| task.members(class))
            .sum();
        let counted = (2 * most_hoopings + most_runs + strips + task.top.corners.len()) as i128;
        let mut forms = atoms.goal(scenario, counted);
        let entries = forms.len();
        // Terms that only make a plan sensible.
        for term in [Term::Hoopings, Term::Joints] {
            let told = matches!(goal, Goal::Priorities(terms) if terms.contains(&term));
            let never = term == Term::Joints && spaces.iter().all(|space| space.totals.is_empty());
            if !told && !never {
                forms.push(atoms.term(scenario, term, counted));
            }
        }
        let mut stages = Vec::new();
        for (entry, form) in forms.iter().enumerate() {
            for stage in &form.stages {
                stages.push(Stage {
                    entry,
                    form: atoms.dense(&stage.linear.terms),
                    unit: stage.unit,
                    exact: stage.exact,
                    divisor: stage.linear.divisor(),
                });
            }
        }
        let of_first = first
            .values(task)
            .first()
            .map(|value| forms[0].steps_of(*value));
        let plan = Plan {
            scenario,
            classes: task.classes,
            spaces,
            corners: &task.top.corners,
            most_hoopings,
            forms: stages.iter().map(|stage| stage.form.clone()).collect(),
            atoms,
            groups: vec![0; task.classes.len()],
            settled: None,
        };
        let mut of = Restricted::build(plan.clone(), deadline)?;
        add_first(task, &mut of, first);
        Some(Search {
            task,
            of,
            counted: entries,
            stages,
            deadline: deadline.clone(),
            proven: Vec::new(),
            plan,
            apart: None,
            unproven: BTreeSet::new(),
            looked: BTreeSet::new(),
            first_plan: first,
            first: of_first.and_then(|steps| i64::try_from(steps).ok()),
            crowds: Vec::new(),
        })
    }

    fn run(&mut self) -> Option<FoundPlan> {
        let mut best: Option<Hit> = None;
        let mut settled: Vec<i64> = Vec::new();
        // What was hoped for when it turned out that it cannot all be had at once.
        let mut hoped: Option<Vec<i64>> = None;
        while settled.len() < self.stages.len() && !self.deadline.over() {
            let stage = settled.len();
            // Hope that what bounds every further stage can be reached at once, unless nothing new is known since.
            let new = hoped
                .as_ref()
                .is_none_or(|hoped| !hoped.starts_with(&settled));
            if new {
                let (values, reached) = self.hope(&settled);
                if let Some((stages, hit)) = reached {
                    settled = values[..stages].to_vec();
                    for (stage, value) in settled.iter().enumerate() {
                        self.hold(stage, Some(*value));
                    }
                    best = Some(hit);
                }
                hoped = Some(values);
                continue;
            }
            let known = best.as_ref().filter(|hit| hit.values.starts_with(&settled));
            let known = known.map(|hit| hit.values[stage]);
            let known = known.or(self.first.filter(|_| stage == 0));
            let Some((value, hit)) = self.settle(&settled, known) else {
                break;
            };
            best = hit.or(best);
            self.hold(stage, Some(value));
            settled.push(value);
        }
        best.map(|hit| hit.plan)
    }

    pub fn hold(&mut self, stage: usize, value: Option<i64>) {
        let row = self.of.held[stage].0;
        self.of.model.set_right(row, value);
    }

    /// The bound of a stage in steps: a value that it can have.
    fn bound(&mut self, stage: usize, settled: &[i64]) -> Option<(i64, Bound)> {
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
    fn reachable(&self, stage: usize, steps: i64, settled: &[i64]) -> Option<i64> {
        let of = &self.stages[stage];
        let divisor = of.divisor.max(1);
        let rounded = steps + (-steps).rem_euclid(divisor);
        let Some(values) = self.stabilizer_values(stage, settled, rounded) else {
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
        let Goal::Priorities(terms) = &self.task.scenario.goal else {
            return None;
        };
        let of = &self.stages[stage];
        let hoopings = terms.iter().position(|term| *term == Term::Hoopings)?;
        let count = self
            .stages
            .iter()
            .zip(settled)
            .find(|(stage, _)| stage.entry == hoopings)
            .map(|(_, value)| *value)?;
        if self.term(stage) != Some(Term::Stabilizer) || !of.exact {
            return None;
        }
        let hoops = (0..self.task.scenario.hoops.len())
            .filter_map(|hoop| self.of.atoms.number(Atom::Hooping(hoop)));
        let each = hoops.map(|atom| i128::from(of.form[atom])).collect();
        sums(&each, count, i128::from(least), MOST_VALUES)
    }

    /// Notes a bound on an entry, given the values of the stages before.
    fn note(&mut self, stage: usize, settled: &[i64], value: i64) {
        let entry = self.stages[stage].entry;
        // A value in several stages says something of plans with at most that value only where its first stage is as low as
        // can be.
        let stages = |entry: &usize| {
            let of = self.stages.iter().filter(|stage| stage.entry == *entry);
            of.count()
        };
        let vague = |of: &usize| *of == entry || stages(of) > 1;
        if entry >= self.counted || self.unproven.iter().any(vague) {
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

    /// Bounds every stage after the settled ones and looks for a point that reaches all bounds, or else those of as many of
    /// the first stages as it can. Returns the bounds, and the number of stages in which the point reaches them.
    fn hope(&mut self, settled: &[i64]) -> (Vec<i64>, Option<(usize, Hit)>) {
        let mut hoped = settled.to_vec();
        let mut bounds = Vec::new();
        while hoped.len() < self.stages.len() && !self.deadline.over() {
            let stage = hoped.len();
            let Some((value, bound)) = self.bound(stage, &hoped) else {
                break;
            };
            self.note(stage, &hoped, value);
            bounds.push(bound);
            self.hold(stage, Some(value));
            hoped.push(value);
        }
        let mut reached = None;
        while let Some(bound) = bounds.pop() {
            let stage = settled.len() + bounds.len();
            self.hold(stage, None);
            if reached.is_none() {
                reached = self.climb(stage, &bound, &mut hoped);
            }
        }
        (hoped, reached)
    }

    /// Looks for a point with what is hoped for in the first stages up to this one, and a few steps more in this one for as
    /// long as it is proven that there is none.
    fn climb(&mut self, stage: usize, bound: &Bound, hoped: &mut [i64]) -> Option<(usize, Hit)> {
        for _ in 0..MOST_HOPES {
            if self.deadline.over() {
                return None;
            }
            let (before, value) = (hoped[..stage].to_vec(), hoped[stage]);
            match self.look(stage, bound, value, &hoped[..=stage], false) {
                (Found::Point(_), hit) => return hit.map(|hit| (stage + 1, hit)),
                (Found::None, _) => hoped[stage] = self.reachable(stage, value + 1, &before)?,
                (Found::Unknown | Found::Better(_), _) => return None,
            }
            self.note(stage, &before, hoped[stage]);
        }
        None
    }

    /// Finds the least value of the next stage, or, where that cannot be proven, the least that is found; `known` is a value
    /// that a plan is known to have.
    fn settle(&mut self, settled: &[i64], known: Option<i64>) -> Option<(i64, Option<Hit>)> {
        let stage = settled.len();
        let (mut value, bound) = self.bound(stage, settled)?;
        // The least value that a plan was found for, once it is not clear at once that there is none with less.
        let mut found: Option<(i64, Option<Hit>)> = known.map(|known| (known, None));
        let mut patient = false;
        for climbed in 0..MOST_TRIED {
            self.note(stage, settled, value);
            if let Some((least, hit)) = found.take_if(|(least, _)| *least == value) {
                return Some((least, hit));
            }
            let hoped: Vec<i64> = settled.iter().copied().chain([value]).collect();
            // With a known value to improve on, a few steps are climbed from below and the others looked at together.
            if let Some(found) = found.take_if(|_| climbed >= MOST_CLIMBED) {
                return Some(self.improve_on(stage, settled, &bound, found));
            }
            let looked = if patient {
                self.patiently(stage, &bound, value, &hoped)
            } else {
                self.look(stage, &bound, value, &hoped, false)
            };
            match looked {
                (Found::Point(_), hit) => return Some((value, hit)),
                (Found::None, _) => value = self.reachable(stage, value + 1, settled)?,
                (Found::Unknown | Found::Better(_), _) if !patient => {
                    // A plan first, then the proof.
                    patient = true;
                    found = self.guess(settled, &bound, value, known).or(found);
                }
                (Found::Unknown | Found::Better(_), _) => break,
            }
        }
        if found.is_some() {
            self.unproven.insert(self.stages[stage].entry);
        }
        found
    }

    /// Looks with all effort, in half of the time that is left: the other half is for the entries that follow.
    fn patiently(
        &mut self,
        stage: usize,
        bound: &Bound,
        value: i64,
        hoped: &[i64],
    ) -> (Found, Option<Hit>) {
        let half = self.deadline.at_most(self.deadline.left() / 2);
        let whole = std::mem::replace(&mut self.deadline, half);
        let found = self.look(stage, bound, value, hoped, true);
        self.deadline = whole;
        found
    }

    /// Looks for a plan from a value on upwards, where it costs little, up to what is known already.
    fn guess(
        &mut self,
        settled: &[i64],
        bound: &Bound,
        value: i64,
        known: Option<i64>,
    ) -> Option<(i64, Option<Hit>)> {
        let stage = settled.len();
        let mut value = value;
        for _ in 0..MOST_GUESSED {
            value = self.reachable(stage, value + 1, settled)?;
            if self.deadline.over() || known.is_some_and(|known| known <= value) {
                return None;
            }
            let hoped: Vec<i64> = settled.iter().copied().chain([value]).collect();
            if let (Found::Point(_), Some(hit)) = self.look(stage, bound, value, &hoped, false) {
                return Some((hit.values[stage], Some(hit)));
            }
        }
        None
    }

    /// Looks for the best plan of a stage that has less than the least that was found.
    fn improve_on(
        &mut self,
        stage: usize,
        settled: &[i64],
        bound: &Bound,
        found: (i64, Option<Hit>),
    ) -> (i64, Option<Hit>) {
        let mut found = found;
        for _ in 0..MOST_TRIED {
            let hoped: Vec<i64> = settled.iter().copied().chain([found.0 - 1]).collect();
            match self.improve(stage, bound, found.0 - 1, &hoped) {
                (Found::Point(_), Some(hit)) => {
                    self.note(stage, settled, hit.values[stage]);
                    return (hit.values[stage], Some(hit));
                }
                (Found::None, _) => {
                    self.note(stage, settled, found.0);
                    return found;
                }
                (Found::Better(_), Some(hit)) => found = (hit.values[stage], Some(hit)),
                _ => {}
            }
            // What could not be seen all at once may be seen cover by cover.
            let hoped: Vec<i64> = settled.iter().copied().chain([found.0 - 1]).collect();
            match self.patiently(stage, bound, found.0 - 1, &hoped) {
                (Found::Point(_), Some(hit)) => found = (hit.values[stage], Some(hit)),
                (Found::None, _) => {
                    self.note(stage, settled, found.0);
                    return found;
                }
                _ => break,
            }
        }
        self.unproven.insert(self.stages[stage].entry);
        found
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
            let fewest = usize::try_from(self.task.covers[class].fewest_runs()).unwrap_or(1);
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

/// Every mismatch that a corner can have.
fn mismatches(task: &Task<'_>, spaces: &[CoverSpace<'_>]) -> BTreeSet<Length> {
    let mut of_strip = BTreeMap::new();
    let phases: Vec<_> = spaces.iter().map(CoverSpace::end_phases).collect();
    for (number, class) in task
        .classes
        .iter()
        .enumerate()
        .filter(|(_, class)| class.cornered)
    {
        of_strip.extend(class.members.iter().map(|strip| (*strip, number)));
    }
    let mut found = BTreeSet::new();
    for corner in &task.top.corners {
        let sides = corner.ends.map(|(strip, end)| {
            let class = of_strip.get(&strip);
            let end = usize::from(end == crate::strips::End::End);
            let phases = class.map(|class| phases[*class].iter().map(|pair| pair[end]));
            phases.into_iter().flatten().collect::<BTreeSet<_>>()
        });
        for one in &sides[0] {
            found.extend(sides[1].iter().map(|other| one.mismatch(other)));
        }
    }
    found.remove(&Length::ZERO);
    found
}

/// Adds the columns of a first plan, so that the linear program has a point.
pub(super) fn add_first(task: &Task<'_>, of: &mut Restricted<'_, '_>, first: &crate::draft::Draft) {
    let mut kinds_of: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (strip, choice) in first.covers.iter().enumerate() {
        if let Some(choice) = choice {
            let cover = task.cover(*choice).clone();
            kinds_of.insert(strip, of.run_kinds(choice.0, &cover));
            of.add_cover(choice.0, cover);
        }
    }
    let count = first.hoopings.len();
    for (number, hooping) in first.hoopings.iter().enumerate() {
        let kind = |(strip, run): &(usize, usize)| kinds_of[strip][*run];
        let mut lanes: Vec<Vec<usize>> = hooping
            .lanes
            .iter()
            .map(|lane| lane.iter().map(kind).collect())
            .collect();
        for lane in &mut lanes {
            lane.sort_unstable();
        }
        let pattern = Pattern {
            hoop: hooping.hoop,
            turned: hooping.turned,
            lanes,
        };
        let bare = !holds_inner(of, &pattern);
        if bare && number + 1 == count && of.turn_rows.contains_key(&Turn::Last) {
            of.add_hooping(Turn::Last, pattern.clone());
        }
        if bare && number == 0 && of.turn_rows.contains_key(&Turn::First) {
            of.add_hooping(Turn::First, pattern.clone());
        }
        of.add_hooping(Turn::Any, pattern);
    }
}
