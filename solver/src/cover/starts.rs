//! How covers of a sum can begin and end: their outer runs and end patterns, and what is left for the inner runs.

use crate::cover::cheapest::{InnerCosts, NEVER};
use crate::cover::{Cover, CoverSpace, EndPatterns, Prices, Runs, Total};

/// Outer runs and end patterns, and what is left for the inner runs.
#[derive(Clone, Copy)]
pub(super) struct Start {
    pub outer: Outer,
    pub ends: Option<EndPatterns>,
    /// The sum of the inner runs, and whether one of them has to be stubborn.
    pub rest: usize,
    pub flag: usize,
}

/// The outer runs.
#[derive(Clone, Copy)]
pub(super) enum Outer {
    /// Of a whole strip: at its start and at its end.
    Both([usize; 2]),
    /// Of what is left of one.
    One(usize),
}

impl Start {
    pub fn cover(&self, total: &Total, inner: Vec<usize>) -> Cover {
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
    pub fn count(&self) -> usize {
        match self.outer {
            Outer::Both(_) => 2,
            Outer::One(_) => 1,
        }
    }
}

impl CoverSpace<'_> {
    /// Offers each choice of outer runs and end patterns, with the least cost of a cover that has them where that is at most
    /// `most`, for as long as `see` wants more; whether it did to the end.
    pub(super) fn each_start(
        &self,
        total: &Total,
        prices: &Prices<'_>,
        table: &InnerCosts,
        most: i64,
        see: &mut dyn FnMut(i64, Start) -> bool,
    ) -> bool {
        let of_ends = prices.of_ends(total);
        let least = |costs: &[i64]| costs.iter().copied().min().unwrap_or(0);
        let least_end = of_ends.iter().map(|costs| least(costs)).min().unwrap_or(0);
        let least_outer = least(&prices.outer);
        let least_inner = (0..=total.at)
            .map(|sum| table.least(sum))
            .min()
            .unwrap_or(0);
        // What any cover with this outer run costs.
        let at_least = |outer: usize| {
            let others = least_outer.saturating_add(least_inner);
            let price = prices.outer[outer].saturating_add(prices.joint);
            price.saturating_add(others).saturating_add(least_end)
        };
        for (first, first_piece) in total.pieces.iter().enumerate() {
            let Some(after_first) = self.ladder.without(total.at, *first_piece) else {
                continue;
            };
            if self.stage.butts().is_some() {
                // A single run is no cover by several.
                let (of_inner, flag) = table.least_with(total, after_first, total.stubborn[first]);
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
                let Some(ends) = &total.ends else {
                    if cost <= most && !see(cost, start) {
                        return false;
                    }
                    continue;
                };
                // The end that butts up shows what the outer one does.
                for shown in &ends.repeats[first] {
                    let cost = cost.saturating_add(of_ends[*shown][*shown]);
                    start.ends = Some(ends.patterns[*shown][*shown]);
                    if cost <= most && !see(cost, start) {
                        return false;
                    }
                }
                continue;
            }
            if at_least(first) > most {
                continue;
            }
            // Without regard to the ends a cover is the same from either of them.
            let from = if total.ends.is_some() { 0 } else { first };
            for (second, second_piece) in total.pieces.iter().enumerate().skip(from) {
                let Some(rest) = self.ladder.without(after_first, *second_piece) else {
                    continue;
                };
                let met = total.stubborn[first] || total.stubborn[second];
                let (of_inner, flag) = table.least_with(total, rest, met);
                if of_inner == NEVER {
                    continue;
                }
                let outer = prices.outer[first].saturating_add(prices.outer[second]);
                let cost = of_inner.saturating_add(outer).saturating_add(prices.joint);
                if cost.saturating_add(least_end) > most {
                    continue;
                }
                let mut start = Start {
                    outer: Outer::Both([*first_piece, *second_piece]),
                    ends: None,
                    rest,
                    flag,
                };
                let Some(ends) = &total.ends else {
                    if cost <= most && !see(cost, start) {
                        return false;
                    }
                    continue;
                };
                for at_start in &ends.repeats[first] {
                    for at_end in &ends.repeats[second] {
                        let cost = cost.saturating_add(of_ends[*at_start][*at_end]);
                        start.ends = Some(ends.patterns[*at_start][*at_end]);
                        if cost <= most && !see(cost, start) {
                            return false;
                        }
                    }
                }
            }
        }
        true
    }
}

