//! Orders that are larger than there is time for.

use std::time::{Duration, Instant};

use sashwright_solver::cutting::{Extent, Lay, Order, Piece, Stock, cut};
use sashwright_tests::random::SplitMix64;

use super::orders::{bolt, deadline, length, piece, verify};

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
