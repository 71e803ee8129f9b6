//! Faulty scenarios: every fault is found in one pass, at its place and with its code, and no input makes a panic.

use std::time::Duration;

use sashwright_solver::NoPlan;
use sashwright_solver::fault::FaultCode::{self, *};
use sashwright_solver::scenario::read;
use sashwright_tests::answer::answer;
use serde_json::{Value, json};

fn valid() -> Value {
    json!({
        "format": 1,
        "name": "a border and a filler",
        "unit": "in",
        "quilt": {
            "blocks": {"columns": 2, "rows": 2, "size": [8, 8]},
            "sashing": {"width": 1, "design": "leaf"},
            "borders": [{"width": 2, "design": "vine"}],
        },
        "strips": [{"id": "filler", "length": "10 1/2", "width": 1, "count": 2, "design": "leaf"}],
        "hoops": [
            {"id": "medium", "field": [6, 10], "frame": [8, 12]},
            {"id": "large", "field": [8, 12]},
        ],
        "designs": [
            {"id": "vine", "sizes": [{"id": "v", "width": 2, "repeat": 3.5, "repeats": 2, "field": [7.25, 2.5]}]},
            {"id": "leaf", "sizes": [
                {"id": "long", "width": 1, "repeat": 2, "repeats": 4, "stop_early": true, "scale": [0.97, 1.03]},
                {"id": "short", "width": 1, "repeat": 2, "repeats": 1},
            ]},
        ],
        "allowances": {"seam": 0.25, "trim": 0.25, "gap": 0.5},
        "rules": {"growth": "one_way", "max_overhang": null},
        "goal": {"priorities": ["hoopings", "joints"]},
        "materials": {"stabilizer": {"roll_width": 20, "margin": 1}},
        "limits": {"seconds": 10},
    })
}

/// A change to the valid scenario.
enum Change {
    /// A value is put at the pointer, in place of another or as a new field.
    Put(Value),
    /// The field is taken out.
    TakeOut,
}

fn change(document: &mut Value, pointer: &str, change: &Change) {
    let (parent, name) = pointer.rsplit_once('/').expect("a pointer below the root");
    let parent = document
        .pointer_mut(parent)
        .expect("a place in the document");
    let name = name.replace("~1", "/").replace("~0", "~");
    match (parent, change) {
        (Value::Object(fields), Change::Put(value)) => {
            fields.insert(name, value.clone());
        }
        (Value::Object(fields), Change::TakeOut) => {
            fields.remove(&name).expect("a field to take out");
        }
        (Value::Array(items), Change::Put(value)) => {
            let index: usize = name.parse().expect("an index");
            if index == items.len() {
                items.push(value.clone());
            } else {
                items[index] = value.clone();
            }
        }
        _ => panic!("no field {pointer}"),
    }
}

/// Pointer and code of every fault.
fn faults(text: &str) -> Vec<(String, FaultCode)> {
    let faults = read(text.as_bytes()).expect_err("faults");
    for fault in &faults {
        assert!(
            !fault.message.is_empty() && !fault.mend.is_empty(),
            "{fault:?}"
        );
    }
    faults
        .into_iter()
        .map(|fault| (fault.pointer, fault.code))
        .collect()
}

#[test]
fn the_scenario_without_a_change_is_read() {
    let read = read(valid().to_string().as_bytes());
    assert!(read.is_ok(), "{read:?}");
}

#[test]
fn what_is_no_json_object_is_refused() {
    for text in ["", "{", "{\"format\": 1,}", "nul", "\u{0}"] {
        assert_eq!(faults(text), [(String::new(), JsonSyntax)], "{text:?}");
    }
    for text in ["[]", "1", "null", "\"scenario\""] {
        assert_eq!(faults(text), [(String::new(), WrongKind)], "{text}");
    }
    let deep = "[".repeat(100_000);
    assert_eq!(faults(&deep), [(String::new(), JsonSyntax)]);
    assert!(read(&[0xff, 0xfe, b'{', b'}']).is_err());
}

