//! Looks for the hoopings of settled covers, with the runs of different strips told apart: a small program whose points can
//! nearly always be dealt out.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use crate::columns::atoms::Atom;
use crate::columns::dealer::{Covered, Dealer, Hit};
use crate::columns::dive::dive;
use crate::columns::generate::{Bound, Precision, Relaxed};
use crate::columns::listed;
use crate::columns::no_waste::{self, Patience};
use crate::columns::restricted::{Plan, Restricted};
use crate::columns::tree::{Effort, Found, Verdict};
use crate::cover::Cover;
use crate::deadline::Deadline;
use crate::hooping::caps::told_apart;
use crate::hooping::kind::Kind;
use crate::task::Task;

/// With more hoopings than so many to choose from, so many dives come first.
const FEW_LISTED: usize = 500;
const FIRST_DIVES: Range<usize> = 0..3;
/// Hoopings are looked for among all that could be part of a point, unless they are more.
const MOST_LISTED: usize = 4_000;

/// With more groups of strips than this they are not told apart at first.
const MOST_GROUPS: usize = 24;

/// What a bound leaves is nothing, in steps, if it is less than this.
const NOTHING: f64 = 0.01;

/// How long to look where lengths alone leave nothing to waste.
const AT_FIRST: Patience = Patience {
    turns: 6,
    part: 4,
    seed: 0,
    completes: true,
};

/// What is to be reached.
pub struct Target<'g> {
    /// The forms of all stages.
    pub forms: &'g [Vec<i64>],
    /// What the first stages may have at most.
    pub most: &'g [i64],
    /// The most hoop changes.
    pub most_changes: usize,
}

impl Target<'_> {
    /// The last stage that counts hoopings.
    pub fn aim(&self, of: &Restricted<'_, '_>) -> Option<usize> {
        let mut stages = (0..self.most.len()).rev();
        stages.find(|stage| of.atoms.counts_hoopings(&self.forms[*stage]))
    }

    /// Holds every stage to what it may have at most, but for the one that counts: the last that counts hoopings, or else the last.
    /// Returns that stage.
    pub fn hold(&self, of: &mut Restricted<'_, '_>) -> usize {
        let aim = self.aim(of).unwrap_or(self.most.len() - 1);
        for (stage, most) in self.most.iter().enumerate() {
            let row = of.held[stage].0;
            of.model.set_right(row, (stage != aim).then_some(*most));
        }
        aim
    }
}

/// How far a look dives where lanes are not listed: each goes on where the one before ends.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// Once.
    Shallow,
    /// Some times more.
    Deep,
    /// For as long as it is worth it; and long lists are searched.
    Deepest,
}

impl Depth {
    /// The dives, each attempt another one.
    fn dives(self) -> Range<usize> {
        match self {
            Depth::Shallow => 0..1,
            Depth::Deep => 1..20,
            Depth::Deepest => 20..80,
        }
    }

    /// How long to look where nothing may be wasted.
    fn patience(self) -> Patience {
        let (turns, seed) = match self {
            Depth::Shallow => (2, 1),
            Depth::Deep => (5, 2),
            Depth::Deepest => (9, 3),
        };
        Patience {
            turns,
            part: 1,
            seed,
            completes: false,
        }
    }
}

/// Who looks for hoopings.
#[derive(Clone, Copy)]
pub struct Rehoop<'p, 'a> {
    pub task: &'p Task<'a>,
    pub plan: &'p Plan<'p, 'a>,
    pub target: &'p Target<'p>,
    /// What looking for the hoopings of the same covers may take.
    pub effort: Effort,
    /// How far diving goes where lanes are not listed.
    pub depth: Depth,
    pub deadline: &'p Deadline,
}

impl<'p, 'a> Rehoop<'p, 'a> {
    /// Looks for hoopings of these covers that reach the target; `from` is the program in which the covers were found.
    pub fn look(&self, covered: &Covered, from: &Restricted<'_, '_>) -> (Verdict, Option<Hit>) {
        let groups = alike(self.task, &covered.covers);
        let mut covers = covered.covers.iter().flatten();
        let any_split = covers.any(|(_, cover)| cover.count() > 1);
        // The more strips are told apart the larger the program, and the more likely it is that its points can be dealt out without. Then it
        // has fewer kinds of runs, and no rule that the other has not: what it rejects is to be rejected.
        if any_split && groups.iter().max() >= Some(&MOST_GROUPS) {
            let half = self.deadline.at_most(self.deadline.left() / 2);
            let quick = Rehoop {
                deadline: &half,
                ..*self
            };
            let said = quick.look_with(vec![0; groups.len()], covered, from);
            if said.0 != Verdict::Doubtful || said.1.is_some() {
                return said;
            }
        }
        self.look_with(groups, covered, from)
    }

