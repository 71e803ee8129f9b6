//! Scenarios that the benchmarks measure, as JSON documents. All of them are invented.

pub mod packing;

use mimalloc::MiMalloc;
use sashwright_solver::scenario::Term;
use serde_json::{Value, json};

/// As in the program.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

/// Three hoops as a quilter may own them.
fn three_hoops() -> Value {
    json!([
        {"id": "small", "field": [5, 7], "frame": [7, 9.5]},
        {"id": "medium", "field": [6, 10], "frame": [8.5, 13]},
        {"id": "large", "field": [9.5, 14], "frame": [12, 17]}
    ])
}

/// Eight sizes: four for sashing and four for borders.
fn eight_sizes(scale: [f64; 2]) -> Value {
    json!([
        {"id": "path", "sizes": [
            {"id": "path-3", "width": 1.5, "repeat": 1.5, "repeats": 2, "field": [3.25, 2], "scale": scale},
            {"id": "path-4", "width": 1.5, "repeat": 1.5, "repeats": 3, "field": [4.75, 2], "scale": scale},
            {"id": "path-6", "width": 1.5, "repeat": 1.5, "repeats": 4, "field": [6.25, 2], "scale": scale},
            {"id": "path-9", "width": 1.5, "repeat": 1.5, "repeats": 6, "field": [9.25, 2], "scale": scale}
        ]},
        {"id": "walk", "sizes": [
            {"id": "walk-3", "width": 3, "repeat": 3.5, "repeats": 1, "field": [4, 3.5], "scale": scale},
            {"id": "walk-7", "width": 3, "repeat": 3.5, "repeats": 2, "field": [7.25, 3.5], "scale": scale},
            {"id": "walk-10", "width": 3, "repeat": 3.5, "repeats": 3, "field": [10.75, 3.5], "scale": scale},
            {"id": "walk-14", "width": 3, "repeat": 3.5, "repeats": 4, "field": [14, 3.5], "scale": scale}
        ]}
    ])
}

/// A whole quilt: 40 sashes and a border of 4 strips, 3 hoops, 8 sizes, all six terms.
pub fn whole_quilt(corner: &str) -> Value {
    json!({
        "format": 1, "name": "whole quilt", "unit": "in",
        "quilt": {
            "blocks": {"columns": 5, "rows": 5, "size": [9, 9]},
            "sashing": {"width": 1.5, "cornerstones": true, "design": "path"},
            "borders": [{"width": 3, "corner": corner, "design": "walk"}]
        },
        "hoops": three_hoops(),
        "designs": eight_sizes([0.97, 1.03]),
        "limits": {"seconds": 10}
    })
}

/// A whole quilt in rows: 40 sashes of different lengths, and a border of 4 strips around a centre that is not square.
pub fn rectangular_quilt() -> Value {
    json!({
        "format": 1, "name": "rectangular quilt", "unit": "in",
        "quilt": {
            "blocks": {"columns": 4, "rows": 6, "size": [9, 10.5]},
            "sashing": {"width": 1.5, "cornerstones": true, "design": "path"},
            "borders": [{"width": 3, "corner": "butted", "design": "walk"}]
        },
        "strips": [{"id": "filler", "length": 9, "width": 1.5, "count": 2, "design": "path"}],
        "hoops": three_hoops(),
        "designs": eight_sizes([0.97, 1.03]),
        "limits": {"seconds": 10}
    })
}

/// A whole quilt with four rounds of borders: 40 sashes and 16 border strips.
pub fn four_rounds() -> Value {
    let mut quilt = whole_quilt("mitred");
    let border = |corner: &str| json!({"width": 3, "corner": corner, "design": "walk"});
    quilt["name"] = json!("four rounds");
    quilt["quilt"]["borders"] = json!([
        border("butted"),
        border("mitred"),
        border("cornerstone"),
        border("butted")
    ]);
    quilt
}

/// A size of a design with a margin of a quarter of an inch along and half an inch across, which may stop early.
fn stopping(id: &str, width: f64, repeat: f64, repeats: u32) -> Value {
    let field = [repeat * f64::from(repeats) + 0.25, width + 0.5];
    json!({
        "id": id, "width": width, "repeat": repeat, "repeats": repeats, "field": field,
        "scale": [0.97, 1.03], "stop_early": true
    })
}

