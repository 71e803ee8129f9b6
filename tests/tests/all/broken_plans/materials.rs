//! How cloths are cut and what is bought: a plan worked out by hand is accepted, and refused once one thing in it is broken.

use serde_json::{Value, json};

use super::by_hand::ByHand;
use super::plans::{butted, two_lanes};

fn level(copies: u32, length: u32, pieces: Value) -> Value {
    json!({"copies": copies, "length": length, "pieces": pieces})
}

fn lies(mark: &str, count: u32, lengthwise: bool, takes: [u32; 2]) -> Value {
    json!({"mark": mark, "count": count, "lengthwise": lengthwise, "takes": takes})
}

fn kind(mark: &str, size: [u32; 2], uses: &[&str]) -> Value {
    json!({"mark": mark, "size": size, "count": uses.len(), "uses": uses})
}

/// The four strips in two lanes with everything around them. Strips a and c are cut 80 × 40 mm, b and d 110 × 40.
///
/// - Stabilizer: 290 × 190 mm from a roll 300 wide, the long side across: 190 mm at 2.50 a metre, 0.475; a sheet would be 3.
/// - Linen: a, its first side across, in a level of 40 mm of a piece on hand of 50 × 100: nothing.
/// - Print, 100 wide, first sides along: b and d side by side, 2 · 40 ≤ 100, in 110 mm; then c across, 80 ≤ 100, in 40. At
///   12 a metre 150 mm are 1.80.
/// - Batting by run, 10 mm past the stitching, 60 + 20 by 20 + 20 and 90 + 20 by 40: 80 + 110 ≤ 200 across, twice 40 mm. At 10
///   a metre 80 mm are 0.80.
/// - Backing, first sides along, in packs of 120 × 90 mm at 4: the long ones in one, the short ones in another.
/// - Tape: 4 runs of 150 mm, 600 of rolls of 500, 2 at 2. Thread: 2 · 1000 + 2 · 1500 stitches of 4.5 mm and a tenth, 24 750 mm
///   below; half of it in either thread above; spools of 20 m at 3.
fn cut_and_bought() -> ByHand {
    let stitches = |document: ByHand| {
        document
            .scenario("/designs/0/sizes/0/stitches", json!(1000))
            .scenario("/designs/0/sizes/1/stitches", json!(1500))
            .scenario("/designs/0/threads", json!(["moss", "dusk"]))
    };
    let materials = json!({
        "stabilizer": {"margin": 25, "bolts": [{"id": "roll", "width": 300, "price": 2.5}],
            "sheets": [{"id": "sheet", "size": [400, 200], "price": 3}]},
        "fabrics": [
            {"id": "linen", "for": ["a"], "width": 100, "on_hand": [{"size": [50, 100]}]},
            {"id": "print", "width": 100, "price": 12}],
        "batting": {"width": 200, "by": "run", "reach": 10, "price": 10},
        "backing": {"lay": "lengthwise", "sheets": [{"id": "pack", "size": [120, 90], "price": 4}]},
        "tape": {"each_run": 150, "roll": 500, "price": 2},
        "thread": {"spool": 20, "price": 3}
    });
    let cuts = |material: &str,
                cloth: &str,
                counts: &str,
                value: Value,
                pieces: Value,
                stocks: Value| {
        json!({"material": material, "cloth": cloth, "counts": counts, "value": value, "bound": value, "proven": true,
            "pieces": pieces, "stocks": stocks})
    };
    let stock = |name: &str, kind: &str, width: u32, length: u32, levels: Value| json!({"stock": name, "kind": kind, "copies": 1, "width": width, "length": length, "levels": levels});
    let cutting = json!([
        cuts(
            "stabilizer",
            "stabilizer",
            "price",
            json!(0.475),
            json!([kind("A", [290, 190], &["hooping 1"])]),
            json!([stock(
                "roll",
                "bolt",
                300,
                190,
                json!([level(1, 190, json!([lies("A", 1, false, [190, 290])]))])
            )])
        ),
        cuts(
            "fabric",
            "linen",
            "length",
            json!(0),
            json!([kind("A", [80, 40], &["a"])]),
            json!([stock(
                "on hand 1",
                "on_hand",
                100,
                50,
                json!([level(1, 40, json!([lies("A", 1, false, [40, 80])]))])
            )])
        ),
        cuts(
            "fabric",
            "print",
            "price",
            json!(1.8),
            json!([
                kind("A", [110, 40], &["b", "d"]),
                kind("B", [80, 40], &["c"])
            ]),
            json!([stock(
                "bolt",
                "bolt",
                100,
                150,
                json!([
                    level(1, 110, json!([lies("A", 2, true, [110, 40])])),
                    level(1, 40, json!([lies("B", 1, false, [40, 80])]))
                ])
            )])
        ),
        cuts(
            "batting",
            "batting",
            "price",
            json!(0.8),
            json!([
                kind("A", [110, 40], &["b, run 1", "d, run 1"]),
                kind("B", [80, 40], &["a, run 1", "c, run 1"])
            ]),
            json!([stock(
                "bolt",
                "bolt",
                200,
                80,
                json!([level(
                    2,
                    40,
                    json!([
                        lies("A", 1, false, [40, 110]),
                        lies("B", 1, false, [40, 80])
                    ])
                )])
            )])
        ),
        cuts(
            "backing",
            "backing",
            "price",
            json!(8),
            json!([
                kind("A", [110, 40], &["b", "d"]),
                kind("B", [80, 40], &["a", "c"])
            ]),
            json!([
                stock(
                    "pack",
                    "sheet",
                    90,
                    120,
                    json!([level(1, 110, json!([lies("A", 2, true, [110, 40])]))])
                ),
                stock(
                    "pack",
                    "sheet",
                    90,
                    120,
                    json!([level(1, 80, json!([lies("B", 2, true, [80, 40])]))])
                )
            ])
        ),
    ]);
    let by_length = |material: &str,
                     name: &str,
                     width: u32,
                     needed: u32,
                     buy: f64,
                     each: f64,
                     price: f64| {
        let stock = if material == "stabilizer" {
            "roll"
        } else {
            "bolt"
        };
        json!({"material": material, "name": name, "stock": stock, "size": [width], "needed": needed, "buy": buy,
            "unit": "metre", "price_each": each, "price": price})
    };
    let by_roll = |material: &str, name: &str, needed: u32, buy: u32, each: u32| {
        json!({"material": material, "name": name, "needed": needed, "buy": buy, "unit": "piece", "price_each": each,
            "price": each * buy})
    };
    let purchases = json!([
        by_length("stabilizer", "stabilizer", 300, 190, 0.2, 2.5, 0.5),
        by_length("fabric", "print", 100, 150, 0.2, 12.0, 2.4),
        by_length("batting", "batting", 200, 80, 0.1, 10.0, 1.0),
        {"material": "backing", "name": "backing", "stock": "pack", "size": [120, 90], "needed": 2, "buy": 2, "unit": "piece",
            "price_each": 4, "price": 8},
        by_roll("tape", "tape", 600, 2, 2),
        by_roll("thread", "dusk", 12_375, 1, 3),
        by_roll("thread", "moss", 12_375, 1, 3),
        by_roll("thread", "bobbin thread", 24_750, 2, 3),
    ]);
    stitches(two_lanes())
        .scenario("/materials", materials)
        .plan("/cutting", cutting)
        .plan("/materials", json!({"purchases": purchases, "price": 27.9}))
}

