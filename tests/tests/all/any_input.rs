//! Any JSON at all, and valid scenarios with random changes: no panic, no hang, and every plan that comes is valid.

use std::time::{Duration, Instant};

use jsonschema::draft202012;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use proptest::test_runner::RngSeed;
use sashwright_solver::NoPlan;
use sashwright_solver::cope::{cope, faults, fits_schema};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::replan::{Asked, progress_schema, replan};
use sashwright_solver::scenario::{read, scenario_schema};
use sashwright_tests::answer::{answer, flaws};
use sashwright_tests::generator::{Scale, begun_scenario, scenario};
use serde_json::{Value, json};

/// The same cases on every run, and no file of them beside the tests. Who has an hour sets `SASHWRIGHT_DRAW_SEED` to draw others.
pub fn config(cases: u32) -> ProptestConfig {
    let told = std::env::var("SASHWRIGHT_DRAW_SEED").ok();
    let seed = told.map_or(20, |seed| seed.parse().expect("a whole number"));
    ProptestConfig {
        cases,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(seed),
        ..ProptestConfig::default()
    }
}

/// Names of the document, so that random objects get past the first look.
const NAMES: &[&str] = &[
    "format",
    "unit",
    "quilt",
    "quilts",
    "strips",
    "hoops",
    "designs",
    "sizes",
    "id",
    "length",
    "width",
    "count",
    "design",
    "field",
    "frame",
    "repeat",
    "repeats",
    "scale",
    "stop_early",
    "rules",
    "goal",
    "priorities",
    "prices",
    "blocks",
    "centre",
    "borders",
    "sashing",
    "width_of_ends",
    "cope",
    "sides",
    "ends",
    "step",
    "limits",
    "seconds",
    "take_up",
    "measured",
    "begun",
    "strip",
    "from",
    "to",
    "start",
    "end",
    "past",
    "unscaled",
    "done",
    "runs",
    "run",
    "outcome",
    "recut",
    "broken_hoops",
    "lost_sizes",
    "other",
    "materials",
    "stabilizer",
    "fabrics",
    "batting",
    "backing",
    "tape",
    "thread",
    "bolts",
    "sheets",
    "on_hand",
    "size",
    "price",
    "lay",
    "by",
    "reach",
    "for",
    "long_strips",
    "joins_clear",
    "each_run",
    "roll",
    "roll_width",
    "spool",
];

/// Values that often go wrong somewhere.
fn palette() -> impl Strategy<Value = Value> {
    select(vec![
        Value::Null,
        json!(true),
        json!(0),
        json!(-1),
        json!(1),
        json!(2),
        json!(3.5),
        json!(1e-9),
        json!(1000),
        json!(99_999),
        json!(100_000),
        json!(1e18),
        json!(-1e300),
        json!(u64::MAX),
        json!(i64::MIN),
        json!(0.1 + 0.2),
        json!(""),
        json!("1/3"),
        json!("9 3/4"),
        json!("1/999999999999999999"),
        json!("999999999999999999 1/999999999999999999"),
        json!("0.0000000001"),
        json!("\u{0}"),
        json!("vine"),
        json!("mitred"),
        json!("in"),
        json!("mm"),
        json!([]),
        json!({}),
        json!([1, 1]),
        json!([0.5, "7/4"]),
        json!([1000, 1000]),
        json!(["hoopings", "joints"]),
        json!(["corner_mismatch"]),
        json!({"hoopings": 1, "overhang": "0.000001"}),
    ])
}

pub fn any_json() -> impl Strategy<Value = Value> {
    palette().prop_recursive(5, 60, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..5).prop_map(Value::Array),
            prop::collection::vec((select(NAMES), inner), 0..6).prop_map(|fields| {
                let fields = fields.into_iter();
                Value::Object(
                    fields
                        .map(|(name, value)| (name.to_string(), value))
                        .collect(),
                )
            }),
        ]
    })
}

/// A change somewhere in a document.
#[derive(Clone, Debug)]
pub enum Change {
    Replace(Index, Value),
    Remove(Index),
    Double(Index),
}

pub fn any_change() -> impl Strategy<Value = Change> {
    prop_oneof![
        4 => (any::<Index>(), palette()).prop_map(|(place, value)| Change::Replace(place, value)),
        1 => any::<Index>().prop_map(Change::Remove),
        1 => any::<Index>().prop_map(Change::Double),
    ]
}

