//! All covers of a class without a list of them: the sums that they can have, and for each the pieces that it allows. The
//! cheapest cover of a sum is a shortest path over the sums of its runs.

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::cover::enumerate::longest_sum;
use crate::cover::phase::within;
use crate::cover::piece::{self, Pieces};
use crate::cover::{
    ClassCovers, Cover, EndPatterns, Fit, Piece, Runs, Settled, Sizes, Tally, end_repeats,
    fits_alone, phases, settle,
};
use crate::length::Length;
use crate::scenario::{Scenario, Size};

/// The most sums of runs of one class; past it the space is called incomplete.
const MOST_SUMS: usize = 3_000;
/// The most steps between sums of one class.
const MOST_STEPS: usize = 300_000;

/// The covers of a class of strips.
#[derive(Clone, Debug)]
pub struct CoverSpace<'s> {
    /// The sizes that the covers are made of.
    pub sizes: Sizes<'s>,
    /// The pieces that the covers' runs are stitched with, longest first.
    pub pieces: Vec<Piece>,
    /// Covers in a single run.
    pub singles: Vec<Cover>,
    /// The sums that covers by several runs have.
    pub totals: Vec<Total>,
    /// Whether no cover is missing.
    pub complete: bool,
    /// Whether the ends of the strips matter.
    cornered: bool,
    /// Sums of runs, from 0 on.
    sums: Vec<Length>,
    /// For each sum and piece the sum that follows.
    next: Vec<Vec<Option<usize>>>,
}

/// A sum and scale that covers by several runs can have.
#[derive(Clone, Debug)]
pub struct Total {
    /// Sum and scale.
    pub settled: Settled,
    /// The pieces that can be part of such a cover (indices).
    pub pieces: Vec<usize>,
    /// For each of these whether it uses a size that could not be scaled to this sum.
    stubborn: Vec<bool>,
    /// Whether some run has to be of such a piece: otherwise the cover would be scaled instead.
    needs_stubborn: bool,
    /// Place of the sum among the sums of runs.
    at: usize,
}

/// A cover by several runs, and what it costs.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Priced {
    /// What its runs, joints and ends cost.
    pub cost: i128,
    /// The cover.
    pub cover: Cover,
}

/// What the parts of a cover cost.
pub struct Prices<'p> {
    /// By place among the total's pieces: an outer run, `None` where there is no place for it.
    pub outer: &'p [Option<i128>],
    /// By place among the total's pieces: an inner run.
    pub inner: &'p [Option<i128>],
    /// A joint.
    pub joint: i128,
    /// The patterns at the two ends.
    pub ends: &'p dyn Fn(&EndPatterns) -> i128,
}

