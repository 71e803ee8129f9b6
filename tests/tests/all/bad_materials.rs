//! Faulty materials: every fault is found at its place, alone, and its words say what was seen and what would do.

use sashwright_solver::fault::Fault;
use sashwright_solver::scenario::read;
use sashwright_tests::edit::write;
use serde_json::{Value, json};

fn valid() -> Value {
    json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "sash", "length": 10, "width": 1, "design": "leaf"}],
        "hoops": [{"id": "large", "field": [8, 12]}],
        "designs": [{"id": "leaf", "sizes": [{"id": "long", "width": 1, "repeat": 2, "repeats": 5}]}],
        "materials": {
            "stabilizer": {"roll_width": 20, "margin": 1, "price": 4.5, "on_hand": [{"size": [12, 16], "count": 2}]},
            "fabrics": [
                {"id": "linen", "for": ["sash"], "width": 42, "price": 12, "lay": "crosswise", "long_strips": "pieced", "joins_clear": 2},
                {"id": "print"}
            ],
            "batting": {
                "by": "run", "reach": "3/4",
                "bolts": [{"id": "bolt", "width": 90, "price": 8}], "sheets": [{"id": "crib", "size": [60, 45], "price": 11}]
            },
            "backing": {"width": 20},
            "tape": {"each_run": 6, "roll": 360, "price": 3},
            "thread": {"stitch": 0.1, "thickness": 0.08, "extra": "1/8", "spool": 1000, "price": 100_000}
        }
    })
}

