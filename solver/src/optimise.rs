//! The search: minimises one term of the goal after the other over the master program, deals the choice out, and cuts
//! off what cannot be dealt out.

use std::collections::BTreeSet;

use crate::bounds::{simple_bounds, sums};
use crate::deadline::Deadline;
use crate::deal::{Deal, Job, Table};
use crate::draft::Draft;
use crate::master::{Choice, Form, Master, build, weight};
use crate::program::{Answer, Linear, Minimum, Program, Sense, bound, minimise, solve};
use crate::scenario::{Goal, Term};
use crate::task::Task;

/// The most choices that are cut off before the search gives up on a proof.
const MOST_CUTS: usize = 400;

/// The best draft that was found and, for each entry of the goal, what no valid plan can beat, among those whose
/// earlier entries equal this draft's.
#[derive(Clone, Debug)]
pub struct Outlook {
    /// The draft.
    pub draft: Draft,
    /// The bounds.
    pub bounds: Vec<i128>,
}

/// Improves on a first draft until it is proven the best or the time is over. `proven` is what is known already.
pub fn optimise(
    task: &Task<'_>,
    first: Draft,
    proven: Vec<(Vec<i128>, i128)>,
    deadline: &Deadline,
) -> Outlook {
    let values = first.values(task);
    let mut known = Known {
        simple: simple_bounds(task),
        proven,
    };
    let mut best = first;
    if known.bounds_for(&values) != values
        && !deadline.over()
        && let Some(search) = Search::new(task, &best, deadline)
    {
        search.run(&mut best, &mut known);
    }
    let bounds = known.bounds_for(&best.values(task));
    Outlook {
        draft: best,
        bounds,
    }
}

/// The most values of the stabilizer that are told apart.
const MOST_VALUES: usize = 20_000;
/// With up to this many hoops, sets of hoops are tried one by one.
const MOST_HOOPS: usize = 8;

/// What has been proven so far.
pub struct Known {
    /// Bounds that hold for every plan.
    pub simple: Vec<i128>,
    /// Bounds on the entry after some earlier ones: they hold among plans whose earlier entries are at most these.
    pub proven: Vec<(Vec<i128>, i128)>,
}

impl Known {
    /// Whether a better plan than one with these values is thinkable, by more than what rounding leaves apart: lengths that are no whole
    /// nanometres leave areas and costs apart by their seventh digit.
    pub fn leaves_open(&self, values: &[i128]) -> bool {
        let bounds = self.bounds_for(values);
        let mut pairs = values.iter().zip(&bounds);
        pairs.any(|(value, bound)| (value - bound).saturating_mul(1_000_000) > *value)
    }

    /// Adds what is known of plans among which are all of these.
    pub fn add(&mut self, other: Known) {
        for (own, other) in self.simple.iter_mut().zip(other.simple) {
            *own = (*own).max(other);
        }
        self.proven.extend(other.proven);
    }

    /// The best bound for each entry of a plan with these values.
    pub fn bounds_for(&self, values: &[i128]) -> Vec<i128> {
        bounds_for(&self.simple, &self.proven, values)
    }
}

/// The best bound for each entry of a plan with these values, of what is known as in [`Known`].
pub fn bounds_for(simple: &[i128], proven: &[(Vec<i128>, i128)], values: &[i128]) -> Vec<i128> {
    let bound = |entry: usize| {
        let holds = |earlier: &[i128]| {
            earlier.len() == entry
                && earlier
                    .iter()
                    .zip(values)
                    .all(|(most, value)| value <= most)
        };
        let proven = proven
            .iter()
            .filter(|(earlier, _)| holds(earlier))
            .map(|(_, bound)| *bound);
        proven.chain([simple[entry]]).max().unwrap_or(0)
    };
    (0..values.len()).map(bound).collect()
}

struct Search<'t, 'a> {
    task: &'t Task<'a>,
    master: Master,
    /// The goal's entries, and after them terms that only make a plan sensible.
    forms: Vec<Form>,
    counted: usize,
    /// Whether the goal looks at hoop changes.
    changes_count: bool,
    deadline: &'t Deadline,
}