/// A show quilt: three stitched borders, 200 sashes in 12 lengths, 40 fillers, 5 hoops, 16 sizes that may stop early.
pub fn show_quilt(priorities: &[&str]) -> Value {
    let sashes = [
        (4.0, 20),
        (4.5, 12),
        (5.0, 18),
        (5.5, 14),
        (6.0, 22),
        (7.5, 16),
        (8.0, 20),
        (9.0, 24),
        (10.0, 18),
        (10.5, 10),
        (11.0, 14),
        (12.0, 12),
    ];
    let mut strips: Vec<Value> = sashes
        .iter()
        .enumerate()
        .map(|(number, (length, count))| {
            json!({"id": format!("sash-{number}"), "length": length, "width": 1.5, "count": count, "design": "path"})
        })
        .collect();
    strips.push(json!({"id": "filler", "length": 6.5, "width": 2, "count": 24, "design": "brook"}));
    strips.push(
        json!({"id": "filler-long", "length": 9.5, "width": 2, "count": 16, "design": "brook"}),
    );
    json!({
        "format": 1, "name": "show quilt", "unit": "in",
        "quilt": {"centre": [60, 72], "borders": [
            {"width": 3, "corner": "butted", "design": "walk"},
            {"width": 2, "corner": "mitred", "design": "brook"},
            {"width": 2.5, "corner": "cornerstone", "design": "hedge"}
        ]},
        "strips": strips,
        "hoops": [
            {"id": "pocket", "field": [4, 4], "frame": [6, 6]},
            {"id": "small", "field": [5, 7], "frame": [7, 9.5]},
            {"id": "medium", "field": [6, 10], "frame": [8.5, 13]},
            {"id": "large", "field": [9.5, 14], "frame": [12, 17]},
            {"id": "giant", "field": [11, 16], "frame": [14, 19]}
        ],
        "designs": [
            {"id": "path", "sizes": [stopping("path-3", 1.5, 1.5, 2), stopping("path-6", 1.5, 1.5, 4),
                stopping("path-9", 1.5, 1.5, 6), stopping("path-12", 1.5, 1.5, 8)]},
            {"id": "walk", "sizes": [stopping("walk-4", 3.0, 2.0, 2), stopping("walk-8", 3.0, 2.0, 4),
                stopping("walk-12", 3.0, 2.0, 6), stopping("walk-14", 3.0, 2.0, 7)]},
            {"id": "brook", "sizes": [stopping("brook-5", 2.0, 2.5, 2), stopping("brook-7", 2.0, 2.5, 3),
                stopping("brook-10", 2.0, 2.5, 4), stopping("brook-12", 2.0, 2.5, 5)]},
            {"id": "hedge", "sizes": [stopping("hedge-6", 2.5, 3.0, 2), stopping("hedge-9", 2.5, 3.0, 3),
                stopping("hedge-12", 2.5, 3.0, 4), stopping("hedge-15", 2.5, 3.0, 5)]}
        ],
        "goal": {"priorities": priorities},
        "limits": {"seconds": 5}
    })
}

/// The same ten strips in so many copies, for the fewest hoopings and the least stabilizer.
pub fn copies(count: u32) -> Value {
    let strips = [(4.0, 3), (6.5, 2), (9.0, 3), (12.0, 2)].map(|(length, each)| {
        json!({"id": format!("strip-{length}"), "length": length, "width": 1.5, "count": each * count, "design": "path"})
    });
    json!({
        "format": 1, "name": "copies", "unit": "in", "strips": strips, "hoops": three_hoops(),
        "designs": [{"id": "path", "sizes": [stopping("path-6", 1.5, 0.5, 12), stopping("path-12", 1.5, 0.5, 24)]}],
        "goal": {"priorities": ["hoopings", "stabilizer"]},
        "limits": {"seconds": 10}
    })
}

/// So many strips, each of another length: a shop's work.
pub fn lengths(count: u32) -> Value {
    let mut document = sashwright_tests::lengths::lengths(count);
    document["name"] = json!("lengths");
    document
}

/// So many alike quilts with sashes and two stitched borders, one of them mitred, whose strips share hoopings.
pub fn quilts(count: u32) -> Value {
    let quilt = json!({
        "blocks": {"columns": 3, "rows": 3, "size": [8, 8]},
        "sashing": {"width": 1, "cornerstones": true, "design": "vine"},
        "borders": [{"width": 2, "design": "vine"}, {"width": 2, "corner": "mitred", "design": "vine"}]
    });
    json!({
        "format": 1, "name": "quilts", "unit": "in",
        "quilts": [{"id": "throw", "count": count, "quilt": quilt}],
        "hoops": three_hoops(),
        "designs": [{"id": "vine", "sizes": [
            stopping("vine-5", 2.0, 1.75, 3), stopping("vine-9", 2.0, 1.75, 5), stopping("vine-6", 1.0, 1.5, 4)]}],
        "limits": {"seconds": 10}
    })
}

