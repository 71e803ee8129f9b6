//! Wishes: the same optimum as trying everything finds, and of wishes that contradict each other the smallest set.

use std::ops::Range;
use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::scenario::{Scenario, read};
use sashwright_tests::agreement::{Compared, Sweep};
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::generator::{Scale, wished_scenario};
use sashwright_tests::oracle::{Outcome, Work, solve};
use serde_json::{Value, json};

/// What the oracle may spend on one scenario; bigger ones are passed over.
const STEPS: u64 = 300_000;
/// How many seeds are drawn from in either half; the halves run side by side.
const HALF: u64 = 1_500;
/// More than any of them should need, in an unoptimised build on a busy machine.
const LIMIT: Duration = Duration::from_secs(30);
/// How many of either half may be answered with the optimum but without its proof.
const MOST_UNPROVEN: usize = 2;

/// The scenario with only those wishes whose numbers are in a set.
fn with_wishes(scenario: &Scenario, set: u32) -> Scenario {
    let mut fewer = scenario.clone();
    let numbered = scenario.wishes.iter().enumerate();
    let kept = numbered.filter(|(number, _)| set >> number & 1 == 1);
    fewer.wishes = kept.map(|(_, wish)| wish.clone()).collect();
    fewer
}

/// Whether some of the wishes, given as a set of their numbers, cannot be kept; `None` where trying everything takes long.
fn contradict(scenario: &Scenario, set: u32) -> Option<bool> {
    let outcome = solve(&with_wishes(scenario, set), &mut Work::of(STEPS)).ok()?;
    Some(outcome == Outcome::WishesCannotBeKept)
}

#[test]
fn wishes_are_kept_at_the_optimum() {
    compare_all(0..HALF);
}

#[test]
fn so_they_are_in_the_other_half() {
    compare_all(HALF..2 * HALF);
}

fn compare_all(seeds: Range<u64>) {
    let (mut sweep, mut contradicting, mut smallest) = (Sweep::default(), 0, 0);
    for seed in seeds {
        let text = wished_scenario(seed, Scale::Tiny);
        let Some(Compared {
            scenario,
            outcome,
            answer,
        }) = sweep.compare(seed, &text, STEPS, LIMIT)
        else {
            continue;
        };
        let (Err(NoPlan::CannotBeStitched(faults)), Outcome::WishesCannotBeKept) =
            (&answer, &outcome)
        else {
            continue;
        };
        contradicting += 1;
        let number = |pointer: &str| {
            scenario
                .wishes
                .iter()
                .position(|wish| wish.pointer == pointer)
        };
        let named: Option<Vec<usize>> = faults.iter().map(|fault| number(&fault.pointer)).collect();
        let named = named.expect("places of wishes");
        let set = named.iter().fold(0_u32, |set, number| set | 1 << number);
        let fewer = (0..1_u32 << scenario.wishes.len())
            .filter(|other| other.count_ones() < set.count_ones());
        let fewer: Option<Vec<bool>> = fewer.map(|other| contradict(&scenario, other)).collect();
        if let (Some(true), Some(fewer)) = (contradict(&scenario, set), fewer) {
            smallest += 1;
            if fewer.contains(&true) {
                let failure = format!("seed {seed}: a smaller set than {named:?}\n{text}");
                sweep.failures.push(failure);
            }
        } else if contradict(&scenario, set) == Some(false) {
            let failure = format!("seed {seed}: {named:?} can be kept\n{text}");
            sweep.failures.push(failure);
        }
    }
    let compared = sweep.compared;
    println!(
        "{compared} compared, of them {contradicting} contradicting, {smallest} of which by the smallest set"
    );
    sweep.assert_agreement(MOST_UNPROVEN);
    assert!(compared >= 750, "only {compared} scenarios were compared");
    assert!(smallest >= 50, "only {smallest} sets were looked at");
}

