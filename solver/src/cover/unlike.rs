//! The covers of a sum that a program tells apart, one of each.
//!
//! A program does not see which lengths the runs of a cover have: it sees of which kinds the outer runs are, what the ends show, and how many
//! inner runs there are of each kind. Where a design stops early at small repeats thousands of covers are one column. So inner runs are chosen kind
//! by kind, each choice with every sum that such runs can add up to; it goes with outer runs if one of these sums is what they leave.

use std::collections::BTreeMap;

use crate::cover::cheapest::{NEVER, Priced};
use crate::cover::places::Places;
use crate::cover::starts::{Outer, Start};
use crate::cover::{CoverSpace, EndPatterns, Phase, Prices, Total};

/// The most choices of inner runs: each keeps its sums, some hundred bytes.
const MOST_CHOICES: usize = 20_000;

/// What a program tells apart of the runs of a total's covers: alike runs have the same mark, and the same price.
pub struct Marks<'m> {
    /// For each piece of the total its mark as an outer run.
    pub outer: &'m [usize],
    /// For each piece of the total its mark as an inner run.
    pub inner: &'m [usize],
    /// The patterns that stand for those at the ends.
    pub ends: &'m dyn Fn(&EndPatterns) -> [Phase; 2],
}

/// The covers that are asked for.
pub struct Wanted<'w> {
    pub total: &'w Total,
    pub prices: &'w Prices<'w>,
    pub marks: Marks<'w>,
    /// What they may cost, and how many runs they may have.
    pub most: i64,
    pub most_runs: usize,
    /// The most that are listed.
    pub limit: usize,
}

/// Outer runs with the same marks and end patterns.
struct Outers {
    /// What they and the ends cost, with the joints between them.
    cost: i64,
    /// What they leave to the inner runs, and the first ones that leave it: for those of which none is stubborn, and for others.
    starts: [BTreeMap<usize, Start>; 2],
}

/// Inner runs of which so many have each mark.
struct Choice {
    /// The choice with one run less (its number), and the mark of that run (its number).
    before: Option<(usize, usize)>,
    count: usize,
    cost: i64,
    /// The sums that such runs have: without a stubborn run among them, and with one.
    sums: [Places; 2],
}

/// Inner runs with the same mark: what one costs with its joint, and of each sum a piece and whether it is stubborn (1).
struct InnerMark {
    cost: i64,
    pieces: Vec<(usize, usize)>,
}

/// By step and whether they are stubborn: the price and the piece of an inner run.
type OfMark = BTreeMap<(usize, usize), (i64, usize)>;