/// A point of the master that is best in one entry after the other.
struct Point {
    values: Vec<i64>,
    /// Whether every entry was minimised to the end.
    settled: bool,
}

impl<'t, 'a> Search<'t, 'a> {
    fn new(task: &'t Task<'a>, first: &Draft, deadline: &'t Deadline) -> Option<Search<'t, 'a>> {
        let goal = &task.scenario.goal;
        let hoopings_first = matches!(goal, Goal::Priorities(terms) if terms[0] == Term::Hoopings);
        let most = if hoopings_first {
            first.hoopings.len()
        } else {
            task.most_runs()
        };
        let master = build(task, most, deadline)?;
        let mut forms: Vec<Form> = match goal {
            Goal::Priorities(terms) => terms.iter().map(|term| master.terms.form(*term)).collect(),
            Goal::Prices(prices) => {
                let nanometres = task.scenario.unit.nanometres();
                let weights: Vec<(Term, i128)> = prices
                    .iter()
                    .map(|price| (price.term, weight(price.term, price.each, nanometres)))
                    .collect();
                vec![master.terms.weighted(&weights)]
            }
        };
        let counted = forms.len();
        forms.extend([Term::Hoopings, Term::Joints].map(|term| master.terms.form(term)));
        Some(Search {
            task,
            master,
            forms,
            counted,
            changes_count: goal.counts_changes(),
            deadline,
        })
    }

    fn run(mut self, best: &mut Draft, known: &mut Known) {
        for _ in 0..MOST_CUTS {
            let first = best.values(self.task);
            let Some(point) = self.descend(&first, known) else {
                return;
            };
            let choice = self.master.choice(self.task, &point.values);
            let hoped = self
                .master
                .changes
                .and_then(|column| usize::try_from(point.values[column]).ok());
            let deal = self.deal(&choice, hoped.unwrap_or(0));
            let changes = deal.best.as_ref().map(|(changes, _)| *changes);
            if let Some((_, hoopings)) = deal.best {
                let draft = Draft {
                    covers: choice.covers,
                    hoopings,
                };
                if draft.values(self.task) < best.values(self.task) {
                    *best = draft;
                }
            }
            match changes {
                Some(changes) if !self.changes_count || changes <= hoped.unwrap_or(changes) => {
                    return;
                }
                _ if !deal.complete => return,
                Some(changes) => self.master.cut(&point.values, i64::try_from(changes).ok()),
                None => self.master.cut(&point.values, None),
            }
            let values = best.values(self.task);
            if !point.settled || self.deadline.over() || known.bounds_for(&values) == values {
                return;
            }
        }
    }

    /// Minimises entry after entry, each among the points that are best in those before. `first`: the values of a plan
    /// that is known.
    fn descend(&mut self, first: &[i128], known: &mut Known) -> Option<Point> {
        let mut program = self.master.program.clone();
        let mut point: Option<Vec<i64>> = None;
        let mut earlier: Vec<i128> = Vec::new();
        let mut settled = true;
        for entry in 0..self.forms.len() {
            let mut proven_steps = Vec::new();
            for stage in 0..self.forms[entry].stages.len() {
                let target = match &point {
                    Some(values) => self.forms[entry].stages[stage].linear.at(values),
                    None => self.forms[entry].steps_of(*first.first()?),
                };
                let (found, least) =
                    self.minimise_stage((entry, stage), &mut program, point.as_deref(), target);
                settled &= found.settled;
                point = found.point.or(point);
                let form = &self.forms[entry];
                let Some(values) = point.as_ref() else {
                    // Without a point the bound still holds.
                    let bound = form.least(&[least?]);
                    let bound = self.holds_for_all(entry, bound, &earlier);
                    known
                        .proven
                        .extend(bound.map(|bound| (earlier.clone(), bound)));
                    return None;
                };
                let linear = &form.stages[stage].linear;
                let reached = linear.at(values);
                // A stage that is not proven leaves nothing to say of the next one.
                let so_far = proven_steps.len() == stage
                    && proven_steps
                        .iter()
                        .zip(&form.stages)
                        .all(|(steps, stage)| *steps == stage.linear.at(values));
                if let Some(least) = least.filter(|_| so_far) {
                    proven_steps.push(least);
                    if let Some(bound) =
                        self.holds_for_all(entry, form.least(&proven_steps), &earlier)
                    {
                        known.proven.push((earlier.clone(), bound));
                    }
                }
                // A value that is proven the least is the value of every point that still counts.
                let proven = least == Some(reached) && form.stages[stage].exact;
                let sense = if proven { Sense::Equal } else { Sense::AtMost };
                program.row(
                    linear.terms.iter().copied(),
                    sense,
                    i64::try_from(reached).ok()?,
                );
            }
            earlier.push(self.forms[entry].value(point.as_ref()?));
            if self.deadline.over() {
                settled = false;
                break;
            }
        }
        point.map(|values| Point { values, settled })
    }

