//! One order list for many kits: what is cut together, what is bought, and that it adds up.

use std::collections::BTreeMap;
use std::time::Duration;

use sashwright_solver::check::OrderCheck;
use sashwright_solver::deadline::{Deadline, StopSignal};
use sashwright_solver::exact::Exact;
use sashwright_solver::job::{ClothCuts, Gathering, Material, OrderList, StockKind, add_materials};
use sashwright_solver::length::Measure;
use sashwright_solver::make_plan;
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::{self, Scenario};
use sashwright_tests::answer::answer;
use sashwright_tests::failures::assert_none;
use sashwright_tests::generator::{Scale, furnished_scenario};
use serde_json::{Value, json};

fn deadline() -> Deadline {
    Deadline::after(Duration::from_secs(20), StopSignal::new())
}

fn planned(document: &Value) -> (Scenario, Plan) {
    let scenario = scenario::read(document.to_string().as_bytes()).expect("a scenario");
    let plan = make_plan(&scenario, &deadline()).expect("a plan");
    (scenario, plan)
}

/// The order list of kits, which passes the check.
#[track_caller]
fn order(kits: &[(&str, &Value, u64)]) -> OrderList {
    let (list, check) = listed(kits);
    assert_eq!(found(check, &list), Vec::<String>::new());
    list
}

/// The order list of kits, and what checks it.
fn listed(kits: &[(&str, &Value, u64)]) -> (OrderList, OrderCheck) {
    let mut gathered: Option<(Gathering, OrderCheck)> = None;
    for (label, document, copies) in kits {
        let (scenario, plan) = planned(document);
        let new = || {
            (
                Gathering::new(scenario.unit),
                OrderCheck::new(scenario.unit),
            )
        };
        let (gathering, check) = gathered.get_or_insert_with(new);
        gathering.add(label, &scenario, &plan, *copies);
        check.add(&scenario, &plan, *copies);
    }
    let (gathering, check) = gathered.expect("a kit");
    (gathering.order(&deadline()), check)
}

/// What the check finds, as rules and places.
fn found(check: OrderCheck, list: &OrderList) -> Vec<String> {
    let violations = check.check(list).into_iter();
    let told = violations.map(|broken| format!("{} at {}", broken.rule, broken.pointer));
    told.collect()
}

fn number(measure: &Measure) -> Exact {
    measure.exact().expect("a number")
}

fn float(measure: &Measure) -> f64 {
    let exact = number(measure);
    exact.numerator() as f64 / exact.denominator() as f64
}

/// That the pieces of a cloth are all cut, lie within its stocks, and take what is told; by arithmetic of its own.
#[track_caller]
fn lies(cuts: &ClothCuts) {
    let mut cut: BTreeMap<&str, u64> = BTreeMap::new();
    for stock in &cuts.stocks {
        let mut long = 0.0;
        for level in &stock.levels {
            let mut wide = 0.0;
            for piece in &level.pieces {
                assert!(float(&piece.takes[0]) <= float(&level.length) + 1e-6);
                wide += float(&piece.takes[1]) * f64::from(piece.count);
                let times = u64::from(stock.copies) * u64::from(level.copies);
                *cut.entry(&piece.mark).or_default() += times * u64::from(piece.count);
                let of = cuts
                    .pieces
                    .iter()
                    .find(|of| of.mark == piece.mark)
                    .expect("its kind");
                let (a, b) = match piece.lengthwise {
                    true => (&of.size[0], &of.size[1]),
                    false => (&of.size[1], &of.size[0]),
                };
                assert_eq!((a, b), (&piece.takes[0], &piece.takes[1]));
            }
            assert!(
                wide <= float(&stock.width) + 1e-6,
                "{wide} of {}",
                stock.width
            );
            long += float(&level.length) * f64::from(level.copies);
        }
        match stock.kind {
            StockKind::Bolt => assert!((long - float(&stock.length)).abs() < 1e-4),
            _ => assert!(long <= float(&stock.length) + 1e-6),
        }
    }
    let wanted = cuts
        .pieces
        .iter()
        .map(|of| (of.mark.as_str(), u64::from(of.count)));
    assert_eq!(cut, wanted.collect());
}