impl CoverSpace<'_> {
    /// One of all covers of a total that a program does not tell apart; `None` where they are more than the limit, or too many to list
    /// in so many `steps`. Takes those that it took away from `steps`.
    pub fn unlike(&self, wanted: &Wanted<'_>, steps: &mut usize) -> Option<Vec<Priced>> {
        let outers = self.outers(wanted, steps)?;
        let inner = self.inner_marks(wanted);
        let ahead = self.ahead(wanted, &outers, &inner);
        let choices = self.choices(wanted, &inner, &ahead, steps)?;
        let outer_runs = if self.stage.butts().is_some() { 1 } else { 2 };
        let mut found = Vec::new();
        for of in &outers {
            for (number, choice) in choices.iter().enumerate() {
                *steps = steps.checked_sub(1)?;
                let cost = of.cost.saturating_add(choice.cost);
                if cost > wanted.most || outer_runs + choice.count > wanted.most_runs {
                    continue;
                }
                let Some((start, flag)) = start_with(wanted.total, of, choice, steps) else {
                    continue;
                };
                if found.len() == wanted.limit {
                    return None;
                }
                let runs = self.runs_of(&choices, &inner, number, (start.rest, flag));
                found.push(Priced {
                    cost,
                    cover: start.cover(wanted.total, runs),
                });
            }
        }
        Some(found)
    }

    /// Every choice of outer runs and end patterns that can be told apart.
    fn outers(&self, wanted: &Wanted<'_>, steps: &mut usize) -> Option<Vec<Outers>> {
        let total = wanted.total;
        let of_ends = wanted.prices.of_ends(total);
        let runs = self.outer_runs(wanted);
        let mut outers: BTreeMap<([usize; 2], Option<[Phase; 2]>), Outers> = BTreeMap::new();
        let mut add = |of: [&OuterRun; 2], start: Start, cost: i64| {
            let mut marks = of.map(|run| run.mark);
            marks.sort_unstable();
            let shown = start.ends.map(|ends| (wanted.marks.ends)(&ends));
            let outers = outers.entry((marks, shown)).or_insert_with(|| Outers {
                cost,
                starts: Default::default(),
            });
            let met = usize::from(of.iter().any(|run| run.stubborn));
            outers.starts[met].entry(start.rest).or_insert(start);
        };
        let ends = |start: usize, end: usize| {
            let ends = total.ends.as_ref()?;
            Some(ends.patterns[start][end])
        };
        for (number, first) in runs.iter().enumerate() {
            *steps = steps.checked_sub(1)?;
            let Some(after_first) = self.ladder.without(total.at, first.piece) else {
                continue;
            };
            if self.stage.butts().is_some() {
                // A single run is no cover by several, and the end that butts up shows what the outer one does.
                if after_first > 0 {
                    let cost = first
                        .price
                        .saturating_add(of_ends[first.shown][first.shown]);
                    let start = Start {
                        outer: Outer::One(first.piece),
                        ends: ends(first.shown, first.shown),
                        rest: after_first,
                        flag: 0,
                    };
                    add([first; 2], start, cost);
                }
                continue;
            }
            // Without regard to the ends a cover is the same from either of them.
            let from = if total.ends.is_some() { 0 } else { number };
            *steps = steps.checked_sub(runs.len() - from)?;
            for second in &runs[from..] {
                let Some(rest) = self.ladder.without(after_first, second.piece) else {
                    continue;
                };
                let outer = first.price.saturating_add(second.price);
                let cost = outer
                    .saturating_add(of_ends[first.shown][second.shown])
                    .saturating_add(wanted.prices.joint);
                let start = Start {
                    outer: Outer::Both([first.piece, second.piece]),
                    ends: ends(first.shown, second.shown),
                    rest,
                    flag: 0,
                };
                add([first, second], start, cost);
            }
        }
        Some(outers.into_values().collect())
    }

    /// The outer runs of which a cover can be told apart by its sum, its mark or its ends.
    fn outer_runs(&self, wanted: &Wanted<'_>) -> Vec<OuterRun> {
        let total = wanted.total;
        let mut runs = BTreeMap::new();
        for (place, piece) in total.pieces.iter().enumerate() {
            let stubborn = total.needs_stubborn && total.stubborn[place];
            let shown = match &total.ends {
                Some(ends) => ends.repeats[place].as_slice(),
                None => &[0],
            };
            for shown in shown {
                let run = OuterRun {
                    piece: *piece,
                    mark: wanted.marks.outer[place],
                    price: wanted.prices.outer[place],
                    shown: *shown,
                    stubborn,
                };
                let like = (self.ladder.step(*piece), run.mark, run.shown, stubborn);
                runs.entry(like).or_insert(run);
            }
        }
        runs.into_values().collect()
    }

    /// The inner runs by their marks.
    fn inner_marks(&self, wanted: &Wanted<'_>) -> Vec<InnerMark> {
        let total = wanted.total;
        let mut marks: BTreeMap<usize, OfMark> = BTreeMap::new();
        for (place, piece) in total.pieces.iter().enumerate() {
            let flag = usize::from(total.needs_stubborn && total.stubborn[place]);
            let of_mark = marks.entry(wanted.marks.inner[place]).or_default();
            let like = (self.ladder.step(*piece), flag);
            of_mark
                .entry(like)
                .or_insert((wanted.prices.inner[place], *piece));
        }
        let of_mark = |runs: OfMark| InnerMark {
            cost: runs
                .values()
                .map(|(price, _)| price.saturating_add(wanted.prices.joint))
                .min()
                .unwrap_or(0),
            pieces: runs
                .into_iter()
                .map(|((_, flag), (_, piece))| (piece, flag))
                .collect(),
        };
        marks.into_values().map(of_mark).collect()
    }

    /// For each sum of inner runs what is still to pay at least: further inner runs and the outer ones.
    fn ahead(&self, wanted: &Wanted<'_>, outers: &[Outers], inner: &[InnerMark]) -> Vec<i64> {
        let mut ahead = vec![NEVER; wanted.total.at + 1];
        for of in outers {
            for rest in of.starts.iter().flat_map(BTreeMap::keys) {
                ahead[*rest] = ahead[*rest].min(of.cost);
            }
        }
        for sum in (0..ahead.len()).rev() {
            for mark in inner {
                for (piece, _) in &mark.pieces {
                    let to = self.ladder.with(sum, *piece);
                    let Some(to) = to.filter(|to| *to < ahead.len() && ahead[*to] != NEVER) else {
                        continue;
                    };
                    ahead[sum] = ahead[sum].min(ahead[to].saturating_add(mark.cost));
                }
            }
        }
        ahead
    }

    /// Every choice of inner runs that some cover can have, fewer runs first.
    fn choices(
        &self,
        wanted: &Wanted<'_>,
        inner: &[InnerMark],
        ahead: &[i64],
        steps: &mut usize,
    ) -> Option<Vec<Choice>> {
        let nothing = || Places::of(ahead.len());
        let mut none = nothing();
        none.insert(0);
        let mut choices = vec![Choice {
            before: None,
            count: 0,
            cost: 0,
            sums: [none, nothing()],
        }];
        let mut at = 0;
        while at < choices.len() {
            let choice = &choices[at];
            let (count, cost) = (choice.count + 1, choice.cost);
            let last = choice.before.map_or(0, |(_, mark)| mark);
            let mut longer = Vec::new();
            for (mark, of) in inner.iter().enumerate().skip(last) {
                let cost = cost.saturating_add(of.cost);
                let mut sums = [nothing(), nothing()];
                let mut any = false;
                for (flag, from) in choice.sums.iter().enumerate() {
                    for sum in from.iter() {
                        *steps = steps.checked_sub(of.pieces.len())?;
                        for (piece, stubborn) in &of.pieces {
                            let Some(to) = self.ladder.with(sum, *piece) else {
                                continue;
                            };
                            let left = ahead.get(to).copied().unwrap_or(NEVER);
                            if left != NEVER && cost.saturating_add(left) <= wanted.most {
                                sums[flag | stubborn].insert(to);
                                any = true;
                            }
                        }
                    }
                }
                if any && count < wanted.most_runs {
                    longer.push(Choice {
                        before: Some((at, mark)),
                        count,
                        cost,
                        sums,
                    });
                }
            }
            choices.extend(longer);
            if choices.len() > MOST_CHOICES {
                return None;
            }
            at += 1;
        }
        Some(choices)
    }

    /// Inner runs of a choice that have a sum, with or without a stubborn one among them.
    fn runs_of(
        &self,
        choices: &[Choice],
        inner: &[InnerMark],
        number: usize,
        (sum, flag): (usize, usize),
    ) -> Vec<usize> {
        let mut runs = Vec::new();
        let (mut number, mut sum, mut flag) = (number, sum, flag);
        while let Some((before, mark)) = choices[number].before {
            let last = inner[mark].pieces.iter().find_map(|(piece, stubborn)| {
                let from = self.ladder.without(sum, *piece)?;
                let holds = |flagged: &usize| {
                    flagged | stubborn == flag && choices[before].sums[*flagged].contains(from)
                };
                let flagged = [0, 1].into_iter().find(holds)?;
                Some((*piece, from, flagged))
            });
            let Some((piece, from, flagged)) = last else {
                break;
            };
            runs.push(piece);
            (number, sum, flag) = (before, from, flagged);
        }
        runs.sort_unstable();
        runs
    }
}

