//! Orders in short, and what makes a cutting of one valid.

use std::time::Duration;

use sashwright_solver::cutting::{Cutting, Extent, Lay, Order, Piece, Stock};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::length::Length;

/// So many seconds from now.
pub fn deadline(seconds: u64) -> Deadline {
    Deadline::after(Duration::from_secs(seconds), StopSignal::new())
}

/// So many nanometres.
pub fn length(number: i64) -> Length {
    Length::from_nanometres(number)
}

/// A bolt of a width, counted by its length.
pub fn bolt(width: i64) -> Stock {
    Stock {
        width: length(width),
        extent: Extent::Bolt { each_nanometre: 1 },
    }
}

/// So many pieces of two sides.
pub fn piece(first: i64, second: i64, count: u32, lay: Lay) -> Piece {
    Piece {
        sides: [length(first), length(second)],
        count,
        lay,
    }
}

/// Everything that makes a cutting valid, from the order alone.
pub fn verify(order: &Order, cutting: &Cutting) {
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
