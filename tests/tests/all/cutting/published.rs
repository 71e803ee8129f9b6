//! Published instances.

use std::time::{Duration, Instant};

use sashwright_solver::cutting::{Lay, Order, cut};
use serde_json::Value;

use super::orders::{bolt, deadline, piece, verify};

/// Published roll cutting instances, given by the environment variable; see the project's continuous integration.
#[test]
#[ignore = "needs the file that SASHWRIGHT_ROLL_LEVELS names"]
fn published_roll_instances_are_proven() {
    let path =
        std::env::var("SASHWRIGHT_ROLL_LEVELS").expect("SASHWRIGHT_ROLL_LEVELS names the file");
    let text = std::fs::read_to_string(path).expect("a readable file");
    let file: Value = serde_json::from_str(&text).expect("JSON");
    let mut slowest = (Duration::ZERO, String::new());
    let mut open = 0;
    for instance in file["instances"].as_array().expect("instances") {
        let number = |value: &Value| value.as_i64().expect("a whole number");
        for (lay, field, known) in [
            (Lay::Crosswise, "level_optimum", "level_proven"),
            (Lay::Either, "level_optimum_rotated", "rotated_proven"),
        ] {
            let name = format!("{} {field}", instance["name"]);
            let pieces = instance["pieces"].as_array().expect("pieces").iter();
            let order = Order {
                pieces: pieces
                    .map(|item| {
                        piece(
                            number(&item[0]),
                            number(&item[1]),
                            number(&item[2]) as u32,
                            lay,
                        )
                    })
                    .collect(),
                stocks: vec![bolt(number(&instance["roll_width"]))],
            };
            let began = Instant::now();
            let cutting = cut(&order, &deadline(20)).expect("everything fits");
            let took = began.elapsed();
            slowest = slowest.max((took, name.clone()));
            verify(&order, &cutting);
            let optimum = i128::from(number(&instance[field]));
            if instance[known].as_bool() == Some(true) {
                assert!(
                    cutting.bound <= optimum,
                    "{name}: a bound of {} above {optimum}",
                    cutting.bound
                );
            }
            if (cutting.cost, cutting.bound) != (optimum, optimum) {
                println!(
                    "{name}: {} to {} in {took:?}, {optimum} is known",
                    cutting.bound, cutting.cost
                );
                open += 1;
            }
        }
    }
    println!(
        "slowest: {} in {:?}; {open} not at the known optimum with proof",
        slowest.1, slowest.0
    );
    assert_eq!(open, 0);
}