/// `PLACE = VALUE => PLACE OF THE FAULT CODE | WHAT WAS SEEN | WHAT WOULD DO`, all places below `/materials`; the words are parts of
/// what is told.
const CASES: &str = r#"
/felt = {} => /felt unknown-field | "felt" | "stabilizer"
/stabilizer = 3 => /stabilizer wrong-kind | the number 3 | "roll_width"
/stabilizer/roll = 20 => /stabilizer/roll unknown-field | "roll" | Known fields
/stabilizer/roll_width = 0 => /stabilizer/roll_width out-of-range | 0 | more than 0
/stabilizer/roll_width = "wide" => /stabilizer/roll_width unreadable-number | "wide" | 9 3/4
/stabilizer/margin = -1 => /stabilizer/margin out-of-range | -1 | 0 or more
/stabilizer/price = -1 => /stabilizer/price out-of-range | -1 | at most 100000
/stabilizer/price = 100000.4 => /stabilizer/price out-of-range | 500002/5 | at most 100000
/stabilizer/price = "1/3" => /stabilizer/price out-of-range | 1/3 | at most 4 decimals
/stabilizer/price = 0.00001 => /stabilizer/price out-of-range | 1/100000 | at most 4 decimals
/stabilizer/price = "cheap" => /stabilizer/price unreadable-number | "cheap" | a price
/stabilizer/price = [4] => /stabilizer/price wrong-kind | a list | a price
/stabilizer/lay = "along" => /stabilizer/lay unknown-word | "along" | "lengthwise"
/stabilizer/lay = 1 => /stabilizer/lay wrong-kind | the number 1 | "either"
/stabilizer/bolts = [] => /stabilizer/bolts out-of-range | 0 entries | 1 to 20
/stabilizer/bolts = {} => /stabilizer/bolts wrong-kind | an object | each bolt
/stabilizer/bolts = [{"id": "a", "width": 20}] => /stabilizer conflict | a width or a price | Give each bolt
/stabilizer/on_hand = [] => /stabilizer/on_hand out-of-range | 0 entries | piece on hand
/stabilizer/on_hand/0/size = 12 => /stabilizer/on_hand/0/size wrong-kind | the number 12 | the length and the width
/stabilizer/on_hand/0/size = [12] => /stabilizer/on_hand/0/size wrong-kind | a list of 1 | a list of two
/stabilizer/on_hand/0/size/1 = 0 => /stabilizer/on_hand/0/size/1 out-of-range | 0 | more than 0
/stabilizer/on_hand/0 = {"count": 1} => /stabilizer/on_hand/0 missing-field | "size" | the length and the width
/stabilizer/on_hand/0/count = 0 => /stabilizer/on_hand/0/count out-of-range | 0 | from 1 to 20
/stabilizer/on_hand/0/count = 21 => /stabilizer/on_hand/0/count out-of-range | 21 | from 1 to 20
/stabilizer/on_hand/0/price = 1 => /stabilizer/on_hand/0/price unknown-field | "price" | "count"
/fabrics = {"id": "linen"} => /fabrics wrong-kind | an object | fabric
/fabrics = [] => /fabrics out-of-range | 0 entries | 1 to 50
/fabrics/1 = {} => /fabrics/1 missing-field | "id" | a name for the fabric
/fabrics/1/id = "" => /fabrics/1/id out-of-range | 0 characters | 1 to 100
/fabrics/1/id = "linen" => /fabrics/1 duplicate-id | "linen" | of its own
/fabrics/1/roll_width = 40 => /fabrics/1/roll_width unknown-field | "roll_width" | "width"
/fabrics/0/for = "sash" => /fabrics/0/for wrong-kind | "sash" | a list
/fabrics/0/for = [] => /fabrics/0/for out-of-range | 0 entries | strip
/fabrics/0/for = [7] => /fabrics/0/for/0 wrong-kind | the number 7 | a text
/fabrics/0/width = -42 => /fabrics/0/width out-of-range | -42 | more than 0
/fabrics/0/long_strips = "sewn" => /fabrics/0/long_strips unknown-word | "sewn" | "pieced"
/fabrics/0/joins_clear = -1 => /fabrics/0/joins_clear out-of-range | -1 | 0 or more
/fabrics/0/price = 1e300 => /fabrics/0/price unreadable-number | 1e+300 | a price
/fabrics/0/sheets = [{"id": "fat", "size": [18, 21]}] => /fabrics/0 missing-field | not all of them have a price | each bolt and sheet
/batting = [] => /batting wrong-kind | a list of 0 | "width"
/batting/width = 90 => /batting conflict | Bolts are listed | leave the bolts out
/batting/by = "side" => /batting/by unknown-word | "side" | "strip", "run"
/batting/reach = -0.5 => /batting/reach out-of-range | -0.5 | 0 or more
/batting/bolts/0 = {"width": 90, "price": 8} => /batting/bolts/0 missing-field | "id" | a name for the bolt
/batting/bolts/0 = {"id": "bolt", "price": 8} => /batting/bolts/0 missing-field | "width" | the usable width
/batting/bolts/0/width = 4000 => /batting/bolts/0/width out-of-range | 4000 | 100 m
/batting/bolts/0/size = [1, 2] => /batting/bolts/0/size unknown-field | "size" | "width"
/batting/bolts = [{"id": "b", "width": 90, "price": 1}, {"id": "b", "width": 45, "price": 1}] => /batting/bolts/1 duplicate-id | "b" | of its own
/batting/bolts = [{"id": "b", "width": 90}] => /batting missing-field | not all of them have a price | each bolt and sheet
/batting/sheets = [] => /batting/sheets out-of-range | 0 entries | sheet
/batting/sheets/0 = {"size": [60, 45], "price": 11} => /batting/sheets/0 missing-field | "id" | a name for the sheet
/batting/sheets/0 = {"id": "crib", "price": 11} => /batting/sheets/0 missing-field | "size" | the length and the width of the sheet
/batting/sheets/0/size = [60, "x"] => /batting/sheets/0/size/1 unreadable-number | "x" | a length
/batting/sheets/0/price = 0 => /batting/sheets/0/price out-of-range | costs nothing | "on_hand"
/batting/sheets/0/count = 2 => /batting/sheets/0/count unknown-field | "count" | "size"
/batting/sheets/1 = {"id": "crib", "size": [1, 1], "price": 1} => /batting/sheets/1 duplicate-id | "crib" | of its own
/backing/width = true => /backing/width wrong-kind | true | a length
/backing/reach = 1 => /backing/reach unknown-field | "reach" | "width"
/tape = {} => /tape missing-field | "each_run" | how much tape
/tape/each_run = 0 => /tape/each_run out-of-range | 0 | more than 0
/tape/roll = 0 => /tape/roll out-of-range | 0 | more than 0
/tape/price = 100001 => /tape/price out-of-range | 100001 | at most 100000
/tape/width = 1 => /tape/width unknown-field | "width" | "roll"
/thread/stitch = 0 => /thread/stitch out-of-range | 0 | more than 0
/thread/thickness = -1 => /thread/thickness out-of-range | -1 | 0 or more
/thread/extra = 1.5 => /thread/extra out-of-range | 3/2 | from 0 to 1
/thread/extra = -0.1 => /thread/extra out-of-range | -1/10 | from 0 to 1
/thread/extra = 1e-7 => /thread/extra out-of-range | 1/10000000 | at most 6 decimals
/thread/extra = "a tenth" => /thread/extra unreadable-number | "a tenth" | a part
/thread/spool = 0.5 => /thread/spool out-of-range | 1/2 | from 1 to 100000
/thread/spool = 100001 => /thread/spool out-of-range | 100001 | from 1 to 100000
/thread/spool = null => /thread/spool wrong-kind | null | the yards
/thread/price = 100000.0001 => /thread/price out-of-range | 1000000001/10000 | at most 100000
/thread/colour = "moss" => /thread/colour unknown-field | "colour" | "spool"
"#;

