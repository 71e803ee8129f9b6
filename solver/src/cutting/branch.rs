//! On what the search branches: how many levels there are that have something in common.

use crate::cutting::master::Column;

/// What levels have in common: at least so long, of one stock or of any, and holding at least so many of some kinds.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Feature {
    /// Where they are cut from, pieces on hand told apart; `None` for anywhere.
    pub origin: Option<usize>,
    /// Their least length.
    pub length: i64,
    /// Kinds, and the least number of each.
    pub holds: Vec<(usize, u32)>,
}

impl Feature {
    /// Whether levels of this origin and length can have it, if they hold enough.
    pub fn concerns(&self, origin: usize, length: i64) -> bool {
        self.origin.is_none_or(|own| own == origin) && length >= self.length
    }

    /// Whether a column has it. A whole sheet counts as a level without length.
    pub fn of(&self, column: &Column) -> bool {
        let holds = |(kind, least): &(usize, u32)| column.holds(*kind) >= *least;
        self.concerns(column.origin, column.length.unwrap_or(0)) && self.holds.iter().all(holds)
    }
}

/// A branch: the number of columns with a feature is at most, or at least, so large.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Branch {
    /// The feature.
    pub feature: Feature,
    /// Whether the number is a least one.
    pub at_least: bool,
    /// The number.
    pub number: i64,
}

/// What a value lacks of the next whole number, nearest to a half first; `None` where it is whole.
fn fraction(value: f64) -> Option<f64> {
    const WHOLE: f64 = 1e-6;
    let part = value - value.floor();
    (WHOLE..=1.0 - WHOLE)
        .contains(&part)
        .then_some((part - 0.5).abs())
}

/// The feature to branch on at a point, and its value there: coarse ones first, since they change the bound most. `None`
/// where all features that are looked at have whole values.
pub fn choose(columns: &[Column], point: &[f64], kinds: usize) -> Option<(Feature, f64)> {
    let used: Vec<(&Column, f64)> = columns
        .iter()
        .zip(point.iter().copied())
        .filter(|(_, value)| *value > 1e-9)
        .collect();
    let value = |feature: &Feature| -> f64 {
        let having = used.iter().filter(|(column, _)| feature.of(column));
        having.map(|(_, value)| value).sum()
    };
    // How many levels of a stock are at least so long; the longest cost most.
    let mut lengths: Vec<(usize, i64)> = used
        .iter()
        .map(|(column, _)| (column.origin, column.length.unwrap_or(0)))
        .collect();
    lengths.sort_unstable_by_key(|(origin, length)| (-length, *origin));
    lengths.dedup();
    for (origin, length) in &lengths {
        let feature = Feature {
            origin: Some(*origin),
            length: *length,
            holds: Vec::new(),
        };
        let value = value(&feature);
        if fraction(value).is_some() {
            return Some((feature, value));
        }
    }
    let steps = |kind: usize| {
        let mut counts: Vec<u32> = used.iter().map(|(column, _)| column.holds(kind)).collect();
        counts.sort_unstable();
        counts.dedup();
        counts.retain(|count| *count > 0);
        counts
    };
    let any = |length: i64, holds: Vec<(usize, u32)>| Feature {
        origin: None,
        length,
        holds,
    };
    let mut least: Vec<i64> = lengths.iter().map(|(_, length)| *length).collect();
    least.dedup();
    // How many of them hold so many of a kind, then of two kinds; a single column tells every point apart.
    let one = (0..kinds).flat_map(|kind| {
        let counts = steps(kind).into_iter();
        let least = &least;
        counts.flat_map(move |count| {
            let lengths = least.iter();
            lengths.map(move |length| any(*length, vec![(kind, count)]))
        })
    });
    let two = (0..kinds).flat_map(|first| {
        let steps = &steps;
        (first + 1..kinds).flat_map(move |second| {
            let others = steps(second);
            let pairs = steps(first).into_iter().flat_map(move |count| {
                let others = others.clone().into_iter();
                others.map(move |other| any(0, vec![(first, count), (second, other)]))
            });
            pairs.collect::<Vec<Feature>>()
        })
    });
    let alone = used.iter().map(|(column, _)| Feature {
        origin: Some(column.origin),
        length: column.length.unwrap_or(0),
        holds: column.pieces.clone(),
    });
    nearest_half(one, &value)
        .or_else(|| nearest_half(two, &value))
        .or_else(|| nearest_half(alone, &value))
}

/// The feature whose value is nearest to a half, the first of several; `None` where all values are whole.
fn nearest_half(
    features: impl Iterator<Item = Feature>,
    value: &impl Fn(&Feature) -> f64,
) -> Option<(Feature, f64)> {
    let mut best: Option<(f64, Feature, f64)> = None;
    for feature in features {
        let value = value(&feature);
        if let Some(distance) = fraction(value) {
            let better = best.as_ref();
            if better.is_none_or(|(known, ..)| distance < known - 1e-9) {
                best = Some((distance, feature, value));
            }
        }
    }
    best.map(|(_, feature, value)| (feature, value))
}
