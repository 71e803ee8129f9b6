//! Sheets of planned scenarios: well formed, escaped, complete, and drawn where the plan says.

use std::collections::BTreeSet;

use sashwright_sheets::csv::cut_list;
use sashwright_sheets::{Block, Picture, Sheet, html, pictures, sheet};
use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::Scenario;

use crate::planned::{SCENARIOS, document, plan_of};

/// A scenario of the repository, and its plan.
fn planned(name: &str) -> (Scenario, Plan) {
    plan_of(&document(name))
}

/// Names that would be markup, formulas, or nothing that XML may hold.
fn nasty() -> (Scenario, Plan) {
    let document = serde_json::json!({
        "format": 1, "name": "<script>alert(1)</script> & \"quotes\" 'both'", "unit": "in",
        "strips": [
            {"id": "=cmd|'<script>'!A1", "length": 6, "width": 1, "design": "<b>\"vine\"</b>"},
            {"id": "\"></svg><script>", "length": 9, "width": 1, "design": "<b>\"vine\"</b>"}],
        "hoops": [{"id": "h\"'<&>", "field": [5, 7]}],
        "designs": [{"id": "<b>\"vine\"</b>", "sizes": [
            {"id": "]]><!--", "width": 1, "repeat": 1, "repeats": 6, "stop_early": true}]}]
    });
    plan_of(document.to_string().as_bytes())
}

/// The SVG of a picture, read by an XML parser.
fn svg<'a>(picture: &Picture, text: &'a str) -> roxmltree::Document<'a> {
    let parsed = roxmltree::Document::parse(text);
    parsed.unwrap_or_else(|error| panic!("{}: {error}", picture.name))
}

fn attribute(node: roxmltree::Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name)
        .and_then(|text| text.parse().ok())
        .unwrap_or(0.0)
}

/// What the tokenizer of the HTML Standard (html5gum) finds wrong with the page, and elements that are not closed in order.
fn parse_errors(page: &str) -> Vec<String> {
    let void = ["meta", "input"];
    let (mut errors, mut open) = (Vec::new(), Vec::new());
    for token in html5gum::Tokenizer::new(page) {
        match token.expect("a text is read without failure") {
            html5gum::Token::Error(error) => errors.push(format!("{error:?}")),
            html5gum::Token::StartTag(tag) => {
                let name = String::from_utf8_lossy(&tag.name).into_owned();
                if !tag.self_closing && !void.contains(&name.as_str()) {
                    open.push(name);
                }
            }
            html5gum::Token::EndTag(tag) => {
                let name = String::from_utf8_lossy(&tag.name).into_owned();
                if open.pop().as_ref() != Some(&name) {
                    errors.push(format!("</{name}> closes nothing"));
                }
            }
            _ => {}
        }
    }
    errors.extend(open);
    errors
}

#[test]
fn pages_and_pictures_are_well_formed() {
    let mut all: Vec<(Scenario, Plan)> = SCENARIOS.into_iter().map(planned).collect();
    all.push(nasty());
    for (scenario, plan) in all {
        let content = sheet(&scenario, &plan);
        let page = html(&content);
        assert_eq!(
            parse_errors(&page),
            Vec::<String>::new(),
            "{}",
            plan.scenario
        );
        let mut names = BTreeSet::new();
        for picture in pictures(&scenario, &plan) {
            let text = picture.svg();
            let document = svg(&picture, &text);
            assert_eq!(document.root_element().attribute("role"), Some("img"));
            assert!(names.insert(picture.name.clone()), "{} twice", picture.name);
            assert!(
                picture
                    .size
                    .iter()
                    .all(|side| *side > 0.0 && *side <= 240.0),
                "{:?}",
                picture.size
            );
        }
        let ids: Vec<&str> = page
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), unique.len(), "an id stands twice");
    }
}

#[test]
fn names_never_become_markup_or_formulas() {
    let (scenario, plan) = nasty();
    let page = html(&sheet(&scenario, &plan));
    assert!(!page.contains("<script") && !page.contains("<b>") && !page.contains("<!--"));
    assert!(page.contains("&lt;script&gt;alert(1)"));
    for picture in pictures(&scenario, &plan) {
        assert!(!picture.svg().contains("<script"));
        let safe =
            |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '-';
        assert!(picture.name.chars().all(safe), "{}", picture.name);
    }
    let list = String::from_utf8(cut_list(&scenario, &plan).expect("a list")).expect("UTF-8");
    assert!(list.contains("'=cmd|"), "{list}");
    assert!(list.ends_with("\r\n"));
    let mut reader = csv::Reader::from_reader(list.as_bytes());
    for record in reader.records() {
        let record = record.expect("a row as long as the heading");
        for cell in &record {
            assert!(!cell.starts_with(['=', '+', '-', '@', '\t']), "{cell}");
        }
    }
}

