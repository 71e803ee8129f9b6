//! Documents that mean harm: extreme numbers everywhere, and questions without a quick answer.

use serde_json::{Value, json};

use super::by_hand::ByHand;
use super::materials::with_materials;
use super::plans::{butted, mitred, scaled, stopping_early, two_lanes};
use sashwright_solver::check::check;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario;

/// The pointers of all numbers of a document.
fn numbers(value: &Value, pointer: &str, found: &mut Vec<String>) {
    match value {
        Value::Number(_) => found.push(pointer.to_owned()),
        Value::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                numbers(item, &format!("{pointer}/{index}"), found);
            }
        }
        Value::Object(fields) => {
            for (name, field) in fields {
                numbers(field, &format!("{pointer}/{name}"), found);
            }
        }
        _ => {}
    }
}

fn all_plans() -> [ByHand; 6] {
    [
        two_lanes(),
        butted(),
        mitred(),
        scaled(),
        stopping_early(),
        with_materials(),
    ]
}

/// Every number of a plan is checked: none of them can be another one that is far off.
#[test]
fn no_number_goes_unchecked() {
    for by_hand in all_plans() {
        let mut places = Vec::new();
        numbers(&by_hand.plan, "", &mut places);
        assert!(places.len() > 20);
        for place in places {
            let changed = by_hand.clone().plan(&place, json!(987_654_321));
            assert_ne!(changed.found(), Vec::<String>::new(), "{place}");
        }
    }
}

#[test]
fn extreme_numbers_are_refused_without_panic() {
    let extremes = [
        json!(0),
        json!(1),
        json!(u32::MAX),
        json!(i64::MIN),
        json!(i64::MAX),
        json!(u64::MAX),
        json!(f64::MAX),
        json!(f64::MIN_POSITIVE),
        json!(-0.0),
        json!(999_999_999_999_999_999_u64),
        json!(-1e-18),
    ];
    for by_hand in all_plans() {
        let bytes = serde_json::to_vec(&by_hand.scenario).expect("JSON");
        let scenario = scenario::read(&bytes).expect("a scenario without fault");
        let mut places = Vec::new();
        numbers(&by_hand.plan, "", &mut places);
        for place in &places {
            for extreme in &extremes {
                let changed = by_hand.clone().plan(place, extreme.clone());
                // Counts that are no whole number of 32 bits are refused as the document is read.
                if let Ok(plan) = serde_json::from_value::<Plan>(changed.plan) {
                    let _ = check(&scenario, &plan);
                }
            }
        }
        // All of them at once.
        for extreme in &extremes {
            let mut changed = by_hand.clone();
            for place in &places {
                let one = changed.clone().plan(place, extreme.clone());
                if serde_json::from_value::<Plan>(one.plan.clone()).is_ok() {
                    changed = one;
                }
            }
            let plan: Plan = serde_json::from_value(changed.plan).expect("a plan document");
            assert_ne!(check(&scenario, &plan), []);
        }
    }
}

/// A strip covered by a hundred thousand segments, and one placed as often.
#[test]
fn long_lists_take_no_long_time() {
    let base = two_lanes();
    let segment = base.at("/strips/1/runs/0/segments/0");
    let placement = base.at("/hoopings/0/placements/1");
    let found = base
        .plan("/strips/1/runs/0/segments", json!(vec![segment; 100_000]))
        .plan("/hoopings/0/placements", json!(vec![placement; 100_000]))
        .found();
    let listed = |expected: &str| found.iter().any(|shown| shown == expected);
    assert!(listed("superfluous-segment at /strips/1/runs"));
    assert!(listed("run-placed-twice at /hoopings/0/placements/99999"));
}

/// Whether any of 500 strips of odd lengths could be one run of a hundred sizes of odd lengths and of many margins
/// and scales is too much to answer; the check ends all the same, and accuses nobody of it.
#[test]
fn questions_without_a_quick_answer_end() {
    let sizes: Vec<Value> = (0..100)
        .map(|size| {
            json!({"id": format!("s{size}"), "width": 20, "repeat": format!("{}/1000000", 1_000_003 + 7 * size * size),
                "repeats": 1, "field": [1.1 + 0.01 * f64::from(size), 20.0 + 0.01 * f64::from(size)],
                "scale": [format!("{}/100000000", 99_999_999 - size), format!("{}/100000000", 100_000_001 + size)]})
        })
        .collect();
    let hoops: Vec<Value> = (0..100)
        .map(|hoop| json!({"id": format!("h{hoop}"), "field": [90_000 + hoop, 80_000 - hoop]}))
        .collect();
    let strips: Vec<Value> = (0..500)
        .map(|strip| {
            json!({"id": format!("a{strip}"), "length": format!("{}/1000000", 70_000_000_123_i64 + 1009 * strip),
                "width": 20, "design": "d"})
        })
        .collect();
    let entries: Vec<Value> = strips
        .iter()
        .map(|strip| {
            let run = json!({"hooping": 1, "from": 0, "to": 1, "segments": [{"size": "s0", "repeats": 1}]});
            json!({"id": strip["id"], "length": 70_000, "width": 20, "design": "d", "scale": 1, "overhang": 0,
                "trimmed": [1, 1], "cut": [1, 1], "runs": [run, run]})
        })
        .collect();
    let by_hand = ByHand {
        scenario: json!({
            "format": 1, "unit": "mm", "strips": strips, "hoops": hoops,
            "designs": [{"id": "d", "sizes": sizes}], "rules": {"max_overhang": 0}
        }),
        plan: json!({
            "format": 1, "scenario": "", "unit": "mm", "status": "optimal", "objective": [], "strips": entries,
            "hoopings": [], "corners": [], "unplanned": [], "warnings": []
        }),
    };
    by_hand.is_refused_also_for("scale-out-of-range at /strips/0/runs");
}