/// Outer runs that leave what inner runs of a choice can have, and whether one of these is stubborn then.
fn start_with<'o>(
    total: &Total,
    outers: &'o Outers,
    choice: &Choice,
    steps: &mut usize,
) -> Option<(&'o Start, usize)> {
    for (met, starts) in outers.starts.iter().enumerate() {
        *steps = steps.saturating_sub(starts.len());
        // Where one has to be stubborn, and none of the outer ones is.
        let least = usize::from(total.needs_stubborn && met == 0);
        for (rest, start) in starts {
            let has = |flag: &usize| choice.sums[*flag].contains(*rest);
            if let Some(flag) = (least..2).find(has) {
                return Some((start, flag));
            }
        }
    }
    None
}

/// An outer run.
struct OuterRun {
    piece: usize,
    mark: usize,
    price: i64,
    /// The repeat at the end (its number).
    shown: usize,
    stubborn: bool,
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::classes::{self, Class};
    use crate::cover::{Cover, PieceStore};
    use crate::deadline::Deadline;
    use crate::random::SplitMix64;
    use crate::scenario::{Scenario, read};
    use crate::strips::{self, End, Stage};
    use crate::wishes::Wishes;

    /// What a program sees of a cover: the marks of its outer and of its inner runs, and its end patterns.
    type Seen = (Vec<usize>, Vec<usize>, Option<[Phase; 2]>);

    const REPEATS: [&str; 5] = ["3/4", "1", "1 1/2", "2", "2 1/4"];