impl CoverSpace<'_> {
    /// The cheapest start of a cover of a whole strip, and what that cover costs; of several the first.
    ///
    /// Pieces of one sum differ in sizes only. Of each sum it is enough to know the cheapest piece with each repeat, so that pairs of sums are
    /// looked at and not pairs of pieces.
    pub(super) fn cheapest_start(
        &self,
        total: &Total,
        prices: &Prices<'_>,
        table: &InnerCosts,
    ) -> Option<(i64, Start)> {
        let of_ends = prices.of_ends(total);
        let sums = self.outer_sums(total, prices);
        // A cover is the same from either end where ends do not matter.
        let mirrored = total.ends.is_none();
        let mut best: Option<(i64, Start)> = None;
        for (at, first) in sums.iter().enumerate() {
            let Some(after_first) = self.ladder.without(total.at, first.piece) else {
                continue;
            };
            let begun = [0, 1].map(|flag| first.begun(flag, &of_ends));
            for second in sums.iter().skip(if mirrored { at } else { 0 }) {
                let Some(rest) = self.ladder.without(after_first, second.piece) else {
                    continue;
                };
                if table.least(rest) == NEVER {
                    continue;
                }
                for (flags, begun) in begun.iter().enumerate() {
                    for (flag, ended) in second.cheapest.iter().enumerate() {
                        let met = flags + flag > 0;
                        let (of_inner, inner_flag) = table.least_with(total, rest, met);
                        if of_inner == NEVER {
                            continue;
                        }
                        for (shown, (of_first, of_second)) in begun.iter().zip(ended).enumerate() {
                            let (Some(of_first), Some(of_second)) = (of_first, of_second) else {
                                continue;
                            };
                            let outer = of_first.cost.saturating_add(of_second.0);
                            let cost = of_inner.saturating_add(outer).saturating_add(prices.joint);
                            if best.as_ref().is_some_and(|(least, _)| *least <= cost) {
                                continue;
                            }
                            let pieces = [of_first.place, of_second.1];
                            let ends = total.ends.as_ref();
                            let start = Start {
                                outer: Outer::Both(pieces.map(|place| total.pieces[place])),
                                ends: ends.map(|ends| ends.patterns[of_first.shown][shown]),
                                rest,
                                flag: inner_flag,
                            };
                            best = Some((cost, start));
                        }
                    }
                }
            }
        }
        best
    }

    /// The sums of a total's pieces, and the cheapest outer runs of each.
    fn outer_sums(&self, total: &Total, prices: &Prices<'_>) -> Vec<OuterSum> {
        let repeats = total.ends.as_ref().map_or(1, |ends| ends.patterns.len());
        let mut sums: Vec<OuterSum> = Vec::new();
        for (place, piece) in total.pieces.iter().enumerate() {
            let sum = self.pieces[*piece].sum;
            let known = sums
                .last()
                .is_some_and(|last| self.pieces[last.piece].sum == sum);
            if !known {
                sums.push(OuterSum {
                    piece: *piece,
                    cheapest: [vec![None; repeats], vec![None; repeats]],
                });
            }
            let Some(of_sum) = sums.last_mut() else {
                continue;
            };
            let flag = usize::from(total.needs_stubborn && total.stubborn[place]);
            let new = (prices.outer[place], place);
            let mut note = |shown: usize| {
                let old = &mut of_sum.cheapest[flag][shown];
                *old = Some(old.map_or(new, |old| old.min(new)));
            };
            match &total.ends {
                Some(ends) => ends.repeats[place].iter().copied().for_each(note),
                None => note(0),
            }
        }
        sums
    }
}

/// A sum that an outer run can have.
struct OuterSum {
    /// A piece that has it.
    piece: usize,
    /// For stubborn pieces and the others, by the repeat that the end shows: the least price, and the place of its piece.
    cheapest: [Vec<Option<(i64, usize)>>; 2],
}

/// The cheapest outer run at a start, once it is known what the end shows.
#[derive(Clone, Copy)]
struct BegunWith {
    /// What it and the pair of patterns cost.
    cost: i64,
    /// The place of its piece.
    place: usize,
    /// The repeat that the start shows.
    shown: usize,
}

impl OuterSum {
    /// For each repeat that the end can show the cheapest run at the start.
    fn begun(&self, flag: usize, of_ends: &[Vec<i64>]) -> Vec<Option<BegunWith>> {
        let begun = |at_end: usize| {
            let starts = self.cheapest[flag].iter().enumerate();
            let starts = starts.filter_map(|(shown, cheapest)| {
                let (price, place) = (*cheapest)?;
                Some(BegunWith {
                    cost: price.saturating_add(of_ends[shown][at_end]),
                    place,
                    shown,
                })
            });
            starts.min_by_key(|begun| (begun.cost, begun.place, begun.shown))
        };
        (0..of_ends.len()).map(begun).collect()
    }
}