fn cloth(order: &OrderList, material: Material) -> &ClothCuts {
    let mut of = order
        .cutting
        .iter()
        .filter(|cuts| cuts.material == material);
    let found = of.next().expect("the cloth");
    assert!(of.next().is_none());
    found
}

/// One strip in one hooping, on a piece of stabilizer of (8.5 + 2 · 1) × (13 + 2 · 1) = 10.5 × 15 in.
fn tie() -> Value {
    json!({
        "format": 1, "unit": "in",
        "strips": [{"id": "tie", "length": 6, "width": 1, "design": "ivy"}],
        "hoops": [{"id": "medium", "field": [6, 10], "frame": [8.5, 13]}],
        "designs": [{"id": "ivy", "sizes": [{"id": "ivy-6", "width": 1, "repeat": 1, "repeats": 6, "stitches": 1000}]}],
        "materials": {"stabilizer": {"bolts": [{"id": "roll", "width": 40}]}}
    })
}

/// On a 40-in roll one piece takes 10.5 in of it, turned. Three of them side by side are 3 · 10.5 = 31.5 in wide and take 15 in; turned,
/// two are side by side and three take 2 · 10.5 = 21 in. Cut kit by kit they would take 3 · 10.5 = 31.5 in.
#[test]
fn kits_are_cut_together() {
    let alone = order(&[("a", &tie(), 1)]);
    assert_eq!(
        cloth(&alone, Material::Stabilizer).value,
        Measure::from_ratio(21, 2)
    );
    let three = order(&[("a", &tie(), 2), ("b", &tie(), 1)]);
    let cuts = cloth(&three, Material::Stabilizer);
    lies(cuts);
    assert!(cuts.proven);
    assert_eq!(cuts.value, Measure::whole(15));
    assert_eq!(cuts.pieces[0].count, 3);
    assert_eq!(cuts.pieces[0].uses, ["2 for a", "1 for b"]);
    // 15 in are 15/36 yd: four eighths.
    let bought = &three.materials.purchases[0];
    assert_eq!(
        (&bought.needed, &bought.buy),
        (&Measure::whole(15), &Measure::from_ratio(1, 2))
    );
}

/// With one piece on hand two are left: turned, side by side, they take 10.5 in.
#[test]
fn what_is_on_hand_is_there_once_for_all_kits() {
    let mut kit = tie();
    kit["materials"]["stabilizer"]["on_hand"] = json!([{"size": [15, 10.5]}]);
    let three = order(&[("a", &kit, 1), ("b", &kit, 1), ("c", &kit, 1)]);
    let cuts = cloth(&three, Material::Stabilizer);
    lies(cuts);
    assert_eq!(cuts.value, Measure::from_ratio(21, 2));
    let on_hand = cuts
        .stocks
        .iter()
        .filter(|stock| stock.kind == StockKind::OnHand);
    assert_eq!(on_hand.map(|stock| stock.copies).sum::<u32>(), 1);
}

/// Each stitch takes 2.5 mm + 2 mm and a tenth more, 4.95 mm: 1000 of them 4.95 m, three times that 14.85 m, for which 14.9 m are
/// bought; bought kit by kit it would be 5 m each.
#[test]
fn thread_is_rounded_up_once() {
    let mut kit = tie();
    kit["unit"] = json!("mm");
    kit["strips"][0] = json!({"id": "tie", "length": 60, "width": 10, "design": "ivy"});
    kit["hoops"][0] = json!({"id": "medium", "field": [100, 100]});
    kit["designs"][0]["sizes"][0] =
        json!({"id": "ivy-6", "width": 10, "repeat": 10, "repeats": 6, "stitches": 1000});
    kit["materials"] = json!({});
    let three = order(&[("a", &kit, 3)]);
    let upper = three
        .materials
        .purchases
        .iter()
        .find(|line| line.name == "upper thread")
        .expect("the thread");
    assert_eq!(
        (&upper.needed, &upper.buy),
        (&Measure::whole(14_850), &Measure::from_ratio(149, 10))
    );
}

