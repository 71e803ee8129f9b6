//! The search: one entry of the goal after the other is bounded over all covers and hoopings; then a point is looked for that
//! reaches every bound at once, and, where there is none, entry by entry.

use std::collections::{BTreeMap, BTreeSet};

use crate::columns::atoms::Atoms;
use crate::columns::crowd::Worths;
use crate::columns::dealer::{FoundPlan, Hit};
use crate::columns::generate::{Bound, holds_inner};
use crate::columns::restricted::{Plan, Restricted, Turn};
use crate::columns::tree::Found;
use crate::cover::CoverSpace;
use crate::deadline::Deadline;
use crate::hooping::caps::told_apart;
use crate::hooping::pattern::Pattern;
use crate::length::Length;
use crate::optimise::bounds_for;
use crate::scenario::{Goal, Term};
use crate::task::Task;

/// The most values of an entry that are hoped for.
const MOST_HOPES: usize = 2;
/// So many hopes may be left open before the first stage is settled by itself.
const MOST_OPEN: usize = 3;

/// What is known after the search.
#[derive(Clone, Debug, Default)]
pub struct Result {
    /// The best plan, if one was found.
    pub plan: Option<FoundPlan>,
    /// Bounds on an entry of the goal after some earlier ones: they hold among plans whose earlier entries are at most
    /// these.
    pub proven: Vec<(Vec<i128>, i128)>,
}

/// Is told of a better plan, where there is one, and of what is proven so far.
pub type Tell<'r> = &'r dyn Fn(Option<&FoundPlan>, &[(Vec<i128>, i128)]);

/// One stage of an entry's form.
#[derive(Clone, Debug)]
pub(super) struct Stage {
    pub entry: usize,
    pub form: Vec<i64>,
    pub unit: i128,
    pub exact: bool,
    /// Values are multiples of this.
    pub divisor: i64,
}

pub(super) struct Search<'r, 't, 'a> {
    pub task: &'r Task<'a>,
    pub of: Restricted<'t, 'a>,
    pub counted: usize,
    pub stages: Vec<Stage>,
    pub deadline: Deadline,
    pub proven: Vec<(Vec<i128>, i128)>,
    /// What the program was built for.
    pub plan: Plan<'t, 'a>,
    /// The program in which the runs of each class are told apart, once there was need of it.
    pub apart: Option<Restricted<'t, 'a>>,
    /// The first plan.
    pub first_plan: &'r crate::draft::Draft,
    /// The first plan's values, and bounds that hold for every plan.
    first_values: Vec<i128>,
    simple: &'r [i128],
    /// The first stage's value of the first plan, and the least that it can have.
    pub first: Option<i64>,
    pub least: Option<i64>,
    /// What the first plan has in each stage that begins an entry of the goal.
    first_steps: Vec<Option<i64>>,
    /// The first stages in which the first plan has the least that is possible.
    begun: Vec<i64>,
    /// Entries of the goal some stage of which has a value that is not proven to be the least, and the least value of that stage
    /// that is not ruled out.
    pub unproven: BTreeMap<usize, i64>,
    /// Looks that were ended by the clock before they could say anything: values of the first stages.
    pub postponed: Vec<Vec<i64>>,
    /// What was looked for already: values of the first stages.
    pub looked: BTreeSet<Vec<i64>>,
    /// What no plan has, of that.
    pub ruled_out: BTreeSet<Vec<i64>>,
    /// What could not be dealt out so far.
    pub crowds: Vec<Worths>,
    tell: Tell<'r>,
}