/// So many different strips that what a hooping can hold is too much to list: they are laid one after the other.
#[test]
fn many_strips_are_stitched_together() {
    let ids: Vec<String> = (0..20).map(|number| format!("s{number}")).collect();
    let strips = ids.iter().zip(8..).map(
        |(id, quarters)| json!({"id": id, "length": f64::from(quarters) / 4.0, "width": 1, "design": "vine"}),
    );
    let strips: Vec<Value> = strips.collect();
    let document = |field: [u32; 2]| {
        json!({
            "format": 1, "unit": "in", "strips": &strips,
            "hoops": [{"id": "broad", "field": field}],
            "designs": [{"id": "vine", "sizes": [
                {"id": "v", "width": 1, "repeat": 1, "repeats": 12, "scale": [0.8, 1.2], "stop_early": true}]}],
            "wishes": [{"wish": "together", "strips": &ids}],
        })
    };
    let planned = |field| {
        let scenario = read(document(field).to_string().as_bytes()).expect("no fault");
        answer(&scenario, Duration::from_secs(1)).map(|plan| {
            assert!(flaws(&scenario, &plan).is_empty());
            plan.hoopings.len()
        })
    };
    assert_eq!(planned([40, 40]).ok(), Some(1));
    // 20 lanes of 1 in, or fewer that hold 87.5 in, do not fit.
    assert!(matches!(planned([7, 8]), Err(NoPlan::CannotBeStitched(_))));
}

/// The lap quilt with some wishes.
fn lap_quilt(wishes: Option<Value>) -> Scenario {
    let text = include_str!("../../../scenarios/lap-quilt.json");
    let mut document: Value = serde_json::from_str(text).expect("JSON");
    if let Some(wishes) = wishes {
        document["wishes"] = wishes;
    }
    read(document.to_string().as_bytes()).expect("no fault")
}

/// A whole quilt needs no more hoopings where joints stay away from the middles of its borders; the order in which five runs of each
/// border are stitched has to be found for that among those that keep to the wish.
#[test]
fn joints_of_a_whole_quilt_stay_away_from_middles_at_no_cost() {
    let hoopings = |wishes: Option<Value>| {
        let scenario = lap_quilt(wishes);
        let plan = answer(&scenario, LIMIT).expect("a plan");
        assert!(flaws(&scenario, &plan).is_empty());
        let entry = &plan.objective[0];
        assert!(entry.proven, "{entry:?}");
        plan.hoopings.len()
    };
    let away = json!([
        {"wish": "joints_away", "strips": ["border-1"], "distance": 2},
        {"wish": "alike", "strips": ["border-1-left", "border-1-right"]},
        {"wish": "alike", "strips": ["border-1-top", "border-1-bottom"]}]);
    assert_eq!(hoopings(Some(away)), hoopings(None));
}

/// With borders in the smaller hoops alone every term is proven: the linear programs of the later ones hold those of the earlier ones
/// with nothing to spare.
#[test]
fn borders_kept_out_of_a_hoop_are_planned_to_proof() {
    let only = json!([{"wish": "only_in", "strips": ["border-1"], "hoops": ["small", "medium"]}]);
    let scenario = lap_quilt(Some(only));
    let plan = answer(&scenario, LIMIT).expect("a plan");
    assert!(flaws(&scenario, &plan).is_empty());
    assert!(
        plan.objective.iter().all(|entry| entry.proven),
        "{:?}",
        plan.objective
    );
    assert_eq!(plan.hoopings.len(), 26);
}

/// One strip of a length in a hoop with a field that is just as wide, and wishes about it. There is nothing to cut away.
fn one_strip(length: f64, field: f64, sizes: Value, wishes: Value) -> Scenario {
    let document = json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "side", "length": length, "width": 1, "design": "vine"}],
        "hoops": [{"id": "long", "field": [field, 1], "turn": false}],
        "designs": [{"id": "vine", "sizes": sizes}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
        "wishes": wishes, "goal": {"priorities": ["hoopings", "joints"]},
    });
    read(document.to_string().as_bytes()).expect("no fault")
}

