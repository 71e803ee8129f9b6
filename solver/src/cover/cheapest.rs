//! The cheapest cover of a sum, where each run, joint and end has a price: a shortest path over the sums of its runs.

use crate::cover::{Cover, CoverSpace, EndPatterns, Runs, Total};

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
const NEVER: i64 = i64::MAX;

/// For each flag and sum what its cheapest inner runs cost, and the last of them. The flag tells whether one of them is
/// stubborn.
struct InnerCosts {
    cost: [Vec<i64>; 2],
    /// Place of the piece, the sum before it, the flag before it.
    from: [Vec<(usize, usize, usize)>; 2],
}

impl InnerCosts {
    fn least(&self, sum: usize) -> i64 {
        self.cost[0][sum].min(self.cost[1][sum])
    }
}

/// Outer runs and end patterns, and what is left for the inner runs.
#[derive(Clone, Copy)]
struct Start {
    outer: Outer,
    ends: Option<EndPatterns>,
    /// The sum of the inner runs, and whether one of them has to be stubborn.
    rest: usize,
    flag: usize,
}

/// The outer runs.
#[derive(Clone, Copy)]
enum Outer {
    /// Of a whole strip: at its start and at its end.
    Both([usize; 2]),
    /// Of what is left of one.
    One(usize),
}

impl Start {
    fn cover(&self, total: &Total, inner: Vec<usize>) -> Cover {
        Cover {
            settled: total.settled,
            runs: match self.outer {
                Outer::Both(outer) => Runs::Several { outer, inner },
                Outer::One(outer) => Runs::Rest { inner, outer },
            },
            ends: self.ends,
        }
    }

    /// How many outer runs there are.
    fn count(&self) -> usize {
        match self.outer {
            Outer::Both(_) => 2,
            Outer::One(_) => 1,
        }
    }
}

impl CoverSpace<'_> {
    /// The cheapest cover of a total; of several the first.
    pub fn cheapest(&self, total: &Total, prices: &Prices<'_>) -> Option<Priced> {
        let table = self.inner_costs(total, prices);
        let mut best: Option<(i64, Start)> = None;
        self.each_start(total, prices, &table, NEVER, &mut |cost, start| {
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, start));
            }
        });
        let (cost, start) = best?;
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
        let mut starts = Vec::new();
        self.each_start(total, prices, &table, most, &mut |cost, start| {
            starts.push((cost, start))
        });
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
        for (cost, start) in starts {
            let of_outer = cost - table.cost[start.flag][start.rest];
            if !listing.extend(&start, 0, start.rest, of_outer) {
                return (listing.found, false);
            }
        }
        (listing.found, true)
    }

    fn inner_costs(&self, total: &Total, prices: &Prices<'_>) -> InnerCosts {
        let width = total.at + 1;
        let mut table = InnerCosts {
            cost: [vec![NEVER; width], vec![NEVER; width]],
            from: [vec![(0, 0, 0); width], vec![(0, 0, 0); width]],
        };
        table.cost[0][0] = 0;
        for sum in 0..total.at {
            for flag in 0..2 {
                let cost = table.cost[flag][sum];
                if cost == NEVER {
                    continue;
                }
                for (place, piece) in total.pieces.iter().enumerate() {
                    let Some(to) = self.sum_with(sum, *piece).filter(|to| *to <= total.at) else {
                        continue;
                    };
                    let flagged = flag | usize::from(total.needs_stubborn && total.stubborn[place]);
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

    /// Offers each choice of outer runs and end patterns, with the least cost of a cover that has them where that is at most
    /// `most`.
    fn each_start(
        &self,
        total: &Total,
        prices: &Prices<'_>,
        table: &InnerCosts,
        most: i64,
        see: &mut dyn FnMut(i64, Start),
    ) {
        let of_ends: Option<Vec<Vec<i64>>> = total.ends.as_ref().map(|ends| {
            let patterns = ends.patterns.iter();
            patterns
                .map(|of_start| of_start.iter().map(prices.ends).collect())
                .collect()
        });
        // What the inner runs cost that have this sum, and whether one of them is stubborn.
        let of_inner = |rest: usize, met: bool| {
            let plain = if met || !total.needs_stubborn {
                table.cost[0][rest]
            } else {
                NEVER
            };
            (plain, 0).min((table.cost[1][rest], 1))
        };
        for (first, first_piece) in total.pieces.iter().enumerate() {
            let Some(after_first) = self.sum_without(total.at, *first_piece) else {
                continue;
            };
            if self.stage.butts().is_some() {
                // A single run is no cover by several.
                let (of_inner, flag) = of_inner(after_first, total.stubborn[first]);
                if of_inner == NEVER || after_first == 0 {
                    continue;
                }
                let cost = of_inner.saturating_add(prices.outer[first]);
                let mut start = Start {
                    outer: Outer::One(*first_piece),
                    ends: None,
                    rest: after_first,
                    flag,
                };
                let (Some(ends), Some(of_ends)) = (&total.ends, &of_ends) else {
                    if cost <= most {
                        see(cost, start);
                    }
                    continue;
                };
                // The end that butts up shows what the outer one does.
                for shown in &ends.repeats[first] {
                    let cost = cost.saturating_add(of_ends[*shown][*shown]);
                    if cost <= most {
                        start.ends = Some(ends.patterns[*shown][*shown]);
                        see(cost, start);
                    }
                }
                continue;
            }
            // Without regard to the ends a cover is the same from either of them.
            let from = if total.ends.is_some() { 0 } else { first };
            for (second, second_piece) in total.pieces.iter().enumerate().skip(from) {
                let Some(rest) = self.sum_without(after_first, *second_piece) else {
                    continue;
                };
                let met = total.stubborn[first] || total.stubborn[second];
                let (of_inner, flag) = of_inner(rest, met);
                if of_inner == NEVER {
                    continue;
                }
                let outer = prices.outer[first].saturating_add(prices.outer[second]);
                let cost = of_inner.saturating_add(outer).saturating_add(prices.joint);
                let mut start = Start {
                    outer: Outer::Both([*first_piece, *second_piece]),
                    ends: None,
                    rest,
                    flag,
                };
                let (Some(ends), Some(of_ends)) = (&total.ends, &of_ends) else {
                    if cost <= most {
                        see(cost, start);
                    }
                    continue;
                };
                for at_start in &ends.repeats[first] {
                    for at_end in &ends.repeats[second] {
                        let cost = cost.saturating_add(of_ends[*at_start][*at_end]);
                        if cost <= most {
                            start.ends = Some(ends.patterns[*at_start][*at_end]);
                            see(cost, start);
                        }
                    }
                }
            }
        }
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
            if *self.steps == 0 {
                return false;
            }
            *self.steps -= 1;
            let piece = self.total.pieces[at];
            let Some(left) = self.space.sum_without(rest, piece) else {
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