impl<'s> CoverSpace<'s> {
    /// All covers of a class: those in one run alone where there are any and short strips must not be split.
    pub fn of(scenario: &'s Scenario, class: &Class) -> CoverSpace<'s> {
        let sizes = Sizes::of(scenario, class.design, &class.sizes(scenario));
        let longest = longest_sum(&sizes, class.length);
        let Pieces { list, complete } = piece::all(scenario, &sizes, longest, class.cornered);
        let mut space = CoverSpace {
            sizes,
            pieces: list,
            singles: Vec::new(),
            totals: Vec::new(),
            complete,
            cornered: class.cornered,
            sums: Vec::new(),
            next: Vec::new(),
        };
        space.add_singles(scenario, class);
        if (space.singles.is_empty() || scenario.rules.split_short) && !space.pieces.is_empty() {
            space.add_totals(scenario, class, longest);
        }
        space
    }

    fn add_singles(&mut self, scenario: &Scenario, class: &Class) {
        for (index, piece) in self.pieces.iter().enumerate() {
            let tally = Tally::NOTHING.with(piece);
            let Some(settled) = settle(scenario, class.length, &self.sizes, tally) else {
                continue;
            };
            if !fits_alone(scenario, class, piece, &settled) {
                continue;
            }
            let ends = if self.cornered {
                let runs = Runs::Single(index);
                let options = end_repeats(&self.sizes, &self.pieces, &runs);
                options
                    .into_iter()
                    .map(|(repeats, _)| Some(self.patterns(scenario, &settled, repeats)))
                    .collect()
            } else {
                vec![None]
            };
            let mut seen = BTreeSet::new();
            for ends in ends {
                if seen.insert(ends.map(|ends| ends.phases)) {
                    self.singles.push(Cover {
                        settled,
                        runs: Runs::Single(index),
                        ends,
                    });
                }
            }
        }
    }

    fn patterns(
        &self,
        scenario: &Scenario,
        settled: &Settled,
        repeats: [Length; 2],
    ) -> EndPatterns {
        EndPatterns {
            repeats,
            phases: phases(scenario, settled, repeats),
        }
    }

    fn add_totals(&mut self, scenario: &Scenario, class: &Class, longest: Length) {
        if !self.list_sums(longest) {
            self.complete = false;
            return;
        }
        for at in 0..self.sums.len() {
            for fit in [Fit::Exact, Fit::Scaled, Fit::Over] {
                let settled = Settled {
                    length: class.length,
                    sum: self.sums[at],
                    fit,
                };
                let total = self.total(scenario, class, settled, at);
                self.totals.extend(total);
            }
        }
    }

    /// Every sum of pieces up to the longest; false where there are too many.
    fn list_sums(&mut self, longest: Length) -> bool {
        let mut steps: Vec<Length> = self.pieces.iter().map(|piece| piece.sum).collect();
        steps.dedup();
        let mut waiting = BTreeSet::from([Length::ZERO]);
        while let Some(sum) = waiting.pop_first() {
            self.sums.push(sum);
            let further = steps.iter().map(|step| sum + *step);
            waiting.extend(further.filter(|sum| *sum <= longest));
            if self.sums.len() + waiting.len() > MOST_SUMS
                || (self.sums.len() + waiting.len()) * self.pieces.len() > MOST_STEPS
            {
                return false;
            }
        }
        let place: BTreeMap<Length, usize> = self
            .sums
            .iter()
            .enumerate()
            .map(|(place, sum)| (*sum, place))
            .collect();
        self.next = self
            .sums
            .iter()
            .map(|sum| {
                self.pieces
                    .iter()
                    .map(|piece| place.get(&(*sum + piece.sum)).copied())
                    .collect()
            })
            .collect();
        true
    }

    /// What covers with this sum and scale are made of; `None` where there are none.
    fn total(
        &self,
        scenario: &Scenario,
        class: &Class,
        settled: Settled,
        at: usize,
    ) -> Option<Total> {
        let (sum, length) = (settled.sum, settled.length);
        let difference = sum - length;
        let shortest = self.sizes.list.iter().map(|(_, size)| size.repeat).min()?;
        // The most nanometres that rounding can make of a covering's repeats.
        let rounding = sum.nanometres() / shortest.nanometres();
        let scales = |size: &Size| within(size.scale.least, size.scale.most, sum, length);
        let allowed = |size: &Size| match settled.fit {
            Fit::Exact => true,
            Fit::Scaled => scales(size),
            Fit::Over => difference < piece::step(size),
        };
        let possible = match settled.fit {
            Fit::Exact => difference.nanometres().abs() <= rounding,
            Fit::Scaled => difference != Length::ZERO,
            Fit::Over => {
                let most = scenario.rules.max_overhang;
                difference > Length::ZERO && most.is_none_or(|most| difference <= most)
            }
        };
        if !possible {
            return None;
        }
        let all = |piece: &Piece, holds: &dyn Fn(&Size) -> bool| {
            self.sizes.members(piece.sizes).all(holds)
        };
        let usable: Vec<usize> = (0..self.pieces.len())
            .filter(|index| {
                let piece = &self.pieces[*index];
                piece.sum < sum
                    && all(piece, &allowed)
                    && fits_alone(scenario, class, piece, &settled)
            })
            .collect();
        // Only what can be completed to the sum is worth a place.
        let mut reached = vec![false; at + 1];
        reached[0] = true;
        for from in 0..at {
            if reached[from] {
                for piece in &usable {
                    if let Some(to) = self.next[from][*piece].filter(|to| *to <= at) {
                        reached[to] = true;
                    }
                }
            }
        }
        if !reached[at] {
            return None;
        }
        let rest = |piece: &usize| {
            (0..at).any(|from| reached[from] && self.next[from][*piece] == Some(at))
        };
        let pieces: Vec<usize> = usable.into_iter().filter(|piece| rest(piece)).collect();
        let stubborn: Vec<bool> = pieces
            .iter()
            .map(|piece| !all(&self.pieces[*piece], &scales))
            .collect();
        let needs_stubborn = settled.fit == Fit::Over;
        if pieces.is_empty() || needs_stubborn && !stubborn.contains(&true) {
            return None;
        }
        Some(Total {
            settled,
            pieces,
            stubborn,
            needs_stubborn,
            at,
        })
    }

    /// Whether a cover by several runs is what its total says: rounding can make it something else.
    pub fn is_valid(&self, scenario: &Scenario, cover: &Cover) -> bool {
        let Runs::Several { outer, inner } = &cover.runs else {
            return true;
        };
        let pieces = outer.iter().chain(inner);
        let tally = pieces.fold(Tally::NOTHING, |tally, piece| {
            tally.with(&self.pieces[*piece])
        });
        settle(scenario, cover.settled.length, &self.sizes, tally) == Some(cover.settled)
    }

    /// The cheapest cover of a total; the least in order where several are.
    pub fn cheapest(
        &self,
        scenario: &Scenario,
        total: &Total,
        prices: &Prices<'_>,
    ) -> Option<Priced> {
        let mut best: Option<(i128, Found)> = None;
        let table = self.inner_costs(total, prices);
        self.each_pair(Some(scenario), total, prices, &table, &mut |cost, found| {
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, found));
            }
        });
        let (cost, found) = best?;
        let (mut rest, mut flag) = (found.rest, found.flag);
        let mut inner = Vec::new();
        while rest > 0 {
            let (place, before, flag_before) = table.came_from(flag, rest)?;
            inner.push(total.pieces[place]);
            (rest, flag) = (before, flag_before);
        }
        inner.sort_unstable();
        Some(Priced {
            cost,
            cover: found.cover(total, inner),
        })
    }

    /// Every cover of a total that costs at most so much and has at most so many runs, at most `limit` of them; `None` where
    /// there are more.
    pub fn up_to(
        &self,
        scenario: &Scenario,
        total: &Total,
        prices: &Prices<'_>,
        most: i128,
        most_runs: usize,
        limit: usize,
    ) -> Option<Vec<Priced>> {
        let table = self.inner_costs(total, prices);
        let nothing = vec![Some(0); total.pieces.len()];
        let counting = Prices {
            outer: &nothing,
            inner: &nothing,
            joint: 1,
            ends: &|_| 0,
        };
        let counts = self.inner_costs(total, &counting);
        let mut starts = Vec::new();
        self.each_pair(Some(scenario), total, prices, &table, &mut |cost, found| {
            if cost <= most {
                starts.push((cost, found));
            }
        });
        let mut listing = Listing {
            space: self,
            total,
            prices,
            table: &table,
            counts: &counts,
            most_runs,
            limit,
            inner: Vec::new(),
            found: Vec::new(),
        };
        for (cost, start) in starts {
            let least = table.least(start.rest)?;
            // What the outer runs and the ends cost: the table's flag may have made the rest dearer.
            let of_inner = table.cost[start.flag][start.rest].unwrap_or(least);
            if !listing.extend(&start, 0, start.rest, cost - of_inner, most) {
                return None;
            }
        }
        let mut found = listing.found;
        found.retain(|priced| self.is_valid(scenario, &priced.cover));
        Some(found)
    }

    /// For every sum the cheapest inner runs that add up to it; with a flag for whether one of them is stubborn.
    fn inner_costs(&self, total: &Total, prices: &Prices<'_>) -> InnerCosts {
        let mut table = InnerCosts {
            cost: [vec![None; total.at + 1], vec![None; total.at + 1]],
            from: [vec![(0, 0, 0); total.at + 1], vec![(0, 0, 0); total.at + 1]],
        };
        table.cost[0][0] = Some(0);
        for sum in 0..total.at {
            for flag in 0..2 {
                let Some(cost) = table.cost[flag][sum] else {
                    continue;
                };
                for (place, piece) in total.pieces.iter().enumerate() {
                    let Some(price) = prices.inner[place] else {
                        continue;
                    };
                    let Some(to) = self.next[sum][*piece].filter(|to| *to <= total.at) else {
                        continue;
                    };
                    let flagged = flag | usize::from(total.needs_stubborn && total.stubborn[place]);
                    let cost = cost + price + prices.joint;
                    if table.cost[flagged][to].is_none_or(|known| cost < known) {
                        table.cost[flagged][to] = Some(cost);
                        table.from[flagged][to] = (place, sum, flag);
                    }
                }
            }
        }
        table
    }

    /// Offers each choice of outer runs and, given the scenario, end patterns with the least cost of a cover that has them.
    fn each_pair(
        &self,
        scenario: Option<&Scenario>,
        total: &Total,
        prices: &Prices<'_>,
        table: &InnerCosts,
        see: &mut dyn FnMut(i128, Found),
    ) {
        for (first, first_piece) in total.pieces.iter().enumerate() {
            let Some(of_first) = prices.outer[first] else {
                continue;
            };
            let from = if self.cornered { 0 } else { first };
            for (second, second_piece) in total.pieces.iter().enumerate().skip(from) {
                let Some(of_second) = prices.outer[second] else {
                    continue;
                };
                let sum = total.settled.sum
                    - self.pieces[*first_piece].sum
                    - self.pieces[*second_piece].sum;
                let Ok(rest) = self.sums.binary_search(&sum) else {
                    continue;
                };
                let stubborn = total.stubborn[first] || total.stubborn[second];
                let inner = |flag: usize| {
                    let met = !total.needs_stubborn || stubborn || flag == 1;
                    table.cost[flag][rest]
                        .filter(|_| met)
                        .map(|cost| (cost, flag))
                };
                let Some((of_inner, flag)) = [inner(0), inner(1)].into_iter().flatten().min()
                else {
                    continue;
                };
                let cost = of_first + of_second + prices.joint + of_inner;
                let outer = [*first_piece, *second_piece];
                let Some(scenario) = scenario.filter(|_| self.cornered) else {
                    see(
                        cost,
                        Found {
                            outer,
                            rest,
                            flag,
                            ends: None,
                        },
                    );
                    continue;
                };
                for start in self.sizes.repeats(self.pieces[outer[0]].sizes) {
                    for end in self.sizes.repeats(self.pieces[outer[1]].sizes) {
                        let ends = self.patterns(scenario, &total.settled, [start, end]);
                        see(
                            cost + (prices.ends)(&ends),
                            Found {
                                outer,
                                rest,
                                flag,
                                ends: Some(ends),
                            },
                        );
                    }
                }
            }
        }
    }

    /// The cover with the fewest runs, the least overhang and the least stretch, in this order; `None` where there is none.
    pub fn simplest(&self, scenario: &Scenario) -> Option<Cover> {
        let several = self.totals.iter().filter_map(|total| {
            let nothing = vec![Some(0); total.pieces.len()];
            let prices = Prices {
                outer: &nothing,
                inner: &nothing,
                joint: 1,
                ends: &|_| 0,
            };
            let cover = self.cheapest(scenario, total, &prices)?.cover;
            self.is_valid(scenario, &cover).then_some(cover)
        });
        let all = self.singles.iter().cloned().chain(several);
        all.min_by_key(|cover| {
            (
                cover.count(),
                cover.settled.overhang(),
                cover.settled.stretch(),
            )
        })
    }

    /// What of the class is known before any search: a list of one cover.
    pub fn with_cover(&self, cover: Cover) -> ClassCovers<'s> {
        ClassCovers {
            sizes: self.sizes.clone(),
            pieces: self.pieces.clone(),
            covers: vec![cover],
            complete_to: None,
            every_piece: true,
            possible: None,
            least_overhang: self.overhangs().min().unwrap_or_default(),
        }
    }

    /// The fewest runs of a cover; `None` where there is none.
    pub fn fewest_runs(&self) -> Option<usize> {
        if !self.singles.is_empty() {
            return Some(1);
        }
        let fewest = |total: &Total| {
            let nothing = vec![Some(0); total.pieces.len()];
            let prices = Prices {
                outer: &nothing,
                inner: &nothing,
                joint: 1,
                ends: &|_| 0,
            };
            let table = self.inner_costs(total, &prices);
            let mut least: Option<i128> = None;
            self.each_pair(None, total, &prices, &table, &mut |cost, _| {
                least = Some(least.map_or(cost, |least| least.min(cost)));
            });
            least
        };
        let joints = self.totals.iter().filter_map(fewest).min()?;
        usize::try_from(joints + 1).ok()
    }

    /// The most runs that a cover can have.
    pub fn most_runs(&self) -> usize {
        let shortest = self.pieces.iter().map(|piece| piece.sum).min();
        let most = |total: &Total| {
            shortest.map_or(1, |shortest| {
                total.settled.sum.nanometres() / shortest.nanometres().max(1)
            })
        };
        let most = self.totals.iter().map(most).max().unwrap_or(1);
        usize::try_from(most).unwrap_or(usize::MAX).max(1)
    }

    /// Every overhang that a cover can have.
    pub fn overhangs(&self) -> impl Iterator<Item = Length> + '_ {
        let singles = self.singles.iter().map(|cover| cover.settled.overhang());
        singles.chain(self.totals.iter().map(|total| total.settled.overhang()))
    }

    /// Every pair of patterns that the ends of covers of a total can show.
    pub fn end_patterns(&self, scenario: &Scenario, total: &Total) -> Vec<EndPatterns> {
        let mut repeats: Vec<Length> = total
            .pieces
            .iter()
            .flat_map(|piece| self.sizes.repeats(self.pieces[*piece].sizes))
            .collect();
        repeats.sort_unstable();
        repeats.dedup();
        let pairs = repeats
            .iter()
            .flat_map(|start| repeats.iter().map(|end| [*start, *end]));
        pairs
            .map(|pair| self.patterns(scenario, &total.settled, pair))
            .collect()
    }
}