/// The pointers of all values below the root.
fn places(value: &Value, pointer: &str, found: &mut Vec<String>) {
    let children: Vec<(String, &Value)> = match value {
        Value::Object(fields) => fields
            .iter()
            .map(|(name, value)| (name.clone(), value))
            .collect(),
        Value::Array(items) => {
            let items = items.iter().enumerate();
            items
                .map(|(index, value)| (index.to_string(), value))
                .collect()
        }
        _ => Vec::new(),
    };
    for (name, child) in children {
        let pointer = format!("{pointer}/{name}");
        places(child, &pointer, found);
        found.push(pointer);
    }
}

pub fn apply(document: &mut Value, change: &Change) {
    let mut pointers = Vec::new();
    places(document, "", &mut pointers);
    let (Change::Replace(place, _) | Change::Remove(place) | Change::Double(place)) = change;
    if pointers.is_empty() {
        return;
    }
    let pointer = &pointers[place.index(pointers.len())];
    let Some((parent, name)) = pointer.rsplit_once('/') else {
        return;
    };
    let Some(parent) = document.pointer_mut(parent) else {
        return;
    };
    match (parent, change) {
        (Value::Object(fields), Change::Replace(_, value)) => {
            fields.insert(name.into(), value.clone());
        }
        (Value::Object(fields), _) => {
            fields.remove(name);
        }
        (Value::Array(items), change) => {
            let index: usize = name.parse().unwrap_or(0);
            match change {
                Change::Replace(_, value) => items[index] = value.clone(),
                Change::Remove(_) => drop(items.remove(index)),
                Change::Double(_) => items.push(items[index].clone()),
            }
        }
        _ => {}
    }
}

/// Reads the document and plans it where it is accepted.
fn read_and_plan(document: &Value) -> Result<(), TestCaseError> {
    let scenario = match read(document.to_string().as_bytes()) {
        Ok(scenario) => scenario,
        Err(faults) => {
            prop_assert!(!faults.is_empty());
            return Ok(());
        }
    };
    // The schema states the shapes, so whatever is accepted fulfils it.
    prop_assert!(
        draft202012::is_valid(&scenario_schema(), document),
        "{}",
        document
    );
    let begun = Instant::now();
    match answer(&scenario, Duration::from_millis(50)) {
        Ok(plan) => {
            let flaws = flaws(&scenario, &plan);
            prop_assert!(flaws.is_empty(), "{:?}\n{}", flaws, document);
        }
        Err(NoPlan::CannotBeStitched(faults)) => prop_assert!(!faults.is_empty()),
        Err(error) => prop_assert!(false, "{:?}\n{}", error, document),
    }
    // Generous, as the machine may be busy: this finds hangs, not delays.
    prop_assert!(begun.elapsed() < Duration::from_secs(30), "{}", document);
    Ok(())
}

proptest! {
    #![proptest_config(config(2000))]

    #[test]
    fn any_json_is_read_or_refused(document in any_json()) {
        read_and_plan(&document)?;
    }

    #[test]
    fn any_bytes_are_refused(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        prop_assert!(read(&bytes).is_err());
    }
}

proptest! {
    #![proptest_config(config(600))]

    #[test]
    fn a_changed_scenario_is_planned_or_refused(
        seed in 0_u64..1000,
        changes in prop::collection::vec(any_change(), 0..4),
    ) {
        let text = scenario(seed, Scale::Tiny);
        let mut document: Value = serde_json::from_str(&text).expect("JSON");
        for change in &changes {
            apply(&mut document, change);
        }
        read_and_plan(&document)?;
    }
}

/// Reads the document and looks for widths where it is accepted.
fn read_and_cope(document: &Value, schema: &Value) -> Result<(), TestCaseError> {
    let Ok(scenario) = read(document.to_string().as_bytes()) else {
        return Ok(());
    };
    if !faults(&scenario).is_empty() {
        return Ok(());
    }
    let begun = Instant::now();
    let deadline = Deadline::after(Duration::from_millis(50), StopSignal::new());
    let fits = match cope(&scenario, &deadline) {
        Ok(fits) => fits,
        Err(error) => return Err(TestCaseError::fail(format!("{error:?}\n{document}"))),
    };
    prop_assert!(begun.elapsed() < Duration::from_secs(30), "{}", document);
    prop_assert!(draft202012::is_valid(schema, &json!(fits)), "{}", document);
    prop_assert!(fits.looked_at <= fits.choices && fits.closing <= fits.looked_at);
    let plans = fits.fits.iter().chain([&fits.now]);
    for fit in plans {
        prop_assert!(
            fit.objective.is_empty() != fit.trouble.is_empty(),
            "{}",
            document
        );
    }
    Ok(())
}

