//! Takes columns out of the program, or settles how many there are of each.

use std::collections::{BTreeMap, BTreeSet};

use super::{HoopingKey, Restricted, Turn, key};
use crate::columns::generate::Bound;
use crate::cover::Cover;
use crate::hooping::pattern::Pattern;

impl Restricted<'_, '_> {
    /// Takes every cover out that is not among these, and adds those that are missing.
    pub fn narrow_covers(&mut self, covers: &[(usize, Cover)]) {
        let listed: BTreeSet<&(usize, Cover)> = covers.iter().collect();
        for of in &self.covers {
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

    /// Takes every hooping out that is not among these, and adds those that are missing.
    pub fn narrow_hoopings(&mut self, hoopings: &[(Turn, Pattern)]) {
        let listed = hoopings.iter();
        let listed: BTreeSet<HoopingKey> =
            listed.map(|(turn, pattern)| key(*turn, pattern)).collect();
        for of in &self.hoopings {
            if !listed.contains(&key(of.turn, &of.pattern)) {
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
        let settled: BTreeMap<HoopingKey, i64> = settled
            .map(|((turn, pattern), count)| (key(*turn, pattern), *count))
            .collect();
        for of in &self.hoopings {
            if let Some(count) = settled.get(&key(of.turn, &of.pattern)) {
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
}