pub fn with_materials() -> ByHand {
    cut_and_bought()
}

#[test]
fn what_is_cut_and_bought_is_accepted() {
    cut_and_bought().is_accepted();
    // A plan that was asked for neither says nothing of them.
    let plain = cut_and_bought().plan("/cutting", Value::Null);
    plain.clone().plan("/materials", Value::Null).is_accepted();
    plain.is_refused_for(&["list-without-cutting at /materials"]);
    cut_and_bought()
        .plan("/materials", Value::Null)
        .is_accepted();
    // A cutting that is not proven is as valid.
    let open = cut_and_bought().plan("/cutting/2/bound", json!(1.7));
    open.plan("/cutting/2/proven", json!(false)).is_accepted();
}

/// Each thread by itself: moss 800 and dusk 200 stitches of the one size, 1500 and none of the other. Moss has 2 · 800 + 2 · 1500 of
/// 4.5 mm and a tenth, 22 770 mm, dusk 2 · 200, 1 980: a spool more of moss.
#[test]
fn thread_is_bought_by_the_stitches_of_each() {
    let told = cut_and_bought()
        .scenario("/designs/0/sizes/0/stitches", json!([800, 200]))
        .scenario("/designs/0/sizes/1/stitches", json!([1500, 0]));
    told.clone().is_refused_for(&[
        "wrong-needed at /materials/purchases/5/needed",
        "wrong-needed at /materials/purchases/6/needed",
        "wrong-buy at /materials/purchases/6/buy",
        "wrong-price at /materials/purchases/6/price",
    ]);
    told.plan("/materials/purchases/5/needed", json!(1980))
        .plan("/materials/purchases/6/needed", json!(22_770))
        .plan("/materials/purchases/6/buy", json!(2))
        .plan("/materials/purchases/6/price", json!(6))
        .plan("/materials/price", json!(30.9))
        .is_accepted();
}