/// A small kit by number: a table runner or a cushion of a few blocks with one border, each number another one.
pub fn kit(number: u32) -> Value {
    let (columns, rows) = (1 + number % 3, 1 + number / 3 % 3);
    let block = 5.0 + f64::from(number / 9 % 28) * 0.25;
    let corner = ["butted", "cornerstone"][(number / 252 % 2) as usize];
    json!({
        "format": 1, "name": format!("kit {number}"), "unit": "in",
        "quilt": {
            "blocks": {"columns": columns, "rows": rows, "size": [block, block + f64::from(number / 504) * 0.5]},
            "sashing": {"width": 1.5, "cornerstones": true, "outer": true, "design": "path"},
            "borders": [{"width": 3, "corner": corner, "design": "walk"}]
        },
        "hoops": three_hoops(),
        "designs": [
            {"id": "path", "sizes": [stopping("path-6", 1.5, 0.25, 24), stopping("path-12", 1.5, 0.25, 48)]},
            {"id": "walk", "sizes": [stopping("walk-6", 3.0, 1.5, 4), stopping("walk-12", 3.0, 1.5, 8)]}
        ],
        "goal": {"priorities": ["hoopings", "joints", "stabilizer"]},
        "limits": {"seconds": 1}
    })
}

/// A scenario of the project's `scenarios` folder.
pub fn demo(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or(Value::Null)
}

/// Every case of the benches: its name, and the scenario's text.
pub fn cases() -> Vec<(String, String)> {
    let all: Vec<&str> = Term::USUAL.iter().map(|term| term.name()).collect();
    let mut cases: Vec<(String, Value)> = [
        ("whole quilt, butted", whole_quilt("butted")),
        ("whole quilt, mitred", whole_quilt("mitred")),
        ("rectangular quilt", rectangular_quilt()),
        ("four rounds of borders", four_rounds()),
        ("show quilt, hoopings and joints", show_quilt(&all[..2])),
        ("show quilt, all six terms", show_quilt(&all)),
        (
            "lap quilt",
            demo(include_str!("../../scenarios/lap-quilt.json")),
        ),
        (
            "table runner",
            demo(include_str!("../../scenarios/table-runner.json")),
        ),
        (
            "bed quilt",
            demo(include_str!("../../scenarios/bed-quilt.json")),
        ),
        (
            "cornerstones, mm",
            demo(include_str!("../../scenarios/cornerstones-mm.json")),
        ),
        (
            "filler strips",
            demo(include_str!("../../scenarios/filler-strips.json")),
        ),
    ]
    .map(|(name, document)| (name.to_owned(), document))
    .into();
    cases.extend(
        [1, 10, 100, 1_000, 10_000].map(|count| (format!("{count} copies"), copies(count))),
    );
    cases.extend([10, 100, 1_000].map(|count| (format!("{count} quilts"), quilts(count))));
    cases.extend([100, 1_000].map(|count| (format!("{count} lengths"), lengths(count))));
    let documents = cases.into_iter();
    let mut texts: Vec<(String, String)> = documents
        .map(|(name, document)| (name, document.to_string()))
        .collect();
    let packed = [
        (
            "200 items of 10 to 40 %",
            packing::uniform(10_000, 200, [1_000, 4_000]),
        ),
        (
            "400 items of 5 to 50 %",
            packing::uniform(10_000, 400, [500, 5_000]),
        ),
        (
            "500 items of 6 to 30 %",
            packing::uniform(1_000, 500, [60, 300]),
        ),
        ("501 items in triplets", packing::triplets(1_000, 167)),
        ("201 items in full hoopings", packing::triples(2_500, 67)),
        ("402 items in full hoopings", packing::triples(10_000, 134)),
        ("402 items on a graph", packing::on_petersen(10_000, 132)),
        (
            "408 items short of full",
            packing::apart_from_petersen(10_000, 134),
        ),
    ];
    texts.extend(packed.map(|(name, text)| (name.to_owned(), text)));
    texts
}
