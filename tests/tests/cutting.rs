//! Cutting in levels against trying everything, hand-worked cases, textbook examples, and published instances.

use std::time::{Duration, Instant};

use sashwright_solver::cutting::{CannotCut, Cutting, Extent, Lay, Order, Piece, Stock, cut};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::length::Length;
use sashwright_tests::bin_packing::{Instance, instance, textbook};
use sashwright_tests::random::SplitMix64;
use serde_json::Value;

fn deadline(seconds: u64) -> Deadline {
    Deadline::after(Duration::from_secs(seconds), StopSignal::new())
}

fn length(number: i64) -> Length {
    Length::from_nanometres(number)
}

fn bolt(width: i64) -> Stock {
    Stock {
        width: length(width),
        extent: Extent::Bolt { each_nanometre: 1 },
    }
}

fn piece(first: i64, second: i64, count: u32, lay: Lay) -> Piece {
    Piece {
        sides: [length(first), length(second)],
        count,
        lay,
    }
}

/// Everything that makes a cutting valid, from the order alone.
fn verify(order: &Order, cutting: &Cutting) {
    let mut cut = vec![0_u64; order.pieces.len()];
    let mut copies = vec![0_u32; order.stocks.len()];
    let mut cost: i128 = 0;
    for used in &cutting.used {
        let stock = order.stocks[used.stock];
        copies[used.stock] += used.copies;
        let mut total = Length::ZERO;
        for (level, times) in &used.levels {
            let mut width = Length::ZERO;
            let mut longest = Length::ZERO;
            for (kind, lengthwise, count) in &level.pieces {
                let piece = order.pieces[*kind];
                assert!(*count > 0);
                let forbidden = if *lengthwise {
                    Lay::Crosswise
                } else {
                    Lay::Lengthwise
                };
                assert_ne!(piece.lay, forbidden);
                let [first, second] = piece.sides;
                let (along, across) = if *lengthwise {
                    (first, second)
                } else {
                    (second, first)
                };
                width += across * i64::from(*count);
                longest = longest.max(along);
                cut[*kind] += u64::from(*count) * u64::from(*times) * u64::from(used.copies);
            }
            assert!(width <= stock.width, "{width:?} in {:?}", stock.width);
            assert_eq!(longest, level.length);
            total += level.length * i64::from(*times);
        }
        match stock.extent {
            Extent::Bolt { each_nanometre } => {
                cost += i128::from(total.nanometres()) * each_nanometre * i128::from(used.copies);
            }
            Extent::Sheet { length, each } => {
                assert!(total <= length);
                cost += each * i128::from(used.copies);
            }
            Extent::OnHand { length, .. } => assert!(total <= length),
        }
    }
    for (stock, copies) in order.stocks.iter().zip(copies) {
        if let Extent::OnHand { count, .. } = stock.extent {
            assert!(copies <= count);
        }
    }
    for (piece, cut) in order.pieces.iter().zip(cut) {
        assert_eq!(u64::from(piece.count), cut);
    }
    assert_eq!(cost, cutting.cost);
    assert!(cutting.bound <= cutting.cost);
}

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

/// On a roll 20 in wide a piece of 10 1/2 × 15 in leaves 9 1/2 of the 20 in, 47.5 %, with its short side across, and 5, a
/// quarter, with its long side across.
#[test]
fn a_piece_is_laid_the_way_that_wastes_less() {
    let inches = |number: i64| number * 25_400_000 / 2;
    for (lay, used) in [
        (Lay::Lengthwise, 21),
        (Lay::Crosswise, 30),
        (Lay::Either, 21),
    ] {
        let order = Order {
            pieces: vec![piece(inches(21), inches(30), 1, lay)],
            stocks: vec![bolt(inches(40))],
        };
        let cutting = cut(&order, &deadline(10)).expect("it fits");
        verify(&order, &cutting);
        assert!(cutting.proven());
        assert_eq!(cutting.cost, i128::from(inches(used)));
    }
}

/// Levels of one length are the classical cutting stock problem: each needs a cut to a width.
#[test]
fn textbook_examples_come_out_at_their_optimum() {
    let mut all = textbook();
    // The family of Johnson (1973) on which first fit decreasing needs 11/9 of the optimum.
    let worst = [(510, 6), (270, 6), (260, 6), (230, 12)];
    all.push(instance("first fit's worst", 1000, &worst, 9));
    for Instance {
        name,
        capacity,
        items,
        optimum,
    } in all
    {
        let number = |value: u64| i64::try_from(value).expect("a small number");
        let cuts = |(size, count): &(u64, u64)| {
            piece(
                1,
                number(*size),
                u32::try_from(*count).expect("few"),
                Lay::Lengthwise,
            )
        };
        let order = Order {
            pieces: items.iter().map(cuts).collect(),
            stocks: vec![bolt(number(capacity))],
        };
        let cutting = cut(&order, &deadline(60)).expect("everything fits");
        verify(&order, &cutting);
        let optimum = i128::from(optimum);
        assert_eq!((cutting.cost, cutting.bound), (optimum, optimum), "{name}");
    }
}

