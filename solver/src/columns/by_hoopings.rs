//! A program all of whose hoopings are at hand while its covers are priced: a search settles the hoopings, and each choice of them is
//! judged by looking for covers whose runs have places there.

use std::collections::{BTreeMap, BTreeSet};

use crate::columns::crowd::Cut;
use crate::columns::dealer::{Dealer, Hit};
use crate::columns::dominance::undominated;
use crate::columns::generate::{Allowed, Asked, Bound};
use crate::columns::listed;
use crate::columns::model::Model;
use crate::columns::rehoop::Target;
use crate::columns::restricted::{Restricted, Turn};
use crate::columns::tree::{Branch, Effort, Program, Verdict};
use crate::cover::Cover;
use crate::deadline::Deadline;
use crate::hooping::pattern::Pattern;
use crate::task::Task;

/// The most covers of a class that are looked at for settled hoopings.
const MOST_COVERS: usize = 2_000;

/// Who looks for covers.
#[derive(Clone, Copy)]
pub struct Recover<'p, 'a> {
    pub task: &'p Task<'a>,
    pub target: &'p Target<'p>,
    /// What a cover of each class may have at most.
    pub allowed: &'p [Allowed],
    /// What looking for the covers of the same hoopings may take.
    pub effort: Effort,
    pub deadline: &'p Deadline,
}

/// The program, and who looks for covers.
pub struct ByHoopings<'p, 't, 'a> {
    of: Restricted<'t, 'a>,
    /// The same before anything was branched on: what is said of hoopings must hold in every branch.
    whole: Restricted<'t, 'a>,
    recover: Recover<'p, 'a>,
    /// The stage that counts.
    aim: usize,
    /// What was said of hoopings so far, by how many there are of each.
    known: BTreeMap<Vec<i64>, Verdict>,
    /// Whether covers were too many to look at: then nothing is proven any more.
    gave_up: bool,
    /// The plan that was found.
    pub hit: Option<Hit>,
}