/// Each change alone, and the one fault that it makes: `PLACE = VALUE => PLACE OF THE FAULT CODE`; `(none)` takes the field
/// out, and `(root)` is the document itself.
const CASES: &str = r#"
/colour = 1 => /colour unknown-field
/a~1b~0c = 1 => /a~1b~0c unknown-field
/designs/0/sizes/0/stop = true => /designs/0/sizes/0/stop unknown-field
/quilt/blocks/colums = 3 => /quilt/blocks/colums unknown-field
/format = (none) => (root) missing-field
/unit = (none) => (root) missing-field
/hoops = (none) => (root) missing-field
/hoops/1/id = (none) => /hoops/1 missing-field
/hoops/1/field = (none) => /hoops/1 missing-field
/designs/0/sizes/0/width = (none) => /designs/0/sizes/0 missing-field
/designs/0/sizes/0/repeats = (none) => /designs/0/sizes/0 missing-field
/strips/0/design = (none) => /strips/0 missing-field
/quilt/blocks/rows = (none) => /quilt/blocks missing-field
/quilt/borders/0/width = (none) => /quilt/borders/0 missing-field
/format = 2 => /format out-of-range
/format = "1" => /format wrong-kind
/name = 7 => /name wrong-kind
/unit = "cm" => /unit unknown-word
/unit = 25.4 => /unit wrong-kind
/strips = {} => /strips wrong-kind
/strips = [] => /strips out-of-range
/strips/0/length = 0 => /strips/0/length out-of-range
/strips/0/length = -3 => /strips/0/length out-of-range
/strips/0/length = 4000 => /strips/0/length out-of-range
/strips/0/length = "1/0" => /strips/0/length unreadable-number
/strips/0/length = "ten" => /strips/0/length unreadable-number
/strips/0/length = "10 1/2 in" => /strips/0/length unreadable-number
/strips/0/length = 1e300 => /strips/0/length unreadable-number
/strips/0/length = null => /strips/0/length wrong-kind
/strips/0/length = [1] => /strips/0/length wrong-kind
/strips/0/count = 0 => /strips/0/count out-of-range
/strips/0/count = 1.5 => /strips/0/count out-of-range
/strips/0/count = 200000 => /strips/0/count out-of-range
/strips/0/count = "2" => /strips/0/count wrong-kind
/strips/0/count = 100000 => (root) out-of-range
/strips/0/design = "ivy" => /strips/0/design unknown-id
/strips/0/id = "" => /strips/0/id out-of-range
/strips/0/id = "a\nb" => /strips/0/id out-of-range
/strips/1 = {"id": "filler-2", "length": 5, "width": 1, "design": "leaf"} => /strips/1 duplicate-id
/strips/1 = {"id": "border-1-top", "length": 5, "width": 1, "design": "leaf"} => /strips/1 duplicate-id
/quilt/borders/0/design = "ivy" => /quilt/borders/0/design unknown-id
/quilt/borders/0/cope = {"sides": [1, 2]} => /quilt/borders/0/cope conflict
/quilt/borders/0/width_of_ends = 3 => /quilt/borders/0/width_of_ends conflict
/quilt/borders/1 = {"width": 1, "width_of_ends": 0} => /quilt/borders/1/width_of_ends out-of-range
/quilt/borders/1 = {"width": 1, "cope": {}} => /quilt/borders/1/cope missing-field
/quilt/borders/1 = {"width": 1, "cope": 2} => /quilt/borders/1/cope wrong-kind
/quilt/borders/1 = {"width": 1, "cope": {"sides": [2, 1]}} => /quilt/borders/1/cope/sides out-of-range
/quilt/borders/1 = {"width": 1, "cope": {"sides": 2}} => /quilt/borders/1/cope/sides wrong-kind
/quilt/borders/1 = {"width": 1, "cope": {"ends": [0, 1]}} => /quilt/borders/1/cope/ends/0 out-of-range
/quilt/borders/1 = {"width": 1, "cope": {"ends": [1, 2], "step": 0}} => /quilt/borders/1/cope/step out-of-range
/quilt/sashing/cope = {"step": 1} => /quilt/sashing/cope missing-field
/quilt/sashing/cope = {"width": [2, 1]} => /quilt/sashing/cope/width out-of-range
/quilt/sashing/cope = {"width": [1, "wide"]} => /quilt/sashing/cope/width/1 unreadable-number
/quilt/borders/0/corner = "round" => /quilt/borders/0/corner unknown-word
/quilt/borders/0/first = "top" => /quilt/borders/0/first unknown-word
/quilt/borders/0/measured = {"left": 0} => /quilt/borders/0/measured/left out-of-range
/quilt/borders/0/measured = {"upper": 9} => /quilt/borders/0/measured/upper unknown-field
/quilt/centre = [9, 9] => /quilt conflict
/quilt = {"borders": []} => /quilt missing-field
/quilt = {"centre": [9, 9], "sashing": {"width": 1}} => /quilt/sashing conflict
/quilt/blocks/columns = 0 => /quilt/blocks/columns out-of-range
/quilt/blocks/size = [8] => /quilt/blocks/size wrong-kind
/quilt/blocks/size = [8, -8] => /quilt/blocks/size/1 out-of-range
/hoops = [] => /hoops out-of-range
/hoops/0/field = [6] => /hoops/0/field wrong-kind
/hoops/0/field/0 = 0 => /hoops/0/field/0 out-of-range
/hoops/0/frame = [5, 12] => /hoops/0/frame too-small
/hoops/0/turn = "yes" => /hoops/0/turn wrong-kind
/hoops/1/id = "medium" => /hoops/1 duplicate-id
/designs/1/sizes/1/id = "long" => /designs/1/sizes/1 duplicate-id
/designs/0/sizes/0/field = [6.9, 2.5] => /designs/0/sizes/0 too-small
/designs/0/sizes/0/field = [7.25, 1.9] => /designs/0/sizes/0 too-small
/designs/0/sizes/0/repeats = 0 => /designs/0/sizes/0/repeats out-of-range
/designs/0/sizes/0/repeats = 100000 => /designs/0/sizes/0 out-of-range
/designs/0/sizes/0/repeat = "1//2" => /designs/0/sizes/0/repeat unreadable-number
/designs/0/sizes/0/stitches = [100, 200] => /designs/0/sizes/0 conflict
/designs/0/sizes/0/stitches = [0] => /designs/0/sizes/0/stitches out-of-range
/designs/0/sizes/0/stitches = [1.5] => /designs/0/sizes/0/stitches/0 out-of-range
/designs/0/sizes/0/stitches = -1 => /designs/0/sizes/0/stitches out-of-range
/designs/0/sizes/0/scale = [0, 1] => /designs/0/sizes/0/scale out-of-range
/designs/0/sizes/0/scale = [1.1, 1.2] => /designs/0/sizes/0/scale out-of-range
/designs/0/sizes/0/scale = [0.9, 0.95] => /designs/0/sizes/0/scale out-of-range
/designs/0/sizes/0/scale = 1 => /designs/0/sizes/0/scale wrong-kind
/allowances/seam = -0.25 => /allowances/seam out-of-range
/allowances/gap = true => /allowances/gap wrong-kind
/allowances/take_up = 20.5 => /allowances/take_up out-of-range
/allowances/take_up = -1 => /allowances/take_up out-of-range
/allowances/take_up = "1e-7" => /allowances/take_up out-of-range
/allowances/take_up = "3 %" => /allowances/take_up unreadable-number
/measured = {} => /measured wrong-kind
/measured = [{"strip": "filler-1"}] => /measured/0 missing-field
/measured = [{"strip": "filler-1", "length": 0}] => /measured/0/length out-of-range
/measured = [{"strip": "filler", "length": 10}] => /measured/0/strip unknown-id
/measured = [{"strip": "filler-1", "length": 10}, {"strip": "filler-1", "length": 11}] => /measured/1 duplicate-id
/begun = [{"strip": "filler-1", "from": 0}] => /begun/0 missing-field
/begun = [{"strip": "filler-9", "from": 0, "to": 4}] => /begun/0/strip unknown-id
/begun = [{"strip": "filler-1", "from": 4, "to": 4}] => /begun/0 out-of-range
/begun = [{"strip": "filler-1", "from": 0, "to": 11}] => /begun/0/to out-of-range
/begun = [{"strip": "filler-1", "from": 0, "to": 4}, {"strip": "filler-1", "from": 5, "to": 6}] => /begun/1 duplicate-id
/begun = [{"strip": "filler-1", "from": 0, "to": 4, "end": {"past": 1}}] => /begun/0/end missing-field
/begun = [{"strip": "filler-1", "from": 0, "to": 4, "unscaled": 1}] => /begun/0/unscaled wrong-kind
/begun = [{"strip": "border-1-left", "from": 0, "to": 7}] => /begun/0 missing-field
/rules/growth = "both" => /rules/growth unknown-word
/rules/align = "end" => /rules/align unknown-word
/rules/combine_sizes = 1 => /rules/combine_sizes wrong-kind
/rules/max_overhang = -1 => /rules/max_overhang out-of-range
/goal/priorities = [] => /goal/priorities out-of-range
/goal/priorities/2 = "joints" => /goal/priorities/2 duplicate-id
/goal/priorities/2 = "beauty" => /goal/priorities/2 unknown-word
/goal/prices = {"joints": 1} => /goal conflict
/goal = {"prices": {"joints": -1}} => /goal/prices/joints out-of-range
/goal = {"prices": {"joints": 1e-7}} => /goal/prices/joints out-of-range
/goal = {"prices": {"joints": "free"}} => /goal/prices/joints unreadable-number
/goal = {"prices": {"roll_length": -1}} => /goal/prices/roll_length out-of-range
/materials/stabilizer/margin = -1 => /materials/stabilizer/margin out-of-range
/materials/thread = {"stitch": 0} => /materials/thread/stitch out-of-range
/materials/thread = {"extra": 1.5} => /materials/thread/extra out-of-range
/rates = {"hooping": -1} => /rates/hooping out-of-range
/rates = {"placement": 1441} => /rates/placement out-of-range
/rates = {"stitches_per_minute": 0} => /rates/stitches_per_minute out-of-range
/rates = {"needle": 1} => /rates/needle unknown-field
/designs/0/threads = [] => /designs/0/threads out-of-range
/designs/0/threads = [7] => /designs/0/threads/0 wrong-kind
/candidates = [{"id": "large", "field": [9, 9]}] => /candidates/0 duplicate-id
/wishes = [{"wish": "cheap"}] => /wishes/0/wish unknown-word
/wishes = [{"strips": ["filler-1"]}] => /wishes/0 missing-field
/wishes = [{"wish": "first"}] => /wishes/0 missing-field
/wishes = [{"wish": "first", "strips": ["filler-3"]}] => /wishes/0/strips/0 unknown-id
/wishes = [{"wish": "first", "strips": ["filler-1", "filler"], "runs": 2}] => /wishes/0/runs conflict
/wishes = [{"wish": "first", "strips": ["filler-1", "filler-1"]}] => /wishes/0/strips/1 duplicate-id
/wishes = [{"wish": "apart", "strips": ["filler-1"]}] => /wishes/0 out-of-range
/wishes = [{"wish": "only_in", "strips": ["filler"], "hoops": ["huge"]}] => /wishes/0/hoops/0 unknown-id
/wishes = [{"wish": "at_most", "runs": 0}] => /wishes/0/runs out-of-range
/wishes = [{"wish": "joints_away", "strips": ["filler"]}] => /wishes/0 missing-field
/wishes = [{"wish": "joints_away", "strips": ["filler"], "distance": 0}] => /wishes/0/distance out-of-range
/wishes = [{"wish": "joints_away", "strips": ["filler"], "distance": 1, "spots": []}] => /wishes/0/spots out-of-range
/wishes = [{"wish": "joints_away", "strips": ["filler"], "distance": 1, "spots": [-1]}] => /wishes/0/spots/0 out-of-range
/wishes = [{"wish": "symmetric", "strips": ["filler"], "distance": 1}] => /wishes/0/distance conflict
/wishes = [{"wish": "alike", "strips": ["filler-1"]}] => /wishes/0 out-of-range
/wishes = [{"wish": "alike", "strips": ["filler-1", "filler-2"]}, {"wish": "one_size", "strips": ["filler-1"]}] => /wishes/0 conflict
/wishes = [{"wish": "first", "strips": ["filler"]}, {"wish": "first", "strips": ["border-1"]}] => /wishes/1 conflict
/materials/stabilizer/roll_width = 0 => /materials/stabilizer/roll_width out-of-range
/limits/seconds = 0 => /limits/seconds out-of-range
/limits/seconds = 3601 => /limits/seconds out-of-range
/limits/seconds = "soon" => /limits/seconds unreadable-number
"#;

