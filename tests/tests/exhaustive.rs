//! The planner against the exhaustive oracle: the same optimum, term by term, and proven.

use std::time::Duration;

use sashwright_tests::agreement::{Compared, Sweep};
use sashwright_tests::generator::{Scale, scenario};
use sashwright_tests::oracle::Outcome;

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;
/// How many may be answered with the optimum but without its proof: where corners have a price the search may end too soon to
/// prove in whole numbers what it found, and the planner says so.
const MOST_UNPROVEN: usize = 3;
/// Seeds drawn from.
const SEEDS: std::ops::Range<u64> = 0..6_000;

/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);

#[test]
fn the_planner_finds_the_optimum_that_trying_everything_finds() {
    let (mut sweep, mut refused) = (Sweep::default(), 0);
    for seed in SEEDS {
        let text = scenario(seed, Scale::Tiny);
        let compared = sweep.compare(seed, &text, STEPS, LIMIT);
        let is_refused = |of: Compared| matches!(of.outcome, Outcome::CannotBeStitched(_));
        refused += usize::from(compared.is_some_and(is_refused));
    }
    let compared = sweep.compared;
    let too_big = SEEDS.count() - compared;
    println!("{compared} compared, of them {refused} refused; {too_big} too big to try everything");
    assert!(compared >= 3_000, "only {compared} scenarios were compared");
    assert!(
        compared - refused >= 3_000,
        "only {} had a plan",
        compared - refused
    );
    sweep.assert_agreement(MOST_UNPROVEN);
}