impl<'p, 't, 'a> ByHoopings<'p, 't, 'a> {
    /// The program of these hoopings and no others.
    pub fn new(
        mut of: Restricted<'t, 'a>,
        hoopings: &[(Turn, Pattern)],
        recover: Recover<'p, 'a>,
    ) -> ByHoopings<'p, 't, 'a> {
        of.narrow_hoopings(hoopings);
        of.close_hoopings();
        let aim = recover.target.hold(&mut of);
        of.aim(&recover.target.forms[aim]);
        ByHoopings {
            whole: of.clone(),
            of,
            recover,
            aim,
            known: BTreeMap::new(),
            gave_up: false,
            hit: None,
        }
    }

    /// The program.
    pub fn restricted(&self) -> &Restricted<'t, 'a> {
        &self.of
    }

    /// What the stage that counts may have at most.
    pub fn most(&self) -> i64 {
        self.recover.target.most[self.aim]
    }

    /// Covers all of whose runs fit into places of these hoopings (how many there are of each): of those whose runs fit into the same
    /// places and that count for the same one is enough. `None` where they are too many.
    fn fitting(&self, counts: &[i64]) -> Option<Vec<(usize, Cover)>> {
        let of = &self.of;
        let kinds = &of.kinds.list;
        let used = of.hoopings.iter().zip(counts);
        let used = used.filter(|(_, count)| **count > 0);
        let mut places: Vec<usize> = used.flat_map(|(of, _)| of.pattern.kinds()).collect();
        places.sort_unstable();
        places.dedup();
        // For each kind the places that take it.
        let takers: Vec<Vec<usize>> = (0..kinds.len())
            .map(|kind| {
                let taking = |place: &usize| *place == kind || kinds[*place].takes(&kinds[kind]);
                places.iter().copied().filter(taking).collect()
            })
            .collect();
        // A run without a place costs something, all else nothing, and nothing may be spent.
        let mut multipliers = vec![0; of.model.rows()];
        for (kind, row) in of.kind_rows.iter().enumerate() {
            multipliers[*row] = i64::from(takers[kind].is_empty());
        }
        let bound = Bound {
            parts: 0,
            multipliers,
            places: 0,
        };
        let mut first = BTreeMap::new();
        let like = |kind: usize| {
            let like = (kinds[kind].openness, takers[kind].as_slice());
            *first.entry(like).or_insert(kind)
        };
        let alike: Vec<usize> = (0..kinds.len()).map(like).collect();
        let nothing = vec![0; self.recover.target.forms[self.aim].len()];
        let allowed = self.allowed(counts);
        let asked = Asked {
            spare: 0,
            allowed: &allowed,
            alike: Some(&alike),
            limit: MOST_COVERS,
        };
        let mut covers = of.covers_within(&bound, &nothing, &asked, self.recover.deadline)?;
        let mut seen = BTreeSet::new();
        covers.retain(|(class, cover)| {
            // Where the order of runs counts, covers differ by more than their places.
            if of.classes[*class].wishes.orders_runs() {
                return true;
            }
            let runs = of.run_kinds(*class, cover).into_iter();
            let taken_by = |kind: usize| (kinds[kind].openness, takers[kind].as_slice());
            let mut taken_by: Vec<_> = runs.map(taken_by).collect();
            taken_by.sort_unstable();
            let phases = cover.ends.map(|ends| of.phases.pair(ends.phases));
            seen.insert((*class, taken_by, phases, of.atoms_of(*class, cover)))
        });
        Some(undominated(
            of,
            self.recover.target,
            covers,
            self.recover.deadline,
        ))
    }

    /// What a cover of each class may have at most where so many hoopings of each are at hand: of one strip no two runs share a hooping,
    /// and every other strip needs places too.
    fn allowed(&self, counts: &[i64]) -> Vec<Allowed> {
        let number = |count: &i64| usize::try_from(*count).unwrap_or_default();
        let hoopings: usize = counts.iter().map(number).sum();
        let used = self.of.hoopings.iter().zip(counts);
        let places = used.map(|(of, count)| of.pattern.kinds().len() * number(count));
        let fewest = |class: usize| self.of.spaces[class].fewest_runs().unwrap_or_default();
        let classes = self.of.classes.iter().enumerate();
        let needed = classes.map(|(class, of)| of.members.len() * fewest(class));
        let spare = places.sum::<usize>().saturating_sub(needed.sum());
        let allowed = self.recover.allowed.iter().enumerate();
        allowed
            .map(|(class, allowed)| Allowed {
                runs: allowed.runs.min(hoopings).min(fewest(class) + spare),
                ..*allowed
            })
            .collect()
    }

    /// Looks for covers of these hoopings.
    fn look(&mut self, counts: &[i64]) -> (Verdict, Option<Hit>) {
        let Recover {
            task,
            target,
            effort,
            deadline,
            ..
        } = self.recover;
        let Some(covers) = self.fitting(counts) else {
            self.gave_up = true;
            return (Verdict::Doubtful, None);
        };
        let mut settled = self.whole.clone();
        for (of, count) in self.whole.hoopings.iter().zip(counts) {
            settled.model.set_bounds(of.column, *count, *count);
        }
        settled.narrow_covers(&covers);
        let dealer = Dealer::new(task, &settled, None, target, deadline);
        listed::judge(dealer, self.most(), effort)
    }
}

impl Program for ByHoopings<'_, '_, '_> {
    fn model(&self) -> &Model {
        &self.of.model
    }

    fn model_mut(&mut self) -> &mut Model {
        &mut self.of.model
    }

    fn solve(&mut self, most: i64) -> Branch {
        if self.gave_up {
            return Branch::Doubtful;
        }
        let form = &self.recover.target.forms[self.aim];
        self.of.branch(form, most, self.recover.deadline)
    }

    fn count(&mut self, set: &[usize], most: i64) -> usize {
        self.of.add_count(set, most)
    }

    fn point(&self, _: i64) -> Option<Vec<i64>> {
        // Covers may be parts: they are looked for anew.
        Some(self.of.model.rounded())
    }

    fn judge(&mut self, point: &[i64]) -> Verdict {
        let hoopings = self.of.hoopings.iter();
        let counts: Vec<i64> = hoopings.map(|of| point[of.column]).collect();
        if let Some(verdict) = self.known.get(&counts) {
            return *verdict;
        }
        let (verdict, hit) = self.look(&counts);
        self.hit = hit.or(self.hit.take());
        self.known.insert(counts, verdict);
        verdict
    }

    fn proves(&self, _: i128) -> bool {
        false
    }

    fn cut(&mut self) -> Option<Cut> {
        None
    }
}