/// An order for one copy says what the plan itself says.
#[test]
fn one_copy_is_ordered_as_its_plan_tells() {
    for text in [
        include_str!("../../../scenarios/wall-hanging-cloths.json"),
        include_str!("../../../scenarios/place-mats-cloths-mm.json"),
    ] {
        let document: Value = serde_json::from_str(text).expect("JSON");
        let (scenario, mut plan) = planned(&document);
        let listed = order(&[("it", &document, 1)]);
        add_materials(&scenario, &mut plan, &deadline());
        assert_eq!(Some(&listed.materials), plan.materials.as_ref());
        let cutting = plan.cutting.expect("cuttings");
        assert_eq!(listed.cutting.len(), cutting.len());
        for (listed, of_plan) in listed.cutting.iter().zip(&cutting) {
            lies(listed);
            assert_eq!(
                (&listed.value, &listed.bound, &listed.stocks),
                (&of_plan.value, &of_plan.bound, &of_plan.stocks)
            );
        }
    }
}

/// Of so many copies each piece is cut so many times; all together take no more than each by itself, and no less than their area.
#[test]
fn many_copies_take_no_more_than_each_by_itself() {
    let document: Value =
        serde_json::from_str(include_str!("../../../scenarios/wall-hanging-cloths.json"))
            .expect("JSON");
    let one = order(&[("it", &document, 1)]);
    for copies in [2_u64, 7, 100_000] {
        let many = order(&[("it", &document, copies)]);
        for (one, many) in one.cutting.iter().zip(&many.cutting) {
            lies(many);
            assert_eq!((one.material, &one.cloth), (many.material, &many.cloth));
            for (one, many) in one.pieces.iter().zip(&many.pieces) {
                assert_eq!(
                    (u64::from(one.count) * copies, &one.size),
                    (u64::from(many.count), &many.size)
                );
            }
            let times = copies as f64;
            // What is on hand is there once, so that each of the others may take more than the first.
            if one
                .stocks
                .iter()
                .all(|stock| stock.kind != StockKind::OnHand)
            {
                assert!(
                    float(&many.value) <= float(&one.value) * times + 1e-6,
                    "{}",
                    many.cloth
                );
            }
            assert!(float(&many.bound) <= float(&many.value));
        }
    }
}

/// Cloths of one name that are cut from different bolts stand apart, and the list says so.
#[test]
fn cloths_that_differ_stand_apart() {
    let mut other = tie();
    other["materials"]["stabilizer"]["bolts"][0]["width"] = json!(20);
    let both = order(&[("a", &tie(), 1), ("b", &other, 1)]);
    let names: Vec<&str> = both
        .cutting
        .iter()
        .map(|cuts| cuts.cloth.as_str())
        .filter(|name| name.starts_with("stab"))
        .collect();
    assert_eq!(names, ["stabilizer", "stabilizer (of b)"]);
    assert_eq!(both.warnings.len(), 1);
}

/// Of 700 kinds of pieces no single cutting is made; they are cut in two parts, all of them.
#[test]
fn many_kinds_are_cut_in_parts() {
    let strips: Vec<Value> = (0..700)
        .map(|number| json!({"id": format!("s{number}"), "length": format!("{}/16", 320 + number), "width": 1, "design": "ivy"}))
        .collect();
    let mut kit = tie();
    kit["strips"] = json!(strips);
    kit["hoops"][0] = json!({"id": "large", "field": [70, 20]});
    kit["designs"][0]["sizes"][0] = json!({"id": "any", "width": 1, "repeat": 1, "repeats": 70, "stop_early": true, "scale": [0.9, 1.1]});
    kit["goal"] = json!({"priorities": ["hoopings"]});
    kit["limits"] = json!({"seconds": 1});
    kit["materials"] =
        json!({"fabrics": [{"id": "linen", "bolts": [{"id": "bolt", "width": 42}]}]});
    let listed = order(&[("it", &kit, 2)]);
    let linen: Vec<&ClothCuts> = listed
        .cutting
        .iter()
        .filter(|cuts| cuts.material == Material::Fabric)
        .collect();
    assert_eq!(
        linen
            .iter()
            .map(|cuts| cuts.pieces.len())
            .collect::<Vec<_>>(),
        [500, 200]
    );
    let mut length = 0.0;
    for cuts in &linen {
        lies(cuts);
        assert!(cuts.pieces.iter().all(|piece| piece.count == 2));
        length += float(&cuts.value);
    }
    let bought: Vec<_> = listed
        .materials
        .purchases
        .iter()
        .filter(|line| line.material == Material::Fabric)
        .collect();
    assert_eq!(bought.len(), 1);
    assert!((float(&bought[0].needed) - length).abs() < 1e-4);
    assert!(
        listed
            .warnings
            .iter()
            .any(|warning| warning.contains("700 kinds")),
        "{:?}",
        listed.warnings
    );
}