/// Four hundred kinds, pieces on hand of many sizes, sheets and bolts: far more than there is time for.
#[test]
fn a_large_order_is_cut_by_the_deadline() {
    let mut random = SplitMix64::new(1);
    let mut draw = |least: i64, most: i64| random.between(least, most);
    let pieces =
        (0..400).map(|_| piece(draw(20, 900), draw(8, 300), draw(1, 90) as u32, Lay::Either));
    let pieces: Vec<Piece> = pieces.collect();
    let mut stocks = vec![bolt(42 * 8)];
    for _ in 0..5 {
        let (length, width) = (length(draw(80, 800)), length(draw(80, 400)));
        let extents = [
            Extent::OnHand { length, count: 20 },
            Extent::Sheet {
                length,
                each: i128::from(draw(50, 800)),
            },
        ];
        stocks.extend(extents.map(|extent| Stock { width, extent }));
    }
    let order = Order { pieces, stocks };
    let began = Instant::now();
    let cutting = cut(&order, &deadline(1)).expect("everything fits");
    let took = began.elapsed();
    verify(&order, &cutting);
    println!("{} to {} in {took:?}", cutting.bound, cutting.cost);
    // An unoptimised build on a busy machine comes on top.
    assert!(took < Duration::from_secs(5), "{took:?}");
}

/// Fabric for whole quilts: borders, sashes and squares, in eighths of an inch, from a bolt 42 in wide and what is on hand.
#[test]
fn orders_of_whole_quilts_are_cut_by_the_deadline() {
    let mut proven = 0;
    for seed in 0..30 {
        let mut random = SplitMix64::new(seed);
        let mut draw = |least: i64, most: i64| random.between(least, most);
        let mut pieces = Vec::new();
        let width = draw(12, 40);
        for _ in 0..draw(1, 3) {
            let (count, lay) = (draw(2, 4) as u32, Lay::Either);
            pieces.push(piece(draw(200, 800), width, count, lay));
        }
        for _ in 0..draw(2, 12) {
            pieces.push(piece(
                draw(20, 120),
                draw(8, 40),
                draw(1, 60) as u32,
                Lay::Either,
            ));
        }
        let mut stocks = vec![bolt(42 * 8)];
        if draw(0, 2) == 0 {
            stocks.push(Stock {
                width: length(draw(80, 200)),
                extent: Extent::OnHand {
                    length: length(draw(80, 400)),
                    count: 1,
                },
            });
        }
        let order = Order { pieces, stocks };
        let began = Instant::now();
        let cutting = cut(&order, &deadline(1)).expect("everything fits");
        let took = began.elapsed();
        verify(&order, &cutting);
        proven += u32::from(cutting.proven());
        // What is not proven in the time is near to it.
        assert!(cutting.bound * 100 >= cutting.cost * 95, "seed {seed}");
        println!(
            "seed {seed}: {} kinds, {} to {} in {took:?}",
            order.pieces.len(),
            cutting.bound,
            cutting.cost
        );
        assert!(took < Duration::from_secs(3), "seed {seed}: {took:?}");
    }
    println!("{proven} of 30 proven");
}

/// Published roll cutting instances, given by the environment variable; see the project's continuous integration.
#[test]
#[ignore = "needs the file that SASHWRIGHT_ROLL_LEVELS names"]
fn published_roll_instances_are_proven() {
    let path =
        std::env::var("SASHWRIGHT_ROLL_LEVELS").expect("SASHWRIGHT_ROLL_LEVELS names the file");
    let text = std::fs::read_to_string(path).expect("a readable file");
    let file: Value = serde_json::from_str(&text).expect("JSON");
    let mut slowest = (Duration::ZERO, String::new());
    let mut open = 0;
    for instance in file["instances"].as_array().expect("instances") {
        let number = |value: &Value| value.as_i64().expect("a whole number");
        for (lay, field, known) in [
            (Lay::Crosswise, "level_optimum", "level_proven"),
            (Lay::Either, "level_optimum_rotated", "rotated_proven"),
        ] {
            let name = format!("{} {field}", instance["name"]);
            let pieces = instance["pieces"].as_array().expect("pieces").iter();
            let order = Order {
                pieces: pieces
                    .map(|item| {
                        piece(
                            number(&item[0]),
                            number(&item[1]),
                            number(&item[2]) as u32,
                            lay,
                        )
                    })
                    .collect(),
                stocks: vec![bolt(number(&instance["roll_width"]))],
            };
            let began = Instant::now();
            let cutting = cut(&order, &deadline(20)).expect("everything fits");
            let took = began.elapsed();
            slowest = slowest.max((took, name.clone()));
            verify(&order, &cutting);
            let optimum = i128::from(number(&instance[field]));
            if instance[known].as_bool() == Some(true) {
                assert!(
                    cutting.bound <= optimum,
                    "{name}: a bound of {} above {optimum}",
                    cutting.bound
                );
            }
            if (cutting.cost, cutting.bound) != (optimum, optimum) {
                println!(
                    "{name}: {} to {} in {took:?}, {optimum} is known",
                    cutting.bound, cutting.cost
                );
                open += 1;
            }
        }
    }
    println!(
        "slowest: {} in {:?}; {open} not at the known optimum with proof",
        slowest.1, slowest.0
    );
    assert_eq!(open, 0);
}
