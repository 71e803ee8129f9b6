//! What is cut and bought, on sheets of real plans: the counts in the sheet are those of the plan's document.

use std::collections::BTreeMap;

use sashwright_sheets::csv::cut_list;
use sashwright_sheets::{Block, Section, Sheet, Table, picture_files, sheet};
use sashwright_solver::job::{ClothCuts, StockKind};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::Scenario;

use crate::planned::furnished;

/// A quilt with two fabrics, a roll and a piece on hand of stabilizer, and prices; borders are sewn together from parts.
fn planned() -> (Scenario, Plan) {
    let document = serde_json::json!({
        "format": 1, "name": "Garden throw", "unit": "in",
        "quilt": {
            "blocks": {"columns": 4, "rows": 6, "size": [8, 8]},
            "sashing": {"width": 1, "cornerstones": true, "outer": false},
            "borders": [{"width": 1}, {"width": 2, "corner": "cornerstone", "design": "vine"}]},
        "hoops": [{"id": "medium", "field": [6, 10], "frame": [8.5, 13]}],
        "designs": [{"id": "vine", "threads": ["leaf", "gold"], "sizes": [
            {"id": "vine-2", "width": 2, "repeat": 3.5, "repeats": 2, "field": [7.25, 2.5], "stitches": 4200,
                "stop_early": true}]}],
        "materials": {
            "stabilizer": {"roll_width": 20, "price": 4.5, "on_hand": [{"size": [12, 40]}]},
            "fabrics": [
                {"id": "<script>", "for": ["border-2"], "width": 42, "price": 12, "long_strips": "pieced"},
                {"id": "../x", "width": 40, "price": 9}],
            "batting": {"width": 90, "price": 11},
            "tape": {"each_run": 6, "roll": 360, "price": 5},
            "thread": {"spool": 1000, "price": 4}}
    });
    furnished(document.to_string().as_bytes())
}

fn section<'a>(sheet: &'a Sheet, id: &str) -> &'a Section {
    let found = sheet.sections.iter().find(|section| section.id == id);
    found.expect("the section")
}

/// All blocks of a section, those that stand together one by one.
fn blocks(section: &Section) -> Vec<&Block> {
    let each = section.blocks.iter().flat_map(|block| match block {
        Block::Together(within) => within.iter().collect(),
        block => vec![block],
    });
    each.collect()
}

fn tables(section: &Section) -> Vec<&Table> {
    let tables = blocks(section).into_iter().filter_map(|block| match block {
        Block::Table(table) => Some(table),
        _ => None,
    });
    tables.collect()
}

fn cloths(plan: &Plan) -> &[ClothCuts] {
    plan.cutting.as_deref().expect("the plan tells of cloths")
}

#[test]
fn every_piece_of_every_cloth_is_listed_once() {
    let (scenario, plan) = planned();
    let content = sheet(&scenario, &plan);
    let cutting = section(&content, "cutting");
    let mut headings = blocks(cutting).into_iter().filter_map(|block| match block {
        Block::Heading(heading) => Some(heading.as_str()),
        _ => None,
    });
    assert_eq!(headings.next(), Some("Strips to cut"));
    let named: Vec<&str> = headings.collect();
    assert_eq!(
        named,
        ["Stabilizer", "Fabric: <script>", "Fabric: ../x", "Batting"]
    );
    for cloth in cloths(&plan) {
        let caption = format!("Pieces to cut from {}", cloth.cloth);
        let table = tables(cutting)
            .into_iter()
            .find(|table| table.caption == caption)
            .expect("a table of the cloth");
        assert!(table.ticks);
        let listed: Vec<[&str; 2]> = table.rows.iter().map(|row| [&*row[0], &*row[1]]).collect();
        let counts: Vec<String> = cloth
            .pieces
            .iter()
            .map(|piece| piece.count.to_string())
            .collect();
        let pieces = cloth.pieces.iter().zip(&counts);
        let planned: Vec<[&str; 2]> = pieces
            .map(|(piece, count)| [&*piece.mark, &**count])
            .collect();
        assert_eq!(listed, planned, "{}", cloth.cloth);
    }
    // Strips: as many as the plan has.
    let strips = &tables(cutting)[0].rows;
    let cut = strips
        .iter()
        .map(|row| row[0].parse::<usize>().expect("a count"));
    assert_eq!(cut.sum::<usize>(), plan.strips.len());
}

