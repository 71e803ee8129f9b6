//! Builds the program: its rows, and the columns that are not priced.

use std::collections::{BTreeMap, BTreeSet};

use super::{Plan, Restricted, Turn};
use crate::columns::atoms::Atom;
use crate::columns::model::Model;
use crate::columns::phases::PhaseStandIns;
use crate::columns::runs::RunKinds;
use crate::columns::split::{CUT, FIRST, HOOPING};
use crate::cover::{Cover, CoverSpace};
use crate::deadline::Deadline;
use crate::hooping::kind::{Kind, Openness};
use crate::hooping::way::ways;
use crate::program::Sense;
use crate::roll::Roll;
use crate::scenario::{Growth, Term};

/// The rows of the program, by what they are about.
struct Rows {
    /// Sense, right-hand side (none where the row does not count yet), and how large its coefficients are.
    list: Vec<(Sense, Option<i64>, i64)>,
    class: Vec<usize>,
    kind: Vec<usize>,
    hoop: Vec<usize>,
    turn: BTreeMap<Turn, usize>,
    /// For each hoop whether it is used, where hoop changes count.
    used: Vec<usize>,
    changes: Option<usize>,
    /// For each piece of stabilizer, where it comes off a roll that counts.
    piece: Vec<usize>,
    held: Vec<(usize, Vec<i64>)>,
}

impl Rows {
    /// The rows of a program with so many kinds, some of them `inner`.
    fn of(plan: &Plan<'_, '_>, kinds: usize, inner: bool) -> Rows {
        let Plan {
            scenario, classes, ..
        } = plan;
        let mut rows = Rows {
            list: Vec::new(),
            class: Vec::new(),
            kind: Vec::new(),
            hoop: Vec::new(),
            turn: BTreeMap::new(),
            used: Vec::new(),
            changes: None,
            piece: Vec::new(),
            held: Vec::new(),
        };
        let strips = classes.iter().map(|class| count(class.members.len()));
        rows.class = strips
            .map(|strips| rows.add(Sense::Equal, strips))
            .collect();
        rows.kind = rows.add_each(kinds, Sense::AtLeast);
        let hoops = scenario.hoops.len();
        rows.hoop = rows.add_each(hoops, Sense::Equal);
        if inner {
            let last = rows.add(Sense::Equal, 1);
            rows.turn.insert(Turn::Last, last);
            // The first hooping may hold an inner run of what is left of a begun strip.
            let whole = classes.iter().all(|class| class.stage.butts().is_none());
            if scenario.rules.growth == Growth::OneWay && is_long(plan.spaces) && whole {
                let first = rows.add(Sense::Equal, 1);
                rows.turn.insert(Turn::First, first);
            }
        }
        let changes = scenario.goal.counts_changes() && hoops > 1;
        if changes {
            rows.used = rows.add_each(hoops, Sense::AtMost);
        }
        rows.piece = rows.add_each(plan.roll.map_or(0, Roll::pieces), Sense::AtLeast);
        rows.changes = changes.then(|| rows.add(Sense::AtLeast, -1));
        for form in &plan.forms {
            let size = form.iter().copied().max().unwrap_or(1).max(1);
            rows.held.push((rows.list.len(), form.clone()));
            rows.list.push((Sense::AtMost, None, size));
        }
        rows
    }

    fn add(&mut self, sense: Sense, right: i64) -> usize {
        self.list.push((sense, Some(right), 1));
        self.list.len() - 1
    }

