//! What covers cost with given multipliers.

use std::collections::BTreeMap;

use crate::columns::atoms::Atom;
use crate::columns::generate::Allowed;
use crate::columns::restricted::Restricted;
use crate::cover::{Cover, EndPatterns, Marks, Priced, Prices, Settled, Total, Wanted};
use crate::deadline::Deadline;

/// The most steps that listing the covers of a class takes: a count, so that the same scenario always gives the same list.
const MOST_STEPS: usize = 1_000_000;

/// How covers are priced with given multipliers.
pub(super) struct Costs<'r, 't, 's> {
    pub of: &'r Restricted<'t, 's>,
    pub multipliers: &'r [i64],
    /// The form that counts and the places of its steps; none where only feasibility counts.
    pub objective: Option<(&'r [i64], u32)>,
    /// For each kind of runs one that stands for it, where covers need not be told apart by more.
    pub alike: Option<&'r [usize]>,
}

impl Costs<'_, '_, '_> {
    /// What one of an atom costs, in parts: in the objective, less what the held entries' multipliers give.
    fn atom(&self, atom: Atom) -> i128 {
        let Some(number) = self.of.atoms.number(atom) else {
            return 0;
        };
        let objective = self
            .objective
            .map_or(0, |(form, places)| i128::from(form[number]) << places);
        let held = self.of.held.iter();
        let held =
            held.map(|(row, form)| i128::from(self.multipliers[*row]) * i128::from(form[number]));
        objective - held.sum::<i128>()
    }

    fn of_kind(&self, kind: usize) -> i128 {
        i128::from(self.multipliers[self.of.kind_rows[kind]])
    }

    /// What every cover of a class costs, and its overhang.
    fn fixed(&self, class: usize, settled: &Settled) -> i128 {
        let overhang = settled.overhang();
        let of_overhang = if overhang.nanometres() > 0 {
            self.atom(Atom::Overhang(overhang))
        } else {
            0
        };
        of_overhang - i128::from(self.multipliers[self.of.class_rows[class]])
    }

    /// What the time of a run stitched with a piece costs, where the smallest part of time costs `each`.
    fn price_of_time(&self, class: usize, piece: usize, each: i128) -> i64 {
        let time = i128::from(self.of.spaces[class].pieces[piece].time.parts());
        i64::try_from(each.saturating_mul(time)).unwrap_or(i64::MAX >> 12)
    }

    fn of_ends(&self, class: usize, ends: &EndPatterns) -> i64 {
        let row = self.of.end_row(class, ends.phases);
        row.map_or(0, |row| self.multipliers[row])
    }

    fn single(&self, class: usize, cover: &Cover) -> i128 {
        let kinds = self.of.run_kinds(class, cover).into_iter();
        let places: i128 = kinds.map(|kind| self.of_kind(kind)).sum();
        let time = match self.atom(Atom::Time) {
            0 => 0,
            each => {
                let time = cover.time(&self.of.spaces[class].pieces);
                each.saturating_mul(time.parts().into())
            }
        };
        let ends = cover.ends.map_or(0, |ends| self.of_ends(class, &ends));
        let joints = match cover.joints() {
            0 => 0,
            joints => self.atom(Atom::Joint) * joints as i128,
        };
        self.fixed(class, &cover.settled) + places + time + joints + i128::from(ends)
    }

    /// For each sum of a class's covers the cheapest cover: reduced cost in parts.
    pub fn cheapest(&self, class: usize) -> Vec<(i128, Cover)> {
        let space = &self.of.spaces[class];
        let listed = space.listed.iter();
        let mut found: Vec<(i128, Cover)> = listed
            .map(|cover| (self.single(class, cover), cover))
            .min()
            .map(|(cost, cover)| (cost, cover.clone()))
            .into_iter()
            .collect();
        for place in 0..space.totals.len() {
            self.with_prices(class, place, |total, prices| {
                let fixed = self.fixed(class, &total.settled);
                let cheapest = space.cheapest(total, prices);
                found
                    .extend(cheapest.map(|priced| (i128::from(priced.cost) + fixed, priced.cover)));
            });
        }
        found
    }

    /// Every cover of a class whose reduced cost is at most `most`; `None` where they are more than `limit`, or take too long to list.
    pub fn up_to(
        &self,
        class: usize,
        most: i128,
        allowed: &Allowed,
        limit: usize,
        deadline: &Deadline,
    ) -> Option<Vec<(usize, Cover)>> {
        let space = &self.of.spaces[class];
        let listed = space.listed.iter();
        // A choice for several strips costs so many times as much.
        let most = most.div_euclid(self.of.strips_each(class).max(1).into());
        let listed = listed.filter(|cover| {
            cover.settled.overhang() <= allowed.overhang
                && cover.count() <= allowed.runs.max(1)
                && self.single(class, cover) <= most
        });
        let mut found: Vec<(usize, Cover)> = listed.map(|cover| (class, cover.clone())).collect();
        let mut whole = true;
        let mut steps = MOST_STEPS;
        for place in 0..space.totals.len() {
            if !whole || deadline.over() {
                return None;
            }
            if space.totals[place].settled.overhang() > allowed.overhang {
                continue;
            }
            let of_total = self.of_total(class, place, most, allowed, limit, &mut steps);
            whole &= of_total.is_some() && found.len() <= limit;
            let listed = of_total.into_iter().flatten();
            found.extend(listed.map(|priced| (class, priced.cover)));
        }
        found.retain(|(class, cover)| self.of.spaces[*class].is_valid(self.of.scenario, cover));
        (whole && found.len() <= limit).then_some(found)
    }

    /// The same of one total; alike ones once, but where the order of runs counts, which no column knows.
    fn of_total(
        &self,
        class: usize,
        place: usize,
        most: i128,
        allowed: &Allowed,
        limit: usize,
        steps: &mut usize,
    ) -> Option<Vec<Priced>> {
        let space = &self.of.spaces[class];
        self.with_prices(class, place, |total, prices| {
            let spare = i64::try_from(most - self.fixed(class, &total.settled));
            let spare = spare.unwrap_or(i64::MAX);
            if !self.of.classes[class].wishes.orders_runs() {
                let ends = |ends: &EndPatterns| self.of.phases.pair(ends.phases);
                let [outer, inner] = self.marks(class, place);
                let wanted = Wanted {
                    total,
                    prices,
                    marks: Marks {
                        outer: &outer,
                        inner: &inner,
                        ends: &ends,
                    },
                    most: spare,
                    most_runs: allowed.runs,
                    limit,
                };
                let unlike = space.unlike(&wanted, steps)?;
                // What rounding makes no cover may have others beside it that are.
                let valid = |priced: &Priced| space.is_valid(self.of.scenario, &priced.cover);
                if unlike.iter().all(valid) {
                    return Some(unlike);
                }
            }
            let (listed, all) = space.up_to(total, prices, spare, allowed.runs, limit, steps);
            all.then_some(listed)
        })
    }

    /// Marks for the runs of a total, outer and inner ones: those with the same mark are of one kind, and take the same time where time counts.
    fn marks(&self, class: usize, place: usize) -> [Vec<usize>; 2] {
        let space = &self.of.spaces[class];
        let kinds = &self.of.totals[class][place];
        let counts = self.of.atoms.number(Atom::Time).is_some();
        let mut numbers = BTreeMap::new();
        [&kinds.outer, &kinds.inner].map(|kinds| {
            let runs = kinds.iter().zip(&space.totals[place].pieces);
            let marks = runs.map(|(kind, piece)| {
                let time = counts.then(|| space.pieces[*piece].time.parts());
                let kind = self.alike.map_or(*kind, |alike| alike[*kind]);
                let next = numbers.len();
                *numbers.entry((kind, time)).or_insert(next)
            });
            marks.collect()
        })
    }

    fn with_prices<T>(
        &self,
        class: usize,
        place: usize,
        see: impl FnOnce(&Total, &Prices<'_>) -> T,
    ) -> T {
        let kinds = &self.of.totals[class][place];
        let of_time = self.atom(Atom::Time);
        let pieces = &self.of.spaces[class].totals[place].pieces;
        let price = |kinds: &[usize]| -> Vec<i64> {
            let runs = kinds.iter().zip(pieces);
            runs.map(|(kind, piece)| {
                let place = self.multipliers[self.of.kind_rows[*kind]];
                place.saturating_add(self.price_of_time(class, *piece, of_time))
            })
            .collect()
        };
        let ends = |ends: &EndPatterns| self.of_ends(class, ends);
        let prices = Prices {
            outer: price(&kinds.outer),
            inner: price(&kinds.inner),
            joint: i64::try_from(self.atom(Atom::Joint)).unwrap_or(i64::MAX >> 12),
            ends: &ends,
        };
        see(&self.of.spaces[class].totals[place], &prices)
    }
}