/// In the picture of a stock each piece is a rectangle with an edge, as often as the levels say where each is drawn.
#[test]
fn every_piece_is_drawn_in_its_level() {
    let (scenario, plan) = planned();
    let pictures: BTreeMap<String, String> = picture_files(&scenario, &plan).into_iter().collect();
    let mut drawn = 0;
    for cloth in cloths(&plan) {
        let stem = match cloth.cloth.as_str() {
            "<script>" => "fabric-script",
            "../x" => "fabric-x",
            name => name,
        };
        for (index, stock) in cloth.stocks.iter().enumerate() {
            let name = format!("{stem}-{}.svg", index + 1);
            let svg = &pictures[&name];
            let document = roxmltree::Document::parse(svg).expect("well-formed");
            let rectangles = document
                .descendants()
                .filter(|node| node.has_tag_name("rect") && node.attribute("stroke").is_some());
            let planned = stock.levels.iter().map(|level| {
                let each: u32 = level.pieces.iter().map(|pieces| pieces.count).sum();
                each * if level.copies > 3 { 1 } else { level.copies }
            });
            assert_eq!(rectangles.count(), planned.sum::<u32>() as usize, "{name}");
            let whole = svg.contains("stay whole");
            assert_eq!(whole, stock.kind == StockKind::OnHand, "{name}");
            drawn += 1;
        }
    }
    assert!(drawn >= 4);
}

#[test]
fn files_of_pictures_have_plain_names_each_once() {
    let (scenario, plan) = planned();
    let files = picture_files(&scenario, &plan);
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    assert!(names.contains(&"quilt.svg") && names.contains(&"stabilizer-1.svg"));
    assert!(
        plan.hoopings.len() >= 10 && names.contains(&"hooping-01.svg"),
        "{names:?}"
    );
    let mut once = names.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), names.len());
    for (name, svg) in &files {
        let stem = name.strip_suffix(".svg").expect("an ending");
        let safe =
            |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '-';
        assert!(stem.starts_with(|letter: char| letter.is_ascii_lowercase()));
        assert!(stem.chars().all(safe), "{name}");
        assert!(!svg.contains("<script"), "{name}");
    }
}

#[test]
fn every_purchase_is_on_the_shopping_list_with_its_price() {
    let (scenario, plan) = planned();
    let content = sheet(&scenario, &plan);
    let shopping = section(&content, "shopping");
    let materials = plan.materials.as_ref().expect("what is bought");
    let table = tables(shopping)[0];
    assert!(table.ticks);
    assert_eq!(table.rows.len(), materials.purchases.len());
    for (row, purchase) in table.rows.iter().zip(&materials.purchases) {
        assert!(row[2].starts_with(&purchase.name), "{row:?}");
        let price = purchase.price.as_ref().expect("all have prices");
        let printed: f64 = row[5].parse().expect("a price");
        let exact: f64 = price.to_string().parse().expect("a number");
        assert!((printed - exact).abs() < 0.005_001, "{row:?}");
    }
    let all = materials.price.as_ref().expect("all have prices");
    let told = shopping.blocks.iter().find_map(|block| match block {
        Block::Text(text) => text.strip_prefix("All together: "),
        _ => None,
    });
    let told: f64 = told
        .and_then(|told| told.trim_end_matches('.').parse().ok())
        .expect("the sum");
    let exact: f64 = all.to_string().parse().expect("a number");
    assert!((told - exact).abs() < 0.005_001, "{told} {all}");
}

#[test]
fn the_cut_list_has_every_piece_and_tells_what_is_trimmed() {
    let (scenario, plan) = planned();
    let list = cut_list(&scenario, &plan).expect("a list");
    let mut reader = csv::Reader::from_reader(list.as_slice());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let pieces: usize = cloths(&plan).iter().map(|cloth| cloth.pieces.len()).sum();
    assert_eq!(rows.len(), pieces);
    let counted: u32 = rows
        .iter()
        .map(|row| row[3].parse::<u32>().expect("a count"))
        .sum();
    let planned = cloths(&plan).iter().flat_map(|cloth| &cloth.pieces);
    assert_eq!(counted, planned.map(|piece| piece.count).sum::<u32>());
    let (mut whole, mut parts) = (0, 0);
    for row in &rows {
        let (trimmed, across) = (&row[7], &row[8]);
        let first = row[9].split("; ").next().expect("a use");
        let strip = |id: &str| plan.strips.iter().find(|strip| strip.id == id);
        if let Some(strip) = strip(first) {
            assert_eq!(
                [trimmed, across],
                strip.trimmed.each_ref().map(ToString::to_string)
            );
            whole += 1;
        } else if let Some(strip) = first.split_once(", part ").and_then(|(id, _)| strip(id)) {
            assert_eq!(["", across], ["", &strip.trimmed[1].to_string()]);
            assert_eq!(trimmed, "");
            parts += 1;
        } else {
            assert_eq!([trimmed, across], ["", ""], "{first}");
        }
    }
    assert!(whole + parts > 0 && parts > 0, "{whole} {parts}");
}
