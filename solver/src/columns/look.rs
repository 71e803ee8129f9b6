//! Looks for a point that has at most given values in its first stages: first where it is cheap, then with more effort.

use crate::columns::by_covers::ByCovers;
use crate::columns::by_hoopings::{ByHoopings, Recover};
use crate::columns::dealer::{Dealer, Hit};
use crate::columns::dominance::undominated;
use crate::columns::features;
use crate::columns::generate::{Allowed, Asked, Bound, Precision, Relaxed};
use crate::columns::listed;
use crate::columns::rehoop::{Depth, Rehoop, Target};
use crate::columns::restricted::{Plan, Restricted, Turn};
use crate::columns::search::{Search, add_first};
use crate::columns::tree::{self, Effort, Found};
use crate::cover::{Cover, CoverSpace};
use crate::hooping::caps::told_apart;
use crate::hooping::pattern::Pattern;

/// So many covers of a class, and hoopings of a turn, are few.
const FEW: usize = 600;
/// The most that are listed.
const MANY: usize = 6_000;
/// Before it is known which of them others dominate, so many times as many covers are listed.
const DOMINATED: usize = 4;
/// How often the reach of promising covers is halved.
const MOST_HALVED: usize = 8;
/// With more columns than this a point is not looked for among all of them at once.
const MOST_AT_ONCE: usize = 1_500;
/// Where all else has failed.
const MOST_LATER: usize = 4_000;

/// The part of the time left that a first look takes at most: it counts its work, but some work takes long.
const QUICK_SHARE: f64 = 0.5;
/// And one that hopes for later stages as well, so that there is time left for the first of them alone.
const AHEAD: f64 = 0.4;
/// What a first look among all columns may take.
const QUICK: Effort = Effort::of(60, 3);
/// What a first look cover by cover may take, and one for the hoopings of settled covers.
const SHORT: [Effort; 2] = [Effort::of(200, 30), Effort::of(300, 30)];
/// What looking among all covers may take where a look among those that are listed could not tell.
const DIVE: [Effort; 2] = [Effort::of(40, 10), Effort::of(200, 20)];
/// Beside so few covers it finds hardly anything, and where all are listed nothing.
const FEW_COVERS: usize = 100;
/// The same hooping by hooping, and for the covers of settled hoopings.
const FEW_HOOPINGS: [Effort; 2] = [Effort::of(100, 4), Effort::of(200, 20)];
const MANY_HOOPINGS: [Effort; 2] = [Effort::of(4_000, 1_000), Effort::of(2_000, 100)];
/// Among so many hoopings a first look costs little.
const QUICK_HOOPINGS: usize = 400;
/// What a second look among all columns may take.
const LONG: Effort = Effort {
    nodes: 300,
    offers: 40,
    root_cuts: 40,
    improve: false,
};
/// What the last one may take, where all else could not tell.
const LAST: Effort = Effort {
    nodes: 50_000,
    offers: 4_000,
    ..LONG
};
/// What a second look cover by cover may take, and one for the hoopings of settled covers.
const PATIENT: [Effort; 2] = [Effort::of(4_000, 2_000), Effort::of(20_000, 400)];
/// And which part of the time left where the last look among all columns is still to come.
const PATIENT_SHARE: f64 = 0.7;
/// What improving on a known value may take.
const IMPROVING: Effort = Effort {
    nodes: 6_000,
    offers: 400,
    root_cuts: 20,
    improve: true,
};

/// What is looked for: a point of a stage with at most `most`, and with what is hoped for in the stages up to it.
struct Wish<'w> {
    bound: &'w Bound,
    form: &'w [i64],
    most: i64,
    target: Target<'w>,
    /// What reduced costs may add up to, in parts.
    spare: i128,
}

/// Covers, and hoopings, that could be part of a point; `None` where they are too many.
struct Candidates {
    covers: Option<Vec<(usize, Cover)>>,
    hoopings: Option<Vec<(Turn, Pattern)>>,
}

impl Candidates {
    /// Whether nothing is missing.
    fn are_all(&self) -> bool {
        self.covers.is_some() && self.hoopings.is_some()
    }

    /// Whether nothing is missing, and they are at most so many that they can be searched at once.
    fn are_at_most(&self, most: usize) -> bool {
        self.are_all() && self.count() <= most
    }

    /// How many are listed.
    fn count(&self) -> usize {
        self.covers.as_ref().map_or(0, Vec::len) + self.hoopings.as_ref().map_or(0, Vec::len)
    }
}