proptest! {
    #![proptest_config(config(300))]

    /// A coping strip is put inside the drawn borders, so that there are widths to look for.
    #[test]
    fn a_changed_scenario_is_made_to_fit_or_refused(
        seed in 0_u64..1000,
        inner in select(vec![
            json!({"width": 1, "cope": {"sides": [1, 2], "ends": ["1/2", 2], "step": 0.5}}),
            json!({"width": 1, "width_of_ends": 2, "cope": {"ends": [1, 2]}}),
        ]),
        changes in prop::collection::vec(any_change(), 0..3),
    ) {
        let text = scenario(seed, Scale::Tiny);
        let mut document: Value = serde_json::from_str(&text).expect("JSON");
        if let Some(borders) = document.pointer_mut("/quilt/borders").and_then(Value::as_array_mut) {
            borders.insert(0, inner);
        }
        for change in &changes {
            apply(&mut document, change);
        }
        read_and_cope(&document, &fits_schema())?;
    }
}

/// A progress document that says something of everything: the first hoopings are done, their runs measured.
fn progress(plan: &sashwright_solver::plan::Plan, done: usize, off: i64) -> Value {
    let placements = plan
        .hoopings
        .iter()
        .take(done)
        .flat_map(|of| &of.placements);
    let runs = placements.map(|placement| {
        let measured = placement.length.exact().map_or(json!(1), |length| {
            let longer = length.numerator() * i128::from(1000 + off);
            json!(sashwright_solver::length::Measure::from_ratio(longer, length.denominator() * 1000))
        });
        json!({"strip": placement.strip, "run": placement.run, "outcome": "stitched", "measured": measured})
    });
    let runs: Vec<Value> = runs.collect();
    let strips = plan.strips.iter().take(1);
    let strips: Vec<Value> = strips
        .map(|strip| json!({"strip": strip.id, "recut": false, "length": strip.length}))
        .collect();
    json!({"format": 1, "unit": plan.unit, "done": done, "runs": runs, "strips": strips, "broken_hoops": [],
        "lost_sizes": []})
}

proptest! {
    #![proptest_config(config(400))]

    /// Any of the three documents may be changed: what is accepted fulfils its schema and gets an answer that holds.
    #[test]
    fn changed_documents_get_a_replan_or_are_refused(
        seed in 0_u64..1000,
        done in 0_usize..6,
        off in -60_i64..60,
        which in 0_usize..8,
        changes in prop::collection::vec(any_change(), 0..4),
    ) {
        let text = if seed % 2 == 0 { scenario(seed, Scale::Tiny) } else { begun_scenario(seed, Scale::Tiny) };
        let read_scenario = read(text.as_bytes()).expect("no fault");
        let Ok(plan) = answer(&read_scenario, Duration::from_millis(50)) else {
            return Ok(());
        };
        let mut documents = [
            serde_json::from_str(&text).expect("JSON"),
            json!(plan),
            progress(&plan, done.min(plan.hoopings.len()), off),
        ];
        // Mostly the progress.
        let changed = if which < 2 { which } else { 2 };
        for change in &changes {
            apply(&mut documents[changed], change);
        }
        let texts = documents.each_ref().map(|document| document.to_string());
        let begun = Instant::now();
        match Asked::read(texts.each_ref().map(|text| text.as_bytes())) {
            Err(faults) => prop_assert!(!faults.is_empty()),
            Ok(asked) => {
                prop_assert!(draft202012::is_valid(&progress_schema(), &documents[2]), "{}", texts[2]);
                let deadline = Deadline::after(Duration::from_millis(50), StopSignal::new());
                match replan(&asked, false, &deadline) {
                    Ok(answer) => {
                        let rest = answer.scenario.expect("a scenario");
                        prop_assert!(draft202012::is_valid(&scenario_schema(), &rest), "{}", rest);
                        let rest = read(rest.to_string().as_bytes()).expect("no fault");
                        let plan = answer.plan.expect("a plan");
                        let flaws = flaws(&rest, &plan);
                        prop_assert!(flaws.is_empty(), "{:?}\n{}\n{}\n{}", flaws, texts[0], texts[1], texts[2]);
                    }
                    Err(NoPlan::CannotBeStitched(faults)) => prop_assert!(!faults.is_empty()),
                    Err(error) => prop_assert!(false, "{:?}\n{}\n{}\n{}", error, texts[0], texts[1], texts[2]),
                }
            }
        }
        prop_assert!(begun.elapsed() < Duration::from_secs(30), "{}\n{}\n{}", texts[0], texts[1], texts[2]);
    }
}