/// Searches from a first plan on; `simple` are bounds that hold for every plan. `spaces` are those of the task's classes.
pub fn search<'a>(
    task: &Task<'a>,
    spaces: &[CoverSpace<'a>],
    first: &crate::draft::Draft,
    simple: &[i128],
    tell: Tell<'_>,
    deadline: &Deadline,
) -> Result {
    let Some(mut search) = Search::new(task, spaces, first, simple, tell, deadline) else {
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
        simple: &'r [i128],
        tell: Tell<'r>,
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
        let levels = task.roll.iter().flat_map(|roll| &roll.levels);
        let levels: BTreeSet<Length> = levels.map(|level| level.length).collect();
        let atoms = Atoms::of(
            scenario,
            overhangs.into_iter(),
            mismatches.into_iter(),
            levels.into_iter(),
        );
        let strips: usize = (0..task.classes.len())
            .map(|class| task.members(class))
            .sum();
        // Each part of time counts as one.
        let longest = spaces
            .iter()
            .flat_map(|space| space.pieces.iter())
            .map(|piece| piece.time);
        let time = i128::from(longest.max().unwrap_or_default().parts()) * most_runs as i128;
        // Each hooping takes one level of the roll at most.
        let counted = (3 * most_hoopings + most_runs + strips + task.top.corners.len()) as i128;
        let counted = counted + time;
        let mut forms = atoms.goal(scenario, counted);
        let entries = forms.len();
        // Terms that only make a plan sensible.
        for term in [Term::Hoopings, Term::Joints] {
            let told = matches!(goal, Goal::Priorities(terms) if terms.contains(&term));
            let never = term == Term::Joints && spaces.iter().all(|space| space.most_runs() == 1);
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
        let first_values = first.values(task);
        let steps = |values: &[i128], entry: usize| {
            let steps = forms[entry].steps_of(*values.get(entry)?);
            i64::try_from(steps).ok()
        };
        let (of_first, least) = (steps(&first_values, 0), steps(simple, 0));
        let begins = |stage: &usize| *stage == 0 || stages[stage - 1].entry < stages[*stage].entry;
        let steps_at = |stage: usize| {
            let of = Some(stages[stage].entry).filter(|entry| begins(&stage) && *entry < entries);
            steps(&first_values, of?)
        };
        let first_steps: Vec<Option<i64>> = (0..stages.len()).map(steps_at).collect();
        let is_least = |stage: &usize| {
            let of = &stages[*stage];
            let alone = begins(stage) && forms[of.entry].stages.len() == 1 && of.exact;
            alone && of.entry < entries && first_values[of.entry] == simple[of.entry]
        };
        let begun = (0..stages.len()).take_while(is_least);
        let begun = begun.map_while(|stage| first_steps[stage]).collect();
        let plan = Plan {
            scenario,
            classes: task.classes,
            spaces,
            corners: &task.top.corners,
            most_hoopings,
            forms: stages.iter().map(|stage| stage.form.clone()).collect(),
            atoms,
            groups: told_apart(task.classes, vec![0; task.classes.len()]),
            settled: None,
            roll: task.roll,
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
            unproven: BTreeMap::new(),
            looked: BTreeSet::new(),
            ruled_out: BTreeSet::new(),
            postponed: Vec::new(),
            first_plan: first,
            first_values,
            simple,
            first: of_first,
            least,
            first_steps,
            begun,
            crowds: Vec::new(),
            tell,
        })
    }

    fn run(&mut self) -> Option<FoundPlan> {
        let mut best: Option<Hit> = None;
        // Nothing has to be solved for what counting alone proves of the first plan.
        let mut settled: Vec<i64> = self.begun.clone();
        self.hold_first(&settled);
        // What was hoped for when it turned out that it cannot all be had at once.
        let mut hoped: Option<Vec<i64>> = None;
        if self.is_of_lengths() {
            if self.raise_least() && self.first == self.least {
                settled.extend(self.first);
                self.hold_first(&settled);
            }
            let better = |hit: &Hit| self.first.is_none_or(|first| hit.values[0] < first);
            if let Some(hit) = self.look_by_length().filter(better) {
                if self.least == Some(hit.values[0]) {
                    settled.push(hit.values[0]);
                    self.hold_first(&settled);
                    self.note(0, &[], hit.values[0]);
                }
                self.tell(Some(&hit));
                best = Some(hit);
            }
        }
        while settled.len() < self.stages.len() && !self.deadline.over() {
            if self.first_is_best() {
                break;
            }
            let stage = settled.len();
            // Hope that what bounds every further stage can be reached at once, unless nothing new is known since.
            let new = hoped
                .as_ref()
                .is_none_or(|hoped| !hoped.starts_with(&settled));
            if new {
                let (values, reached) = self.hope(&settled);
                if let Some((stages, hit)) = reached {
                    settled = values[..stages].to_vec();
                    self.hold_first(&settled);
                    self.tell(Some(&hit));
                    best = Some(hit);
                }
                hoped = Some(values);
                continue;
            }
            let known = best.as_ref().filter(|hit| hit.values.starts_with(&settled));
            let known = known.map(|hit| hit.values[stage]);
            let known = known.or(self.first_steps[stage].filter(|_| self.first_has(&settled)));
            let Some((value, hit)) = self.settle(&settled, known) else {
                break;
            };
            self.tell(hit.as_ref());
            best = hit.or(best);
            self.hold(stage, Some(value));
            settled.push(value);
        }
        self.go_on().or(best).map(|hit| hit.plan)
    }

    /// Whether it is proven that no plan is better than the first one, and nothing counts besides the goal.
    fn first_is_best(&self) -> bool {
        let goal_alone = self.stages.iter().all(|stage| stage.entry < self.counted);
        goal_alone && bounds_for(self.simple, &self.proven, &self.first_values) == self.first_values
    }

    /// Whether the first plan has these values in the first stages.
    fn first_has(&self, settled: &[i64]) -> bool {
        let mut steps = settled.iter().zip(&self.first_steps);
        steps.all(|(settled, first)| Some(*settled) == *first)
    }

    /// Tells whoever listens of a plan that was found, and of what is proven.
    pub fn tell(&self, hit: Option<&Hit>) {
        (self.tell)(hit.map(|hit| &hit.plan), &self.proven);
    }

    fn hold(&mut self, stage: usize, value: Option<i64>) {
        let row = self.of.held[stage].0;
        self.of.model.set_right(row, value);
    }

    /// Holds the first stages to these values, and no other.
    pub fn hold_first(&mut self, settled: &[i64]) {
        for stage in 0..self.stages.len() {
            self.hold(stage, settled.get(stage).copied());
        }
    }

    /// Bounds every stage after the settled ones and looks for a point that reaches all bounds, or else nearly all, or those of the
    /// first stage. Returns the bounds, and the number of stages in which the point reaches them.
    fn hope(&mut self, settled: &[i64]) -> (Vec<i64>, Option<(usize, Hit)>) {
        let mut hoped = settled.to_vec();
        let mut bounds = Vec::new();
        while hoped.len() < self.stages.len() && !self.deadline.over() {
            let stage = hoped.len();
            let Some((value, bound)) = self.bound(stage, &hoped) else {
                break;
            };
            self.note(stage, &hoped, value);
            self.tell(None);
            bounds.push(bound);
            self.hold(stage, Some(value));
            hoped.push(value);
        }
        let mut reached = None;
        // Nothing has to be found that is there already.
        let known = self.first_is_best();
        let mut open = 0;
        while let Some(bound) = bounds.pop() {
            let stage = settled.len() + bounds.len();
            self.hold(stage, None);
            // Hopes that are neither fulfilled nor given up mostly rest on one too low in an early stage, which takes as long to
            // see each time.
            let is_worth_it = open < MOST_OPEN || bounds.is_empty();
            if reached.is_none() && !known && is_worth_it {
                // What was looked for before costs nothing.
                open += usize::from(!self.looked.contains(&hoped[..=stage]));
                reached = self.climb(stage, &bound, &mut hoped, !bounds.is_empty());
            }
        }
        (hoped, reached)
    }

    /// Looks for a point with what is hoped for in the first stages up to this one, and a few steps more in this one for as
    /// long as it is proven that there is none; `is_ahead` of the stage that is to be settled next or not.
    fn climb(
        &mut self,
        stage: usize,
        bound: &Bound,
        hoped: &mut [i64],
        is_ahead: bool,
    ) -> Option<(usize, Hit)> {
        for _ in 0..MOST_HOPES {
            if self.deadline.over() {
                return None;
            }
            let (before, value) = (hoped[..stage].to_vec(), hoped[stage]);
            match self.look_quickly(bound, &hoped[..=stage], is_ahead) {
                (Found::Point(_), hit) => return hit.map(|hit| (stage + 1, hit)),
                (Found::None, _) => hoped[stage] = self.reachable(stage, value + 1, &before)?,
                (Found::Unknown | Found::Better(_), _) => return None,
            }
            self.note(stage, &before, hoped[stage]);
        }
        None
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
    // Alike strips are covered alike: each cover is looked at once.
    let mut kinds_of: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for choice in first.covers.iter().flatten() {
        kinds_of.entry(*choice).or_insert_with(|| {
            let cover = task.cover(*choice);
            of.add_cover(choice.0, cover.clone());
            of.run_kinds(choice.0, cover)
        });
    }
    let count = first.hoopings.len();
    for (number, hooping) in first.hoopings.iter().enumerate() {
        let kind = |(strip, run): &(usize, usize)| {
            let choice = first.covers[*strip]?;
            kinds_of[&choice].get(*run).copied()
        };
        let mut lanes: Vec<Vec<usize>> = hooping
            .lanes
            .iter()
            .map(|lane| lane.iter().filter_map(kind).collect())
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
