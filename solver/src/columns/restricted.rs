//! The master program over covers and hoopings of which only the useful ones become columns.
//!
//! Side by side with the rules of a valid plan it says:
//!
//! | rule | here |
//! | --- | --- |
//! | every strip is covered | for each class: Σ over its covers of `y` = number of its strips; where they are wished alike, each `y` counts for all of them |
//! | every run is stitched in a hooping that takes it | for each kind of run: places in the hoopings `x`, exchanged along `v`, are at least the runs of the covers `y` |
//! | two runs of one strip never share a hooping | a hooping holds at most as many open runs of a group of classes as the group has strips; the rest is left to cuts and to dealing |
//! | no gap is ever filled in | exactly one hooping is the last, and it holds no run with two open ends; with growth one way the same of the first |
//! | corners | for each strip end one pattern `b`; for each corner one pair of patterns `q`; alike rings of strips are counted |
//! | hoop changes | at least one less than the hoops used `u` |
//! | stabilizer comes off a roll | for each piece of stabilizer: those in the levels `l` are at least the hoopings that take it |
//! | what counts | hoopings of each hoop `n`, and columns for what the goal's earlier entries may be at most |

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::columns::atoms::{Atom, Atoms};
use crate::columns::corners::Ring;
use crate::columns::generate::Bound;
use crate::columns::model::{Column, Model};
use crate::columns::runs::{RunKinds, TotalKinds};
use crate::columns::split::{COVER, CUT, FIRST, HOOPING};
use crate::cover::{Cover, CoverSpace, Phase};
use crate::deadline::Deadline;
use crate::hooping::caps::Caps;
use crate::hooping::kind::{Kind, Kinds, Openness};
use crate::hooping::pattern::Pattern;
use crate::hooping::way::{Ways, ways};
use crate::program::Sense;
use crate::roll::Roll;
use crate::scenario::{Growth, Scenario, Term};
use crate::strips::Corner;
use crate::time::Time;

/// What a hooping is in the order of the work, as far as the rules care.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Turn {
    /// One of all.
    Any,
    /// The last one: it holds no run with two open ends.
    Last,
    /// The first one, where growth is one way and every plan has at least three hoopings: likewise.
    First,
}

/// A column that counts how often a class gets a cover: for a strip each time, or for all of its strips where they are alike.
#[derive(Clone, Debug)]
pub struct CoverColumn {
    /// The class.
    pub class: usize,
    /// The cover.
    pub cover: Cover,
    /// y: the column.
    pub column: usize,
}

/// A column that counts hoopings.
#[derive(Clone, Debug)]
pub struct HoopingColumn {
    /// What they hold.
    pub pattern: Pattern,
    /// When in the work they come.
    pub turn: Turn,
    /// x: the column.
    pub column: usize,
}

/// The restricted master program and what its rows and columns mean.
#[derive(Clone)]
pub struct Restricted<'t, 's> {
    pub scenario: &'t Scenario,
    pub classes: &'t [Class],
    pub spaces: &'t [CoverSpace<'s>],
    pub model: Model,
    pub kinds: Kinds,
    pub atoms: Atoms,
    /// For each class the kinds of its totals.
    pub totals: Vec<Vec<TotalKinds>>,
    /// For each class its group.
    pub groups: Vec<usize>,
    /// What can share a hooping.
    pub caps: Caps,
    /// The ways to use hoops, and those without runs open at both ends.
    pub any: Ways,
    pub bare: Option<Ways>,
    /// Rows.
    pub class_rows: Vec<usize>,
    pub kind_rows: Vec<usize>,
    pub hoop_rows: Vec<usize>,
    pub turn_rows: BTreeMap<Turn, usize>,
    pub end_rows: BTreeMap<(usize, [Phase; 2]), usize>,
    /// Rows that hold an entry of the goal to what it may be at most, and the coefficients by atom.
    pub held: Vec<(usize, Vec<i64>)>,
    /// Columns.
    pub hoop_columns: Vec<usize>,
    pub changes_column: Option<usize>,
    pub covers: Vec<CoverColumn>,
    pub hoopings: Vec<HoopingColumn>,
    pub rings: Vec<Ring>,
    /// (strong, weak): a place for the one can be given to the other.
    pub exchanges: Vec<(usize, usize)>,
    /// What each column is made of, for the goal.
    pub made_of: Vec<Vec<(Atom, i64)>>,
    /// How many runs of each kind are worth a place at most, where some have one already.
    pub left: Option<Vec<usize>>,
    /// No plan worth having has more hoopings.
    most_hoopings: i64,
    /// Whether the covers of all strips are settled.
    pub covers_settled: bool,
    /// Whether all hoopings are at hand.
    pub hoopings_settled: bool,
    /// The form that is the objective.
    aim: Vec<i64>,
    known_covers: BTreeSet<(usize, Cover)>,
    known_hoopings: BTreeSet<(Turn, usize, Vec<usize>)>,
}