/// One thing broken, and what is found: `PLACE = VALUE => RULE at PLACE[, RULE at PLACE]`; `-` takes an entry out.
const BROKEN: &str = r#"
/cutting/0/cloth = "felt" => unknown-cloth at /cutting/0/cloth, cloth-missing at /cutting, needless-purchase at /materials/purchases/0
/cutting/1 = - => cloth-missing at /cutting
/cutting/2/pieces/0/size/0 = 111 => wrong-piece-size at /cutting/2/pieces/0/size/0
/cutting/2/pieces/0/size/1 = 40.01 => wrong-piece-size at /cutting/2/pieces/0/size/1
/cutting/2/pieces/1/uses/0 = "a" => unknown-use at /cutting/2/pieces/1/uses/0, piece-missing at /cutting/2/pieces, unknown-mark at /cutting/2/stocks/0/levels/1/pieces/0/mark
/cutting/3/pieces/1/uses/1 = "a, run 1" => unknown-use at /cutting/3/pieces/1/uses/1, piece-missing at /cutting/3/pieces
/cutting/3/pieces/1/uses/1 = - => wrong-piece-count at /cutting/3/pieces/1/count, piece-missing at /cutting/3/pieces
/cutting/3/pieces/0/count = 3 => wrong-piece-count at /cutting/3/pieces/0/count, wrong-number-cut at /cutting/3/pieces/0/count
/cutting/4/stocks/1 = - => wrong-number-cut at /cutting/4/pieces/1/count, wrong-cutting-value at /cutting/4/value, wrong-needed at /materials/purchases/3/needed, wrong-buy at /materials/purchases/3/buy, wrong-price at /materials/purchases/3/price
/cutting/2/stocks/0/stock = "silk" => unknown-stock at /cutting/2/stocks/0/stock, *
/cutting/2/stocks/0/kind = "sheet" => unknown-stock at /cutting/2/stocks/0/stock, *
/cutting/1/stocks/0/stock = "on hand 2" => unknown-stock at /cutting/1/stocks/0/stock, wrong-number-cut at /cutting/1/pieces/0/count
/cutting/1/stocks/0/stock = "on hand 0" => unknown-stock at /cutting/1/stocks/0/stock, wrong-number-cut at /cutting/1/pieces/0/count
/cutting/1/stocks/0/copies = 2 => more-than-on-hand at /cutting/1/stocks/0/copies, wrong-number-cut at /cutting/1/pieces/0/count
/cutting/1/stocks/0/length = 40 => wrong-stock-length at /cutting/1/stocks/0/length
/cutting/2/stocks/0/width = 120 => wrong-stock-width at /cutting/2/stocks/0/width
/cutting/2/stocks/0/length = 140 => wrong-cut-length at /cutting/2/stocks/0/length
/cutting/2/stocks/0/copies = 0 => nothing-cut at /cutting/2/stocks/0/copies, *
/cutting/3/stocks/0/levels/0/copies = 1 => wrong-cut-length at /cutting/3/stocks/0/length, wrong-number-cut at /cutting/3/pieces/0/count, wrong-number-cut at /cutting/3/pieces/1/count, *
/cutting/2/stocks/0/levels/0/length = 109 => piece-longer-than-level at /cutting/2/stocks/0/levels/0/length
/cutting/4/stocks/0/levels/0/length = 121 => levels-too-long at /cutting/4/stocks/0/levels
/cutting/2/stocks/0/levels/0/pieces/0/count = 3 => level-too-wide at /cutting/2/stocks/0/levels/0/pieces, wrong-number-cut at /cutting/2/pieces/0/count
/cutting/2/stocks/0/levels/0/pieces/0/mark = "B" => wrong-takes at /cutting/2/stocks/0/levels/0/pieces/0/takes/0, *
/cutting/2/stocks/0/levels/0/pieces/0/mark = "C" => unknown-mark at /cutting/2/stocks/0/levels/0/pieces/0/mark, *
/cutting/2/stocks/0/levels/0/pieces/0/lengthwise = false => wrong-takes at /cutting/2/stocks/0/levels/0/pieces/0/takes/0, wrong-takes at /cutting/2/stocks/0/levels/0/pieces/0/takes/1, level-too-wide at /cutting/2/stocks/0/levels/0/pieces, *
/cutting/4/stocks/1/levels/0/pieces/0/lengthwise = false => wrong-lay at /cutting/4/stocks/1/levels/0/pieces/0/lengthwise, *
/cutting/0/stocks/0/levels/0/pieces/0/takes/1 = 280 => wrong-takes at /cutting/0/stocks/0/levels/0/pieces/0/takes/1
/cutting/2/pieces/1/mark = "A" => mark-twice at /cutting/2/pieces/1/mark, *
/cutting/2/counts = "length" => wrong-counts at /cutting/2/counts
/cutting/2/value = 1.7 => wrong-cutting-value at /cutting/2/value, bound-above-value at /cutting/2/bound
/cutting/2/bound = 1.9 => bound-above-value at /cutting/2/bound
/cutting/2/bound = 1.7 => wrongly-proven at /cutting/2/proven
/cutting/2/proven = false => wrongly-proven at /cutting/2/proven
/materials/purchases/1 = - => purchase-missing at /materials/purchases, wrong-total-price at /materials/price
/materials/purchases/1/name = "linen" => needless-purchase at /materials/purchases/1, purchase-missing at /materials/purchases
/materials/purchases/3/stock = "box" => needless-purchase at /materials/purchases/3, purchase-missing at /materials/purchases
/materials/purchases/1/size = [] => wrong-purchase-size at /materials/purchases/1
/materials/purchases/3/size/1 = 80 => wrong-purchase-size at /materials/purchases/3/size/1
/materials/purchases/1/needed = 140 => wrong-needed at /materials/purchases/1/needed
/materials/purchases/1/buy = 0.15 => wrong-buy at /materials/purchases/1/buy
/materials/purchases/1/price_each = 11 => wrong-price at /materials/purchases/1/price_each
/materials/purchases/1/price = 1.8 => wrong-price at /materials/purchases/1/price, wrong-total-price at /materials/price
/materials/purchases/1/price = null => wrong-price at /materials/purchases/1, wrong-total-price at /materials/price
/materials/purchases/1/unit = "yard" => wrong-unit-of-sale at /materials/purchases/1/unit
/materials/purchases/4/needed = 450 => wrong-needed at /materials/purchases/4/needed
/materials/purchases/4/buy = 1.2 => wrong-buy at /materials/purchases/4/buy
/materials/purchases/5/needed = 12376 => wrong-needed at /materials/purchases/5/needed
/materials/purchases/7/buy = 1 => wrong-buy at /materials/purchases/7/buy
/materials/price = 27.8 => wrong-total-price at /materials/price
/materials/price = null => wrong-total-price at /materials
"#;