/// Tape of 5 in and of 6 in a run comes off the same rolls of 100 in: one roll is enough for both.
#[test]
fn what_is_bought_alike_is_bought_together() {
    let with_tape = |each: u32| {
        let mut kit = tie();
        kit["materials"]["tape"] = json!({"each_run": each, "roll": 100, "price": 2});
        kit
    };
    let both = order(&[("a", &with_tape(5), 1), ("b", &with_tape(6), 1)]);
    let tapes: Vec<_> = both
        .materials
        .purchases
        .iter()
        .filter(|line| line.material == Material::Tape)
        .collect();
    assert_eq!(tapes.len(), 1);
    assert_eq!(
        (&tapes[0].needed, &tapes[0].buy),
        (&Measure::whole(11), &Measure::whole(1))
    );
}

/// Three kits of one label with stabilizer from different rolls: each stands under a name of its own.
#[test]
fn names_in_the_list_are_never_the_same() {
    let kits = [40, 20, 30].map(|width| {
        let mut kit = tie();
        kit["materials"]["stabilizer"]["bolts"][0]["width"] = json!(width);
        kit
    });
    let all = order(&[("k", &kits[0], 1), ("k", &kits[1], 1), ("k", &kits[2], 1)]);
    let names: Vec<&str> = all
        .cutting
        .iter()
        .map(|cuts| cuts.cloth.as_str())
        .filter(|name| name.starts_with("stab"))
        .collect();
    assert_eq!(
        names,
        ["stabilizer", "stabilizer (of k)", "stabilizer (of k, 2)"]
    );
}

/// More pieces than can be counted on a roll are told, and nothing overflows.
#[test]
fn too_many_pieces_are_told() {
    for copies in [4_000_000_000, u64::MAX] {
        let mut kit = tie();
        kit["hoops"][0]["frame"] = json!([100, 130]);
        kit["materials"]["stabilizer"]["bolts"][0]["width"] = json!(140);
        // The check reads what is printed, and so many copies are past what can be printed.
        let all = match copies {
            u64::MAX => listed(&[("k", &kit, copies)]).0,
            copies => order(&[("k", &kit, copies)]),
        };
        assert!(
            all.cutting
                .iter()
                .all(|cuts| cuts.material != Material::Stabilizer)
        );
        assert!(
            all.warnings
                .iter()
                .any(|warning| warning.contains("stabilizer")),
            "{:?}",
            all.warnings
        );
    }
}

