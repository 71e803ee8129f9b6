//! Bounds against the exhaustive oracle.

use sashwright_solver::explain::{Because, Bound};
use sashwright_solver::length::Length;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{Scenario, read};
use sashwright_solver::strips;
use sashwright_tests::oracle::{self, Work, longest_run};
use serde_json::{Value, json};

use super::{Explained, explained};

/// What the oracle may spend on one question; bigger ones are passed over.
const STEPS: u64 = 300_000;

/// A term's least value in any plan of a scenario, by trying everything; `None` where that is too much, or where there is no plan.
fn least(scenario: &Scenario) -> Option<u64> {
    match oracle::solve(scenario, &mut Work::of(STEPS)) {
        Ok(oracle::Outcome::Best(best)) => best.objective[0].1.to_string().parse().ok(),
        _ => None,
    }
}

/// The scenario with one term as its goal; with `strips`, of these alone, as loose strips and without wishes.
fn asked_for(text: &str, term: &str, strips: Option<(&Plan, &[String])>) -> Scenario {
    let mut document: Value = serde_json::from_str(text).expect("JSON");
    document["goal"] = json!({"priorities": [term]});
    if let Some((plan, ids)) = strips {
        let fields = document.as_object_mut().expect("an object");
        fields.remove("quilt");
        fields.remove("quilts");
        fields.remove("wishes");
        let entries = plan.strips.iter().filter(|entry| ids.contains(&entry.id));
        let entries = entries.map(|entry| {
            json!({"id": entry.id, "length": entry.length, "width": entry.width, "design": entry.design})
        });
        document["strips"] = entries.collect();
    }
    read(document.to_string().as_bytes()).expect("no fault")
}

/// Whether every strip of a bound is named in it.
fn names_all(bound: &Bound) -> bool {
    bound.strips.len() == bound.count
}

/// No bound is above what trying everything finds: for all strips, and for those alone that a bound is about.
#[test]
fn bounds_are_never_above_the_optimum_of_trying_everything() {
    let (mut whole, mut part, mut tight, mut joints) = (0, 0, 0, 0);
    for Explained {
        seed,
        text,
        plan,
        explanation,
        ..
    } in explained()
    {
        let of = |term: &str| {
            let bounds = explanation.bounds.iter();
            bounds
                .filter(|bound| bound.term == term)
                .collect::<Vec<_>>()
        };
        let needed = least(&asked_for(text, "hoopings", None));
        for bound in of("hoopings") {
            if let Some(needed) = needed {
                whole += 1;
                assert!(
                    bound.at_least <= needed,
                    "seed {seed}: {}\n{text}",
                    bound.sentence
                );
            }
            if bound.because == Because::SomeStrips && names_all(bound) {
                let alone = asked_for(text, "hoopings", Some((plan, &bound.strips)));
                let Some(needed) = least(&alone) else {
                    continue;
                };
                part += 1;
                tight += usize::from(bound.at_least == needed);
                assert!(
                    bound.at_least <= needed,
                    "seed {seed}: {}\n{text}",
                    bound.sentence
                );
            }
        }
        if let Some(needed) = least(&asked_for(text, "joints", None)) {
            // Each is about strips of its own, so that they add up.
            let together: u64 = of("joints").iter().map(|bound| bound.at_least).sum();
            joints += usize::from(together > 0);
            assert!(together <= needed, "seed {seed}: {together} joints\n{text}");
        }
    }
    println!("{whole} of all strips, {part} of some, {tight} of these exact; {joints} on joints");
    assert!(whole >= 200 && part >= 80 && joints >= 30);
    assert!(
        tight * 10 >= part * 9,
        "only {tight} of {part} bounds are exact"
    );
}

/// No run in any way to stitch a strip is longer than the longest that is told of.
#[test]
fn no_run_is_longer_than_the_longest() {
    let (mut compared, mut exact) = (0, 0);
    for Explained {
        seed,
        text,
        scenario,
        explanation,
        ..
    } in explained()
    {
        let top = strips::of(scenario);
        for bound in &explanation.bounds {
            let Some(told) = &bound.longest else { continue };
            let told = told.length.length(scenario.unit).map(Length::nanometres);
            let told = i128::from(told.expect("a length"));
            for id in &bound.strips {
                let mut all = top.strips.iter();
                let place = all.position(|strip| strip.id == *id).expect("a strip");
                let longest = longest_run(scenario, place, &mut Work::of(STEPS));
                let Ok(Some(longest)) = longest else { continue };
                compared += 1;
                exact += usize::from(longest == told);
                assert!(longest <= told, "seed {seed}: {}\n{text}", bound.sentence);
            }
        }
    }
    println!("{compared} strips, the longest run exact for {exact}");
    assert!(compared >= 30, "only {compared}");
}