impl<'t, 'a> Search<'_, 't, 'a> {
    /// Looks for a point with at most what is hoped for in the first stages, the last of which is bounded so. What was ruled out once is known.
    pub fn look(&mut self, bound: &Bound, hoped: &[i64]) -> (Found, Option<Hit>) {
        self.look_unless_known(hoped, |search| search.look_anew(bound, hoped, true))
    }

    /// The same only where a point is likely to be found soon, in less of the time where it `is_ahead` of what is to be settled next.
    pub fn look_quickly(
        &mut self,
        bound: &Bound,
        hoped: &[i64],
        is_ahead: bool,
    ) -> (Found, Option<Hit>) {
        let share = if is_ahead { AHEAD } else { QUICK_SHARE };
        self.look_unless_known(hoped, |search| {
            search.in_part_of_the_time(share, |search| {
                let found = search.look_anew(bound, hoped, false);
                // What the clock ended is looked for again once there is patience.
                if found.0 == Found::Unknown && search.deadline.over() {
                    search.looked.remove(hoped);
                }
                found
            })
        })
    }

    fn look_unless_known(
        &mut self,
        hoped: &[i64],
        look: impl FnOnce(&mut Self) -> (Found, Option<Hit>),
    ) -> (Found, Option<Hit>) {
        if self.ruled_out.contains(hoped) {
            return (Found::None, None);
        }
        let found = look(self);
        if found.0 == Found::None {
            self.ruled_out.insert(hoped.to_vec());
        }
        found
    }

    fn look_anew(&mut self, bound: &Bound, hoped: &[i64], patient: bool) -> (Found, Option<Hit>) {
        let forms = self.forms();
        let wish = self.wish(&forms, bound, hoped);
        // Once is enough where it costs little.
        let is_new = self.looked.insert(hoped.to_vec());
        if !is_new && !patient {
            return (Found::Unknown, None);
        }
        let few = self.candidates(&wish, hoped, FEW);
        if is_new {
            let found = self.quickly(&wish, hoped, &few);
            if found.0 != Found::Unknown || !patient {
                return found;
            }
        }
        // Where lanes are not listed a point is found by diving, if at all, and all else takes long.
        if self.of.any.are_filled() {
            let covers = few.covers.clone();
            let found = self.cover_by_cover(&wish, covers, SHORT, Depth::Deep);
            if found.0 != Found::Unknown {
                return found;
            }
        }
        let are_few = few.are_at_most(MOST_AT_ONCE);
        if let Some(hoopings) = few.hoopings.as_ref().filter(|_| !are_few) {
            let found = self.hooping_by_hooping(&wish, hoopings, hoped, MANY_HOOPINGS);
            if found.0 != Found::Unknown {
                return found;
            }
        }
        // Where the few are all, more are none.
        let candidates = if few.are_all() {
            few
        } else {
            self.candidates(&wish, hoped, MANY)
        };
        // The fewer there are, the more can be expected of all at once.
        if candidates.are_at_most(MOST_AT_ONCE) {
            let found = self.long(&wish, &candidates);
            if found.0 != Found::Unknown {
                return found;
            }
        }
        let found = self.told_apart(hoped);
        if found.0 != Found::Unknown || candidates.covers.is_none() {
            return found;
        }
        if candidates.count() > MOST_AT_ONCE && candidates.are_at_most(MOST_LATER) {
            let found = self.long(&wish, &candidates);
            if found.0 != Found::Unknown {
                return found;
            }
        }
        // The first stage counts most: it is worth all that can be tried.
        if hoped.len() > 1 || !candidates.are_at_most(MOST_AT_ONCE) {
            return self.cover_by_cover(&wish, candidates.covers, PATIENT, Depth::Deepest);
        }
        let (found, was_ended) = self.in_part_of_the_time(PATIENT_SHARE, |search| {
            let covers = candidates.covers.clone();
            let found = search.cover_by_cover(&wish, covers, PATIENT, Depth::Deepest);
            (found, search.deadline.over())
        });
        if found.0 != Found::Unknown {
            return found;
        }
        let found = self.at_once(&wish, &candidates, LAST);
        if found.0 != Found::Unknown || !was_ended {
            return found;
        }
        // What the clock ended takes the time that is left.
        self.cover_by_cover(&wish, candidates.covers, PATIENT, Depth::Deepest)
    }

    /// Looks among all candidates at once, for longer.
    fn long(&mut self, wish: &Wish<'_>, candidates: &Candidates) -> (Found, Option<Hit>) {
        let effort = LONG.for_columns(candidates.count());
        self.at_once(wish, candidates, effort)
    }

    /// Looks where it costs little.
    fn quickly(
        &mut self,
        wish: &Wish<'_>,
        hoped: &[i64],
        candidates: &Candidates,
    ) -> (Found, Option<Hit>) {
        // Where hoopings are many they are not all looked at for covers that are found at once.
        if let Candidates {
            covers: Some(covers),
            hoopings: Some(hoopings),
        } = candidates
            && hoopings.len() > QUICK_HOOPINGS
        {
            let found = self.cover_by_cover(wish, Some(covers.clone()), DIVE, Depth::Shallow);
            if found.0 != Found::Unknown {
                return found;
            }
        }
        if candidates.are_at_most(MOST_AT_ONCE) {
            let effort = Effort {
                offers: QUICK.offers,
                ..QUICK.for_columns(candidates.count())
            };
            let found = self.at_once(wish, candidates, effort);
            if found.0 != Found::Unknown {
                return found;
            }
        } else if let Some(hoopings) = &candidates.hoopings
            && hoopings.len() <= QUICK_HOOPINGS
        {
            let found = self.hooping_by_hooping(wish, hoopings, hoped, FEW_HOOPINGS);
            if found.0 != Found::Unknown {
                return found;
            }
        }
        let Some(covers) = candidates.covers.clone() else {
            return self.promising(wish, hoped);
        };
        let listed = self.of.spaces.iter().all(CoverSpace::lists_all);
        let is_enough = listed || covers.len() <= FEW_COVERS;
        let found = self.cover_by_cover(wish, Some(covers), SHORT, Depth::Shallow);
        if found.0 != Found::Unknown || is_enough {
            return found;
        }
        self.cover_by_cover(wish, None, DIVE, Depth::Shallow)
    }

    /// Looks with the runs of each class told apart: in a larger program, but one that knows better what cannot be dealt
    /// out.
    fn told_apart(&mut self, hoped: &[i64]) -> (Found, Option<Hit>) {
        // Where lanes are not listed strips in one run that no wish binds are told apart by nothing.
        let single = |space: &CoverSpace<'_>| space.most_runs() == 1;
        let bound = self.task.classes.iter().any(|class| class.wishes.bound);
        if self.of.any.are_filled() && !bound && self.of.spaces.iter().all(single) {
            return (Found::Unknown, None);
        }
        if self.apart.is_none() {
            let groups = told_apart(self.task.classes, (0..self.task.classes.len()).collect());
            let plan = Plan {
                groups,
                ..self.plan.clone()
            };
            self.apart = Restricted::build(plan, &self.deadline);
            if let Some(of) = &mut self.apart {
                add_first(self.task, of, self.first_plan);
            }
        }
        let Some(mut other) = self.apart.take() else {
            return (Found::Unknown, None);
        };
        std::mem::swap(&mut self.of, &mut other);
        let crowds = std::mem::take(&mut self.crowds);
        let stage = hoped.len() - 1;
        self.hold_first(&hoped[..stage]);
        let forms = self.forms();
        let relaxed = self
            .of
            .relax(&forms[stage], Precision::Bound, &self.deadline);
        let found = match relaxed {
            Relaxed::Empty => (Found::None, None),
            Relaxed::Bound(bound) if bound.steps() > i128::from(hoped[stage]) => {
                (Found::None, None)
            }
            Relaxed::Bound(bound) => {
                let wish = self.wish(&forms, &bound, hoped);
                let few = self.candidates(&wish, hoped, FEW);
                self.quickly(&wish, hoped, &few)
            }
            Relaxed::Unknown => (Found::Unknown, None),
        };
        self.crowds = crowds;
        std::mem::swap(&mut self.of, &mut other);
        self.apart = Some(other);
        found
    }

    /// Looks for the point that has least in the last stage of what is hoped for, and at most that.
    pub fn improve(&mut self, bound: &Bound, hoped: &[i64]) -> (Found, Option<Hit>) {
        let forms = self.forms();
        let wish = self.wish(&forms, bound, hoped);
        let candidates = self.candidates(&wish, hoped, MANY);
        if !candidates.are_all() {
            return (Found::Unknown, None);
        }
        self.at_once(&wish, &candidates, IMPROVING)
    }

    /// The forms of all stages.
    pub fn forms(&self) -> Vec<Vec<i64>> {
        let stages = self.stages.iter();
        stages.map(|stage| stage.form.clone()).collect()
    }

    fn wish<'w>(&self, forms: &'w [Vec<i64>], bound: &'w Bound, hoped: &'w [i64]) -> Wish<'w> {
        let stage = hoped.len() - 1;
        let most = hoped[stage];
        Wish {
            bound,
            form: &forms[stage],
            most,
            target: Target {
                forms,
                most: hoped,
                most_changes: self.hoped_changes(hoped),
            },
            spare: ((i128::from(most) << bound.places) - bound.parts).max(0),
        }
    }

    /// Looks for a point with the covers that are most likely part of one. Proves nothing.
    fn promising(&mut self, wish: &Wish<'_>, hoped: &[i64]) -> (Found, Option<Hit>) {
        let mut allowed = self.allowed(hoped);
        for (class, allowed) in allowed.iter_mut().enumerate() {
            let fewest = self.of.spaces[class].fewest_runs().unwrap_or(1);
            allowed.runs = allowed.runs.min(fewest + 1);
        }
        for halved in 0..MOST_HALVED {
            let spare = wish.spare >> halved;
            if let Some(covers) = self.covers(wish, spare, &allowed, FEW) {
                let found = self.cover_by_cover(wish, Some(covers), SHORT, Depth::Shallow);
                if let (Found::Point(_), _) = found {
                    return found;
                }
                break;
            }
        }
        self.cover_by_cover(wish, None, SHORT, Depth::Shallow)
    }

    fn candidates(&self, wish: &Wish<'_>, hoped: &[i64], limit: usize) -> Candidates {
        Candidates {
            covers: self.covers(wish, wish.spare, &self.allowed(hoped), limit),
            hoopings: self.of.hoopings_within(wish.bound, wish.spare, limit),
        }
    }

    /// The covers that no other one dominates, of those whose reduced costs leave so much to spare.
    fn covers(
        &self,
        wish: &Wish<'_>,
        spare: i128,
        allowed: &[Allowed],
        limit: usize,
    ) -> Option<Vec<(usize, Cover)>> {
        let asked = Asked {
            spare,
            allowed,
            alike: None,
            limit: limit * DOMINATED,
        };
        let covers = self
            .of
            .covers_within(wish.bound, wish.form, &asked, &self.deadline)?;
        let covers = undominated(&self.of, &wish.target, covers, &self.deadline);
        let mut counts = vec![0; self.of.classes.len()];
        for (class, _) in &covers {
            counts[*class] += 1;
        }
        counts.iter().all(|count| *count <= limit).then_some(covers)
    }

    /// Looks among all candidates at once.
    fn at_once(
        &mut self,
        wish: &Wish<'_>,
        candidates: &Candidates,
        effort: Effort,
    ) -> (Found, Option<Hit>) {
        let mut narrowed = self.of.clone();
        narrowed.aim(wish.form);
        narrowed.narrow_covers(candidates.covers.as_deref().unwrap_or_default());
        narrowed.narrow_hoopings(candidates.hoopings.as_deref().unwrap_or_default());
        narrowed.fix_by_reduced_cost(wish.bound, wish.most);
        let mut dealer = Dealer::new(self.task, &narrowed, None, &wish.target, &self.deadline);
        let cuts = self.crowds.iter().map(|worths| worths.cut(&narrowed));
        dealer.known = cuts.collect();
        let found = listed::search(&mut dealer, wish.most, effort);
        let Dealer { hit, crowds, .. } = dealer;
        self.crowds.extend(crowds);
        (found, hit)
    }

    /// Settles the hoopings first, which are all at hand; covers are too many to list before.
    fn hooping_by_hooping(
        &mut self,
        wish: &Wish<'_>,
        hoopings: &[(Turn, Pattern)],
        hoped: &[i64],
        [effort, of_covers]: [Effort; 2],
    ) -> (Found, Option<Hit>) {
        let recover = Recover {
            task: self.task,
            target: &wish.target,
            allowed: &self.allowed(hoped),
            effort: of_covers,
            deadline: &self.deadline,
        };
        let mut program = ByHoopings::new(self.of.clone(), hoopings, recover);
        let branching = features::of_hoopings(program.restricted());
        let most = program.most();
        let found = tree::search(&mut program, &branching, most, effort, &self.deadline);
        (found, program.hit)
    }

    /// Settles the covers first: those of a list, or any, which proves nothing.
    fn cover_by_cover(
        &mut self,
        wish: &Wish<'_>,
        covers: Option<Vec<(usize, Cover)>>,
        [effort, of_hoopings]: [Effort; 2],
        depth: Depth,
    ) -> (Found, Option<Hit>) {
        let rehoop = Rehoop {
            task: self.task,
            plan: &self.plan,
            target: &wish.target,
            effort: of_hoopings,
            depth,
            deadline: &self.deadline,
        };
        let whole = covers.is_some();
        let mut program = ByCovers::new(self.of.clone(), covers, rehoop);
        let branching = features::of_covers(program.restricted());
        let effort = effort.for_columns(program.restricted().model.columns.len());
        let most = program.most();
        let found = tree::search(&mut program, &branching, most, effort, &self.deadline);
        match found {
            Found::None if !whole => (Found::Unknown, None),
            found => (found, program.hit),
        }
    }
}