#[test]
fn every_run_has_its_hooping_in_the_quilt_and_every_hooping_its_strips() {
    for (scenario, plan) in SCENARIOS.into_iter().map(planned) {
        let all = pictures(&scenario, &plan);
        let quilts = all.iter().filter(|of| of.name.starts_with("quilt"));
        let mut written: Vec<String> = Vec::new();
        for quilt in quilts {
            let text = quilt.svg();
            let document = svg(quilt, &text);
            let texts = document.descendants().filter_map(|node| {
                let is_text = node.has_tag_name("text");
                is_text.then(|| node.text().unwrap_or_default().trim().to_string())
            });
            written.extend(texts);
        }
        assert!(!written.is_empty(), "a quilt");
        // Of quilts that are sewn alike the first is shown.
        let later = scenario.quilts.iter();
        let later = later.flat_map(|of| (2..=of.count).map(|copy| format!("{}-", of.name(copy))));
        let later: Vec<String> = later.collect();
        let shown = |strip: &str| !later.iter().any(|copy| strip.starts_with(copy));
        for hooping in &plan.hoopings {
            let number = hooping.number.to_string();
            let placed = hooping.placements.iter().filter(|of| shown(&of.strip));
            assert_eq!(
                written.iter().filter(|text| **text == number).count(),
                placed.count(),
                "hooping {number} of {}",
                plan.scenario
            );
        }
        let content = sheet(&scenario, &plan);
        for hooping in &plan.hoopings {
            let caption = format!("What is stitched in hooping {},", hooping.number);
            let table = tables(&content)
                .into_iter()
                .find(|table| table.caption.starts_with(&caption));
            let rows = &table.expect("a table of the hooping").rows;
            let strips: Vec<&String> = rows.iter().map(|row| &row[1]).collect();
            let placed: Vec<&String> = hooping.placements.iter().map(|of| &of.strip).collect();
            assert_eq!(strips, placed);
        }
    }
}

fn tables(sheet: &Sheet) -> Vec<&sashwright_sheets::Table> {
    fn walk<'a>(blocks: &'a [Block], found: &mut Vec<&'a sashwright_sheets::Table>) {
        for block in blocks {
            match block {
                Block::Table(table) => found.push(table),
                Block::Together(within) => walk(within, found),
                _ => {}
            }
        }
    }
    let mut found = Vec::new();
    for section in &sheet.sections {
        walk(&section.blocks, &mut found);
    }
    found
}

/// The field's rectangle is the second one of a hooping's picture; the white rectangles after it with neither edge nor rounding and
/// the height of a lane are the runs. Their places, divided by the scale that the field's width gives, are the plan's numbers.
#[test]
fn runs_are_drawn_where_the_plan_says() {
    for (scenario, plan) in SCENARIOS.into_iter().map(planned) {
        let all = pictures(&scenario, &plan);
        for hooping in &plan.hoopings {
            let name = format!("hooping-{}", hooping.number);
            let picture = all
                .iter()
                .find(|picture| picture.name == name)
                .expect("its picture");
            let text = picture.svg();
            let document = svg(picture, &text);
            let rectangles: Vec<_> = document
                .descendants()
                .filter(|node| node.has_tag_name("rect"))
                .collect();
            let field = rectangles[1];
            let hoop = scenario
                .hoops
                .iter()
                .find(|hoop| hoop.id == hooping.hoop)
                .expect("its hoop");
            let along = hoop.field[usize::from(hooping.turned)];
            let scale = attribute(field, "width") / along.nanometres() as f64;
            for placement in &hooping.placements {
                let at = |measure: &sashwright_solver::length::Measure| {
                    measure.length(plan.unit).expect("a length").nanometres() as f64 * scale
                };
                let wanted = [
                    attribute(field, "x") + at(&placement.along),
                    attribute(field, "y") + at(&placement.across) - at(&placement.width) / 2.0,
                    at(&placement.length),
                    at(&placement.width),
                ];
                let drawn = rectangles.iter().any(|node| {
                    let found = ["x", "y", "width", "height"].map(|name| attribute(*node, name));
                    node.attribute("stroke").is_none()
                        && found.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 0.02)
                });
                assert!(drawn, "{} in {name} of {}", placement.strip, plan.scenario);
            }
        }
    }
}