/// What the program is built for.
#[derive(Clone)]
pub struct Plan<'t, 's> {
    pub scenario: &'t Scenario,
    pub classes: &'t [Class],
    pub spaces: &'t [CoverSpace<'s>],
    pub corners: &'t [Corner],
    /// No plan worth having has more hoopings.
    pub most_hoopings: usize,
    /// The forms that entries may be held to, as coefficients by atom.
    pub atoms: Atoms,
    pub forms: Vec<Vec<i64>>,
    /// For each class the group of classes whose runs are told apart from those of others: two runs of a group share a
    /// hooping only where it has as many strips. Classes that wishes bind are told apart from all others.
    pub groups: Vec<usize>,
    /// The covers of all strips, where they are settled: class, cover, number of strips.
    pub settled: Option<Vec<(usize, Cover, usize)>>,
    /// The roll of stabilizer, where its length counts.
    pub roll: Option<&'t Roll>,
}

impl<'t, 's> Restricted<'t, 's> {
    /// Builds the program without covers and hoopings; `None` where some could not be found by pricing.
    pub fn build(plan: Plan<'t, 's>, deadline: &Deadline) -> Option<Restricted<'t, 's>> {
        let (scenario, classes, spaces) = (plan.scenario, plan.classes, plan.spaces);
        if !spaces.iter().all(|space| space.complete) {
            return None;
        }
        let RunKinds {
            kinds,
            totals,
            limits,
        } = RunKinds::of(&plan)?;
        let any = ways(scenario, &kinds.list, &|_| true, &limits, deadline);
        let inner = |kind: &Kind| kind.openness == Openness::Inner;
        let bare = kinds.list.iter().any(inner).then(|| {
            ways(
                scenario,
                &kinds.list,
                &|kind| !inner(kind),
                &limits,
                deadline,
            )
        });
        let complete = any.complete && bare.as_ref().is_none_or(|bare| bare.complete);
        if !complete || deadline.over() {
            return None;
        }
        let mut rows: Vec<(Sense, Option<i64>, i64)> = Vec::new();
        let mut sized = |sense, right, size| {
            rows.push((sense, right, size));
            rows.len() - 1
        };
        let mut row = |sense, right| sized(sense, right, 1);
        let count = |value: usize| i64::try_from(value).unwrap_or(i64::MAX);
        let class_rows = classes
            .iter()
            .map(|class| row(Sense::Equal, Some(count(class.members.len()))))
            .collect();
        let kind_rows: Vec<usize> = kinds
            .list
            .iter()
            .map(|_| row(Sense::AtLeast, Some(0)))
            .collect();
        let hoop_rows: Vec<usize> = scenario
            .hoops
            .iter()
            .map(|_| row(Sense::Equal, Some(0)))
            .collect();
        let mut turn_rows = BTreeMap::new();
        if bare.is_some() {
            turn_rows.insert(Turn::Last, row(Sense::Equal, Some(1)));
            // The first hooping may hold an inner run of what is left of a begun strip.
            let whole = classes.iter().all(|class| class.stage.butts().is_none());
            if scenario.rules.growth == Growth::OneWay && is_long(spaces) && whole {
                turn_rows.insert(Turn::First, row(Sense::Equal, Some(1)));
            }
        }
        let changes = scenario.goal.counts_changes() && scenario.hoops.len() > 1;
        let used_rows: Vec<usize> = scenario
            .hoops
            .iter()
            .filter(|_| changes)
            .map(|_| row(Sense::AtMost, Some(0)))
            .collect();
        let pieces = plan.roll.map_or(0, Roll::pieces);
        let piece_rows: Vec<usize> = (0..pieces).map(|_| row(Sense::AtLeast, Some(0))).collect();
        let changes_row = changes.then(|| row(Sense::AtLeast, Some(-1)));
        let held = plan
            .forms
            .into_iter()
            .map(|form| {
                let size = form.iter().copied().max().unwrap_or(1).max(1);
                (sized(Sense::AtMost, None, size), form)
            })
            .collect();
        let exchanges = kinds.exchanges();
        let mut restricted = Restricted {
            scenario,
            classes,
            spaces,
            model: Model::new(rows),
            kinds,
            atoms: plan.atoms,
            totals,
            groups: plan.groups.clone(),
            caps: limits.caps,
            any,
            bare,
            class_rows,
            kind_rows,
            hoop_rows,
            turn_rows,
            end_rows: BTreeMap::new(),
            held,
            hoop_columns: Vec::new(),
            changes_column: None,
            covers: Vec::new(),
            hoopings: Vec::new(),
            rings: Vec::new(),
            exchanges,
            made_of: Vec::new(),
            left: None,
            most_hoopings: count(plan.most_hoopings),
            covers_settled: plan.settled.is_some(),
            hoopings_settled: false,
            aim: Vec::new(),
            known_covers: BTreeSet::new(),
            known_hoopings: BTreeSet::new(),
        };
        let most = restricted.most_hoopings;
        for (hoop, hoop_row) in restricted.hoop_rows.clone().into_iter().enumerate() {
            let mut entries = vec![(hoop_row, -1)];
            entries.extend(used_rows.get(hoop).map(|row| (*row, 1)));
            entries.extend(plan.roll.map(|roll| (piece_rows[roll.piece_of[hoop]], -1)));
            let column = restricted.add(entries, most, true, 0, vec![(Atom::Hooping(hoop), 1)]);
            restricted.hoop_columns.push(column);
        }
        for level in plan.roll.iter().flat_map(|roll| &roll.levels) {
            let entries = piece_rows.iter().copied().zip(level.counts.iter().copied());
            let entries = entries.filter(|(_, count)| *count > 0).collect();
            // What is cut for the hoopings is settled after them.
            restricted.add(
                entries,
                most,
                true,
                CUT,
                vec![(Atom::Level(level.length), 1)],
            );
        }
        if let Some(changes_row) = changes_row {
            for used_row in used_rows {
                restricted.add(
                    vec![(used_row, -most), (changes_row, -1)],
                    1,
                    true,
                    0,
                    Vec::new(),
                );
            }
            // Where changes are weighed, points with more of them than the hoops need are points of their own.
            let rank = if scenario.goal.weighs_changes() {
                HOOPING
            } else {
                FIRST
            };
            let column = restricted.add(
                vec![(changes_row, 1)],
                most,
                true,
                rank,
                vec![(Atom::Change, 1)],
            );
            restricted.changes_column = Some(column);
        }
        let strips: usize = classes.iter().map(|class| class.members.len()).sum();
        let runs = count(strips).saturating_mul(most);
        for (strong, weak) in restricted.exchanges.clone() {
            let entries = vec![
                (restricted.kind_rows[strong], -1),
                (restricted.kind_rows[weak], 1),
            ];
            restricted.add(entries, runs, false, 0, Vec::new());
        }
        match plan.settled {
            Some(settled) => {
                for (class, cover, strips) in settled {
                    restricted.settle_cover(class, cover, count(strips));
                }
            }
            None if scenario.goal.counts(Term::CornerMismatch) => {
                restricted.add_corners(plan.corners);
            }
            None => {}
        }
        Some(restricted)
    }

