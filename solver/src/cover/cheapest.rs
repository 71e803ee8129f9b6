//! The cheapest cover of a sum, where each run, joint and end has a price: a shortest path over the sums of its runs.

use crate::cover::starts::Start;
use crate::cover::{Cover, CoverSpace, EndPatterns, Total};

/// A cover by several runs, and what it costs.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Priced {
    /// What its runs, joints and ends cost.
    pub cost: i64,
    /// The cover.
    pub cover: Cover,
}

/// What the parts of a total's covers cost.
pub struct Prices<'p> {
    /// By place among the total's pieces: an outer run.
    pub outer: Vec<i64>,
    /// By place among the total's pieces: an inner run.
    pub inner: Vec<i64>,
    /// A joint.
    pub joint: i64,
    /// The patterns at the two ends.
    pub ends: &'p dyn Fn(&EndPatterns) -> i64,
}

impl Prices<'_> {
    /// What each pair of patterns costs, by the repeats at the start and at the end; one that costs nothing where ends do not matter.
    pub(super) fn of_ends(&self, total: &Total) -> Vec<Vec<i64>> {
        let Some(ends) = &total.ends else {
            return vec![vec![0]];
        };
        let of_start = |patterns: &Vec<EndPatterns>| patterns.iter().map(self.ends).collect();
        ends.patterns.iter().map(of_start).collect()
    }

    /// Every joint costs 1 and nothing else does.
    pub fn of_joints(total: &Total) -> Prices<'static> {
        Prices {
            outer: vec![0; total.pieces.len()],
            inner: vec![0; total.pieces.len()],
            joint: 1,
            ends: &|_| 0,
        }
    }
}

/// What cannot be had.
pub(super) const NEVER: i64 = i64::MAX;

/// For each flag and sum what its cheapest inner runs cost, and the last of them. The flag tells whether one of them is
/// stubborn.
pub(super) struct InnerCosts {
    pub cost: [Vec<i64>; 2],
    /// Place of the piece, the sum before it, the flag before it.
    from: [Vec<(usize, usize, usize)>; 2],
}

impl InnerCosts {
    pub fn least(&self, sum: usize) -> i64 {
        self.cost[0][sum].min(self.cost[1][sum])
    }

    /// What the inner runs cost that have this sum, and whether one of them is stubborn; `met` says whether an outer one is.
    pub fn least_with(&self, total: &Total, sum: usize, met: bool) -> (i64, usize) {
        let plain = if met || !total.needs_stubborn {
            self.cost[0][sum]
        } else {
            NEVER
        };
        (plain, 0).min((self.cost[1][sum], 1))
    }
}

