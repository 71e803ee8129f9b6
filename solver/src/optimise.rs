//! The search: minimises one term of the goal after the other over the master program, deals the choice out, and cuts
//! off what cannot be dealt out.

use crate::bounds::simple_bounds;
use crate::deadline::Deadline;
use crate::deal::{Job, Outcome, Table};
use crate::draft::{Draft, Task};
use crate::master::{Choice, Form, Master, build, run_kinds, weight};
use crate::program::{Answer, Program, Sense, bound, solve};
use crate::scenario::{Goal, Term};

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

/// Improves on a first draft until it is proven the best or the time is over.
pub fn optimise(task: &Task<'_>, first: Draft, deadline: &Deadline) -> Outlook {
    let values = first.values(task);
    let mut known = Known {
        simple: simple_bounds(task),
        proven: Vec::new(),
    };
    let mut best = first;
    if known.bounds_for(&values) != values {
        // Part of the time is kept back for writing the plan out.
        let searching = deadline.at_most(deadline.left().mul_f64(0.92));
        Search::new(task, &best, &searching).run(&mut best, &mut known);
    }
    let bounds = known.bounds_for(&best.values(task));
    Outlook {
        draft: best,
        bounds,
    }
}

/// What has been proven so far.
struct Known {
    simple: Vec<i128>,
    /// Bounds on the entry after some earlier ones: they hold among plans whose earlier entries are at most these.
    proven: Vec<(Vec<i128>, i128)>,
}

impl Known {
    /// The best bound for each entry of a plan with these values.
    fn bounds_for(&self, values: &[i128]) -> Vec<i128> {
        let bound = |entry: usize| {
            let holds = |earlier: &[i128]| {
                earlier.len() == entry
                    && earlier
                        .iter()
                        .zip(values)
                        .all(|(most, value)| value <= most)
            };
            let proven = self
                .proven
                .iter()
                .filter(|(earlier, _)| holds(earlier))
                .map(|(_, bound)| *bound);
            proven.chain([self.simple[entry]]).max().unwrap_or(0)
        };
        (0..values.len()).map(bound).collect()
    }
}

struct Search<'t, 'a> {
    task: &'t Task<'a>,
    master: Master,
    /// The goal's entries, and after them terms that only make a plan sensible.
    forms: Vec<Form>,
    counted: usize,
    deadline: &'t Deadline,
}

/// A point of the master that is best in one entry after the other.
struct Point {
    values: Vec<i64>,
    /// Whether every entry was minimised to the end.
    settled: bool,
}