/// For each flag and sum what its cheapest inner runs cost, and the last of them.
struct InnerCosts {
    cost: [Vec<Option<i128>>; 2],
    /// Place of the piece, the sum before it, the flag before it.
    from: [Vec<(usize, usize, usize)>; 2],
}

impl InnerCosts {
    fn came_from(&self, flag: usize, sum: usize) -> Option<(usize, usize, usize)> {
        self.cost[flag][sum].map(|_| self.from[flag][sum])
    }

    fn least(&self, sum: usize) -> Option<i128> {
        [self.cost[0][sum], self.cost[1][sum]]
            .into_iter()
            .flatten()
            .min()
    }
}

/// Outer runs and end patterns, and what is left for the inner runs.
#[derive(Clone, Copy)]
struct Found {
    outer: [usize; 2],
    rest: usize,
    flag: usize,
    ends: Option<EndPatterns>,
}

impl Found {
    fn cover(&self, total: &Total, inner: Vec<usize>) -> Cover {
        Cover {
            settled: total.settled,
            runs: Runs::Several {
                outer: self.outer,
                inner,
            },
            ends: self.ends,
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
    most_runs: usize,
    limit: usize,
    inner: Vec<usize>,
    found: Vec<Priced>,
}

impl Listing<'_, '_> {
    /// Adds inner runs from `place` on until nothing is left of the sum; false where the limit is reached.
    fn extend(&mut self, start: &Found, place: usize, rest: usize, cost: i128, most: i128) -> bool {
        let fewest = self
            .counts
            .least(rest)
            .and_then(|fewest| usize::try_from(fewest).ok());
        if fewest.is_none_or(|fewest| self.inner.len() + fewest + 2 > self.most_runs) {
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
            let piece = self.total.pieces[at];
            let Some(price) = self.prices.inner[at] else {
                continue;
            };
            let left = self.space.sums[rest] - self.space.pieces[piece].sum;
            let Ok(left) = self.space.sums.binary_search(&left) else {
                continue;
            };
            let grown = cost + price + self.prices.joint;
            let within = |least: i128| grown + least <= most;
            if self.table.least(left).is_some_and(within) {
                self.inner.push(piece);
                let goes_on = self.extend(start, at, left, grown, most);
                self.inner.pop();
                if !goes_on {
                    return false;
                }
            }
        }
        true
    }
}