    /// So many rows with 0 on the right.
    fn add_each(&mut self, many: usize, sense: Sense) -> Vec<usize> {
        (0..many).map(|_| self.add(sense, 0)).collect()
    }
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
        if !any.complete {
            return None;
        }
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
        let complete = bare.as_ref().is_none_or(|bare| bare.complete);
        if !complete || deadline.over() {
            return None;
        }
        let rows = Rows::of(&plan, kinds.list.len(), bare.is_some());
        let exchanges = kinds.exchanges();
        let mut restricted = Restricted {
            scenario,
            classes,
            spaces,
            model: Model::new(rows.list),
            kinds,
            atoms: plan.atoms,
            totals,
            groups: plan.groups,
            caps: limits.caps,
            any,
            bare,
            class_rows: rows.class,
            kind_rows: rows.kind,
            hoop_rows: rows.hoop,
            turn_rows: rows.turn,
            end_rows: BTreeMap::new(),
            phases: PhaseStandIns::default(),
            held: rows.held,
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
            known_columns: BTreeSet::new(),
            known_hoopings: BTreeSet::new(),
        };
        restricted.add_hoops(&rows.used, &rows.piece, plan.roll);
        if let Some(roll) = plan.roll {
            restricted.add_levels(&rows.piece, roll);
        }
        if let Some(row) = rows.changes {
            restricted.add_changes(row, &rows.used);
        }
        restricted.add_exchanges();
        match plan.settled {
            Some(settled) => {
                for (class, cover, strips) in settled {
                    restricted.settle_cover(class, cover, count(strips));
                }
            }
            None if scenario.goal.counts(Term::CornerMismatch) => {
                restricted.phases = PhaseStandIns::of(classes, spaces);
                restricted.add_corners(plan.corners);
            }
            None => {}
        }
        Some(restricted)
    }

    /// n: the hoopings of each hoop.
    fn add_hoops(&mut self, used_rows: &[usize], piece_rows: &[usize], roll: Option<&Roll>) {
        for (hoop, hoop_row) in self.hoop_rows.clone().into_iter().enumerate() {
            let mut entries = vec![(hoop_row, -1)];
            entries.extend(used_rows.get(hoop).map(|row| (*row, 1)));
            entries.extend(roll.map(|roll| (piece_rows[roll.piece_of[hoop]], -1)));
            let most = self.most_hoopings;
            let column = self.add(entries, most, true, 0, vec![(Atom::Hooping(hoop), 1)]);
            self.hoop_columns.push(column);
        }
    }

    /// l: how often each level is cut. What is cut for the hoopings is settled after them.
    fn add_levels(&mut self, piece_rows: &[usize], roll: &Roll) {
        for level in &roll.levels {
            let entries = piece_rows.iter().copied().zip(level.counts.iter().copied());
            let entries = entries.filter(|(_, count)| *count > 0).collect();
            let made_of = vec![(Atom::Level(level.length), 1)];
            self.add(entries, self.most_hoopings, true, CUT, made_of);
        }
    }

    /// u: whether each hoop is used, and how often hoops change.
    fn add_changes(&mut self, changes_row: usize, used_rows: &[usize]) {
        let most = self.most_hoopings;
        for used_row in used_rows {
            let entries = vec![(*used_row, -most), (changes_row, -1)];
            self.add(entries, 1, true, 0, Vec::new());
        }
        // Where changes are weighed, points with more of them than the hoops need are points of their own.
        let rank = if self.scenario.goal.weighs_changes() {
            HOOPING
        } else {
            FIRST
        };
        let made_of = vec![(Atom::Change, 1)];
        let column = self.add(vec![(changes_row, 1)], most, true, rank, made_of);
        self.changes_column = Some(column);
    }

    /// v: places for one kind that are given to a lesser one.
    fn add_exchanges(&mut self) {
        let strips: usize = self.classes.iter().map(|class| class.members.len()).sum();
        let runs = count(strips).saturating_mul(self.most_hoopings);
        for (strong, weak) in self.exchanges.clone() {
            let entries = vec![(self.kind_rows[strong], -1), (self.kind_rows[weak], 1)];
            self.add(entries, runs, false, 0, Vec::new());
        }
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
}

fn count(value: usize) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

/// Whether some class has only covers with inner runs, so that every plan has at least three hoopings.
fn is_long(spaces: &[CoverSpace<'_>]) -> bool {
    spaces
        .iter()
        .any(|space| space.fewest_runs().is_some_and(|runs| runs > 2))
}