#[test]
fn every_fault_is_found_at_its_place() {
    let mut count = 0;
    for case in CASES.lines().filter(|line| !line.is_empty()) {
        let (pointer, rest) = case.split_once(" = ").expect("a place");
        let (value, rest) = rest.split_once(" => ").expect("a value");
        let (expected, code) = rest.split_once(' ').expect("a place and a code");
        let edit = match value {
            "(none)" => Change::TakeOut,
            value => Change::Put(serde_json::from_str(value).expect("JSON")),
        };
        let mut document = valid();
        change(&mut document, pointer, &edit);
        let found = faults(&document.to_string());
        let found: Vec<(&str, &str)> = found
            .iter()
            .map(|(pointer, code)| (pointer.as_str(), code.name()))
            .collect();
        let expected = expected.strip_prefix("(root)").unwrap_or(expected);
        assert_eq!(found, [(expected, code)], "{case}");
        count += 1;
    }
    assert!(count >= 80, "only {count} cases");
}

/// An id has 1 to 100 characters, counted as characters.
#[test]
fn ids_have_a_longest_length() {
    for (letters, fine) in [(100, true), (101, false)] {
        let mut document = valid();
        let id = Change::Put(json!("ü".repeat(letters)));
        change(&mut document, "/strips/0/id", &id);
        assert_eq!(read(document.to_string().as_bytes()).is_ok(), fine);
    }
}

