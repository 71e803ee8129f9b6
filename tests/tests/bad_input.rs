//! Faulty scenarios: every fault is found in one pass, at its place and with its code, and no input makes a panic.

use sashwright_solver::fault::FaultCode::{self, *};
use sashwright_solver::scenario::read;
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
    for text in ["", "{", "{\"format\": 1,}", "\u{feff}{}", "nul", "\u{0}"] {
        assert_eq!(faults(text), [(String::new(), JsonSyntax)], "{text:?}");
    }
    for text in ["[]", "1", "null", "\"scenario\""] {
        assert_eq!(faults(text), [(String::new(), WrongKind)], "{text}");
    }
    let deep = "[".repeat(100_000);
    assert_eq!(faults(&deep), [(String::new(), JsonSyntax)]);
    assert!(read(&[0xff, 0xfe, b'{', b'}']).is_err());
}

/// Each change alone, and the one fault that it makes.
#[test]
fn every_fault_is_found_at_its_place() {
    let put = Change::Put;
    let strip = |id: &str| json!({"id": id, "length": 5, "width": 1, "design": "leaf"});
    let long_id = "x".repeat(101);
    let cases = [
        ("/colour", put(json!(1)), "/colour", UnknownField),
        ("/a~1b~0c", put(json!(1)), "/a~1b~0c", UnknownField),
        (
            "/designs/0/sizes/0/stop",
            put(json!(true)),
            "/designs/0/sizes/0/stop",
            UnknownField,
        ),
        (
            "/quilt/blocks/colums",
            put(json!(3)),
            "/quilt/blocks/colums",
            UnknownField,
        ),
        ("/format", Change::TakeOut, "", MissingField),
        ("/unit", Change::TakeOut, "", MissingField),
        ("/hoops", Change::TakeOut, "", MissingField),
        ("/hoops/1/id", Change::TakeOut, "/hoops/1", MissingField),
        ("/hoops/1/field", Change::TakeOut, "/hoops/1", MissingField),
        (
            "/designs/0/sizes/0/width",
            Change::TakeOut,
            "/designs/0/sizes/0",
            MissingField,
        ),
        (
            "/designs/0/sizes/0/repeats",
            Change::TakeOut,
            "/designs/0/sizes/0",
            MissingField,
        ),
        (
            "/strips/0/design",
            Change::TakeOut,
            "/strips/0",
            MissingField,
        ),
        (
            "/quilt/blocks/rows",
            Change::TakeOut,
            "/quilt/blocks",
            MissingField,
        ),
        (
            "/quilt/borders/0/width",
            Change::TakeOut,
            "/quilt/borders/0",
            MissingField,
        ),
        ("/format", put(json!(2)), "/format", OutOfRange),
        ("/format", put(json!("1")), "/format", WrongKind),
        ("/name", put(json!(7)), "/name", WrongKind),
        ("/unit", put(json!("cm")), "/unit", UnknownWord),
        ("/unit", put(json!(25.4)), "/unit", WrongKind),
        ("/strips", put(json!({})), "/strips", WrongKind),
        ("/strips", put(json!([])), "/strips", OutOfRange),
        (
            "/strips/0/length",
            put(json!(0)),
            "/strips/0/length",
            OutOfRange,
        ),
        (
            "/strips/0/length",
            put(json!(-3)),
            "/strips/0/length",
            OutOfRange,
        ),
        (
            "/strips/0/length",
            put(json!(4000)),
            "/strips/0/length",
            OutOfRange,
        ),
        (
            "/strips/0/length",
            put(json!("1/0")),
            "/strips/0/length",
            UnreadableNumber,
        ),
        (
            "/strips/0/length",
            put(json!("ten")),
            "/strips/0/length",
            UnreadableNumber,
        ),
        (
            "/strips/0/length",
            put(json!("10 1/2 in")),
            "/strips/0/length",
            UnreadableNumber,
        ),
        (
            "/strips/0/length",
            put(json!(1e300)),
            "/strips/0/length",
            UnreadableNumber,
        ),
        (
            "/strips/0/length",
            put(Value::Null),
            "/strips/0/length",
            WrongKind,
        ),
        (
            "/strips/0/length",
            put(json!([1])),
            "/strips/0/length",
            WrongKind,
        ),
        (
            "/strips/0/count",
            put(json!(0)),
            "/strips/0/count",
            OutOfRange,
        ),
        (
            "/strips/0/count",
            put(json!(1.5)),
            "/strips/0/count",
            OutOfRange,
        ),
        (
            "/strips/0/count",
            put(json!(200_000)),
            "/strips/0/count",
            OutOfRange,
        ),
        (
            "/strips/0/count",
            put(json!("2")),
            "/strips/0/count",
            WrongKind,
        ),
        ("/strips/0/count", put(json!(100_000)), "", OutOfRange),
        (
            "/strips/0/design",
            put(json!("ivy")),
            "/strips/0/design",
            UnknownId,
        ),
        ("/strips/0/id", put(json!("")), "/strips/0/id", OutOfRange),
        (
            "/strips/0/id",
            put(json!("a\nb")),
            "/strips/0/id",
            OutOfRange,
        ),
        (
            "/strips/0/id",
            put(json!(long_id)),
            "/strips/0/id",
            OutOfRange,
        ),
        (
            "/strips/1",
            put(strip("filler-2")),
            "/strips/1",
            DuplicateId,
        ),
        (
            "/strips/1",
            put(strip("border-1-top")),
            "/strips/1",
            DuplicateId,
        ),
        (
            "/quilt/borders/0/design",
            put(json!("ivy")),
            "/quilt/borders/0/design",
            UnknownId,
        ),
        (
            "/quilt/borders/0/corner",
            put(json!("round")),
            "/quilt/borders/0/corner",
            UnknownWord,
        ),
        (
            "/quilt/borders/0/first",
            put(json!("top")),
            "/quilt/borders/0/first",
            UnknownWord,
        ),
        (
            "/quilt/borders/0/measured",
            put(json!({"left": 0})),
            "/quilt/borders/0/measured/left",
            OutOfRange,
        ),
        (
            "/quilt/borders/0/measured",
            put(json!({"upper": 9})),
            "/quilt/borders/0/measured/upper",
            UnknownField,
        ),
        ("/quilt/centre", put(json!([9, 9])), "/quilt", Conflict),
        (
            "/quilt",
            put(json!({"borders": []})),
            "/quilt",
            MissingField,
        ),
        (
            "/quilt",
            put(json!({"centre": [9, 9], "sashing": {"width": 1}})),
            "/quilt/sashing",
            Conflict,
        ),
        (
            "/quilt/blocks/columns",
            put(json!(0)),
            "/quilt/blocks/columns",
            OutOfRange,
        ),
        (
            "/quilt/blocks/size",
            put(json!([8])),
            "/quilt/blocks/size",
            WrongKind,
        ),
        (
            "/quilt/blocks/size",
            put(json!([8, -8])),
            "/quilt/blocks/size/1",
            OutOfRange,
        ),
        ("/hoops", put(json!([])), "/hoops", OutOfRange),
        (
            "/hoops/0/field",
            put(json!([6])),
            "/hoops/0/field",
            WrongKind,
        ),
        (
            "/hoops/0/field/0",
            put(json!(0)),
            "/hoops/0/field/0",
            OutOfRange,
        ),
        (
            "/hoops/0/frame",
            put(json!([5, 12])),
            "/hoops/0/frame",
            TooSmall,
        ),
        (
            "/hoops/0/turn",
            put(json!("yes")),
            "/hoops/0/turn",
            WrongKind,
        ),
        ("/hoops/1/id", put(json!("medium")), "/hoops/1", DuplicateId),
        (
            "/designs/1/sizes/1/id",
            put(json!("long")),
            "/designs/1/sizes/1",
            DuplicateId,
        ),
        (
            "/designs/0/sizes/0/field",
            put(json!([6.9, 2.5])),
            "/designs/0/sizes/0",
            TooSmall,
        ),
        (
            "/designs/0/sizes/0/field",
            put(json!([7.25, 1.9])),
            "/designs/0/sizes/0",
            TooSmall,
        ),
        (
            "/designs/0/sizes/0/repeats",
            put(json!(0)),
            "/designs/0/sizes/0/repeats",
            OutOfRange,
        ),
        (
            "/designs/0/sizes/0/repeats",
            put(json!(100_000)),
            "/designs/0/sizes/0",
            OutOfRange,
        ),
        (
            "/designs/0/sizes/0/repeat",
            put(json!("1//2")),
            "/designs/0/sizes/0/repeat",
            UnreadableNumber,
        ),
        (
            "/designs/0/sizes/0/stitches",
            put(json!(-1)),
            "/designs/0/sizes/0/stitches",
            OutOfRange,
        ),
        (
            "/designs/0/sizes/0/scale",
            put(json!([0, 1])),
            "/designs/0/sizes/0/scale",
            OutOfRange,
        ),
        (
            "/designs/0/sizes/0/scale",
            put(json!([1.1, 1.2])),
            "/designs/0/sizes/0/scale",
            OutOfRange,
        ),
        (
            "/designs/0/sizes/0/scale",
            put(json!([0.9, 0.95])),
            "/designs/0/sizes/0/scale",
            OutOfRange,
        ),
        (
            "/designs/0/sizes/0/scale",
            put(json!(1)),
            "/designs/0/sizes/0/scale",
            WrongKind,
        ),
        (
            "/allowances/seam",
            put(json!(-0.25)),
            "/allowances/seam",
            OutOfRange,
        ),
        (
            "/allowances/gap",
            put(json!(true)),
            "/allowances/gap",
            WrongKind,
        ),
        (
            "/rules/growth",
            put(json!("both")),
            "/rules/growth",
            UnknownWord,
        ),
        (
            "/rules/align",
            put(json!("end")),
            "/rules/align",
            UnknownWord,
        ),
        (
            "/rules/combine_sizes",
            put(json!(1)),
            "/rules/combine_sizes",
            WrongKind,
        ),
        (
            "/rules/max_overhang",
            put(json!(-1)),
            "/rules/max_overhang",
            OutOfRange,
        ),
        (
            "/goal/priorities",
            put(json!([])),
            "/goal/priorities",
            OutOfRange,
        ),
        (
            "/goal/priorities/2",
            put(json!("joints")),
            "/goal/priorities/2",
            DuplicateId,
        ),
        (
            "/goal/priorities/2",
            put(json!("beauty")),
            "/goal/priorities/2",
            UnknownWord,
        ),
        ("/goal/prices", put(json!({"joints": 1})), "/goal", Conflict),
        (
            "/goal",
            put(json!({"prices": {"joints": -1}})),
            "/goal/prices/joints",
            OutOfRange,
        ),
        (
            "/goal",
            put(json!({"prices": {"joints": 1e-7}})),
            "/goal/prices/joints",
            OutOfRange,
        ),
        (
            "/goal",
            put(json!({"prices": {"joints": "free"}})),
            "/goal/prices/joints",
            UnreadableNumber,
        ),
        (
            "/materials/stabilizer/margin",
            put(json!(-1)),
            "/materials/stabilizer/margin",
            OutOfRange,
        ),
        (
            "/materials/stabilizer/roll_width",
            put(json!(0)),
            "/materials/stabilizer/roll_width",
            OutOfRange,
        ),
        (
            "/limits/seconds",
            put(json!(0)),
            "/limits/seconds",
            OutOfRange,
        ),
        (
            "/limits/seconds",
            put(json!(3601)),
            "/limits/seconds",
            OutOfRange,
        ),
        (
            "/limits/seconds",
            put(json!("soon")),
            "/limits/seconds",
            UnreadableNumber,
        ),
    ];
    for (pointer, edit, expected, code) in &cases {
        let mut document = valid();
        change(&mut document, pointer, edit);
        assert_eq!(
            faults(&document.to_string()),
            [((*expected).to_string(), *code)],
            "{pointer} in {document}"
        );
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
