//! Builds the master program.

use std::collections::BTreeMap;

use crate::classes::Class;
use crate::cover::ClassCovers;
use crate::deadline::Deadline;
use crate::hooping::caps::{Bonds, Caps};
use crate::hooping::kind::Kinds;
use crate::hooping::pattern::{Limits, Pattern, Patterns, patterns};
use crate::master::corners::{self, CorneredClass, EndChoice};
use crate::master::forms::Terms;
use crate::master::supply::{self, Supply};
use crate::master::unlisted;
use crate::program::{Program, Sense};
use crate::roll::Roll;
use crate::scenario::{Scenario, Term};
use crate::task::Task;

/// A column of the master that counts the strips of a class that get a cover.
#[derive(Clone, Debug)]
pub struct CoverColumn {
    /// The class.
    pub class: usize,
    /// The cover: an index into the class's covers.
    pub cover: usize,
    /// y: the column.
    pub column: usize,
    /// The kinds of its runs.
    pub runs: Vec<usize>,
}

/// The master program and what its columns mean.
#[derive(Clone, Debug)]
pub struct Master {
    /// The program.
    pub program: Program,
    /// The kinds of runs.
    pub kinds: Kinds,
    /// The patterns.
    pub pattern_list: Vec<Pattern>,
    /// x: for each pattern the column that counts its hoopings.
    pub patterns: Vec<usize>,
    /// y: the columns of covers.
    pub covers: Vec<CoverColumn>,
    /// b: the patterns at the ends of strips that meet at corners.
    pub end_choices: Vec<EndChoice>,
    /// The column that counts hoop changes, where there are several hoops.
    pub changes: Option<usize>,
    /// The goal's terms over the columns.
    pub terms: Terms,
    /// Whether the patterns have places for the runs of unlisted covers too.
    pub unlisted_kinds: bool,
    /// For each class the row that gives each of its strips a cover.
    pub cover_rows: Vec<usize>,
    /// For each kind the row of its places; `None` where there are none.
    pub kind_rows: Vec<Option<usize>>,
    /// The rows of the corners.
    pub corner_rows: std::ops::Range<usize>,
}

/// With more kinds of runs than this the program would be too large to be of use.
const MOST_KINDS: usize = 600;

