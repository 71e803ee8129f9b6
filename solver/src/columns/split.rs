//! Where a search branches: on what columns have in common before single columns, and on the most even part first.

use std::collections::BTreeMap;

use crate::columns::model::Model;

/// Values nearer than this to a whole number count as whole in the choice of a branch.
pub const WHOLE: f64 = 1e-6;

/// Rank of the columns that follow from the hoopings: what is cut for them. Points that differ in them alone are one to the order of
/// the work.
pub const CUT: u8 = 3;

/// The ranks of columns that are settled first, of covers, and of hoopings.
pub const FIRST: u8 = 0;
pub const COVER: u8 = 1;
pub const HOOPING: u8 = 2;

/// Columns of which exactly one is 1, with what each has in common with others: numbers of features, in ascending order.
#[derive(Clone, Default, Debug)]
pub struct Alternatives(pub Vec<(usize, Vec<u32>)>);

/// Columns whose sum over what some of them have in common has to be whole.
#[derive(Clone, Default, Debug)]
pub struct Counted {
    /// Column, and the features that it has: numbers.
    pub features: Vec<(usize, Vec<u32>)>,
    /// The most that a sum can be.
    pub most: i64,
}

/// What a search can branch on.
#[derive(Clone, Default, Debug)]
pub struct Branching {
    /// Columns of which one is chosen.
    pub alternatives: Vec<Alternatives>,
    /// Columns that are counted.
    pub counted: Counted,
    /// Columns of other ranks may be parts.
    pub ranks: &'static [u8],
}

/// A way to branch.
pub enum Split {
    /// The number of columns with a feature is at most the one, or at least the other.
    Count(u32, f64),
    /// A column is at most the one, or at least the other; whether the second is looked at first.
    Between(usize, i64, i64, bool),
    /// One set of columns is 0, or the other.
    Apart(Vec<usize>, Vec<usize>),
}

impl Branching {
    /// How to branch on the point of the linear program; `None` where it is whole.
    pub fn split(&self, model: &Model) -> Option<Split> {
        let (column, value) = self.fractional(model)?;
        if model.columns[column].rank > 0 {
            let (apart, count) = (self.apart(model), self.uneven(model));
            let of = |split: &Option<(f64, Split)>| split.as_ref().map_or(0.0, |(even, _)| *even);
            let better = if of(&count) >= of(&apart) {
                count
            } else {
                apart
            };
            if let Some((_, split)) = better {
                return Some(split);
            }
        }
        let up_first = value - value.floor() >= 0.4;
        Some(Split::Between(
            column,
            value.floor() as i64,
            value.ceil() as i64,
            up_first,
        ))
    }

    /// Of all features of alternatives that are used in parts only, the one that parts them most evenly.
    fn apart(&self, model: &Model) -> Option<(f64, Split)> {
        let mut best: Option<(f64, &Alternatives, u32, f64)> = None;
        for of in &self.alternatives {
            let mut shares: BTreeMap<u32, f64> = BTreeMap::new();
            let used =
                of.0.iter()
                    .map(|(column, features)| (model.value(*column), features));
            for (value, features) in used.filter(|(value, _)| *value > WHOLE) {
                for feature in features {
                    *shares.entry(*feature).or_default() += value;
                }
            }
            for (feature, share) in shares {
                let even = share.min(1.0 - share);
                if even > WHOLE && best.is_none_or(|(known, ..)| even > known + 1e-9) {
                    best = Some((even, of, feature, share));
                }
            }
        }
        let (even, of, feature, share) = best?;
        let open =
            of.0.iter()
                .filter(|(column, _)| model.columns[*column].most > 0);
        let (with, without): (Vec<_>, Vec<_>) =
            open.partition(|(_, features)| features.binary_search(&feature).is_ok());
        let columns = |of: Vec<&(usize, Vec<u32>)>| of.iter().map(|(column, _)| *column).collect();
        let (with, without): (Vec<usize>, Vec<usize>) = (columns(with), columns(without));
        let split = if share >= 0.5 {
            Split::Apart(with, without)
        } else {
            Split::Apart(without, with)
        };
        Some((even, split))
    }

    /// Of all features whose columns do not add up to a whole number, the one that is furthest from one.
    fn uneven(&self, model: &Model) -> Option<(f64, Split)> {
        let mut sums: BTreeMap<u32, f64> = BTreeMap::new();
        for (column, features) in &self.counted.features {
            let value = model.value(*column);
            if value > WHOLE {
                for feature in features {
                    *sums.entry(*feature).or_default() += value;
                }
            }
        }
        let mut best: Option<(f64, u32, f64)> = None;
        for (feature, sum) in sums {
            let over = sum - sum.floor();
            let even = over.min(1.0 - over);
            if even > WHOLE && best.is_none_or(|(known, ..)| even > known + 1e-9) {
                best = Some((even, feature, sum));
            }
        }
        let (even, feature, sum) = best?;
        Some((even, Split::Count(feature, sum)))
    }

    /// The column to branch on: of the lowest rank, the one nearest to its next whole number.
    fn fractional(&self, model: &Model) -> Option<(usize, f64)> {
        let mut best: Option<(u8, f64, usize, f64)> = None;
        for (number, column) in model.columns.iter().enumerate() {
            if !column.whole || !self.ranks.contains(&column.rank) || column.least == column.most {
                continue;
            }
            let value = model.value(number);
            let over = value - value.floor();
            if !(WHOLE..=1.0 - WHOLE).contains(&over) {
                continue;
            }
            let better = best.is_none_or(|(rank, known, _, _)| {
                column.rank < rank || column.rank == rank && over > known + 1e-9
            });
            if better {
                best = Some((column.rank, over, number, value));
            }
        }
        best.map(|(_, _, number, value)| (number, value))
    }
}
