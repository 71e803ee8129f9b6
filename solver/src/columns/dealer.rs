//! Deals out the points that a search finds, and knows what cannot be dealt out.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::columns::atoms::Atom;
use crate::columns::crowd::{self, Cut, Worths};
use crate::columns::rehoop::Target;
use crate::columns::restricted::Restricted;
use crate::columns::tree::Verdict;
use crate::cover::{Cover, SequenceRule, Sequences, Sides};
use crate::deadline::Deadline;
use crate::deal::{Along, Deal, Dealt, Job, Table};
use crate::hooping::pattern::Pattern;
use crate::task::Task;

/// A plan that was found: covers of its own, by class, and hoopings.
#[derive(Clone, Debug)]
pub struct FoundPlan {
    /// For each strip of the quilt top its class and cover.
    pub covers: Vec<Option<(usize, Cover)>>,
    /// The hoopings in the order of the work.
    pub hoopings: Vec<Dealt>,
}

/// A point of the master and what was dealt out of it.
pub struct Hit {
    /// The value of each stage, in steps.
    pub values: Vec<i64>,
    /// The plan.
    pub plan: FoundPlan,
}

/// Covers that are settled for all strips, and what they count for.
#[derive(Clone, Debug)]
pub struct Covered {
    /// For each strip of the quilt top its class and cover.
    pub covers: Vec<Option<(usize, Cover)>>,
    /// Joints, overhangs and corners.
    pub made_of: Vec<(Atom, i64)>,
}

impl Covered {
    /// The covers that a point gives to the strips; its hoopings may be parts. `None` where it is not known how strips meet at corners so.
    pub fn of(task: &Task<'_>, of: &Restricted<'_, '_>, point: &[i64]) -> Option<Covered> {
        let mut made_of = of.made_at(point);
        made_of.retain(|(atom, _)| !of_hoopings(*atom));
        Some(Covered {
            covers: assign(task, of, point)?,
            made_of,
        })
    }
}

/// Whether hoopings alone decide on an atom.
fn of_hoopings(atom: Atom) -> bool {
    matches!(atom, Atom::Hooping(_) | Atom::Change | Atom::Level(_))
}

/// Deals out the points that a search finds.
pub struct Dealer<'d, 'a> {
    pub task: &'d Task<'a>,
    pub of: &'d Restricted<'d, 'a>,
    /// What every point leaves as it is.
    pub covered: Option<&'d Covered>,
    pub target: &'d Target<'d>,
    pub hit: Option<Hit>,
    /// Cuts that are known.
    pub known: Vec<Cut>,
    /// Worths that are new.
    pub crowds: Vec<Worths>,
    pub deadline: &'d Deadline,
}

impl<'d, 'a> Dealer<'d, 'a> {
    /// Deals out the points of a program, with these covers if they are settled.
    pub fn new(
        task: &'d Task<'a>,
        of: &'d Restricted<'d, 'a>,
        covered: Option<&'d Covered>,
        target: &'d Target<'d>,
        deadline: &'d Deadline,
    ) -> Dealer<'d, 'a> {
        Dealer {
            task,
            of,
            covered,
            target,
            hit: None,
            known: Vec::new(),
            crowds: Vec::new(),
            deadline,
        }
    }

    /// Says whether a whole point will do.
    pub fn judge(&mut self, point: &[i64]) -> Verdict {
        let (verdict, hit) = self.deal(point);
        self.hit = hit.or(self.hit.take());
        verdict
    }

    /// A row that every point that can be dealt out fulfils and this one does not.
    pub fn cut(&mut self, value: &dyn Fn(usize) -> f64) -> Option<Cut> {
        let broken = |cut: &&Cut| {
            let terms = cut.terms.iter();
            let sum: f64 = terms
                .map(|(column, factor)| *factor as f64 * value(*column))
                .sum();
            sum < cut.least as f64 - 1e-4
        };
        if let Some(cut) = self.known.iter().find(broken) {
            return Some(cut.clone());
        }
        let worths = crowd::separate(self.of, value, self.deadline)?;
        let cut = worths.cut(self.of);
        self.crowds.push(worths);
        self.known.push(cut.clone());
        Some(cut)
    }

    /// What each stage says of a point that is dealt out with so many hoop changes, in steps. The point itself only knows how many its
    /// hoops need at least.
    fn values(&self, point: &[i64], changes: usize) -> Vec<i64> {
        let of = self.of;
        let mut made_of = of.made_at(point);
        if let Some(covered) = self.covered {
            made_of.retain(|(atom, _)| of_hoopings(*atom));
            made_of.extend(&covered.made_of);
        }
        made_of.retain(|(atom, _)| *atom != Atom::Change);
        made_of.push((Atom::Change, i64::try_from(changes).unwrap_or(i64::MAX)));
        let forms = self.target.forms.iter();
        forms.map(|form| of.atoms.value(form, &made_of)).collect()
    }