#[test]
fn nothing_to_stitch_is_a_fault() {
    let mut document = valid();
    change(&mut document, "/strips", &Change::TakeOut);
    change(&mut document, "/quilt/sashing/design", &Change::TakeOut);
    change(&mut document, "/quilt/borders/0/design", &Change::TakeOut);
    assert_eq!(
        faults(&document.to_string()),
        [(String::new(), NothingToStitch)]
    );
    change(&mut document, "/quilt", &Change::TakeOut);
    let faults = faults(&document.to_string());
    assert!(faults.contains(&(String::new(), MissingField)));
}

/// Faults all over the document come in one answer, none of them named twice, and none made up.
#[test]
fn all_faults_come_at_once() {
    let edits = [
        ("/unit", json!("ell"), "/unit", UnknownWord),
        ("/colour", json!("blue"), "/colour", UnknownField),
        (
            "/quilt/borders/0/width",
            json!(0),
            "/quilt/borders/0/width",
            OutOfRange,
        ),
        (
            "/quilt/sashing/outer",
            json!("no"),
            "/quilt/sashing/outer",
            WrongKind,
        ),
        (
            "/strips/0/length",
            json!("long"),
            "/strips/0/length",
            UnreadableNumber,
        ),
        (
            "/strips/0/design",
            json!("ivy"),
            "/strips/0/design",
            UnknownId,
        ),
        ("/hoops/0/frame", json!([1, 1]), "/hoops/0/frame", TooSmall),
        (
            "/designs/0/sizes/0/scale",
            json!([2, 3]),
            "/designs/0/sizes/0/scale",
            OutOfRange,
        ),
        (
            "/designs/1/sizes/1/id",
            json!("long"),
            "/designs/1/sizes/1",
            DuplicateId,
        ),
        (
            "/allowances/trim",
            json!(-1),
            "/allowances/trim",
            OutOfRange,
        ),
        ("/rules/growth", json!("up"), "/rules/growth", UnknownWord),
        ("/goal/prices", json!({}), "/goal", Conflict),
        ("/limits/seconds", json!(1e9), "/limits/seconds", OutOfRange),
    ];
    let mut document = valid();
    for (pointer, value, _, _) in &edits {
        change(&mut document, pointer, &Change::Put(value.clone()));
    }
    let mut found = faults(&document.to_string());
    let mut expected: Vec<(String, FaultCode)> = edits
        .iter()
        .map(|(_, _, pointer, code)| ((*pointer).to_string(), *code))
        .collect();
    let sort = |faults: &mut Vec<(String, FaultCode)>| {
        faults.sort_by_key(|(pointer, code)| (pointer.clone(), code.name()));
    };
    sort(&mut found);
    sort(&mut expected);
    assert_eq!(found, expected);
}