    /// The same with classes in such groups.
    fn look_with(
        &self,
        groups: Vec<usize>,
        covered: &Covered,
        from: &Restricted<'_, '_>,
    ) -> (Verdict, Option<Hit>) {
        let Some((mut of, aim, most)) = self.program(covered, groups) else {
            return (Verdict::Doubtful, None);
        };
        // Where lanes are not listed hoopings take long to find, and are too many to list even by the closest bound.
        let filled = of.any.are_filled();
        let precision = if filled {
            of.begin_with(from);
            Precision::Bound
        } else {
            Precision::Point
        };
        let form = &self.target.forms[aim];
        let bound = match of.relax(form, precision, self.deadline) {
            Relaxed::Bound(bound) if bound.steps() <= i128::from(most) => bound,
            Relaxed::Bound(_) | Relaxed::Empty => return (Verdict::Rejected, None),
            Relaxed::Unknown => return (Verdict::Doubtful, None),
        };
        if filled && let Some(said) = self.among_full(&of, covered, &bound, most) {
            return said;
        }
        let spare = ((i128::from(most) << bound.places) - bound.parts).max(0);
        let listed = of.hoopings_within(&bound, spare, MOST_LISTED);
        let many = listed.as_ref().is_none_or(|list| list.len() > FEW_LISTED);
        // In a long list a point is found sooner by diving, if there is one.
        let dives = match (many, filled) {
            (true, true) => self.depth.dives(),
            (true, false) => FIRST_DIVES,
            (false, _) => 0..0,
        };
        for attempt in dives {
            let mut of = of.clone();
            let point = dive(&mut of, form, most, attempt, self.deadline);
            if let Some(point) = point {
                let mut dealer = self.dealer(&of, covered);
                if dealer.judge(&point) == Verdict::Accepted {
                    return (Verdict::Accepted, dealer.hit);
                }
            }
            if self.deadline.over() {
                break;
            }
        }
        // A long list takes long to search, the longest where lanes are not listed either.
        let waits = many && filled && self.depth != Depth::Deepest;
        let Some(hoopings) = listed.filter(|_| !waits) else {
            return (Verdict::Doubtful, None);
        };
        of.narrow_hoopings(&hoopings);
        of.fix_by_reduced_cost(&bound, most);
        listed::judge(self.dealer(&of, covered), most, self.effort)
    }

    /// Looks among full hoopings, where the bound leaves nothing to waste as far as can be seen yet; `None` where it is worth going on.
    fn among_full(
        &self,
        of: &Restricted<'_, 'a>,
        covered: &Covered,
        bound: &Bound,
        most: i64,
    ) -> Option<(Verdict, Option<Hit>)> {
        let is_near = most as f64 - of.model.objective() < NOTHING;
        if !is_near {
            return None;
        }
        // Where many runs are alike dives find something sooner; later it may still be proven that there is nothing.
        let few_are_alike = no_waste::few_are_alike(of);
        if self.depth == Depth::Shallow && !few_are_alike {
            return None;
        }
        let mut of = of.clone();
        let form = &self.target.forms[self.target.aim(&of)?];
        let bound = of.centred(form, bound.clone(), self.deadline);
        let patience = self.depth.patience();
        let said = self.without_waste(&mut of, covered, &bound, most, patience)?;
        // Dives hardly ever end where few are.
        let goes_on = !few_are_alike || self.depth == Depth::Deepest;
        (said.0 != Verdict::Doubtful || !goes_on).then_some(said)
    }

