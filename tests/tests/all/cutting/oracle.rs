//! Tiny orders, against trying everything.

use sashwright_solver::cutting::{CannotCut, Extent, Lay, Order, Piece, Stock, cut};
use sashwright_solver::length::Length;
use sashwright_tests::random::SplitMix64;

use super::orders::{deadline, length, piece, verify};

/// The least cost by trying every way to part the single pieces into levels and the levels into stocks: the sets of pieces are
/// the bits of a number.
fn by_trying(order: &Order) -> Option<i128> {
    let single: Vec<Piece> = order
        .pieces
        .iter()
        .flat_map(|piece| (0..piece.count).map(|_| *piece))
        .collect();
    let sets = 1_usize << single.len();
    let none = i128::MAX;
    // The shortest level of each stock that holds a set, tried at each length; `none` where there is none.
    let shortest = |width: i64| -> Vec<i128> {
        let mut lengths: Vec<i64> = single
            .iter()
            .flat_map(|piece| piece.sides.map(Length::nanometres))
            .collect();
        lengths.sort_unstable();
        let of = |set: usize| {
            let fits = |longest: &&i64| {
                let widths = (0..single.len()).filter(|at| set >> at & 1 == 1).map(|at| {
                    let [first, second] = single[at].sides.map(Length::nanometres);
                    let mut ways = Vec::new();
                    if single[at].lay != Lay::Crosswise && first <= **longest {
                        ways.push(second);
                    }
                    if single[at].lay != Lay::Lengthwise && second <= **longest {
                        ways.push(first);
                    }
                    ways.into_iter().min()
                });
                let widths: Option<Vec<i64>> = widths.collect();
                widths.is_some_and(|widths| widths.iter().sum::<i64>() <= width)
            };
            lengths
                .iter()
                .find(fits)
                .map_or(none, |longest| i128::from(*longest))
        };
        (0..sets).map(of).collect()
    };
    // The least total length of levels of one stock that hold a set.
    let total = |width: i64| -> Vec<i128> {
        let shortest = shortest(width);
        let mut total = vec![none; sets];
        total[0] = 0;
        for set in 1..sets {
            let mut part = set;
            while part > 0 {
                let (own, rest) = (shortest[part], total[set ^ part]);
                if own < none && rest < none {
                    total[set] = total[set].min(own + rest);
                }
                part = (part - 1) & set;
            }
        }
        total
    };
    let mut best = vec![none; sets];
    best[0] = 0;
    // One more thing to cut from: what a set costs there, or `none`.
    let join = |best: &mut Vec<i128>, costs: &[i128]| {
        let before = best.clone();
        for set in 1..sets {
            let mut part = set;
            while part > 0 {
                let (own, rest) = (costs[part], before[set ^ part]);
                if own < none && rest < none {
                    best[set] = best[set].min(own + rest);
                }
                part = (part - 1) & set;
            }
        }
    };
    for stock in &order.stocks {
        let total = total(stock.width.nanometres());
        match stock.extent {
            Extent::Bolt { each_nanometre } => {
                let costs = total.iter().map(|total| match *total {
                    total if total == none => none,
                    total => total * each_nanometre,
                });
                join(&mut best, &costs.collect::<Vec<i128>>());
            }
            Extent::Sheet { length, each } => {
                let whole = i128::from(length.nanometres());
                let costs = total
                    .iter()
                    .map(|total| if *total <= whole { each } else { none });
                let costs: Vec<i128> = costs.collect();
                for _ in 0..single.len() {
                    join(&mut best, &costs);
                }
            }
            Extent::OnHand { length, count } => {
                let whole = i128::from(length.nanometres());
                let costs = total
                    .iter()
                    .map(|total| if *total <= whole { 0 } else { none });
                let costs: Vec<i128> = costs.collect();
                for _ in 0..count {
                    join(&mut best, &costs);
                }
            }
        }
    }
    Some(best[sets - 1]).filter(|cost| *cost < none)
}

fn drawn(seed: u64) -> Order {
    let mut random = SplitMix64::new(seed);
    let mut draw = |least: i64, most: i64| random.between(least, most);
    let mut left = draw(1, 8);
    let mut pieces = Vec::new();
    while left > 0 {
        let count = draw(1, left.min(3));
        left -= count;
        let lay = [Lay::Either, Lay::Either, Lay::Lengthwise, Lay::Crosswise][draw(0, 3) as usize];
        pieces.push(piece(draw(1, 9), draw(1, 9), count as u32, lay));
    }
    let mut stocks = Vec::new();
    for _ in 0..draw(1, 3) {
        let extent = match draw(0, 3) {
            0 => Extent::Sheet {
                length: length(draw(5, 14)),
                each: i128::from(draw(3, 20)),
            },
            1 => Extent::OnHand {
                length: length(draw(3, 12)),
                count: draw(1, 2) as u32,
            },
            _ => Extent::Bolt {
                each_nanometre: i128::from(draw(1, 3)),
            },
        };
        stocks.push(Stock {
            width: length(draw(6, 16)),
            extent,
        });
    }
    Order { pieces, stocks }
}

#[test]
fn cuttings_agree_with_trying_everything() {
    let (mut proven, mut none) = (0, 0);
    for seed in 0..1500 {
        let order = drawn(seed);
        let truth = by_trying(&order);
        match cut(&order, &deadline(10)) {
            Ok(cutting) => {
                verify(&order, &cutting);
                let truth = truth.unwrap_or_else(|| panic!("seed {seed}: cut what cannot be cut"));
                assert!(
                    cutting.bound <= truth,
                    "seed {seed}: a bound of {} above {truth}: {order:?}",
                    cutting.bound
                );
                assert!(cutting.cost >= truth, "seed {seed}");
                if cutting.proven() {
                    proven += 1;
                } else {
                    println!(
                        "seed {seed}: {} to {}, {truth} is the least {:?}",
                        cutting.bound,
                        cutting.cost,
                        order.stocks.iter().map(|s| s.extent).collect::<Vec<_>>()
                    );
                }
            }
            Err(CannotCut::TooLarge(_)) => {
                assert_eq!(truth, None, "seed {seed}");
                none += 1;
            }
            Err(CannotCut::NotEnough) => {
                if truth.is_some() {
                    println!("seed {seed}: nothing found, {truth:?} is the least");
                } else {
                    none += 1;
                }
            }
        }
    }
    println!("{proven} proven, {none} that cannot be cut");
    assert_eq!(proven + none, 1500);
}