/// Builds the master program for the planned classes; `None` where it would be too large, some
/// patterns are missing, or the time is over. `most_hoopings`: no plan worth having has more.
pub fn build(task: &Task<'_>, most_hoopings: usize, deadline: &Deadline) -> Option<Master> {
    let (scenario, classes, covers) = (task.scenario, task.classes, task.covers);
    let mut kinds = Kinds::default();
    let mut described: Vec<(usize, usize, BTreeMap<usize, i64>)> = Vec::new();
    for (number, of_class) in covers.iter().enumerate() {
        let mut seen = BTreeMap::new();
        for (index, cover) in of_class.covers.iter().enumerate() {
            let mut counts: BTreeMap<usize, i64> = BTreeMap::new();
            for kind in task.run_kinds((number, index)) {
                *counts.entry(kinds.number(kind)).or_default() += 1;
            }
            // Covers with the same runs, overhang and ends differ in nothing that counts but time: the quickest is kept, of several
            // the least stretched.
            let key = (
                counts.clone(),
                cover.settled.overhang(),
                cover.ends.map(|ends| ends.phases),
            );
            let place = *seen.entry(key).or_insert(described.len());
            match described.get_mut(place) {
                None => described.push((number, index, counts)),
                Some((_, kept, _)) => {
                    let rank = |index: usize| {
                        let stretch = of_class.covers[index].settled.stretch();
                        (task.time((number, index)), stretch)
                    };
                    if rank(index) < rank(*kept) {
                        *kept = index;
                    }
                }
            }
        }
    }
    let listed_kinds = kinds.clone();
    unlisted::add_kinds(task, &mut kinds);
    let mut found = list_patterns(task, &kinds, &described, deadline)?;
    let mut unlisted_kinds = true;
    if !found.complete && kinds.list.len() > listed_kinds.list.len() {
        // Better a whole program of the listed covers alone than none at all.
        kinds = listed_kinds;
        unlisted_kinds = false;
        found = list_patterns(task, &kinds, &described, deadline)?;
    }
    if !found.complete || deadline.over() {
        return None;
    }
    let mut program = Program::default();
    let strips: usize = classes.iter().map(|class| class.members.len()).sum();
    // Each hooping takes one level of the roll at most.
    let counted = 3 * most_hoopings + strips + task.top.corners.len();
    let mut terms = Terms::new(counted as i128);
    let most = i64::try_from(most_hoopings)
        .unwrap_or(i64::from(i32::MAX))
        .min(i64::from(i32::MAX) / 2000);
    let pattern_columns: Vec<usize> = found.list.iter().map(|_| program.whole(0, most)).collect();
    for (pattern, column) in found.list.iter().zip(&pattern_columns) {
        terms.add(Term::Hoopings, *column, 1);
        terms.add(
            Term::Stabilizer,
            *column,
            stabilizer_area(scenario, pattern.hoop),
        );
        terms.add(
            Term::Minutes,
            *column,
            i128::from(scenario.rates.hooping.parts()),
        );
    }
    if let Some(roll) = task.roll {
        add_roll(
            &mut program,
            &mut terms,
            roll,
            &found.list,
            &pattern_columns,
            most,
        );
    }
    let mut demand = vec![Vec::new(); kinds.list.len()];
    let mut cover_columns = Vec::new();
    for (class, cover, counts) in &described {
        let members = i64::try_from(classes[*class].members.len()).unwrap_or(i64::MAX);
        let column = program.whole(0, members);
        for (kind, count) in counts {
            demand[*kind].push((column, *count));
        }
        let cover_of = &covers[*class].covers[*cover];
        terms.add(Term::Joints, column, cover_of.joints() as i128);
        terms.add(
            Term::Overhang,
            column,
            i128::from(cover_of.settled.overhang().nanometres()),
        );
        terms.add(Term::Minutes, column, task.time((*class, *cover)));
        cover_columns.push(CoverColumn {
            class: *class,
            cover: *cover,
            column,
            runs: counts
                .iter()
                .flat_map(|(kind, count)| {
                    std::iter::repeat_n(*kind, usize::try_from(*count).unwrap_or(0))
                })
                .collect(),
        });
    }
    let mut cover_rows = Vec::new();
    for (number, class) in classes.iter().enumerate() {
        cover_rows.push(program.rows.len());
        let of_class = cover_columns.iter().filter(|cover| cover.class == number);
        let members = i64::try_from(class.members.len()).unwrap_or(i64::MAX);
        program.row(
            of_class.map(|cover| (cover.column, 1)),
            Sense::Equal,
            members,
        );
    }
    let long = covers.iter().any(|of_class| {
        !of_class.covers.is_empty() && of_class.covers.iter().all(|cover| cover.count() > 2)
    });
    let kind_rows = supply::add(
        &mut program,
        &Supply {
            kinds: &kinds,
            patterns: &found.list,
            columns: &pattern_columns,
            demand: &demand,
            growth: scenario.rules.growth,
            long,
            most,
        },
    );
    let cornered: Vec<CorneredClass<'_>> = cornered_classes(classes, covers, &cover_columns);
    let before_corners = program.rows.len();
    let end_choices = corners::add(&mut program, &mut terms, &cornered, &task.top.corners);
    let corner_rows = before_corners..program.rows.len();
    let changes = add_changes(
        &mut program,
        &mut terms,
        scenario,
        &found.list,
        &pattern_columns,
        most,
    );
    Some(Master {
        program,
        kinds,
        pattern_list: found.list,
        patterns: pattern_columns,
        covers: cover_columns,
        end_choices,
        changes,
        terms,
        unlisted_kinds,
        cover_rows,
        kind_rows,
        corner_rows,
    })
}

/// The patterns for a table of kinds; `None` where there are too many kinds or the time is over.
fn list_patterns(
    task: &Task<'_>,
    kinds: &Kinds,
    described: &[(usize, usize, BTreeMap<usize, i64>)],
    deadline: &Deadline,
) -> Option<Patterns> {
    if deadline.over() || kinds.list.len() > MOST_KINDS {
        return None;
    }
    let limits = limits(task.classes, kinds, described);
    Some(patterns(task.scenario, &kinds.list, &limits, deadline))
}