    /// Minimises one stage of an entry, and again for each crowd that is found and cut off. Also returns the greatest
    /// bound seen.
    fn minimise_stage(
        &mut self,
        (entry, stage): (usize, usize),
        program: &mut Program,
        point: Option<&[i64]>,
        target: i128,
    ) -> (Minimum, Option<i128>) {
        let mut least = None;
        loop {
            let linear = &self.forms[entry].stages[stage].linear;
            let by_hoops = self.term(entry) == Some(Term::HoopChanges)
                && self.master.changes.is_some()
                && self.task.scenario.hoops.len() <= MOST_HOOPS;
            let found = if by_hoops && point.is_some() {
                self.fewest_changes(program, linear, target)
            } else {
                let values = self.stabilizer_values(entry, point);
                minimise(
                    program,
                    linear,
                    point,
                    target,
                    values.as_ref(),
                    self.deadline,
                )
            };
            least = least.max(found.least);
            match found
                .point
                .as_deref()
                .and_then(|values| self.master.crowd(values))
            {
                Some(crowd) if !self.deadline.over() => {
                    crowd.add(&mut self.master.program);
                    crowd.add(program);
                }
                _ => return (found, least),
            }
        }
    }

    /// Every value that the stabilizer can have where the number of hoopings is settled, in steps of its form; `None` for
    /// other entries and where there are too many.
    fn stabilizer_values(&self, entry: usize, point: Option<&[i64]>) -> Option<BTreeSet<i128>> {
        let form = &self.forms[entry];
        let settled = (0..entry).any(|earlier| self.term(earlier) == Some(Term::Hoopings));
        if self.term(entry) != Some(Term::Stabilizer)
            || !settled
            || form.stages.len() > 1
            || !form.stages[0].exact
        {
            return None;
        }
        let hoopings = self
            .master
            .patterns
            .iter()
            .map(|column| point.map_or(0, |values| values[*column]));
        let each: BTreeSet<i128> = form.stages[0]
            .linear
            .terms
            .iter()
            .map(|(_, each)| i128::from(*each))
            .collect();
        sums(&each, hoopings.sum(), 0, MOST_VALUES)
    }

    /// The term that an entry of the goal stands for, if it stands for one.
    fn term(&self, entry: usize) -> Option<Term> {
        match &self.task.scenario.goal {
            Goal::Priorities(terms) => terms.get(entry).copied(),
            Goal::Prices(_) => None,
        }
    }