/// A list of faults ends, and says how many it leaves out.
/// What names stand for is looked up though something else is at fault.
#[test]
fn unknown_names_are_told_along_with_other_faults() {
    let mut document = valid();
    document["allowances"]["seam"] = json!(-1);
    document["wishes"] = json!([
        {"wish": "only_in", "strips": ["nowhere"], "hoops": ["none"]},
        {"wish": "joints_away", "strips": ["filler-1"], "distance": -2},
        {"wish": "apart", "strips": ["filler-1", "filler-9"]}
    ]);
    let told = faults(&document.to_string());
    let expected = [
        ("/allowances/seam", OutOfRange),
        ("/wishes/1/distance", OutOfRange),
        ("/wishes/0/strips/0", UnknownId),
        ("/wishes/0/hoops/0", UnknownId),
        ("/wishes/2/strips/1", UnknownId),
    ];
    let expected = expected.map(|(pointer, code)| (pointer.to_string(), code));
    assert_eq!(told, expected);
    // Whose hoops are not known is not said to name others.
    document["hoops"][0]["field"] = json!([-7, 10]);
    let told = faults(&document.to_string());
    let pointers: Vec<&str> = told.iter().map(|(pointer, _)| pointer.as_str()).collect();
    let names = ["/wishes/0/strips/0", "/wishes/2/strips/1"];
    assert!(names.iter().all(|name| pointers.contains(name)), "{told:?}");
    assert!(!pointers.contains(&"/wishes/0/hoops/0"), "{told:?}");
}