impl<'t, 'a> Search<'t, 'a> {
    fn new(task: &'t Task<'a>, first: &Draft, deadline: &'t Deadline) -> Search<'t, 'a> {
        let most_runs = |class: usize| {
            task.covers[class]
                .covers
                .iter()
                .map(|cover| cover.count())
                .max()
                .unwrap_or(0)
        };
        let hoopings_first =
            matches!(&task.scenario.goal, Goal::Priorities(terms) if terms[0] == Term::Hoopings);
        let most = if hoopings_first {
            first.hoopings.len()
        } else {
            task.classes
                .iter()
                .enumerate()
                .map(|(number, class)| class.members.len() * most_runs(number))
                .sum()
        };
        let master = build(
            task.scenario,
            task.top,
            task.classes,
            task.covers,
            most,
            deadline,
        );
        let mut forms: Vec<Form> = match &task.scenario.goal {
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
        Search {
            task,
            master,
            forms,
            counted,
            deadline,
        }
    }

    fn run(mut self, best: &mut Draft, known: &mut Known) {
        if !self.master.complete {
            return;
        }
        for _ in 0..MOST_CUTS {
            let first = best.values(self.task);
            let Some(point) = self.descend(&first, known) else {
                return;
            };
            let choice = self.master.choice(
                self.task.classes,
                self.task.covers,
                self.task.top.strips.len(),
                &point.values,
            );
            let least_changes = self
                .master
                .changes
                .and_then(|column| usize::try_from(point.values[column]).ok());
            match self.deal(&choice, least_changes) {
                Hand::Played(draft) => {
                    keep_better(self.task, best, draft);
                    return;
                }
                Hand::Lost => self.master.cut(&point.values, None),
                Hand::Dearer(draft, changes) => {
                    keep_better(self.task, best, draft);
                    self.master.cut(&point.values, i64::try_from(changes).ok());
                }
                Hand::Unknown => return,
            }
            if !point.settled
                || self.deadline.over()
                || known.bounds_for(&best.values(self.task)) == best.values(self.task)
            {
                return;
            }
        }
    }

    /// Minimises entry after entry, each among the points that are best in those before. `first`: the values of a plan
    /// that is known.
    fn descend(&self, first: &[i128], known: &mut Known) -> Option<Point> {
        let mut program = self.master.program.clone();
        let mut point: Option<Vec<i64>> = None;
        let mut earlier: Vec<i128> = Vec::new();
        let mut settled = true;
        for (entry, form) in self.forms.iter().enumerate() {
            let counted = entry < self.counted;
            let target = match &point {
                Some(values) => Some(form.linear.at(values)),
                None => first.first().map(|value| form.steps_of(*value)),
            };
            let root = bound(&program, &form.linear, self.deadline);
            let mut least = root;
            if point.is_none() || root.is_none_or(|root| Some(root) < target) {
                match self.minimise(&program, form, target) {
                    Answer::Best(values) => {
                        least = root.max(Some(
                            form.linear.at(&values) - slack(form.linear.at(&values)),
                        ));
                        point = Some(values);
                    }
                    Answer::Found(values) => {
                        let better = point
                            .as_ref()
                            .is_none_or(|known| form.linear.at(&values) < form.linear.at(known));
                        if better {
                            point = Some(values);
                        }
                        settled = false;
                    }
                    Answer::NoneClaimed | Answer::Unknown => settled = false,
                }
            }
            if counted && let Some(least) = least {
                known.proven.push((earlier.clone(), least * form.unit));
            }
            let values = point.as_ref()?;
            let reached = form.linear.at(values);
            earlier.push(form.value(values));
            program.row(
                form.linear.terms.iter().copied(),
                Sense::AtMost,
                i64::try_from(reached).ok()?,
            );
            if self.deadline.over() {
                settled = false;
                break;
            }
        }
        point.map(|values| Point { values, settled })
    }

    fn minimise(&self, program: &Program, form: &Form, target: Option<i128>) -> Answer {
        solve(program, &form.linear, target, self.deadline)
    }

    /// Deals a choice out with as few hoop changes as the goal can see.
    fn deal(&self, choice: &Choice, least_changes: Option<usize>) -> Hand {
        let table = Table {
            kinds: &self.master.kinds.list,
            patterns: &self.master.pattern_list,
            growth: self.task.scenario.rules.growth,
        };
        let jobs = self.jobs(choice);
        let hoopings: usize = choice.patterns.iter().map(|(_, count)| count).sum();
        let changes_count = match &self.task.scenario.goal {
            Goal::Priorities(terms) => terms.contains(&Term::HoopChanges),
            Goal::Prices(prices) => prices.iter().any(|price| price.term == Term::HoopChanges),
        };
        let start = least_changes.filter(|_| changes_count);
        let budgets = start
            .into_iter()
            .flat_map(|least| least..hoopings)
            .map(Some);
        let budgets = budgets.chain(start.is_none().then_some(None));
        let mut tried = 0;
        for budget in budgets {
            match table.deal(&choice.patterns, &jobs, budget, self.deadline) {
                Outcome::Done(hoopings) => {
                    let draft = Draft {
                        covers: choice.covers.clone(),
                        hoopings,
                    };
                    return match budget.filter(|_| tried > 0) {
                        Some(changes) => Hand::Dearer(draft, changes),
                        None => Hand::Played(draft),
                    };
                }
                Outcome::Impossible => tried += 1,
                Outcome::Unknown => return Hand::Unknown,
            }
        }
        Hand::Lost
    }

    fn jobs(&self, choice: &Choice) -> Vec<Job> {
        let planned = choice.covers.iter().enumerate();
        let planned = planned.filter_map(|(strip, chosen)| chosen.map(|chosen| (strip, chosen)));
        let mut kinds = self.master.kinds.clone();
        planned
            .map(|(strip, (class, cover))| {
                let of_class = &self.task.covers[class];
                let runs = run_kinds(
                    class,
                    &self.task.classes[class],
                    of_class,
                    &of_class.covers[cover],
                );
                Job {
                    strip,
                    runs: runs.into_iter().map(|kind| kinds.number(kind)).collect(),
                }
            })
            .collect()
    }
}

/// What became of a choice.
enum Hand {
    /// It is dealt out as the master hoped.
    Played(Draft),
    /// It cannot be dealt out at all.
    Lost,
    /// It can be dealt out, but needs that many hoop changes.
    Dearer(Draft, usize),
    /// It is not known.
    Unknown,
}

fn keep_better(task: &Task<'_>, best: &mut Draft, draft: Draft) {
    if draft.values(task) < best.values(task) {
        *best = draft;
    }
}

/// How far the solver's floating point may be off at a claimed optimum: nothing while its values are small.
fn slack(value: i128) -> i128 {
    value.abs() / 1_000_000
}