    /// Minimises hoop changes below those of a known point. With k changes at most k + 1 hoops are used, so each such
    /// set of hoops is tried by itself: that leaves no fractions of hoops in the linear relaxation.
    fn fewest_changes(&self, program: &Program, changes_form: &Linear, target: i128) -> Minimum {
        let root = bound(program, changes_form, self.deadline);
        let mut least = root.map_or(0, |root| root.value);
        let hoops = self.task.scenario.hoops.len();
        for changes in 0..target {
            let size = usize::try_from(changes + 1).unwrap_or(usize::MAX);
            let size = size.min(hoops);
            let mut proven = true;
            for set in (0..1_u128 << hoops).filter(|set| set.count_ones() as usize == size) {
                let narrowed = self.master.only_hoops(program, set);
                // What the solver claims to have no point proves nothing; a bound in whole numbers does.
                let beyond = bound(&narrowed, changes_form, self.deadline)
                    .is_some_and(|bound| bound.value > changes);
                if beyond {
                    continue;
                }
                proven = false;
                let (point, settled) =
                    match solve(&narrowed, changes_form, changes, true, self.deadline) {
                        Answer::NoneClaimed => continue,
                        Answer::Best(values) | Answer::Found(values) => (Some(values), true),
                        Answer::Unknown => (None, false),
                    };
                return Minimum {
                    point,
                    least: Some(least),
                    settled,
                };
            }
            if proven && least == changes {
                least += 1;
            }
        }
        Minimum {
            point: None,
            least: Some(least.min(target)),
            settled: true,
        }
    }

    /// What a bound over the listed covers says of all plans with these earlier values; `None` where it says nothing.
    fn holds_for_all(&self, entry: usize, bound: i128, earlier: &[i128]) -> Option<i128> {
        if entry >= self.counted {
            return None;
        }
        let joints = match &self.task.scenario.goal {
            Goal::Priorities(terms) => terms
                .iter()
                .zip(earlier)
                .find(|(term, _)| **term == Term::Joints),
            Goal::Prices(_) => None,
        };
        if self.task.covers_suffice(joints.map(|(_, value)| *value)) {
            return Some(bound);
        }
        match self.term(entry) {
            Some(Term::Joints) => Some(bound.min(self.task.fewest_joints_unlisted()?)),
            Some(Term::Hoopings | Term::Stabilizer | Term::HoopChanges)
                if self.forms[entry].stages.len() == 1 =>
            {
                let form = &self.forms[entry].stages[0];
                let of_hoopings = |entry: &usize| {
                    matches!(
                        self.term(*entry),
                        Some(Term::Hoopings | Term::Stabilizer | Term::HoopChanges)
                    )
                };
                let held = (0..entry).filter(of_hoopings);
                let held: Vec<(&Linear, i128)> = held
                    .map(|entry| {
                        (
                            &self.forms[entry].stages[0].linear,
                            self.forms[entry].steps_of(earlier[entry]),
                        )
                    })
                    .collect();
                let least = bound.div_euclid(form.unit);
                let reach = self.master.unlisted_reach(
                    self.task,
                    &held,
                    &form.linear,
                    least,
                    self.deadline,
                );
                reach.then_some(bound)
            }
            _ => None,
        }
    }

    /// Deals a choice out, with no more hoop changes than hoped for if that can be.
    fn deal(&self, choice: &Choice, hoped: usize) -> Deal {
        let table = Table {
            kinds: &self.master.kinds.list,
            patterns: &self.master.pattern_list,
            growth: self.task.scenario.rules.growth,
            bound: self.task.bound,
        };
        let enough = if self.changes_count {
            hoped
        } else {
            usize::MAX
        };
        table.deal(&choice.patterns, &self.jobs(choice), enough, self.deadline)
    }

    fn jobs(&self, choice: &Choice) -> Vec<Job> {
        let planned = choice.covers.iter().enumerate();
        let planned = planned.filter_map(|(strip, chosen)| chosen.map(|chosen| (strip, chosen)));
        let mut kinds = self.master.kinds.clone();
        planned
            .map(|(strip, (class, cover))| {
                let runs = self.task.run_kinds((class, cover)).into_iter();
                Job {
                    strip,
                    runs: runs.map(|kind| kinds.number(kind)).collect(),
                    is_rest: self.task.classes[class].stage.butts().is_some(),
                    along: None,
                }
            })
            .collect()
    }
}