    /// Adds a column that is not priced.
    pub(super) fn add(
        &mut self,
        entries: Vec<(usize, i64)>,
        most: i64,
        whole: bool,
        rank: u8,
        made_of: Vec<(Atom, i64)>,
    ) -> usize {
        let column = self.with_held(entries, most, whole, rank, false, &made_of);
        self.made_of.push(made_of);
        self.model.add(column)
    }

    fn with_held(
        &self,
        mut entries: Vec<(usize, i64)>,
        most: i64,
        whole: bool,
        rank: u8,
        priced: bool,
        made_of: &[(Atom, i64)],
    ) -> Column {
        for (row, form) in &self.held {
            let value = self.atoms.value(form, made_of);
            if value != 0 {
                entries.push((*row, value));
            }
        }
        Column {
            entries,
            least: 0,
            most,
            whole,
            rank,
            cost: self.atoms.value(&self.aim, made_of),
            priced,
        }
    }

    /// What a cover of a class counts for.
    pub fn atoms_of(&self, class: usize, cover: &Cover) -> Vec<(Atom, i64)> {
        let mut atoms = Vec::new();
        if cover.joints() > 0 {
            let joints = i64::try_from(cover.joints()).unwrap_or(i64::MAX);
            atoms.push((Atom::Joint, joints));
        }
        let overhang = cover.settled.overhang();
        if overhang.nanometres() > 0 {
            atoms.push((Atom::Overhang(overhang), 1));
        }
        let time = cover.time(&self.spaces[class].pieces);
        if time > Time::ZERO {
            atoms.push((Atom::Time, time.parts()));
        }
        atoms
    }