impl CoverSpace<'_> {
    /// The cheapest cover of a total; of several the first.
    pub fn cheapest(&self, total: &Total, prices: &Prices<'_>) -> Option<Priced> {
        let table = self.inner_costs(total, prices);
        let (cost, start) = match self.stage.butts() {
            Some(_) => {
                let mut best: Option<(i64, Start)> = None;
                self.each_start(total, prices, &table, NEVER, &mut |cost, start| {
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        best = Some((cost, start));
                    }
                    true
                });
                best?
            }
            None => self.cheapest_start(total, prices, &table)?,
        };
        let (mut rest, mut flag) = (start.rest, start.flag);
        let mut inner = Vec::new();
        while rest > 0 {
            let (place, before, flag_before) = table.from[flag][rest];
            inner.push(total.pieces[place]);
            (rest, flag) = (before, flag_before);
        }
        inner.sort_unstable();
        Some(Priced {
            cost,
            cover: start.cover(total, inner),
        })
    }

    /// Every cover of a total that costs at most `most` and has at most so many runs, and perhaps some that are no covers for
    /// lack of a stubborn run; and whether these are all: not where there are more than `limit`, or where `steps` are too few to list them.
    /// Takes those that it took away from `steps`: many choices of runs can be begun of which none comes to the sum at that cost.
    pub fn up_to(
        &self,
        total: &Total,
        prices: &Prices<'_>,
        most: i64,
        most_runs: usize,
        limit: usize,
        steps: &mut usize,
    ) -> (Vec<Priced>, bool) {
        let table = self.inner_costs(total, prices);
        let counts = self.inner_costs(total, &Prices::of_joints(total));
        let mut listing = Listing {
            space: self,
            total,
            prices,
            table: &table,
            counts: &counts,
            most,
            most_runs,
            limit,
            steps,
            inner: Vec::new(),
            found: Vec::new(),
        };
        let whole = self.each_start(total, prices, &table, most, &mut |cost, start| {
            let of_outer = cost - table.cost[start.flag][start.rest];
            listing.may_go_on() && listing.extend(&start, 0, start.rest, of_outer)
        });
        (listing.found, whole)
    }

    /// The places of the pieces that are the cheapest of their sum as inner runs, stubborn ones (1) and others (0).
    fn cheapest_inner(&self, total: &Total, prices: &Prices<'_>) -> Vec<(usize, usize)> {
        let mut places: Vec<(usize, usize)> = (0..total.pieces.len())
            .map(|place| {
                (
                    place,
                    usize::from(total.needs_stubborn && total.stubborn[place]),
                )
            })
            .collect();
        let key =
            |(place, stubborn): (usize, usize)| (self.pieces[total.pieces[place]].sum, stubborn);
        places.sort_by_key(|of| (key(*of), prices.inner[of.0], of.0));
        places.dedup_by_key(|of| key(*of));
        places
    }

    fn inner_costs(&self, total: &Total, prices: &Prices<'_>) -> InnerCosts {
        let width = total.at + 1;
        let mut table = InnerCosts {
            cost: [vec![NEVER; width], vec![NEVER; width]],
            from: [vec![(0, 0, 0); width], vec![(0, 0, 0); width]],
        };
        table.cost[0][0] = 0;
        let cheapest = self.cheapest_inner(total, prices);
        for sum in 0..total.at {
            for flag in 0..2 {
                let cost = table.cost[flag][sum];
                if cost == NEVER {
                    continue;
                }
                for (place, stubborn) in &cheapest {
                    let (place, piece) = (*place, total.pieces[*place]);
                    let Some(to) = self.ladder.with(sum, piece).filter(|to| *to <= total.at) else {
                        continue;
                    };
                    let flagged = flag | stubborn;
                    let cost = cost
                        .saturating_add(prices.inner[place])
                        .saturating_add(prices.joint);
                    if cost < table.cost[flagged][to] {
                        table.cost[flagged][to] = cost;
                        table.from[flagged][to] = (place, sum, flag);
                    }
                }
            }
        }
        table
    }
}

/// Lists the covers that cost at most so much.
struct Listing<'l, 's> {
    space: &'l CoverSpace<'s>,
    total: &'l Total,
    prices: &'l Prices<'l>,
    table: &'l InnerCosts,
    /// The fewest inner runs.
    counts: &'l InnerCosts,
    most: i64,
    most_runs: usize,
    limit: usize,
    /// So many more are taken.
    steps: &'l mut usize,
    inner: Vec<usize>,
    found: Vec<Priced>,
}

impl Listing<'_, '_> {
    /// Takes a step; false where none is left.
    fn may_go_on(&mut self) -> bool {
        let left = self.steps.checked_sub(1);
        *self.steps = left.unwrap_or(0);
        left.is_some()
    }

    /// Adds inner runs from `place` on until nothing is left of the sum; false where the limit is reached, or no step is left.
    fn extend(&mut self, start: &Start, place: usize, rest: usize, cost: i64) -> bool {
        let fewest = usize::try_from(self.counts.least(rest)).unwrap_or(usize::MAX);
        if fewest.saturating_add(self.inner.len() + start.count()) > self.most_runs {
            return true;
        }
        if rest == 0 {
            self.found.push(Priced {
                cost,
                cover: start.cover(self.total, self.inner.clone()),
            });
            return self.found.len() <= self.limit;
        }
        for at in place..self.total.pieces.len() {
            if !self.may_go_on() {
                return false;
            }
            let piece = self.total.pieces[at];
            let Some(left) = self.space.ladder.without(rest, piece) else {
                continue;
            };
            let grown = cost
                .saturating_add(self.prices.inner[at])
                .saturating_add(self.prices.joint);
            let least = self.table.least(left);
            if least == NEVER || grown.saturating_add(least) > self.most {
                continue;
            }
            self.inner.push(piece);
            let goes_on = self.extend(start, at, left, grown);
            self.inner.pop();
            if !goes_on {
                return false;
            }
        }
        true
    }
}
