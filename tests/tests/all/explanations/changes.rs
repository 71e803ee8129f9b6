//! Changes against plans of scenarios that are really edited.

use sashwright_solver::explain::Outcome;
use sashwright_solver::plan::{Plan, Status};
use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use sashwright_tests::edit::write;
use serde_json::Value;

use super::{Explained, LIMIT, explained};

/// Each change's figures are those of the plan of the document with the change written into it.
#[test]
fn changes_bring_what_is_said() {
    let (mut changes, mut better) = (0, 0);
    for Explained {
        seed,
        text,
        plan,
        explanation,
        ..
    } in explained()
    {
        for change in &explanation.changes {
            let mut changed: Value = serde_json::from_str(text).expect("JSON");
            for setting in &change.set {
                write(&mut changed, &setting.pointer, &setting.value);
            }
            let scenario = read(changed.to_string().as_bytes()).expect("no fault");
            let Ok(other) = answer(&scenario, LIMIT) else {
                // A strip that could not be stitched before can now, and its wishes cannot be kept.
                assert_eq!(
                    (change.outcome, change.objective.len()),
                    (Outcome::Worse, 0),
                    "seed {seed}"
                );
                continue;
            };
            changes += 1;
            if change.objective.iter().all(|entry| entry.proven) && other.status == Status::Optimal
            {
                assert_eq!(
                    change.objective, other.objective,
                    "seed {seed}: {}\n{text}",
                    change.sentence
                );
            }
            let values = |plan: &Plan| -> Vec<_> {
                plan.objective
                    .iter()
                    .map(|entry| entry.value.exact().expect("a number"))
                    .collect()
            };
            let (now, then) = (values(plan), values(&other));
            match change.outcome {
                Outcome::Better => {
                    better += 1;
                    assert!(
                        then < now || other.strips.len() > plan.strips.len(),
                        "seed {seed}: {}",
                        change.sentence
                    );
                }
                Outcome::Same => assert_eq!(then, now, "seed {seed}: {}", change.sentence),
                Outcome::Worse => assert!(then > now, "seed {seed}: {}", change.sentence),
                Outcome::Open => {}
            }
        }
    }
    println!("{changes} changes, {better} of which better");
    assert!(changes >= 400 && better >= 30);
}