#[test]
fn one_thing_broken_is_found_at_its_place() {
    let mut count = 0;
    for case in BROKEN.lines().filter(|line| !line.is_empty()) {
        let (place, rest) = case.split_once(" = ").expect("a place");
        let (value, found) = rest.split_once(" => ").expect("a value");
        let broken = match value {
            "-" => {
                let (list, index) = place.rsplit_once('/').expect("a list");
                cut_and_bought().without(list, index.parse().expect("an index"))
            }
            value => cut_and_bought().plan(place, serde_json::from_str(value).expect("JSON")),
        };
        match found.strip_suffix(", *") {
            Some(first) => {
                for expected in first.split(", ") {
                    broken.is_refused_also_for(expected);
                }
            }
            None => broken.is_refused_for(&found.split(", ").collect::<Vec<&str>>()),
        }
        count += 1;
    }
    assert!(count >= 45, "only {count} cases");
}

/// The same cloth twice, and a level without anything.
#[test]
fn needless_entries_are_found() {
    let twice = cut_and_bought();
    let print = twice.at("/cutting/2");
    twice
        .with("/cutting", print)
        .is_refused_for(&["cloth-listed-twice at /cutting/5/cloth"]);
    let empty = level(1, 0, json!([]));
    cut_and_bought()
        .with("/cutting/2/stocks/0/levels", empty)
        .is_refused_for(&["nothing-cut at /cutting/2/stocks/0/levels/2/pieces"]);
    let tape = cut_and_bought().at("/materials/purchases/4");
    cut_and_bought()
        .with("/materials/purchases", tape)
        .plan("/materials/price", json!(31.9))
        .is_refused_for(&["needless-purchase at /materials/purchases/8"]);
}