fn faults(document: &Value) -> Vec<Fault> {
    read(document.to_string().as_bytes())
        .err()
        .unwrap_or_default()
}

#[test]
fn every_fault_says_what_was_seen_and_what_would_do() {
    assert_eq!(faults(&valid()), []);
    let mut count = 0;
    for case in CASES.lines().filter(|line| !line.is_empty()) {
        let (place, rest) = case.split_once(" = ").expect("a place");
        let (value, rest) = rest.split_once(" => ").expect("a value");
        let words: Vec<&str> = rest.split(" | ").collect();
        let [at, seen, mend] = words[..] else {
            panic!("{case}: three parts");
        };
        let (at, code) = at.split_once(' ').expect("a place and a code");
        let mut document = valid();
        let value: Value = serde_json::from_str(value).expect("JSON");
        let place = format!("/materials{place}");
        let (list, last) = place.rsplit_once('/').expect("a place");
        match document.pointer_mut(list) {
            Some(Value::Array(items)) if last.parse() == Ok(items.len()) => items.push(value),
            _ => write(&mut document, &place, &value),
        }
        let found = faults(&document);
        let [fault] = &found[..] else {
            panic!("{case}: one fault, not {found:?}");
        };
        assert_eq!(
            (fault.pointer.as_str(), fault.code.name()),
            (format!("/materials{at}").as_str(), code),
            "{case}"
        );
        assert!(fault.message.contains(seen), "{case}: {}", fault.message);
        assert!(fault.mend.contains(mend), "{case}: {}", fault.mend);
        count += 1;
    }
    assert!(count >= 70, "only {count} cases");
}

/// Makes an entry of a list from its number.
type Item<'a> = &'a dyn Fn(usize) -> Value;

/// The most of everything is read, and one more is refused.
#[test]
fn lists_have_a_longest_length() {
    let list = |count: usize, item: Item<'_>| Value::Array((0..count).map(item).collect());
    let fabric = |number: usize| json!({"id": format!("fabric {number}")});
    let name = |number: usize| json!(format!("sash-{number}"));
    let piece = |_: usize| json!({"size": [5, 5]});
    let bolt = |number: usize| json!({"id": format!("bolt {number}"), "width": 30, "price": 1});
    let sheet =
        |number: usize| json!({"id": format!("sheet {number}"), "size": [9, 9], "price": 1});
    let cases: [(&str, usize, Item<'_>); 5] = [
        ("/materials/fabrics", 50, &fabric),
        ("/materials/fabrics/0/for", 1000, &name),
        ("/materials/stabilizer/on_hand", 20, &piece),
        ("/materials/batting/bolts", 20, &bolt),
        ("/materials/batting/sheets", 20, &sheet),
    ];
    for (place, most, item) in cases {
        let mut document = valid();
        write(&mut document, place, &list(most, item));
        assert_eq!(faults(&document), [], "{place}");
        write(&mut document, place, &list(most + 1, item));
        let found = faults(&document);
        let [fault] = &found[..] else {
            panic!("{place}: one fault, not {found:?}");
        };
        assert_eq!(fault.pointer, place);
        assert!(
            fault.message.contains(&format!("{} entries", most + 1)),
            "{}",
            fault.message
        );
        assert!(
            fault.mend.contains(&format!("1 to {most}")),
            "{}",
            fault.mend
        );
    }
}

/// A highest price is what it says, not what it is rounded to.
#[test]
fn the_highest_price_itself_is_read() {
    for (place, highest, above) in [
        ("/materials/tape/price", json!(100_000), json!(100_000.4)),
        (
            "/goal",
            json!({"prices": {"joints": 1_000_000}}),
            json!({"prices": {"joints": 1_000_000.4}}),
        ),
    ] {
        let mut document = valid();
        write(&mut document, place, &highest);
        assert_eq!(faults(&document), [], "{place}");
        write(&mut document, place, &above);
        assert_eq!(faults(&document).len(), 1, "{place}");
    }
}