    /// Looks for hoopings of these covers one after the other, and for those that are all full, or nearly, where lengths alone leave
    /// nothing to waste.
    pub fn look_by_length(&self, covered: &Covered) -> Option<Hit> {
        let groups = alike(self.task, &covered.covers);
        let (mut of, aim, most) = self.program(covered, groups)?;
        let form = &self.target.forms[aim];
        of.aim(form);
        if let Some(point) = of.one_by_one(form, most, self.deadline) {
            let mut dealer = self.dealer(&of, covered);
            if dealer.judge(&point) == Verdict::Accepted {
                return dealer.hit;
            }
        }
        let bound = of.by_length(form)?;
        if bound.steps() != i128::from(most) || !no_waste::few_are_alike(&of) {
            return None;
        }
        let (_, hit) = self.without_waste(&mut of, covered, &bound, most, AT_FIRST)?;
        hit
    }

    /// Looks for hoopings of these covers in which no place is wasted; `None` where some could be. Where it is doubtful whether there are any
    /// they may be others, if that is welcome.
    fn without_waste(
        &self,
        of: &mut Restricted<'_, 'a>,
        covered: &Covered,
        bound: &Bound,
        most: i64,
        patience: Patience,
    ) -> Option<(Verdict, Option<Hit>)> {
        Some(
            match no_waste::look(of, bound, most, patience, self.deadline)? {
                Found::Point(point) => {
                    let mut dealer = self.dealer(of, covered);
                    (dealer.judge(&point), dealer.hit)
                }
                Found::Better(point) => {
                    let mut dealer = self.dealer(of, covered);
                    dealer.judge(&point);
                    (Verdict::Doubtful, dealer.hit)
                }
                Found::None => (Verdict::Rejected, None),
                Found::Unknown => (Verdict::Doubtful, None),
            },
        )
    }

    /// The program of settled covers with classes in such groups, the stage that counts, and what it may have at most.
    fn program(
        &self,
        covered: &Covered,
        groups: Vec<usize>,
    ) -> Option<(Restricted<'p, 'a>, usize, i64)> {
        let plan = Plan {
            groups: told_apart(self.task.classes, groups),
            settled: Some(counted(&covered.covers)),
            ..self.plan.clone()
        };
        let mut of = Restricted::build(plan, self.deadline)?;
        // What corners count for is no part of this program.
        let made_of = covered.made_of.iter().copied();
        let apart: Vec<(Atom, i64)> = made_of
            .filter(|(atom, _)| matches!(atom, Atom::Mismatch(_)))
            .collect();
        let target = self.target;
        let aim = target.aim(&of)?;
        for (stage, most) in target.most.iter().enumerate() {
            let room = most - of.atoms.value(&target.forms[stage], &apart);
            let row = of.held[stage].0;
            of.model.set_right(row, (stage != aim).then_some(room));
        }
        let most = target.most[aim] - of.atoms.value(&target.forms[aim], &apart);
        Some((of, aim, most))
    }

    fn dealer<'d>(&'d self, of: &'d Restricted<'d, 'a>, covered: &'d Covered) -> Dealer<'d, 'a> {
        Dealer::new(self.task, of, Some(covered), self.target, self.deadline)
    }
}

/// How many strips of each class get each cover.
pub fn counted(covers: &[Option<(usize, Cover)>]) -> Vec<(usize, Cover, usize)> {
    let mut counts: BTreeMap<&(usize, Cover), usize> = BTreeMap::new();
    for choice in covers.iter().flatten() {
        *counts.entry(choice).or_default() += 1;
    }
    counts
        .into_iter()
        .map(|((class, cover), count)| (*class, cover.clone(), count))
        .collect()
}

/// The group of each class: classes whose strips have the same runs are one.
fn alike(task: &Task<'_>, covers: &[Option<(usize, Cover)>]) -> Vec<usize> {
    let mut kinds: Vec<BTreeSet<Vec<Kind>>> = vec![BTreeSet::new(); task.classes.len()];
    for (class, cover) in covers.iter().flatten() {
        let of_cover = cover.runs.each().into_iter().map(|(piece, openness)| {
            let kind = task.kind(*class, &cover.settled, piece, openness);
            Kind {
                class: None,
                ..kind
            }
        });
        kinds[*class].insert(of_cover.collect());
    }
    let mut groups: BTreeMap<&BTreeSet<Vec<Kind>>, usize> = BTreeMap::new();
    kinds
        .iter()
        .map(|of_class| {
            let next = groups.len();
            *groups.entry(of_class).or_insert(next)
        })
        .collect()
}
