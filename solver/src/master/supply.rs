//! Places in the hoopings against runs of the covers: the rows that tie `x` to `y`.

use std::collections::BTreeMap;

use crate::hooping::kind::{Kinds, Openness};
use crate::hooping::pattern::Pattern;
use crate::program::{Program, Sense};
use crate::scenario::Growth;

/// What the rows of supply and demand are made from.
pub(super) struct Supply<'a> {
    pub kinds: &'a Kinds,
    pub patterns: &'a [Pattern],
    /// x: a column for each pattern.
    pub columns: &'a [usize],
    /// For each kind the columns of covers that have runs of it, and how many.
    pub demand: &'a [Vec<(usize, i64)>],
    pub growth: Growth,
    /// Whether some class has only covers with inner runs, so that every plan has at least three hoopings.
    pub long: bool,
    /// No plan worth having has more hoopings.
    pub most: i64,
}

/// Adds the rows: for each kind, places made for it, less those given to lesser kinds, plus those given by greater ones,
/// are at least its runs.
///
/// Inner runs have a second node each: the places that serve as places for outer or closed runs. The last hooping can
/// hold no inner run, since each of its runs would fill a gap or leave one; its inner places count there at once. With
/// growth one way the same holds of the first hooping.
///
/// Returns the row of each kind; `None` where it has neither places nor runs.
pub(super) fn add(program: &mut Program, supply: &Supply<'_>) -> Vec<Option<usize>> {
    let count = supply.kinds.list.len();
    let inner = |kind: usize| supply.kinds.list[kind].openness == Openness::Inner;
    let mut nodes: Vec<Vec<(usize, i64)>> = vec![Vec::new(); 2 * count];
    for (pattern, column) in supply.patterns.iter().zip(supply.columns) {
        for (kind, places) in counted(pattern) {
            nodes[kind].push((*column, places));
        }
    }
    for (kind, covers) in supply.demand.iter().enumerate() {
        nodes[kind].extend(covers.iter().map(|(column, runs)| (*column, -runs)));
    }
    let mut edges = Vec::new();
    for (strong, weak) in supply.kinds.exchanges() {
        match (inner(strong), inner(weak)) {
            (true, true) => edges.extend([(strong, weak), (count + strong, count + weak)]),
            (true, false) => edges.push((count + strong, weak)),
            (false, _) => edges.push((strong, weak)),
        }
    }
    edges.extend(
        (0..count)
            .filter(|kind| inner(*kind))
            .map(|kind| (kind, count + kind)),
    );
    for (from, to) in edges {
        let flow = program.flow(supply.most.saturating_mul(1000));
        nodes[from].push((flow, -1));
        nodes[to].push((flow, 1));
    }
    if (0..count).any(inner) {
        let mut bare = vec![last_or_first(program, supply, &mut nodes)];
        if supply.growth == Growth::OneWay && supply.long {
            bare.push(last_or_first(program, supply, &mut nodes));
        }
        bound_by_patterns(program, supply, &bare);
    }
    let mut rows = Vec::new();
    for terms in nodes {
        rows.push((!terms.is_empty()).then_some(program.rows.len()));
        if !terms.is_empty() {
            program.row(terms, Sense::AtLeast, 0);
        }
    }
    rows.truncate(count);
    rows
}

fn counted(pattern: &Pattern) -> BTreeMap<usize, i64> {
    let mut counts = BTreeMap::new();
    for kind in pattern.lanes.iter().flatten() {
        *counts.entry(*kind).or_insert(0) += 1;
    }
    counts
}

fn has_inner(supply: &Supply<'_>, pattern: &Pattern) -> bool {
    pattern
        .lanes
        .iter()
        .flatten()
        .any(|kind| supply.kinds.list[*kind].openness == Openness::Inner)
}

/// One hooping that holds no inner run: a column for each pattern with inner places, and one (the last) for all
/// others. Exactly one of them is 1.
fn last_or_first(
    program: &mut Program,
    supply: &Supply<'_>,
    nodes: &mut [Vec<(usize, i64)>],
) -> Vec<usize> {
    let count = supply.kinds.list.len();
    let mut columns = Vec::new();
    for pattern in supply
        .patterns
        .iter()
        .filter(|pattern| has_inner(supply, pattern))
    {
        let column = program.whole(0, 1);
        columns.push(column);
        for (kind, places) in counted(pattern) {
            if supply.kinds.list[kind].openness == Openness::Inner {
                nodes[kind].push((column, -places));
                nodes[count + kind].push((column, places));
            }
        }
    }
    columns.push(program.whole(0, 1));
    program.row(columns.iter().map(|column| (*column, 1)), Sense::Equal, 1);
    columns
}

/// The last and the first hooping are among the hoopings.
fn bound_by_patterns(program: &mut Program, supply: &Supply<'_>, bare: &[Vec<usize>]) {
    let mut others = Vec::new();
    let mut at = 0;
    for (pattern, column) in supply.patterns.iter().zip(supply.columns) {
        if has_inner(supply, pattern) {
            let taken = bare.iter().map(|columns| (columns[at], -1));
            program.row(taken.chain([(*column, 1)]), Sense::AtLeast, 0);
            at += 1;
        } else {
            others.push((*column, 1));
        }
    }
    let taken = bare
        .iter()
        .filter_map(|columns| columns.last())
        .map(|column| (*column, -1));
    program.row(taken.chain(others), Sense::AtLeast, 0);
}
