//! The kinds of the runs that covers can lead to, and how many there can be of each.

use std::collections::{BTreeMap, BTreeSet};

use crate::columns::restricted::Plan;
use crate::cover::{Cover, Settled};
use crate::hooping::alike::stand_ins;
use crate::hooping::caps::{Bonds, Caps};
use crate::hooping::kind::{Kinds, Openness};
use crate::hooping::pattern::Limits;

/// More kinds of runs than this, once those that are alike are one, make too large a program.
const MOST_KINDS: usize = 3_000;
/// And before it takes too long to find out which are: kinds, and kinds for each way to lay a hoop.
const MOST_MEASURED: usize = 100_000;
const MOST_LAID: usize = 4_000_000;

/// The kinds of the runs of a total, by place among its pieces.
#[derive(Clone, Debug)]
pub struct TotalKinds {
    /// Outer runs.
    pub outer: Vec<usize>,
    /// Inner runs.
    pub inner: Vec<usize>,
}

/// The kinds of runs, and their limits.
pub struct RunKinds {
    pub kinds: Kinds,
    /// For each class the kinds of its totals; none where covers are settled.
    pub totals: Vec<Vec<TotalKinds>>,
    pub limits: Limits,
}

/// Numbers kinds and notes whose they are.
struct Numbering<'p> {
    plan: &'p Plan<'p, 'p>,
    kinds: Kinds,
    /// For each kind the classes whose strips have such runs.
    users: Vec<BTreeSet<usize>>,
}

impl RunKinds {
    /// The kinds of a program; `None` where they are too many.
    pub fn of(plan: &Plan<'_, '_>) -> Option<RunKinds> {
        let mut numbering = Numbering {
            plan,
            kinds: Kinds::default(),
            users: Vec::new(),
        };
        let hoops = plan.scenario.hoops.iter();
        let ways: usize = hoops.map(|hoop| hoop.ways().count()).sum();
        let most = MOST_MEASURED.min(MOST_LAID / ways.max(1));
        let mut totals = vec![Vec::new(); plan.classes.len()];
        let mut split: BTreeSet<usize> = BTreeSet::new();
        if let Some(settled) = &plan.settled {
            for (class, cover, _) in settled {
                numbering.see_cover(*class, cover);
                if cover.count() > 1 {
                    split.insert(*class);
                }
            }
        } else {
            for (class, space) in plan.spaces.iter().enumerate() {
                for cover in &space.listed {
                    numbering.see_cover(class, cover);
                    if cover.count() > 1 {
                        split.insert(class);
                    }
                }
                for total in &space.totals {
                    let mut of = |openness| {
                        let pieces = total.pieces.iter();
                        pieces
                            .map(|piece| numbering.number(class, &total.settled, *piece, openness))
                            .collect()
                    };
                    totals[class].push(TotalKinds {
                        outer: of(Openness::Outer),
                        inner: of(Openness::Inner),
                    });
                    split.insert(class);
                    if numbering.kinds.list.len() > most {
                        return None;
                    }
                }
            }
        }
        numbering.merge_alike(&mut totals);
        if numbering.kinds.list.len() > MOST_KINDS {
            return None;
        }
        // What is left of a begun strip has an open run even where it is a single one.
        let told_apart = |class: &usize| {
            let of = &plan.classes[*class];
            of.wishes.bound || of.stage.butts().is_some()
        };
        split.extend((0..plan.classes.len()).filter(told_apart));
        let mut of_group = BTreeMap::new();
        for class in split {
            *of_group.entry(plan.groups[class]).or_insert(0) += plan.classes[class].members.len();
        }
        let caps = Caps {
            of_class: of_group,
            bonds: Bonds::of(plan.classes, &plan.groups),
        };
        Some(RunKinds {
            limits: Limits::of(plan.classes, &numbering.users, caps),
            kinds: numbering.kinds,
            totals,
        })
    }
}

impl Numbering<'_> {
    fn number(
        &mut self,
        class: usize,
        settled: &Settled,
        piece: usize,
        openness: Openness,
    ) -> usize {
        let (piece, of_class) = (
            &self.plan.spaces[class].pieces[piece],
            &self.plan.classes[class],
        );
        let kind = piece.kind(self.plan.groups[class], of_class, settled, openness);
        let number = self.kinds.number(kind);
        if number == self.users.len() {
            self.users.push(BTreeSet::new());
        }
        self.users[number].insert(class);
        number
    }

    /// Makes one kind of all runs that are alike in every lane.
    fn merge_alike(&mut self, totals: &mut [Vec<TotalKinds>]) {
        let stand_ins = stand_ins(self.plan.scenario, &self.kinds.list);
        let new = self.kinds.stand_in(&stand_ins);
        let mut users = vec![BTreeSet::new(); self.kinds.list.len()];
        for (old, of_old) in self.users.iter().enumerate() {
            users[new[old]].extend(of_old);
        }
        self.users = users;
        for total in totals.iter_mut().flatten() {
            for kind in total.outer.iter_mut().chain(&mut total.inner) {
                *kind = new[*kind];
            }
        }
    }

    fn see_cover(&mut self, class: usize, cover: &Cover) {
        for (piece, openness) in cover.runs.each() {
            self.number(class, &cover.settled, piece, openness);
        }
    }
}
