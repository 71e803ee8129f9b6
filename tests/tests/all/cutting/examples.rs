//! Orders worked out by hand, and textbook examples.

use sashwright_solver::cutting::{Lay, Order, cut};
use sashwright_tests::bin_packing::{Instance, instance, textbook};

use super::orders::{bolt, deadline, piece, verify};

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
