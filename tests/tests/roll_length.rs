//! Plans by the length of roll that their stabilizer is cut off: the optimum that trying everything finds.

use std::ops::Range;
use std::time::Duration;

use sashwright_tests::agreement::Sweep;
use sashwright_tests::generator::{Scale, rolled_scenario};

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;
/// How many seeds are drawn from in either half; the halves run side by side.
const HALF: u64 = 200;
/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);
/// How many may be answered with the optimum but without its proof: where the area of stabilizer counts after the length of roll, linear
/// programs say little of it.
const MOST_UNPROVEN: usize = 3;

#[test]
fn the_least_roll_is_that_which_trying_everything_finds() {
    compare_all(0..HALF);
}

#[test]
fn so_it_is_in_the_other_half() {
    compare_all(HALF..2 * HALF);
}

fn compare_all(seeds: Range<u64>) {
    let mut sweep = Sweep::default();
    for seed in seeds {
        let text = rolled_scenario(seed, Scale::Tiny);
        sweep.compare(seed, &text, STEPS, LIMIT);
    }
    println!("{} compared", sweep.compared);
    assert!(
        sweep.compared >= 150,
        "only {} were compared",
        sweep.compared
    );
    sweep.assert_agreement(MOST_UNPROVEN);
}