    /// The most hoop changes that a point stands for: those that it counts, where they are weighed against other things.
    fn most_changes(&self, values: &[i64]) -> usize {
        let weighed = self.task.scenario.goal.weighs_changes();
        let column = self.of.changes_column.filter(|_| weighed);
        let counted = column.and_then(|column| usize::try_from(values[column]).ok());
        counted.map_or(self.target.most_changes, |counted| {
            counted.min(self.target.most_changes)
        })
    }

    /// Deals a point out.
    fn deal(&self, values: &[i64]) -> (Verdict, Option<Hit>) {
        let of = self.of;
        let most_changes = self.most_changes(values);
        let covers = match self.covered {
            Some(covered) => Some(covered.covers.clone()),
            None => assign(self.task, of, values),
        };
        let Some(covers) = covers else {
            return (Verdict::Doubtful, None);
        };
        let patterns: Vec<Pattern> = of
            .hoopings
            .iter()
            .map(|column| column.pattern.clone())
            .collect();
        let chosen: Vec<(usize, usize)> = of
            .hoopings
            .iter()
            .enumerate()
            .map(|(number, column)| (number, usize::try_from(values[column.column]).unwrap_or(0)))
            .filter(|(_, count)| *count > 0)
            .collect();
        let mut along = Orders {
            of,
            known: BTreeMap::new(),
        };
        let jobs: Vec<Job> = covers
            .iter()
            .enumerate()
            .filter_map(|(strip, cover)| {
                let (class, cover) = cover.as_ref()?;
                Some(Job {
                    strip,
                    runs: of.run_kinds(*class, cover),
                    is_rest: self.task.classes[*class].stage.butts().is_some(),
                    along: along.of(*class, cover),
                })
            })
            .collect();
        let table = Table {
            kinds: &of.kinds.list,
            patterns: &patterns,
            growth: self.task.scenario.rules.growth,
            bound: self.task.bound,
        };
        let Deal { best, complete } = table.deal(&chosen, &jobs, most_changes, self.deadline);
        match best {
            Some((changes, hoopings)) if changes <= most_changes => (
                Verdict::Accepted,
                Some(Hit {
                    values: self.values(values, changes),
                    plan: FoundPlan { covers, hoopings },
                }),
            ),
            _ if complete => (Verdict::Rejected, None),
            _ => (Verdict::Doubtful, None),
        }
    }
}

/// The orders of the runs of covers, where they are told.
struct Orders<'d, 'a> {
    of: &'d Restricted<'d, 'a>,
    known: BTreeMap<(usize, &'d Cover), Arc<Sequences>>,
}

impl<'d> Orders<'d, '_> {
    fn of(&mut self, class: usize, cover: &'d Cover) -> Option<Along> {
        let scenario = self.of.scenario;
        let of_class = &self.of.classes[class];
        let rule = SequenceRule::of(scenario, of_class).filter(|_| cover.count() > 1)?;
        let pieces = &self.of.spaces[class].pieces;
        let listed = || Arc::new(rule.sequences(pieces, cover));
        let sequences = self.known.entry((class, cover)).or_insert_with(listed);
        Some(Along {
            parts: cover.runs.each(),
            sequences: sequences.clone(),
            group: of_class.wishes.alike.map(|_| class),
            sides: Sides::of(scenario.rules.growth, of_class.stage),
        })
    }
}

/// A cover for each strip, as a point says: those of cornered classes by the pattern at their ends. `None` where it is not known how alike
/// rings of strips add up to the point.
fn assign(
    task: &Task<'_>,
    of: &Restricted<'_, '_>,
    values: &[i64],
) -> Option<Vec<Option<(usize, Cover)>>> {
    let mut stock: BTreeMap<_, Vec<&Cover>> = BTreeMap::new();
    for column in of.covers.iter().rev() {
        let count = usize::try_from(values[column.column]).unwrap_or(0);
        let count = count * task.classes[column.class].strips_each();
        let phases = column.cover.ends.map(|ends| of.phases.pair(ends.phases));
        let phases = phases.filter(|_| !of.rings.is_empty());
        stock
            .entry((column.class, phases))
            .or_default()
            .extend(std::iter::repeat_n(&column.cover, count));
    }
    let mut shown = BTreeMap::new();
    for ring in &of.rings {
        shown.extend(ring.shared_out(values)?);
    }
    let mut covers = vec![None; task.top.strips.len()];
    for (number, class) in task.classes.iter().enumerate() {
        for strip in &class.members {
            let key = (number, shown.get(strip).copied());
            covers[*strip] = stock
                .get_mut(&key)
                .and_then(Vec::pop)
                .map(|cover| (number, cover.clone()));
        }
    }
    Some(covers)
}
