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
//!
//! `build.rs` makes the rows and all columns but those of covers and hoopings, which are added here as they turn out useful; `narrow.rs`
//! takes columns out, or settles how many there are.

mod build;
mod narrow;

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::columns::atoms::{Atom, Atoms};
use crate::columns::corners::Ring;
use crate::columns::model::{Column, Model};
use crate::columns::phases::PhaseStandIns;
use crate::columns::runs::TotalKinds;
use crate::columns::split::{COVER, HOOPING};
use crate::cover::{Cover, CoverSpace, Phase};
use crate::hooping::caps::Caps;
use crate::hooping::kind::{Kinds, Openness};
use crate::hooping::pattern::Pattern;
use crate::hooping::way::Ways;
use crate::roll::Roll;
use crate::scenario::Scenario;
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

/// What tells columns of hoopings apart: turn, hoop, and the kinds of the runs.
type HoopingKey = (Turn, usize, Vec<usize>);

fn key(turn: Turn, pattern: &Pattern) -> HoopingKey {
    (turn, pattern.hoop, pattern.kinds())
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
    /// Patterns that stand for others.
    pub phases: PhaseStandIns,
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
    /// Entries of the columns of covers that pricing found.
    known_columns: BTreeSet<Vec<(usize, i64)>>,
    known_hoopings: BTreeSet<HoopingKey>,
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
        let (column, made_of) = self.cover_column(class, &cover);
        self.add_cover_column(class, cover, column, made_of);
        true
    }

    /// The same, unless another cover's column says the same of all rows: then one of them is enough, but where the order of runs counts,
    /// which no row knows.
    pub fn add_unlike_cover(&mut self, class: usize, cover: Cover) -> bool {
        if self.known_covers.contains(&(class, cover.clone())) {
            return false;
        }
        let (column, made_of) = self.cover_column(class, &cover);
        if !self.classes[class].wishes.orders_runs()
            && !self.known_columns.insert(column.entries.clone())
        {
            return false;
        }
        self.known_covers.insert((class, cover.clone()));
        self.add_cover_column(class, cover, column, made_of);
        true
    }

    fn cover_column(&self, class: usize, cover: &Cover) -> (Column, Vec<(Atom, i64)>) {
        let strips = self.strips_each(class);
        let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
        for kind in self.run_kinds(class, cover) {
            *counts.entry(self.kind_rows[kind]).or_default() -= strips;
        }
        let mut entries: Vec<(usize, i64)> = counts.into_iter().collect();
        entries.push((self.class_rows[class], strips));
        if let Some(ends) = cover.ends
            && let Some(row) = self.end_row(class, ends.phases)
        {
            entries.push((row, -strips));
        }
        let choices = i64::try_from(self.classes[class].choices()).unwrap_or(i64::MAX);
        let mut made_of = self.atoms_of(class, cover);
        for (_, count) in &mut made_of {
            *count = count.saturating_mul(strips);
        }
        let column = self.with_held(entries, choices, true, COVER, true, &made_of);
        (column, made_of)
    }

    fn add_cover_column(
        &mut self,
        class: usize,
        cover: Cover,
        column: Column,
        made_of: Vec<(Atom, i64)>,
    ) {
        self.made_of.push(made_of);
        let column = self.model.add(column);
        self.covers.push(CoverColumn {
            class,
            cover,
            column,
        });
    }

    /// The row of a pair of patterns at the ends of a class's strips, where corners count.
    pub fn end_row(&self, class: usize, phases: [Phase; 2]) -> Option<usize> {
        self.end_rows
            .get(&(class, self.phases.pair(phases)))
            .copied()
    }

    /// How many strips of a class one choice of a cover is for.
    pub fn strips_each(&self, class: usize) -> i64 {
        i64::try_from(self.classes[class].strips_each()).unwrap_or(i64::MAX)
    }

    /// Adds the column of a hooping; false where it is there already.
    pub fn add_hooping(&mut self, turn: Turn, pattern: Pattern) -> bool {
        if !self.known_hoopings.insert(key(turn, &pattern)) {
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
        // Without runs a cover would ask for no place in any hooping.
        debug_assert!(kinds.is_some(), "a cover of another program: {cover:?}");
        kinds.unwrap_or_default()
    }

    /// Adds a column that counts the columns of a set.
    pub fn add_count(&mut self, set: &[usize], most: i64) -> usize {
        self.made_of.push(Vec::new());
        self.model.add_count(set, most)
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
