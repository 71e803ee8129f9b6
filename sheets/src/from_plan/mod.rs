//! The content of a sheet: what a plan says, in the order in which it is read at the table.

mod closing;
mod cutting;
mod hoopings;
mod names;
mod room;
mod rulers;
mod shopping;
mod summary;

use sashwright_solver::plan::Plan;
use sashwright_solver::scenario::Scenario;

use crate::content::{Block, Picture, Section, Sheet, Table};
use crate::measure::Ruler;
use crate::words::Book;
use names::Names;

/// What all sections are made from.
struct Source<'a> {
    scenario: &'a Scenario,
    plan: &'a Plan,
    book: &'a Book<'a>,
    ruler: Ruler,
}

/// The sheet of a plan of that scenario. The same plan gives the same sheet.
pub fn sheet(scenario: &Scenario, plan: &Plan) -> Sheet {
    let book = Book::new(scenario, plan);
    let source = Source {
        scenario,
        plan,
        book: &book,
        ruler: Ruler { unit: plan.unit },
    };
    let mut names = Names::default();
    let mut sections = vec![summary::section(&source)];
    let drawn = crate::pictures::quilts(scenario, plan, &book);
    let drawn = drawn.into_iter().map(Block::Picture).collect();
    let mut quilt = section("quilt", "The quilt top", drawn);
    if !scenario.quilts.is_empty() {
        quilt.heading = "The quilt tops".into();
    } else if scenario.quilt.is_none() {
        quilt.heading = "The strips".into();
    }
    let different = scenario.quilts.len();
    if different > crate::pictures::MOST_QUILTS {
        quilt.blocks.push(Block::Text(format!(
            "Of the {different} different quilts the first {} are drawn; the rulers tell of the strips of all of them.",
            crate::pictures::MOST_QUILTS
        )));
    }
    sections.push(quilt);
    sections.push(cutting::section(&source, &mut names));
    sections.extend(shopping::section(&source));
    sections.extend(closing::before(&source));
    sections.push(hoopings::section(&source));
    sections.push(rulers::section(&source, &mut names));
    sections.extend(closing::corners(&source));
    sections.extend(closing::work(&source));
    sections.extend(closing::assembly(&source));
    sections.push(closing::cautions(&source));
    Sheet {
        title: title(plan),
        sections,
    }
}

/// All pictures of the sheet, in its order.
pub fn pictures(scenario: &Scenario, plan: &Plan) -> Vec<Picture> {
    let mut found = Vec::new();
    for section in sheet(scenario, plan).sections {
        collect(section.blocks, &mut found);
    }
    found
}

/// The pictures of the sheet as files: their names and SVG documents. Names are lower-case letters, digits and dashes before the `.svg`,
/// and each is there once; numbers of hoopings are as long as the last one's, so that a list of the names is in order.
pub fn picture_files(scenario: &Scenario, plan: &Plan) -> Vec<(String, String)> {
    let last = plan.hoopings.iter().map(|hooping| hooping.number).max();
    let digits = last.unwrap_or_default().to_string().len();
    let file = |picture: Picture| {
        let hooping = picture.name.strip_prefix("hooping-");
        let number = hooping.and_then(|number| number.parse::<u32>().ok());
        let name = match number {
            Some(number) => format!("hooping-{number:0digits$}.svg"),
            None => format!("{}.svg", picture.name),
        };
        (name, picture.svg())
    };
    pictures(scenario, plan).into_iter().map(file).collect()
}

fn collect(blocks: Vec<Block>, found: &mut Vec<Picture>) {
    for block in blocks {
        match block {
            Block::Picture(picture) => found.push(picture),
            Block::Together(blocks) => collect(blocks, found),
            _ => {}
        }
    }
}

fn title(plan: &Plan) -> String {
    match plan.scenario.as_str() {
        "" => "Plan".into(),
        name => format!("Plan for {name}"),
    }
}

fn section(id: &str, heading: &str, blocks: Vec<Block>) -> Section {
    Section {
        id: id.into(),
        heading: heading.into(),
        new_page: false,
        blocks,
    }
}

/// A length or a size in one piece: lines break only before the decimals in brackets and around a dash.
fn tied(text: &str) -> String {
    let tied = text.replace(' ', "\u{a0}");
    tied.replace("\u{a0}(", " (")
        .replace("\u{a0}–\u{a0}", " – ")
}

/// A table without boxes to tick.
fn table(caption: impl Into<String>, head: &[&str], rows: Vec<Vec<String>>) -> Table {
    Table {
        caption: caption.into(),
        head: head.iter().map(ToString::to_string).collect(),
        rows,
        ticks: false,
    }
}