/// A border of four strips with a plain one around it, whose ends are wider than its sides: 240 × 220 → 260 × 250. Trimmed with
/// seams of 5 mm, its sides are (220 + 10) × (10 + 10), its ends (260 + 10) × (15 + 10), each sewn from a part of 200 and the rest.
///
/// The cloth is 200 mm wide. The stitched ends of 260 mm are sewn from parts: joins stay 20 mm clear of the joint, which lies 180 mm
/// along the stitching and 190 along the cut strip, and of both ends: a part of 170 + 5 and one of 90 + 5.
fn pieced() -> ByHand {
    let lengths = [175, 95];
    let part = |mark: &str, number: usize| {
        let uses = ["top", "bottom"].map(|side| format!("border-1-{side}, part {number} of 2"));
        kind(mark, [lengths[number - 1], 40], &[&uses[0], &uses[1]])
    };
    let plain = |side: &str, mark: &str, length: u32, wide: u32, first: u32| {
        let uses = [
            format!("border-2-{side}, part 1 of 2"),
            format!("border-2-{side}, part 2 of 2"),
        ];
        [
            json!({"mark": mark, "size": [first, wide], "count": 1, "uses": [uses[0]]}),
            json!({"mark": format!("{mark}{mark}"), "size": [length - first + 10, wide], "count": 1, "uses": [uses[1]]}),
        ]
    };
    let mut pieces = vec![
        kind("A", [200, 40], &["border-1-left", "border-1-right"]),
        part("B", 1),
        part("C", 2),
    ];
    for (side, mark, length, wide) in [
        ("left", "D", 230, 20),
        ("right", "E", 230, 20),
        ("top", "F", 270, 25),
        ("bottom", "G", 270, 25),
    ] {
        pieces.extend(plain(side, mark, length, wide, 200));
    }
    let mut levels = Vec::new();
    let mut all = 0;
    for piece in &pieces {
        let wide = piece["size"][1].as_u64().expect("a width") as u32;
        let long = piece["size"][0].as_u64().expect("a length") as u32;
        let copies = piece["count"].as_u64().expect("a count") as u32;
        let mark = piece["mark"].as_str().expect("a mark");
        levels.push(level(
            copies,
            wide,
            json!([lies(mark, 1, false, [wide, long])]),
        ));
        all += copies * wide;
    }
    // 6 · 40 + 2 · 2 · 20 + 2 · 2 · 25
    assert_eq!(all, 420);
    let cutting = json!([{"material": "fabric", "cloth": "print", "counts": "length", "value": 420, "bound": 0,
        "proven": false, "pieces": pieces, "stocks": [
            {"stock": "bolt", "kind": "bolt", "copies": 1, "width": 200, "length": 420, "levels": levels}]}]);
    butted()
        .scenario(
            "/quilt/borders",
            json!([{"width": 20, "design": "vine"}, {"width": 10, "width_of_ends": 15}]),
        )
        .scenario(
            "/materials/fabrics",
            json!([{"id": "print", "width": 200, "long_strips": "pieced", "joins_clear": 20}]),
        )
        .plan("/cutting", cutting)
}

#[test]
fn long_strips_are_sewn_from_parts() {
    pieced().is_accepted();
    // Straight across the joint of the stitching, too near to it, and too near to the end.
    for (first, second) in [(195, 75), (190, 80), (26, 244), (200, 70)] {
        let moved = pieced()
            .plan("/cutting/0/pieces/1/size/0", json!(first))
            .plan("/cutting/0/pieces/2/size/0", json!(second));
        let takes = |kind: usize, long: i32| {
            (
                format!("/cutting/0/stocks/0/levels/{kind}/pieces/0/takes/1"),
                json!(long),
            )
        };
        let (one, two) = (takes(1, first), takes(2, second));
        let moved = moved.plan(&one.0, one.1).plan(&two.0, two.1);
        moved.is_refused_also_for("wrong-parts at /cutting/0/pieces");
    }
    // Parts that do not make up the strip.
    pieced()
        .plan("/cutting/0/pieces/2/size/0", json!(96))
        .plan("/cutting/0/stocks/0/levels/2/pieces/0/takes/1", json!(96))
        .is_refused_for(&["wrong-parts at /cutting/0/pieces"; 2]);
    // In one piece, though it could be sewn.
    pieced()
        .plan("/cutting/0/pieces/1/uses/0", json!("border-1-top"))
        .is_refused_also_for("wrong-parts at /cutting/0/pieces");
    let whole = pieced()
        .plan(
            "/cutting/0/pieces/1/uses",
            json!(["border-1-top", "border-1-bottom"]),
        )
        .plan("/cutting/0/pieces/2/uses", json!([]));
    whole.is_refused_also_for("long-strip-in-one-piece at /cutting/0/pieces");
    // The plain border's ends are as wide as they are told to be.
    pieced()
        .plan("/cutting/0/pieces/7/size/1", json!(20))
        .is_refused_for(&["wrong-piece-size at /cutting/0/pieces/7/size/1"]);
}