    /// Adds the column of a cover; false where it is there already.
    pub fn add_cover(&mut self, class: usize, cover: Cover) -> bool {
        if !self.known_covers.insert((class, cover.clone())) {
            return false;
        }
        let strips = self.strips_each(class);
        let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
        for kind in self.run_kinds(class, &cover) {
            *counts.entry(self.kind_rows[kind]).or_default() -= strips;
        }
        let mut entries: Vec<(usize, i64)> = counts.into_iter().collect();
        entries.push((self.class_rows[class], strips));
        if let Some(ends) = cover.ends
            && let Some(row) = self.end_rows.get(&(class, ends.phases))
        {
            entries.push((*row, -strips));
        }
        let choices = i64::try_from(self.classes[class].choices()).unwrap_or(i64::MAX);
        let mut made_of = self.atoms_of(class, &cover);
        for (_, count) in &mut made_of {
            *count = count.saturating_mul(strips);
        }
        let column = self.with_held(entries, choices, true, COVER, true, &made_of);
        self.made_of.push(made_of);
        let column = self.model.add(column);
        self.covers.push(CoverColumn {
            class,
            cover,
            column,
        });
        true
    }

    /// Settles that so many strips of a class get a cover. Pricing has nothing to say about it.
    fn settle_cover(&mut self, class: usize, cover: Cover, strips: i64) {
        if self.add_cover(class, cover)
            && let Some(of) = self.covers.last()
        {
            self.model.columns[of.column].priced = false;
            let choices = strips / self.strips_each(class).max(1);
            self.model.set_bounds(of.column, choices, choices);
        }
    }

    /// How many strips of a class one choice of a cover is for.
    pub fn strips_each(&self, class: usize) -> i64 {
        i64::try_from(self.classes[class].strips_each()).unwrap_or(i64::MAX)
    }

    /// Adds the column of a hooping; false where it is there already.
    pub fn add_hooping(&mut self, turn: Turn, pattern: Pattern) -> bool {
        if !self
            .known_hoopings
            .insert((turn, pattern.hoop, pattern.kinds()))
        {
            return false;
        }
        let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
        for kind in pattern.lanes.iter().flatten() {
            *counts.entry(self.kind_rows[*kind]).or_default() += 1;
        }
        let mut entries: Vec<(usize, i64)> = counts.into_iter().collect();
        entries.push((self.hoop_rows[pattern.hoop], 1));
        let mut most = self.most_hoopings;
        if let Some(row) = self.turn_rows.get(&turn) {
            entries.push((*row, 1));
            most = 1;
        }
        let column = self.with_held(entries, most, true, HOOPING, true, &[]);
        self.made_of.push(Vec::new());
        let column = self.model.add(column);
        self.hoopings.push(HoopingColumn {
            pattern,
            turn,
            column,
        });
        true
    }

    /// Begins with the hoopings that another program has, as far as their runs are not told apart by their classes, which may be
    /// grouped in another way there.
    pub fn begin_with(&mut self, other: &Restricted<'_, '_>) {
        for of in &other.hoopings {
            let known = |kind: &usize| {
                let kind = &other.kinds.list[*kind];
                self.kinds.known(kind).filter(|_| kind.class.is_none())
            };
            let lanes = of.pattern.lanes.iter();
            let lanes: Option<Vec<Vec<usize>>> = lanes
                .map(|lane| {
                    let mut kinds: Vec<usize> = lane.iter().map(known).collect::<Option<_>>()?;
                    kinds.sort_unstable();
                    Some(kinds)
                })
                .collect();
            if let Some(lanes) = lanes {
                let pattern = Pattern {
                    lanes,
                    ..of.pattern.clone()
                };
                self.add_hooping(of.turn, pattern);
            }
        }
    }

    /// The kind of each run of a cover: the start run, the inner ones, the end run. A single run stands alone.
    pub fn run_kinds(&self, class: usize, cover: &Cover) -> Vec<usize> {
        let (of_class, group) = (&self.classes[class], self.groups[class]);
        let number = |(piece, openness): (usize, Openness)| {
            let piece = &self.spaces[class].pieces[piece];
            let kind = piece.kind(group, of_class, &cover.settled, openness);
            self.kinds.known(&kind)
        };
        let kinds: Option<Vec<usize>> = cover.runs.each().into_iter().map(number).collect();
        kinds.unwrap_or_default()
    }