#[test]
fn thousands_of_faults_are_counted() {
    let mut document = valid();
    let strip = json!({"id": "s", "length": 0, "width": 1, "design": "leaf"});
    change(
        &mut document,
        "/strips",
        &Change::Put(json!(vec![strip; 5000])),
    );
    let faults = read(document.to_string().as_bytes()).expect_err("faults");
    let last = faults.last().expect("a fault");
    assert_eq!(last.code, More);
    assert!(faults.len() < 1000);
    assert!(
        last.message
            .contains(&(5000 - (faults.len() - 1)).to_string()),
        "{last}"
    );
}

/// RFC 8259, section 8.1: a reader may ignore a byte order mark. Some editors write one.
#[test]
fn a_byte_order_mark_is_ignored() {
    let faults = read("\u{feff}{}".as_bytes()).expect_err("an empty object has faults");
    assert!(
        faults
            .iter()
            .all(|fault| fault.code != FaultCode::JsonSyntax)
    );
}

/// The length of roll is counted only where there is one roll, and every piece fits across it.
#[test]
fn a_length_of_roll_needs_one_roll_that_is_wide_enough() {
    let faults = |stabilizer: Value| {
        let mut document = valid();
        document["goal"] = json!({"priorities": ["roll_length"]});
        document["materials"]["stabilizer"] = stabilizer;
        let read = read(document.to_string().as_bytes());
        let faults = read.err().unwrap_or_default();
        let told = faults
            .iter()
            .map(|fault| format!("{} {:?}", fault.pointer, fault.code));
        told.collect::<Vec<String>>()
    };
    assert!(faults(json!({"roll_width": 20})).is_empty());
    assert_eq!(
        faults(json!({"margin": 1})),
        ["/materials/stabilizer Conflict"]
    );
    let sheets = json!({"roll_width": 20, "price": 1, "sheets": [{"id": "sheet", "size": [9, 9], "price": 1}]});
    assert_eq!(faults(sheets), ["/materials/stabilizer Conflict"]);
    // The pieces are 8 + 2 by 12 + 2 in.
    let narrow = |width: f64| json!({"roll_width": width, "margin": 1});
    assert!(faults(narrow(10.0)).is_empty());
    assert_eq!(
        faults(narrow(9.75)),
        ["/hoops/0 Conflict", "/hoops/1 Conflict"]
    );
}

