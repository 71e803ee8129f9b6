//! Plans by the length of roll that their stabilizer is cut off: the optimum that trying everything finds.

use std::time::Duration;

use sashwright_tests::agreement::Sweep;
use sashwright_tests::generator::{Scale, rolled_scenario};

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;
/// Seeds drawn from.
const SEEDS: std::ops::Range<u64> = 0..400;
/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);
/// How many may be answered with the optimum but without its proof: where the area of stabilizer counts after the length of roll, linear
/// programs say little of it.
const MOST_UNPROVEN: usize = 3;

#[test]
fn the_least_roll_is_that_which_trying_everything_finds() {
    let mut sweep = Sweep::default();
    for seed in SEEDS {
        let text = rolled_scenario(seed, Scale::Tiny);
        sweep.compare(seed, &text, STEPS, LIMIT);
    }
    println!("{} compared", sweep.compared);
    assert!(
        sweep.compared >= 300,
        "only {} were compared",
        sweep.compared
    );
    sweep.assert_agreement(MOST_UNPROVEN);
}