    /// Takes every cover out that is not among these, and adds those that are missing.
    pub fn narrow_covers(&mut self, covers: &[(usize, Cover)]) {
        let listed: BTreeSet<&(usize, Cover)> = covers.iter().collect();
        for at in 0..self.covers.len() {
            let of = &self.covers[at];
            if !listed.contains(&(of.class, of.cover.clone())) {
                self.model.set_bounds(of.column, 0, 0);
            }
        }
        for (class, cover) in covers {
            self.add_cover(*class, cover.clone());
        }
    }

    /// Leaves it at the covers that are at hand: pricing looks for no others.
    pub fn close_covers(&mut self) {
        for of in &self.covers {
            self.model.columns[of.column].priced = false;
        }
        self.covers_settled = true;
    }

    /// Leaves it at the hoopings that are at hand: pricing looks for no others.
    pub fn close_hoopings(&mut self) {
        for of in &self.hoopings {
            self.model.columns[of.column].priced = false;
        }
        self.hoopings_settled = true;
    }

    /// Adds a column that counts the columns of a set.
    pub fn add_count(&mut self, set: &[usize], most: i64) -> usize {
        self.made_of.push(Vec::new());
        self.model.add_count(set, most)
    }

    /// Takes every hooping out that is not among these, and adds those that are missing.
    pub fn narrow_hoopings(&mut self, hoopings: &[(Turn, Pattern)]) {
        let listed: BTreeSet<(Turn, usize, Vec<usize>)> = hoopings
            .iter()
            .map(|(turn, pattern)| (*turn, pattern.hoop, pattern.kinds()))
            .collect();
        for of in &self.hoopings {
            let key = (of.turn, of.pattern.hoop, of.pattern.kinds());
            if !listed.contains(&key) {
                self.model.set_bounds(of.column, 0, 0);
            }
        }
        for (turn, pattern) in hoopings {
            self.add_hooping(*turn, pattern.clone());
        }
    }

    /// Settles how many there are of each of some hoopings.
    pub fn settle_hoopings(&mut self, hoopings: &[(Turn, Pattern)], counts: &[i64]) {
        self.narrow_hoopings(hoopings);
        let settled = hoopings.iter().zip(counts);
        let settled: BTreeMap<(Turn, usize, Vec<usize>), i64> = settled
            .map(|((turn, pattern), count)| ((*turn, pattern.hoop, pattern.kinds()), *count))
            .collect();
        for at in 0..self.hoopings.len() {
            let of = &self.hoopings[at];
            let key = (of.turn, of.pattern.hoop, of.pattern.kinds());
            if let Some(count) = settled.get(&key) {
                self.model.set_bounds(of.column, *count, *count);
            }
        }
    }

    /// Lowers the upper bound of each column that a point of at most `most` steps cannot reach: what its reduced cost adds
    /// to the bound must not lead beyond (reduced cost fixing).
    pub fn fix_by_reduced_cost(&mut self, bound: &Bound, most: i64) {
        let spare = ((i128::from(most) << bound.places) - bound.parts).max(0);
        for column in 0..self.model.columns.len() {
            let of = &self.model.columns[column];
            let (least, upper) = (of.least, of.most);
            let reduced = self
                .model
                .reduced(column, &bound.multipliers, Some(bound.places));
            if reduced <= 0 || upper <= least || !of.whole {
                continue;
            }
            let room = i64::try_from(spare / reduced).unwrap_or(i64::MAX);
            if least.saturating_add(room) < upper {
                self.model.set_bounds(column, least, least + room);
            }
        }
    }

    /// What a point is made of.
    pub fn made_at(&self, point: &[i64]) -> Vec<(Atom, i64)> {
        let columns = self.made_of.iter().zip(point);
        let used = columns.filter(|(_, count)| **count != 0);
        used.flat_map(|(made_of, count)| {
            let each = made_of.iter();
            each.map(|(atom, each)| (*atom, each.saturating_mul(*count)))
        })
        .collect()
    }

    /// Makes a form the objective.
    pub fn aim(&mut self, form: &[i64]) {
        self.aim = form.to_vec();
        let costs = self
            .made_of
            .iter()
            .map(|made_of| self.atoms.value(form, made_of));
        let largest = form.iter().copied().max().unwrap_or(1);
        self.model.set_costs(costs, largest);
    }
}

/// Whether some class has only covers with inner runs, so that every plan has at least three hoopings.
fn is_long(spaces: &[CoverSpace<'_>]) -> bool {
    spaces
        .iter()
        .any(|space| space.fewest_runs().is_some_and(|runs| runs > 2))
}
