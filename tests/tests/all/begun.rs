//! Strips that are begun: the same optimum for what is left as trying everything finds.

use std::time::Duration;

use sashwright_tests::agreement::{Compared, Sweep};
use sashwright_tests::generator::{Scale, begun_scenario};
use sashwright_tests::oracle::Outcome;

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;
/// Seeds drawn from.
const SEEDS: std::ops::Range<u64> = 0..3_000;
/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);
/// How many may be answered with the optimum but without its proof: the program over lists, which proves what the search by
/// decomposition leaves open, is not asked where strips are begun.
const MOST_UNPROVEN: usize = 10;

#[test]
fn what_is_left_is_planned_at_the_optimum() {
    let (mut sweep, mut planned) = (Sweep::default(), 0);
    for seed in SEEDS {
        let text = begun_scenario(seed, Scale::Tiny);
        let compared = sweep.compare(seed, &text, STEPS, LIMIT);
        let has_plan = |of: Compared| matches!(of.outcome, Outcome::Best(_));
        planned += usize::from(compared.is_some_and(has_plan));
    }
    println!("{} compared, {planned} of them with a plan", sweep.compared);
    sweep.assert_agreement(MOST_UNPROVEN);
    assert!(planned >= 1_000, "only {planned} had a plan");
}
