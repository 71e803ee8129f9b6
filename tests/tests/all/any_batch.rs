//! Batches with random changes: no panic, every fault in its place, and what is accepted asks for scenarios that can be read.

use std::collections::HashSet;

use jsonschema::draft202012;
use proptest::prelude::*;
use sashwright_solver::batch::{batch_schema, read};
use sashwright_solver::scenario;
use sashwright_tests::generator::{Scale, scenario as drawn};
use serde_json::{Value, json};

use crate::any_input::{any_change, any_json, apply, config};

/// A batch that says something of everything: two scenarios, one of them drawn, two hoop sets in different units, kits of all kinds.
fn batch(seed: u64, shared: bool) -> Value {
    let first: Value = serde_json::from_str(&drawn(seed, Scale::Tiny)).expect("JSON");
    let second: Value = serde_json::from_str(&drawn(seed + 1, Scale::Tiny)).expect("JSON");
    json!({
        "format": 1, "name": "any", "share_across_kits": shared,
        "scenarios": {"a/b": first},
        "hoop_sets": {
            "inches": {"unit": "in", "hoops": [{"id": "h", "field": [5, "7 1/2"], "frame": [9, 9]}]},
            "metric": {"unit": "mm", "hoops": [{"id": "h", "field": [130, 180], "turn": false}, {"id": "g", "field": [360, 200]}]}
        },
        "kits": [
            {"id": "one", "scenario": "a/b", "copies": 3, "labels": {"order": "17"}},
            {"scenario": "a/b", "hoop_sets": ["inches", "metric"], "copies": 2},
            {"id": "two", "scenario": second, "hoop_sets": ["metric"]},
            {"scenario": "a/b", "hoop_sets": ["metric"], "copies": 5}
        ]
    })
}

/// Reads a batch; what is accepted holds together.
fn read_it(document: &Value) -> Result<(), TestCaseError> {
    let batch = match read(document.to_string().as_bytes()) {
        Ok(batch) => batch,
        Err(faults) => {
            prop_assert!(!faults.is_empty());
            for fault in faults {
                // The place is there, or what it is missing from.
                let parent = fault
                    .pointer
                    .rsplit_once('/')
                    .map_or("", |(parent, _)| parent);
                let there = document
                    .pointer(&fault.pointer)
                    .or(document.pointer(parent));
                prop_assert!(there.is_some(), "{} in {}", fault, document);
            }
            return Ok(());
        }
    };
    prop_assert!(
        draft202012::is_valid(&batch_schema(), document),
        "{}",
        document
    );
    let mut copies = vec![0; batch.questions.len()];
    for row in &batch.rows {
        let kit = &batch.kits[row.kit];
        copies[row.question] += kit.copies;
    }
    if batch.share_across_kits {
        // All copies are in the one plan of their hoop set, or they cannot be made.
        for (asked, copies) in batch.questions.iter().zip(&mut copies) {
            if asked.copies != *copies {
                prop_assert_eq!(asked.copies, 1);
                *copies = 1;
            }
        }
    }
    let told: Vec<u64> = batch.questions.iter().map(|asked| asked.copies).collect();
    prop_assert_eq!(copies, told);
    let texts: HashSet<&str> = batch
        .questions
        .iter()
        .map(|asked| asked.scenario.as_str())
        .collect();
    prop_assert_eq!(texts.len(), batch.questions.len());
    for asked in &batch.questions {
        let read = scenario::read(asked.scenario.as_bytes());
        prop_assert_eq!(read.is_ok(), asked.faults.is_empty(), "{}", asked.scenario);
    }
    Ok(())
}

proptest! {
    #![proptest_config(config(1000))]

    #[test]
    fn a_changed_batch_is_read_or_refused(
        seed in 0_u64..1000,
        shared: bool,
        changes in prop::collection::vec(any_change(), 0..4),
    ) {
        let mut document = batch(seed, shared);
        for change in &changes {
            apply(&mut document, change);
        }
        read_it(&document)?;
    }

    #[test]
    fn any_json_is_no_batch_or_one(document in any_json()) {
        read_it(&document)?;
        read_it(&json!({"format": 1, "kits": document}))?;
        read_it(&json!({"format": 1, "share_across_kits": true, "kits": [{"scenario": document}, {"scenario": document}]}))?;
        read_it(&json!({"format": 1, "kits": [{"scenario": document}]}))?;
    }
}

/// Four rows ask three questions: the scenario's own hoops, the inches, the millimetres; a kit with a scenario of its own asks a fourth.
#[test]
fn kits_that_ask_the_same_ask_once() {
    let read = read(batch(3, false).to_string().as_bytes()).expect("a batch");
    let asked: Vec<(usize, Option<&str>, usize)> = read
        .rows
        .iter()
        .map(|row| (row.kit, row.hoop_set.as_deref(), row.question))
        .collect();
    let expected = [
        (0, None, 0),
        (1, Some("inches"), 1),
        (1, Some("metric"), 2),
        (2, Some("metric"), 3),
        (3, Some("metric"), 2),
    ];
    assert_eq!(asked, expected);
    let copies: Vec<u64> = read.questions.iter().map(|asked| asked.copies).collect();
    assert_eq!(copies, [3, 2, 2 + 5, 1]);
}