/// Joints may lie but at multiples of 6 3/4 in, where the coarse size ends, and at multiples of 9 in, where the fine one can: 6 runs of
/// that, as few as 54 in need in a field of 10 in. With repeats of 1/20 in there are too many coverings to list, and of those with the
/// fewest runs that are looked at first none has its joints there.
#[test]
fn fewest_runs_are_those_whose_joints_lie_where_they_may() {
    let away = |spot: f64, distance: f64| json!({"wish": "joints_away", "strips": ["side"], "spots": [spot], "distance": distance});
    let mut wishes = vec![json!({"wish": "one_size", "strips": ["side"]})];
    let joints = [
        0.0, 6.75, 9.0, 13.5, 18.0, 20.25, 27.0, 33.75, 36.0, 40.5, 45.0, 47.25, 54.0,
    ];
    for pair in joints.windows(2) {
        // From just after one place to just before the next.
        let middle = (pair[0] + pair[1]) / 2.0;
        wishes.push(away(middle, middle - pair[0] - 0.02));
    }
    let sizes = json!([
        {"id": "fine", "width": 1, "repeat": 0.05, "repeats": 200, "stop_early": true},
        {"id": "coarse", "width": 1, "repeat": 6.75, "repeats": 1}]);
    let scenario = one_strip(54.0, 10.0, sizes, json!(wishes));
    let plan = answer(&scenario, LIMIT).expect("a plan");
    assert!(flaws(&scenario, &plan).is_empty());
    assert_eq!(plan.hoopings.len(), 6);
    assert!(plan.objective.iter().all(|entry| entry.proven));
}

/// Symmetric runs need a joint in the middle or an odd number. The middle of 60 1/2 in is nearer than 1 1/2 in to 30 in, so that 6 runs
/// of up to 12 in will not do, and 7 will. No wish contradicts another, though of the many coverings few have such an order.
#[test]
fn wishes_that_few_of_many_coverings_keep_are_kept() {
    let sizes = json!([
        {"id": "fine", "width": 1, "repeat": 0.1, "repeats": 40, "stop_early": true},
        {"id": "coarse", "width": 1, "repeat": 6, "repeats": 1}]);
    let wishes = json!([
        {"wish": "symmetric", "strips": ["side"]},
        {"wish": "joints_away", "strips": ["side"], "spots": [30, 18], "distance": 1.5},
        {"wish": "one_size", "strips": ["side"]}]);
    let scenario = one_strip(60.5, 12.0, sizes, wishes);
    let plan = answer(&scenario, Duration::from_secs(4)).expect("a plan");
    assert!(flaws(&scenario, &plan).is_empty());
    assert_eq!(plan.hoopings.len(), 7);
}

/// 250 mm take three runs of 100 mm, 25 mm past either end: joints lie at 75 and 175 mm, 50 mm from its middle.
#[test]
fn a_distance_that_cannot_be_kept_is_told_with_one_that_may() {
    let scenario = json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "b", "length": 250, "width": 20, "design": "dots"}],
        "hoops": [{"id": "short", "field": [100, 20], "turn": false}],
        "designs": [{"id": "dots", "sizes": [{"id": "dots-100", "width": 20, "repeat": 10, "repeats": 10}]}],
        "wishes": [{"wish": "joints_away", "strips": ["b"], "distance": 60}]
    });
    let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
    let Err(NoPlan::CannotBeStitched(faults)) = answer(&scenario, Duration::from_secs(20)) else {
        panic!("a joint 60 mm from the middle");
    };
    let told: Vec<&str> = faults.iter().map(|fault| fault.mend.as_str()).collect();
    assert_eq!(
        told,
        ["Take it back, or change it; here a \"distance\" of 50 mm may do."]
    );
}

/// 250 mm are more than one run of any hoop.
#[test]
fn of_strips_that_are_wished_together_the_one_that_is_too_long_is_named() {
    let scenario = json!({
        "format": 1, "unit": "mm",
        "strips": [{"id": "long", "length": 250, "width": 20, "design": "dots"}, {"id": "short", "length": 50, "width": 20, "design": "dots"}],
        "hoops": [{"id": "square", "field": [100, 100]}],
        "designs": [{"id": "dots", "sizes": [
            {"id": "dots-100", "width": 20, "repeat": 10, "repeats": 10, "stop_early": true}]}],
        "wishes": [{"wish": "together", "strips": ["long", "short"]}]
    });
    let scenario = read(scenario.to_string().as_bytes()).expect("no fault");
    let Err(NoPlan::CannotBeStitched(faults)) = answer(&scenario, Duration::from_secs(20)) else {
        panic!("a strip of 250 mm in one run of 100 mm");
    };
    let told: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
    let expected = "This wish cannot be kept. Each of long, short has to be in one run, and the strip long is too long for that.";
    assert_eq!(told, [expected]);
}