/// Area of the piece of stabilizer for a hoop, in square nanometres.
pub fn stabilizer_area(scenario: &Scenario, hoop: usize) -> i128 {
    let piece = scenario.materials.stabilizer.piece(&scenario.hoops[hoop]);
    let [first, second] = piece.map(|side| i128::from(side.nanometres()));
    first * second
}

fn limits(
    classes: &[Class],
    kinds: &Kinds,
    described: &[(usize, usize, BTreeMap<usize, i64>)],
) -> Limits {
    let mut users: Vec<std::collections::BTreeSet<usize>> =
        vec![Default::default(); kinds.list.len()];
    let mut of_class = BTreeMap::new();
    for (class, _, counts) in described {
        for kind in counts.keys() {
            users[*kind].insert(*class);
        }
        of_class.insert(*class, classes[*class].members.len());
    }
    for (kind, users) in kinds.list.iter().zip(&mut users) {
        users.extend(kind.class);
    }
    let caps = Caps {
        of_class,
        bonds: Bonds::default(),
    };
    Limits::of(classes, &users, caps)
}

fn cornered_classes<'a>(
    classes: &'a [Class],
    covers: &[ClassCovers<'_>],
    columns: &[CoverColumn],
) -> Vec<CorneredClass<'a>> {
    let mut cornered = Vec::new();
    for (number, class) in classes
        .iter()
        .enumerate()
        .filter(|(_, class)| class.cornered)
    {
        let mut by_phases: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        for column in columns.iter().filter(|column| column.class == number) {
            if let Some(ends) = covers[number].covers[column.cover].ends {
                by_phases
                    .entry(ends.phases)
                    .or_default()
                    .push(column.column);
            }
        }
        cornered.push(CorneredClass {
            members: &class.members,
            covers: by_phases,
        });
    }
    cornered
}

/// The levels that the pieces of stabilizer are cut in.
fn add_roll(
    program: &mut Program,
    terms: &mut Terms,
    roll: &Roll,
    patterns: &[Pattern],
    columns: &[usize],
    most: i64,
) {
    let mut rows: Vec<Vec<(usize, i64)>> = vec![Vec::new(); roll.pieces()];
    for (pattern, column) in patterns.iter().zip(columns) {
        rows[roll.piece_of[pattern.hoop]].push((*column, -1));
    }
    for level in &roll.levels {
        let column = program.whole(0, most);
        terms.add(Term::RollLength, column, level.length.nanometres().into());
        for (row, count) in rows.iter_mut().zip(&level.counts) {
            if *count > 0 {
                row.push((column, *count));
            }
        }
    }
    for row in rows {
        program.row(row, Sense::AtLeast, 0);
    }
}

/// The column that counts hoop changes: at least one less than the hoops used.
fn add_changes(
    program: &mut Program,
    terms: &mut Terms,
    scenario: &Scenario,
    patterns: &[Pattern],
    columns: &[usize],
    most: i64,
) -> Option<usize> {
    let mut of_hoop: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (pattern, column) in patterns.iter().zip(columns) {
        of_hoop.entry(pattern.hoop).or_default().push(*column);
    }
    if scenario.hoops.len() < 2 || of_hoop.len() < 2 {
        return None;
    }
    let changes = program.whole(0, most);
    terms.add(Term::HoopChanges, changes, 1);
    terms.add(
        Term::Minutes,
        changes,
        i128::from(scenario.rates.hoop_change.parts()),
    );
    let mut used = vec![(changes, 1)];
    for columns in of_hoop.into_values() {
        let hoop = program.whole(0, 1);
        program.row(
            columns
                .into_iter()
                .map(|column| (column, 1))
                .chain([(hoop, -most)]),
            Sense::AtMost,
            0,
        );
        used.push((hoop, -1));
    }
    program.row(used, Sense::AtLeast, -1);
    Some(changes)
}
