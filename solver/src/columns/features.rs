//! What covers, and hoopings, have in common: what a search can branch on.

use std::collections::{BTreeMap, BTreeSet};

use crate::columns::restricted::{CoverColumn, HoopingColumn, Restricted};
use crate::columns::split::{Alternatives, Branching, COVER, CUT, Counted, FIRST, HOOPING};
use crate::cover::{Phase, Settled};

/// What a search for a whole point can branch on.
pub fn of_all(of: &Restricted<'_, '_>) -> Branching {
    Branching {
        alternatives: alternatives(of),
        counted: counted(of, &of.hoopings, &demanded(of), &of.covers),
        ranks: &[FIRST, COVER, HOOPING, CUT],
    }
}

/// What a search for covers can branch on.
pub fn of_covers(of: &Restricted<'_, '_>) -> Branching {
    Branching {
        alternatives: alternatives(of),
        counted: counted(of, &[], &BTreeSet::new(), &of.covers),
        ranks: &[FIRST, COVER],
    }
}

/// What a search for hoopings can branch on. New covers may come at any time, so that there is no counting them.
pub fn of_hoopings(of: &Restricted<'_, '_>) -> Branching {
    let kinds = (0..of.kinds.list.len()).collect();
    Branching {
        alternatives: Vec::new(),
        counted: counted(of, &of.hoopings, &kinds, &[]),
        ranks: &[FIRST, HOOPING],
    }
}

/// The kinds of the runs that the covers at hand have.
fn demanded(of: &Restricted<'_, '_>) -> BTreeSet<usize> {
    let covers = of.covers.iter();
    covers
        .flat_map(|column| of.run_kinds(column.class, &column.cover))
        .collect()
}

/// The covers of each class for which one is chosen, and what they have in common: their sum, their number of runs, and for each
/// kind that they have so many runs of it at least.
fn alternatives(of: &Restricted<'_, '_>) -> Vec<Alternatives> {
    let mut found = vec![Alternatives::default(); of.classes.len()];
    let mut numbers = Numbers::default();
    for column in &of.covers {
        if of.classes[column.class].choices() > 1 {
            continue;
        }
        let cover = &column.cover;
        let mut features = vec![
            numbers.of(Feature::Settled(cover.settled)),
            numbers.of(Feature::Runs(cover.count())),
        ];
        features.extend(
            cover
                .ends
                .map(|ends| numbers.of(Feature::Ends(of.phases.pair(ends.phases)))),
        );
        for (kind, count) in counted_off(of.run_kinds(column.class, cover)) {
            features.push(numbers.of(Feature::Kind(kind, count)));
        }
        features.sort_unstable();
        found[column.class].0.push((column.column, features));
    }
    found.retain(|of| of.0.len() > 1);
    found
}

/// What these hoopings have in common, and these covers of classes of several strips: for each of these kinds so many places that take
/// it.
fn counted(
    of: &Restricted<'_, '_>,
    hoopings: &[HoopingColumn],
    demanded: &BTreeSet<usize>,
    covers: &[CoverColumn],
) -> Counted {
    let mut numbers = Numbers::default();
    let kinds = &of.kinds.list;
    let mut features = Vec::new();
    for column in hoopings {
        let mut of_column = Vec::new();
        let places = column.pattern.kinds();
        for kind in demanded {
            let taking = places
                .iter()
                .filter(|place| kinds[**place].takes(&kinds[*kind]));
            for count in 1..=taking.count() {
                of_column.push(numbers.of(Feature::Kind(*kind, count)));
            }
        }
        features.push((column.column, of_column));
    }
    for column in covers {
        if of.classes[column.class].choices() == 1 {
            continue;
        }
        let mut of_column =
            vec![numbers.of(Feature::OfClass(column.class, 0, column.cover.count()))];
        for (kind, count) in counted_off(of.run_kinds(column.class, &column.cover)) {
            of_column.push(numbers.of(Feature::OfClass(column.class, kind + 1, count)));
        }
        features.push((column.column, of_column));
    }
    let most = of
        .hoop_columns
        .iter()
        .map(|column| of.model.columns[*column].most);
    let strips = of.classes.iter().map(|class| class.members.len() as i64);
    Counted {
        features,
        most: most.sum::<i64>() + strips.sum::<i64>(),
    }
}

/// Something that covers have in common.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Feature {
    Settled(Settled),
    Runs(usize),
    Ends([Phase; 2]),
    /// At least so many runs of a kind, or places that take it.
    Kind(usize, usize),
    /// Of a class at least so many runs of a kind (one less), or so many runs.
    OfClass(usize, usize, usize),
}

/// A number for each feature, in the order in which they are met.
#[derive(Default)]
struct Numbers(BTreeMap<Feature, u32>);

impl Numbers {
    fn of(&mut self, feature: Feature) -> u32 {
        let next = u32::try_from(self.0.len()).unwrap_or(u32::MAX);
        *self.0.entry(feature).or_insert(next)
    }
}

/// Each kind with its number among the same kinds so far: 1, 2, …
fn counted_off(kinds: Vec<usize>) -> impl Iterator<Item = (usize, usize)> {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    kinds.into_iter().map(move |kind| {
        let count = counts.entry(kind).or_default();
        *count += 1;
        (kind, *count)
    })
}
