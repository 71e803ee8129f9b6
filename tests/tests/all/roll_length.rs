//! Plans by the length of roll that their stabilizer is cut off: the optimum that trying everything finds.

use std::ops::Range;
use std::time::{Duration, Instant};

use sashwright_solver::exact::Exact;
use sashwright_solver::scenario::read;
use sashwright_tests::agreement::Sweep;
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::generator::{Scale, rolled_scenario};
use serde_json::{Value, json};

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

/// With so many different pieces on a wide roll its levels are too many to list. Then their areas guide the choice of hoops: the hoopings
/// are as few as when nothing else counts, and no bound is above its value.
#[test]
fn a_roll_with_too_many_levels_costs_no_hoopings() {
    let hoops = (0..40).map(|number| {
        json!({"id": format!("hoop {number}"), "field": [8, 10], "frame": [9 + number % 7, 10.5 + f64::from(number) / 8.0]})
    });
    let hoops: Vec<Value> = hoops.collect();
    let planned = |priorities: Value| {
        let document = json!({
            "format": 1, "unit": "in", "hoops": hoops,
            "strips": [{"id": "sash", "length": 9, "width": 1, "count": 12, "design": "vine"}],
            "designs": [{"id": "vine", "sizes": [{"id": "vine-1", "width": 1, "repeat": 3, "repeats": 3}]}],
            "goal": {"priorities": priorities},
            "materials": {"stabilizer": {"roll_width": 60}}
        });
        let scenario = read(document.to_string().as_bytes()).expect("no fault");
        let plan = answer(&scenario, LIMIT).expect("a plan");
        assert!(flaws(&scenario, &plan).is_empty());
        plan.objective
    };
    let alone = planned(json!(["hoopings"]));
    let both = planned(json!(["hoopings", "roll_length"]));
    assert_eq!(both[0], alone[0]);
    assert!(alone[0].proven);
    let [value, bound] =
        [&both[1].value, &both[1].bound].map(|measure| measure.exact().expect("a length"));
    assert!(Exact::ZERO < bound && bound <= value);
}

/// Twelve hoops for strips of twelve lengths, three of each, and no hoop for two strips: 36 hoopings, whose pieces are too many to
/// work out exactly how they are cut best. The answer is a valid plan all the same, and comes soon after its time.
#[test]
fn many_hoops_in_use_keep_the_time_limit() {
    let lengths: Vec<u32> = (0..12).map(|number| 20 + number).collect();
    let strips = lengths.iter().map(|length| {
        json!({"id": format!("of {length}"), "length": length, "width": 10, "count": 3, "design": "vine"})
    });
    let hoops = lengths.iter().map(|length| {
        json!({"id": format!("hoop {length}"), "field": [length, 10], "frame": [length + 7, 20 + length * 7 % 13], "turn": false})
    });
    let document = json!({
        "format": 1, "unit": "mm", "hoops": hoops.collect::<Vec<_>>(), "strips": strips.collect::<Vec<_>>(),
        "designs": [{"id": "vine", "sizes": [{"id": "v", "width": 10, "repeat": 1, "repeats": 31, "stop_early": true}]}],
        "goal": {"priorities": ["hoopings", "roll_length"]},
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
        "materials": {"stabilizer": {"roll_width": 101, "margin": 0}}
    });
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    let limit = Duration::from_secs(1);
    let begun = Instant::now();
    let plan = answer(&scenario, limit).expect("a plan");
    let took = begun.elapsed();
    assert!(took < 4 * limit, "{took:?}");
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
    assert_eq!(plan.hoopings.len(), 36);
}