/// Seven copies of a kit with every kind of stock, and lists that say something else of them.
#[test]
fn lists_that_are_changed_are_refused() {
    let document: Value =
        serde_json::from_str(include_str!("../../../scenarios/wall-hanging-cloths.json"))
            .expect("JSON");
    let (scenario, plan) = planned(&document);
    let (list, _) = listed(&[("it", &document, 7)]);
    let refused = |list: &Value, copies: u64| {
        let list: OrderList = serde_json::from_value(list.clone()).expect("a list");
        let mut check = OrderCheck::new(scenario.unit);
        check.add(&scenario, &plan, copies);
        found(check, &list)
    };
    let right = json!(list);
    assert_eq!(refused(&right, 7), Vec::<String>::new());
    assert!(refused(&right, 6).len() > 5);
    let cases: [(&str, Option<Value>, &str); 14] = [
        ("/unit", Some(json!("mm")), "wrong-unit at /unit"),
        ("/cutting/1", None, "cloth-missing at /cutting"),
        (
            "/cutting/0/cloth",
            Some(json!("linen")),
            "unknown-cloth at /cutting/0/cloth",
        ),
        (
            "/cutting/0/value",
            Some(json!(1)),
            "wrong-cutting-value at /cutting/0/value",
        ),
        (
            "/cutting/0/bound",
            Some(json!(99_999)),
            "bound-above-value at /cutting/0/bound",
        ),
        ("/cutting/0/pieces/0", None, "piece-missing at /cutting"),
        (
            "/cutting/0/pieces/0/count",
            Some(json!(1)),
            "unknown-use at /cutting/0/pieces/0",
        ),
        (
            "/cutting/0/pieces/0/uses",
            Some(json!(["1 for it"])),
            "wrong-piece-count at /cutting/0/pieces/0/uses",
        ),
        (
            "/cutting/0/pieces/0/size/0",
            Some(json!(1)),
            "unknown-use at /cutting/0/pieces/0",
        ),
        (
            "/cutting/0/stocks/0/levels/0/copies",
            Some(json!(50)),
            "wrong-number-cut at /cutting/0/pieces/0/count",
        ),
        (
            "/cutting/0/stocks/0/width",
            Some(json!(19)),
            "wrong-stock-width at /cutting/0/stocks/0/width",
        ),
        (
            "/materials/purchases/0",
            None,
            "purchase-missing at /materials/purchases",
        ),
        (
            "/materials/purchases/0/buy",
            Some(json!(0.125)),
            "wrong-buy at /materials/purchases/0/buy",
        ),
        (
            "/materials/price",
            Some(json!(1)),
            "wrong-total-price at /materials/price",
        ),
    ];
    for (pointer, value, rule) in cases {
        let mut changed = right.clone();
        let (within, last) = pointer.rsplit_once('/').expect("a place");
        match value {
            Some(value) => *changed.pointer_mut(pointer).expect("a place") = value,
            None => {
                let items = changed.pointer_mut(within).and_then(Value::as_array_mut);
                items
                    .expect("a list")
                    .remove(last.parse().expect("a number"));
            }
        }
        let found = refused(&changed, 7);
        assert!(found.iter().any(|one| one == rule), "{pointer}: {found:?}");
    }
}

/// Drawn kits with cloths of every kind, two by two.
#[test]
fn orders_of_drawn_kits_pass_the_check() {
    let limit = Duration::from_millis(300);
    let mut failures = Vec::new();
    let (mut lists, mut cut, mut shared) = (0, 0, 0);
    let drawn = (0..240).filter_map(|seed| {
        let text = furnished_scenario(seed, Scale::Tiny);
        let scenario = scenario::read(text.as_bytes()).expect("a scenario without fault");
        let plan = answer(&scenario, limit).ok()?;
        Some((seed, scenario, plan))
    });
    let drawn: Vec<(u64, Scenario, Plan)> = drawn.collect();
    for pair in drawn.windows(2) {
        let unit = pair[0].1.unit;
        let (mut gathering, mut check) = (Gathering::new(unit), OrderCheck::new(unit));
        for (seed, scenario, plan) in pair.iter().filter(|(_, of, _)| of.unit == unit) {
            gathering.add(&format!("kit {seed}"), scenario, plan, 1 + seed % 4);
            check.add(scenario, plan, 1 + seed % 4);
        }
        let list = gathering.order(&Deadline::after(limit, StopSignal::new()));
        let found = found(check, &list);
        if !found.is_empty() {
            failures.push(format!(
                "from seed {}: {found:#?}\n{}",
                pair[0].0,
                json!(list)
            ));
        }
        lists += 1;
        cut += list.cutting.len();
        shared += usize::from(
            list.warnings
                .iter()
                .any(|one| one.contains("not the same in all kits")),
        );
    }
    println!("{lists} lists, {cut} cloths cut, {shared} with cloths that differ");
    assert_none(&failures, lists);
    assert!(
        lists >= 150 && cut >= 300 && shared >= 50,
        "{lists}, {cut}, {shared}"
    );
}
