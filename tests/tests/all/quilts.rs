//! Several quilts in one scenario: what their strips are called, that they share hoopings, where their corners are, and what is refused.

use std::collections::BTreeSet;
use std::time::Duration;

use sashwright_solver::check::{check, check_materials};
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::fault::FaultCode::{self, *};
use sashwright_solver::job::add_materials;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{Scenario, read};
use sashwright_solver::strips;
use sashwright_tests::answer::{answer, flaws};
use serde_json::{Value, json};

/// Strips of 10 mm width, one size of 40 mm, and a hoop whose field holds one lane of 80 mm: two runs of 40 mm end to end, as nothing
/// lies between them.
fn scenario_of(parts: Value) -> Value {
    let mut document = json!({
        "format": 1, "unit": "mm",
        "hoops": [{"id": "hoop", "field": [80, 10], "turn": false}],
        "designs": [{"id": "vine", "sizes": [
            {"id": "one", "width": 10, "repeat": 40, "repeats": 1},
        ]}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
    });
    for (name, value) in parts.as_object().expect("fields") {
        document[name] = value.clone();
    }
    document
}

/// Two blocks of 40 mm side by side, and the sash between them: one strip of 40 mm, half of what the field takes.
fn one_sash() -> Value {
    json!({"blocks": {"columns": 2, "rows": 1, "size": [40, 40]}, "sashing": {"width": 10, "design": "vine"}})
}

fn scenario(document: &Value) -> Scenario {
    read(document.to_string().as_bytes()).expect("no faults")
}

fn planned(document: &Value) -> Plan {
    let scenario = scenario(document);
    let plan = answer(&scenario, Duration::from_secs(10)).expect("a plan");
    assert_eq!(flaws(&scenario, &plan), Vec::<String>::new());
    plan
}

fn faults(document: &Value) -> Vec<(String, FaultCode)> {
    let faults = read(document.to_string().as_bytes()).expect_err("faults");
    faults
        .into_iter()
        .map(|fault| (fault.pointer, fault.code))
        .collect()
}

fn ids(document: &Value) -> Vec<String> {
    let strips = strips::of(&scenario(document)).strips.into_iter();
    strips.map(|strip| strip.id).collect()
}

/// The one quilt comes first, then those of the list with their names in front, then single strips; copies are counted only where
/// there are several.
#[test]
fn strips_are_named_by_their_quilt() {
    let document = scenario_of(json!({
        "quilt": one_sash(),
        "quilts": [
            {"id": "throw", "count": 2, "quilt": one_sash()},
            {"id": "runner", "quilt": {"centre": [40, 40], "borders": [{"width": 10, "corner": "cornerstone", "design": "vine"}]}},
        ],
        "strips": [{"id": "loose", "length": 40, "width": 10, "design": "vine"}],
    }));
    let expected = [
        "sash-v-1-1",
        "throw-1-sash-v-1-1",
        "throw-2-sash-v-1-1",
        "runner-border-1-left",
        "runner-border-1-right",
        "runner-border-1-top",
        "runner-border-1-bottom",
        "loose",
    ];
    assert_eq!(ids(&document), expected);
    assert_eq!(strips::count(&scenario(&document)), expected.len());
}

/// A sash leaves half of a field empty. Three quilts of one sash each need a hooping each by themselves, and 2 together, since a field
/// holds two sashes.
#[test]
fn strips_of_several_quilts_share_hoopings() {
    let alone = planned(&scenario_of(json!({"quilt": one_sash()})));
    assert_eq!(alone.hoopings.len(), 1);
    let together = planned(&scenario_of(json!({
        "quilts": [{"id": "a", "count": 2, "quilt": one_sash()}, {"id": "b", "quilt": one_sash()}],
    })));
    assert_eq!(together.hoopings.len(), 2);
}

/// A butted border of 40 x 40 with strips of 10: sides of 40, and ends of 60 that take two sizes and reach 10 past either end, a quarter
/// of a repeat of 40. At each corner the side ends at a whole repeat, so that the pattern misses itself by 10, and by 40 at the four
/// corners of a quilt. Two quilts have twice that, and each names its corners.
#[test]
fn each_quilt_has_corners_of_its_own() {
    let document = scenario_of(json!({
        "quilts": [{"id": "q", "count": 2, "quilt": {
            "centre": [40, 40], "borders": [{"width": 10, "design": "vine"}]}}],
        "goal": {"priorities": ["corner_mismatch", "hoopings"]},
    }));
    let plan = planned(&document);
    let named: Vec<_> = plan
        .corners
        .iter()
        .map(|corner| (corner.quilt.as_deref(), corner.corner.as_str()))
        .collect();
    let corners = ["top-left", "top-right", "bottom-left", "bottom-right"];
    let of = |quilt| corners.map(|corner| (Some(quilt), corner));
    assert_eq!(named, [of("q-1"), of("q-2")].concat());
    assert_eq!(
        serde_json::to_value(&plan.objective[0].value).expect("JSON"),
        json!(80)
    );

    // A corner told of for the other quilt leaves one out and has the wrong strips.
    let mut wrong = plan.clone();
    wrong.corners[0].quilt = Some("q-2".into());
    let broken: Vec<_> = check(&scenario(&document), &wrong)
        .into_iter()
        .map(|violation| violation.rule)
        .collect();
    for name in [
        "wrong-corner-strips",
        "corner-listed-twice",
        "corner-missing",
    ] {
        assert!(broken.contains(&name), "{name} is missing in {broken:?}");
    }
    wrong.corners[0].quilt = None;
    let broken = check(&scenario(&document), &wrong);
    assert!(
        broken
            .iter()
            .any(|violation| violation.rule == "unknown-corner")
    );
}

/// Strips of a quilt in the list are measured by their ids.
#[test]
fn strips_of_several_quilts_are_measured() {
    let mut document = scenario_of(json!({
        "quilts": [{"id": "q", "count": 2, "quilt": one_sash()}],
        "measured": [{"strip": "q-2-sash-v-1-1", "length": 39}],
    }));
    let lengths: Vec<i64> = strips::of(&scenario(&document))
        .strips
        .iter()
        .map(|strip| strip.length.nanometres())
        .collect();
    assert_eq!(lengths, [40_000_000, 39_000_000]);
    planned(&document);
    document["measured"][0]["strip"] = json!("q-3-sash-v-1-1");
    assert_eq!(
        faults(&document),
        [("/measured/0/strip".to_string(), UnknownId)]
    );
}

/// A fabric is for a piece by its name within the quilt or by its whole name; the first fabric that is for it takes it. Three quilts with
/// four strips and four cornerstones each: all eight of q-2 are of `one`, the eight other strips of `borders`, and the eight other
/// cornerstones of `rest`.
#[test]
fn fabrics_are_for_pieces_of_all_quilts_or_of_one() {
    for design in [Some("vine"), None] {
        let mut border = json!({"width": 10, "corner": "cornerstone"});
        if let Some(design) = design {
            border["design"] = json!(design);
        }
        let quilt = json!({"centre": [40, 40], "borders": [border]});
        let document = scenario_of(json!({
            "quilt": one_sash(),
            "quilts": [{"id": "q", "count": 2, "quilt": quilt}, {"id": "r", "quilt": quilt}],
            "materials": {"fabrics": [
                {"id": "sashes", "for": ["sash"]}, {"id": "one", "for": ["q-2"]},
                {"id": "borders", "for": ["border-1"]}, {"id": "rest"},
            ]},
        }));
        let mut plan = planned(&document);
        let deadline = Deadline::after(Duration::from_secs(10), StopSignal::new());
        add_materials(&scenario(&document), &mut plan, &deadline);
        assert_eq!(check_materials(&scenario(&document), &plan), Vec::new());
        let uses = |cloth: &str| -> BTreeSet<String> {
            let cuttings = plan.cutting.iter().flatten();
            let pieces = cuttings
                .filter(|cuts| cuts.cloth == cloth)
                .flat_map(|cuts| &cuts.pieces);
            pieces.flat_map(|piece| piece.uses.clone()).collect()
        };
        let sides = ["left", "right", "top", "bottom"];
        let strips = |quilt: &str| sides.map(|side| format!("{quilt}-border-1-{side}"));
        let squares = |quilt: &str| format!("cornerstone of border 1 of {quilt}");
        assert_eq!(uses("sashes"), BTreeSet::from(["sash-v-1-1".to_string()]));
        let mut one = BTreeSet::from(strips("q-2"));
        one.insert(squares("q-2"));
        assert_eq!(uses("one"), one);
        assert_eq!(
            uses("borders"),
            strips("q-1").into_iter().chain(strips("r")).collect()
        );
        assert_eq!(uses("rest"), BTreeSet::from([squares("q-1"), squares("r")]));
    }
}

#[test]
fn what_cannot_be_is_refused() {
    let with = |quilts: Value| scenario_of(json!({ "quilts": quilts }));
    let at = |pointer: &str, code| vec![(pointer.to_string(), code)];
    let entry = |id: &str| json!({"id": id, "quilt": one_sash()});
    assert_eq!(faults(&with(json!([]))), at("/quilts", OutOfRange));
    assert_eq!(
        faults(&with(json!([entry("a"), entry("a")])))[0],
        at("/quilts/1", DuplicateId)[0]
    );
    assert_eq!(
        faults(&with(json!([{"id": "a"}]))),
        at("/quilts/0", MissingField)
    );
    assert_eq!(
        faults(&with(json!([{"quilt": one_sash()}]))),
        at("/quilts/0", MissingField)
    );
    let mut copies = entry("a");
    copies["count"] = json!(0);
    assert_eq!(
        faults(&with(json!([copies]))),
        at("/quilts/0/count", OutOfRange)
    );
    assert!(read(with(json!([entry(&"a".repeat(60))])).to_string().as_bytes()).is_ok());
    assert_eq!(
        faults(&with(json!([entry(&"a".repeat(61))]))),
        at("/quilts/0/id", OutOfRange)
    );
    // "a" twice makes a-1, which the other quilt is called.
    let mut twice = entry("a");
    twice["count"] = json!(2);
    assert_eq!(
        faults(&with(json!([twice, entry("a-1")]))),
        at("/quilts/1/quilt/sashing", DuplicateId)
    );
    let mut open = entry("a");
    open["quilt"]["sashing"]["cope"] = json!({"width": [9, 11]});
    assert_eq!(
        faults(&with(json!([open]))),
        at("/quilts/0/quilt/sashing/cope", Conflict)
    );
    let mut open = entry("a");
    open["quilt"]["borders"] = json!([{"width": 10}, {"width": 10, "cope": {"sides": [9, 11]}}]);
    assert_eq!(
        faults(&with(json!([open]))),
        at("/quilts/0/quilt/borders/1/cope", Conflict)
    );
}

/// 100 000 strips are planned at once and no more. Copies without any strip are no burden, however many there are.
#[test]
fn there_are_not_too_many() {
    let with = |count: u64, quilt: Value| {
        scenario_of(json!({"quilts": [
            {"id": "a", "count": count, "quilt": quilt}, {"id": "b", "quilt": one_sash()},
        ]}))
    };
    assert!(read(with(99_999, one_sash()).to_string().as_bytes()).is_ok());
    assert_eq!(
        faults(&with(100_000, one_sash())),
        [(String::new(), OutOfRange)]
    );
    let plain = json!({"centre": [1000, 1000], "borders": [{"width": 10}]});
    let entries: Vec<Value> = (0..9_999)
        .map(|number| json!({"id": format!("p{number}"), "count": 100_000, "quilt": plain}))
        .chain([json!({"id": "b", "quilt": one_sash()})])
        .collect();
    assert_eq!(
        planned(&scenario_of(json!({"quilts": entries})))
            .strips
            .len(),
        1
    );
}