    /// A strip with corners of two to four sizes that stop early, some of them with a scale; or what is left of one.
    fn drawn(draw: &mut SplitMix64) -> (Scenario, Class) {
        let sizes: Vec<String> = (0..2 + draw.below(3))
            .map(|number| {
                let scale = ["", r#", "scale": [0.95, 1.05]"#][draw.below(2) as usize];
                let repeat = REPEATS[draw.below(5) as usize];
                format!(
                    r#"{{"id": "s{number}", "width": 1, "repeat": "{repeat}", "repeats": {}, "stop_early": true{scale}}}"#,
                    1 + draw.below(4)
                )
            })
            .collect();
        let text = format!(
            r#"{{"format": 1, "unit": "in",
            "quilt": {{"centre": [{}, 9], "borders": [{{"width": 1, "corner": "mitred", "design": "d"}}]}},
            "hoops": [{{"id": "h", "field": [8, 4]}}],
            "designs": [{{"id": "d", "sizes": [{}]}}]}}"#,
            8 + draw.below(8),
            sizes.join(", ")
        );
        let scenario = read(text.as_bytes()).expect("no fault");
        let top = strips::of(&scenario);
        let cornered = draw.below(3) > 0;
        let classes = classes::of(&top, &Wishes::of(&scenario, &top), cornered);
        let mut class = classes[draw.below(classes.len() as u64) as usize].clone();
        if draw.below(4) == 0 {
            class.stage = Stage::Rest {
                butts: [End::Start, End::End][draw.below(2) as usize],
                of: 0,
                unscaled: false,
            };
        }
        (scenario, class)
    }

    #[test]
    fn one_cover_of_each_kind_is_listed() {
        let (mut all, mut unlike) = (0, 0);
        for seed in 0..40 {
            let mut draw = SplitMix64::new(seed);
            let (scenario, class) = drawn(&mut draw);
            let store = PieceStore::of(&scenario);
            let space = CoverSpace::of(&store, &class, &Deadline::never());
            assert!(space.complete, "seed {seed}");
            let merged = draw.below(2) == 0;
            let one = space.end_phases().first().copied();
            let shown = |ends: &EndPatterns| one.filter(|_| merged).unwrap_or(ends.phases);
            for total in &space.totals {
                let pieces = total.pieces.len();
                let mut marks =
                    || -> Vec<usize> { (0..pieces).map(|_| draw.below(4) as usize).collect() };
                let (outer, inner) = (marks(), marks());
                let mut price = || draw.below(20) as i64;
                let (of_outer, of_inner) = ([(); 4].map(|()| price()), [(); 4].map(|()| price()));
                let (joint, most) = (price(), 20 + 3 * price());
                let ends = |ends: &EndPatterns| i64::from(shown(ends)[0] < shown(ends)[1]);
                let prices = Prices {
                    outer: outer.iter().map(|mark| of_outer[*mark]).collect(),
                    inner: inner.iter().map(|mark| of_inner[*mark]).collect(),
                    joint,
                    ends: &ends,
                };
                let most_runs = 2 + draw.below(6) as usize;
                let seen = |priced: &Priced| -> Seen {
                    let mark = |marks: &[usize], piece: &usize| {
                        let place = total.pieces.iter().position(|of| of == piece);
                        marks[place.expect("a piece of the total")]
                    };
                    let (outers, inners) = match &priced.cover.runs {
                        crate::cover::Runs::Several { outer, inner } => (outer.to_vec(), inner),
                        crate::cover::Runs::Rest { outer, inner } => (vec![*outer], inner),
                        other => panic!("seed {seed}: {other:?}"),
                    };
                    let mut outers: Vec<usize> =
                        outers.iter().map(|piece| mark(&outer, piece)).collect();
                    let mut inners: Vec<usize> =
                        inners.iter().map(|piece| mark(&inner, piece)).collect();
                    outers.sort_unstable();
                    inners.sort_unstable();
                    (outers, inners, priced.cover.ends.as_ref().map(shown))
                };
                let valid = |cover: &Cover| space.is_valid(&scenario, cover);
                let never = usize::MAX / 2;
                let (listed, whole) =
                    space.up_to(total, &prices, most, most_runs, never, &mut never.clone());
                assert!(whole);
                let listed: Vec<Priced> =
                    listed.into_iter().filter(|of| valid(&of.cover)).collect();
                let expected: BTreeSet<(Seen, i64)> =
                    listed.iter().map(|of| (seen(of), of.cost)).collect();
                let wanted = Wanted {
                    total,
                    prices: &prices,
                    marks: Marks {
                        outer: &outer,
                        inner: &inner,
                        ends: &shown,
                    },
                    most,
                    most_runs,
                    limit: never,
                };
                let found = space.unlike(&wanted, &mut never.clone()).expect("a list");
                assert!(found.iter().all(|of| valid(&of.cover)), "seed {seed}");
                let kinds: BTreeSet<(Seen, i64)> =
                    found.iter().map(|of| (seen(of), of.cost)).collect();
                assert_eq!(kinds, expected, "seed {seed}");
                assert_eq!(found.len(), kinds.len(), "seed {seed}: one twice");
                if let Some(limit) = found.len().checked_sub(1) {
                    let wanted = Wanted { limit, ..wanted };
                    assert!(space.unlike(&wanted, &mut never.clone()).is_none());
                }
                (all, unlike) = (all + listed.len(), unlike + found.len());
            }
        }
        assert!(unlike > 1_000 && all > 3 * unlike, "{all} and {unlike}");
    }
}