/// Whoever gives the one document for the other is told so, and not of every field that is unknown.
#[test]
fn a_plan_is_no_scenario() {
    let scenario = read(valid().to_string().as_bytes()).expect("a scenario without fault");
    let plan = answer(&scenario, Duration::from_secs(30)).expect("a plan");
    let plan = serde_json::to_vec(&plan).expect("JSON");
    let faults = read(&plan).expect_err("a plan");
    let [fault] = &faults[..] else {
        panic!("{faults:?}");
    };
    assert_eq!((fault.pointer.as_str(), fault.code), ("", WrongKind));
    assert!(fault.message.contains("a plan"), "{fault:?}");
}

/// Strips that cannot be stitched for one reason share a fault, entry by entry: a few by name, and how many others there are.
#[test]
fn alike_strips_that_cannot_be_stitched_are_one_fault() {
    let mut document = valid();
    document["strips"] = json!([
        {"id": "filler", "length": 10.5, "width": 1.25, "count": 2000, "design": "leaf"},
        {"id": "cuff", "length": 9, "width": 3, "count": 2, "design": "leaf"},
        {"id": "tie", "length": 9, "width": 3, "design": "leaf"}]);
    let scenario = read(document.to_string().as_bytes()).expect("no fault");
    let Err(NoPlan::CannotBeStitched(faults)) = answer(&scenario, Duration::from_secs(10)) else {
        panic!("a plan");
    };
    let told: Vec<(&str, &str)> = faults
        .iter()
        .map(|fault| (fault.pointer.as_str(), fault.message.as_str()))
        .collect();
    let names: Vec<String> = (1..=12).map(|number| format!("filler-{number}")).collect();
    let of_fillers = format!(
        "The strips {} and 1988 more strips cannot be stitched. The design \"leaf\" has no size for strips 1.25 in wide; it has sizes for 1.",
        names.join(", ")
    );
    let no_size = "The design \"leaf\" has no size for strips 3 in wide; it has sizes for 1.";
    let of_cuffs = format!("The strips cuff-1, cuff-2 cannot be stitched. {no_size}");
    let of_tie = format!("The strip tie cannot be stitched. {no_size}");
    assert_eq!(
        told,
        [
            ("/strips/0", of_fillers.as_str()),
            ("/strips/1", of_cuffs.as_str()),
            ("/strips/2", of_tie.as_str())
        ]
    );
}
