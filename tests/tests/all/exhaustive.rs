//! The planner against the exhaustive oracle: the same optimum, term by term, and proven.

use std::ops::Range;
use std::time::Duration;

use sashwright_tests::agreement::{Compared, Sweep};
use sashwright_tests::generator::{Scale, scenario};
use sashwright_tests::oracle::Outcome;

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;
/// How many of either half may be answered with the optimum but without its proof: where corners have a price the search may end too soon to
/// prove in whole numbers what it found, and the planner says so.
const MOST_UNPROVEN: usize = 2;
/// How many seeds are drawn from in either half; the halves run side by side.
const HALF: u64 = 3_000;

/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);

#[test]
fn the_planner_finds_the_optimum_that_trying_everything_finds() {
    compare_all(0..HALF);
}

#[test]
fn it_finds_that_of_the_other_half_as_well() {
    compare_all(HALF..2 * HALF);
}

fn compare_all(seeds: Range<u64>) {
    let (mut sweep, mut refused) = (Sweep::default(), 0);
    let all = seeds.end - seeds.start;
    for seed in seeds {
        let text = scenario(seed, Scale::Tiny);
        let compared = sweep.compare(seed, &text, STEPS, LIMIT);
        let is_refused = |of: Compared| matches!(of.outcome, Outcome::CannotBeStitched(_));
        refused += usize::from(compared.is_some_and(is_refused));
    }
    let compared = sweep.compared;
    let too_big = all - compared as u64;
    println!("{compared} compared, of them {refused} refused; {too_big} too big to try everything");
    assert!(compared >= 1_500, "only {compared} scenarios were compared");
    assert!(
        compared - refused >= 1_500,
        "only {} had a plan",
        compared - refused
    );
    sweep.assert_agreement(MOST_UNPROVEN);
}
