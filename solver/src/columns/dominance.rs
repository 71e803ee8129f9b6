//! Covers that need not be looked at, since another one of the same strip does as well wherever they could be used.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use crate::columns::rehoop::Target;
use crate::columns::restricted::Restricted;
use crate::cover::{Cover, Phase};
use crate::deadline::Deadline;
use crate::hooping::kind::{Kind, Openness};
use crate::length::Length;

/// The clock is asked after so many covers.
const LOOKED_AT: usize = 16;

/// What matters of a cover.
struct Merits {
    /// What the stages that count say of its joints, its overhang and its time.
    costs: Vec<i64>,
    /// Its end patterns, where corners count.
    phases: Option<[Phase; 2]>,
    /// Its runs: the outer ones, or the only one, and the inner ones; the longest first.
    outer: Vec<Kind>,
    inner: Vec<Kind>,
}

/// Takes out every cover that another one of its class dominates: one that counts for no more in any stage of the target,
/// shows the same patterns where corners count, and whose runs all fit where this one's runs are stitched. What is not looked at before
/// the time is over stays.
pub fn undominated(
    of: &Restricted<'_, '_>,
    target: &Target<'_>,
    covers: Vec<(usize, Cover)>,
    deadline: &Deadline,
) -> Vec<(usize, Cover)> {
    let counting = &target.forms[..target.most.len()];
    let corners = counting.iter().any(|form| of.atoms.counts_corners(form));
    let mut by_class: BTreeMap<usize, Vec<(Merits, Cover)>> = BTreeMap::new();
    for (class, cover) in covers {
        let merits = Merits::of(of, counting, corners, class, &cover);
        by_class.entry(class).or_default().push((merits, cover));
    }
    let mut left = Vec::new();
    for (class, mut covers) in by_class {
        // Where their order counts, runs that are no larger can still be in the way.
        if of.classes[class].wishes.orders_runs() {
            left.extend(covers.into_iter().map(|(_, cover)| (class, cover)));
            continue;
        }
        // Whatever dominates a cover comes before it.
        covers.sort_by_cached_key(|(merits, _)| merits.rank());
        let mut kept: Vec<(Merits, Cover)> = Vec::new();
        let mut over = false;
        for (number, (merits, cover)) in covers.into_iter().enumerate() {
            over |= number.is_multiple_of(LOOKED_AT) && deadline.over();
            if over || !kept.iter().any(|(other, _)| other.dominates(&merits)) {
                kept.push((merits, cover));
            }
        }
        left.extend(kept.into_iter().map(|(_, cover)| (class, cover)));
    }
    left
}

impl Merits {
    fn of(
        of: &Restricted<'_, '_>,
        counting: &[Vec<i64>],
        corners: bool,
        class: usize,
        cover: &Cover,
    ) -> Merits {
        let made_of = of.atoms_of(class, cover);
        let kinds = of.run_kinds(class, cover).into_iter();
        let kinds = kinds.map(|kind| of.kinds.list[kind]);
        let (mut inner, mut outer): (Vec<Kind>, Vec<Kind>) =
            kinds.partition(|kind| kind.openness == Openness::Inner);
        for runs in [&mut inner, &mut outer] {
            runs.sort_by_key(|kind| Reverse(*kind));
        }
        let costs = counting.iter();
        Merits {
            costs: costs.map(|form| of.atoms.value(form, &made_of)).collect(),
            phases: cover
                .ends
                .map(|ends| of.phases.pair(ends.phases))
                .filter(|_| corners),
            outer,
            inner,
        }
    }

    /// Rises with everything that makes a cover worse.
    fn rank(&self) -> (usize, [Length; 3], Vec<i64>) {
        let runs = || self.outer.iter().chain(&self.inner);
        let sums = [
            runs().map(|kind| kind.length).sum(),
            runs().map(|kind| kind.margin_along).sum(),
            runs().map(|kind| kind.margin_across).sum(),
        ];
        (runs().count(), sums, self.costs.clone())
    }

    /// Whether a cover with these merits does wherever the other one does.
    fn dominates(&self, other: &Merits) -> bool {
        let fit = |runs: &[Kind], places: &[Kind]| {
            let mut pairs = runs.iter().zip(places);
            runs.len() <= places.len() && pairs.all(|(run, place)| run == place || place.takes(run))
        };
        let cheap = self.costs.iter().zip(&other.costs);
        self.phases == other.phases
            && cheap.into_iter().all(|(own, others)| own <= others)
            && fit(&self.outer, &other.outer)
            && fit(&self.inner, &other.inner)
    }
}