/// Hoops of which only the field is known, and strips that lie at its edges: cloth reaches out on all sides.
fn without_frames() -> (Scenario, Plan) {
    let document = serde_json::json!({
        "format": 1, "unit": "in",
        "strips": [
            {"id": "short", "count": 2, "length": 7.5, "width": 1.25, "design": "reed"},
            {"id": "long", "count": 2, "length": 21, "width": 2.5, "design": "kelp"}],
        "hoops": [{"id": "square", "field": [6, 6]}, {"id": "narrow", "field": [6.5, 11]}],
        "designs": [
            {"id": "reed", "sizes": [{"id": "reed-8", "width": 1.25, "repeat": 1.25, "repeats": 6}]},
            {"id": "kelp", "sizes": [
                {"id": "kelp-5", "width": 2.5, "repeat": 2.5, "repeats": 2, "stop_early": true, "scale": [0.96, 1.04]},
                {"id": "kelp-10", "width": 2.5, "repeat": 2.5, "repeats": 4, "scale": [0.96, 1.04]}]}]
    });
    plan_of(document.to_string().as_bytes())
}

/// The edges of cloth are the lines of the longest dashes; what is written outside of the field is a dimension of the hoop or a
/// place in it. No such line runs through where such a text begins, ends, or has its middle.
#[test]
fn no_cloth_runs_through_what_is_written_beside_a_hoop() {
    let plans = SCENARIOS.into_iter().map(planned);
    let mut written = 0;
    for (scenario, plan) in plans.chain([without_frames()]) {
        let all = pictures(&scenario, &plan);
        let hoopings = all
            .iter()
            .filter(|picture| picture.name.starts_with("hooping-"));
        for picture in hoopings {
            let text = picture.svg();
            let document = svg(picture, &text);
            let nodes = |tag: &'static str| {
                document
                    .descendants()
                    .filter(move |node| node.has_tag_name(tag))
            };
            let field = nodes("rect").nth(1).expect("the field");
            let [x, y, width, height] =
                ["x", "y", "width", "height"].map(|name| attribute(field, name));
            let cloth: Vec<[f64; 4]> = nodes("line")
                .filter(|node| node.attribute("stroke-dasharray") == Some("1.6 1"))
                .map(|node| ["x1", "y1", "x2", "y2"].map(|name| attribute(node, name)))
                .collect();
            for node in nodes("text") {
                let at = ["x", "y"].map(|name| attribute(node, name));
                if (x..=x + width).contains(&at[0]) && (y..=y + height).contains(&at[1]) {
                    continue;
                }
                written += 1;
                // Capitals are 2.3 mm high, to the left of the point where the text is turned.
                let (low, high) = match node.attribute("transform") {
                    Some(_) => ([at[0] - 2.3, at[1] - 0.5], [at[0], at[1] + 0.5]),
                    None => ([at[0] - 0.5, at[1] - 2.3], [at[0] + 0.5, at[1]]),
                };
                for [x1, y1, x2, y2] in &cloth {
                    let meets = x1.min(*x2) <= high[0]
                        && low[0] <= x1.max(*x2)
                        && y1.min(*y2) <= high[1]
                        && low[1] <= y1.max(*y2);
                    assert!(
                        !meets,
                        "{:?} in {} of {}",
                        node.text(),
                        picture.name,
                        plan.scenario
                    );
                }
            }
        }
    }
    assert!(written > 100, "{written} texts");
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    for (scenario, plan) in SCENARIOS.into_iter().map(planned) {
        let page = || html(&sheet(&scenario, &plan));
        assert_eq!(page(), page());
    }
}

/// Ten thousand copies of one strip: pictures are shared.
#[test]
fn many_copies_are_few_pictures() {
    let hoopings = 10_000;
    let (scenario, plan) = nasty();
    let mut plan = plan;
    let first = plan.hoopings[0].clone();
    plan.hoopings = (1..=hoopings)
        .map(|number| sashwright_solver::plan::HoopingEntry {
            number,
            ..first.clone()
        })
        .collect();
    assert!(pictures(&scenario, &plan).len() < 12);
}

/// Of each kind of quilt one picture, which says whose it is.
#[test]
fn each_quilt_has_a_picture_with_its_name() {
    let (scenario, plan) = planned("cot-and-doll-quilts");
    let pictures = pictures(&scenario, &plan);
    let of_quilts = pictures.iter().filter(|of| of.name.starts_with("quilt"));
    let captions: Vec<&str> = of_quilts.map(|of| of.caption.as_str()).collect();
    assert_eq!(captions.len(), 2);
    assert!(captions[0].contains(" This is cot."), "{captions:?}");
    assert!(
        captions[1].contains(" This is doll-1, the first of 3 that are sewn alike;"),
        "{captions:?}"
    );
}
