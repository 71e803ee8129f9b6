//! Sheets written, read again by another library (`lopdf`), and compared with what was to be on them.

use std::time::{Duration, Instant};

use lopdf::content::Content;
use lopdf::{Document, Object};

mod odd;
mod pages;
mod reading;
mod real;

use super::*;
use crate::content::{Section, Table};
use crate::drawing::{Anchor, Drawing, Fill, Hatching, INK, Look, Pen, Shape, WHITE};

const BOTH: [Paper; 2] = [Paper::A4, Paper::Letter];

fn strings(texts: &[&str]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// A sheet of one section.
fn sheet(blocks: Vec<Block>) -> Sheet {
    let section = Section {
        id: "one".to_owned(),
        heading: "Section one".to_owned(),
        new_page: false,
        blocks,
    };
    Sheet {
        title: "A quilt".to_owned(),
        sections: vec![section],
    }
}

/// A picture with hatching, dashes, curves, and texts across and upward.
fn picture(name: &str, size: [f64; 2]) -> Block {
    let hatching = Hatching {
        ground: WHITE,
        ink: INK,
        lines: &[[[0.0, 0.0], [3.0, 3.0]]],
    };
    let pen = Pen::new(INK, 0.3);
    let look = |fill| Look {
        fill,
        pen: Some(pen),
    };
    let text = |words: &str, at, upward| Shape::Text {
        at,
        anchor: Anchor::Middle,
        words: words.to_owned(),
        bold: upward,
        upward,
    };
    let shapes = vec![
        Shape::Rectangle {
            at: [5.0, 5.0],
            size: [140.0, 60.0],
            radius: 3.0,
            look: look(Fill::Hatched(hatching)),
        },
        Shape::Outlines {
            outlines: vec![vec![[10.0, 10.0], [20.0, 10.0], [15.0, 20.0]]; 2],
            look: look(WHITE.into()),
        },
        Shape::Circle {
            at: [40.0, 30.0],
            radius: 4.0,
            look: look(Fill::None),
        },
        Shape::Line {
            from: [5.0, 72.0],
            to: [145.0, 72.0],
            pen: pen.dashed(&[1.0, 0.5]),
        },
        text("5 1/2 in → 山", [75.0, 78.0], false),
        text("upward", [3.0, 30.0], true),
    ];
    let [name, title, alt, caption] = [
        name.to_owned(),
        name.to_owned(),
        format!("What {name} shows"),
        format!("Below {name}"),
    ];
    Block::Picture(Picture {
        name,
        title,
        alt,
        caption,
        size,
        drawing: Drawing(shapes),
    })
}

fn table(rows: usize, ticks: bool) -> Block {
    let rows = (1..=rows)
        .map(|row| {
            vec![
                format!("Row{row}"),
                format!("{row} 3/4 in"),
                "Stitch it".to_owned(),
            ]
        })
        .collect();
    Block::Table(Table {
        caption: "Steps".to_owned(),
        head: strings(&["Strip", "Length", "What"]),
        rows,
        ticks,
    })
}

/// The document, read again.
fn printed(sheet: &Sheet, paper: Paper) -> Document {
    Document::load_mem(&pdf(sheet, paper).expect("the sheet is printed"))
        .expect("the document is read")
}

/// The words of each page, without spaces, for a space at the end of a line is no part of a word.
fn texts(document: &Document) -> Vec<String> {
    let pages = document.get_pages();
    pages
        .keys()
        .map(|page| {
            document
                .extract_text(&[*page])
                .expect("a page has text")
                .split_whitespace()
                .collect()
        })
        .collect()
}

/// A text without its spaces.
fn tight(text: &str) -> String {
    text.split_whitespace().collect()
}

/// That these texts are in that one, each after the one before.
fn assert_in_order(text: &str, words: &[&str]) {
    let mut rest = text;
    for word in words {
        let word = tight(word);
        let at = rest
            .find(&word)
            .unwrap_or_else(|| panic!("{word} is not, or too early, in {text}"));
        rest = &rest[at + word.len()..];
    }
}

/// What a dictionary of the structure tree says under a key, for all its parts that are of this kind.
fn parts(document: &Document, kind: &str) -> Vec<lopdf::Dictionary> {
    let dictionaries = document
        .objects
        .values()
        .filter_map(|object| object.as_dict().ok());
    dictionaries
        .filter(|part| {
            part.get(b"S")
                .and_then(Object::as_name)
                .is_ok_and(|name| name == kind.as_bytes())
        })
        .cloned()
        .collect()
}

/// The lowest and highest places on each axis where texts begin or paths pass, outside pictures, in points from the bottom left.
fn bounds(document: &Document, page: lopdf::ObjectId) -> [f32; 4] {
    let content =
        Content::decode(&document.get_page_content(page).expect("content")).expect("operations");
    let mut bounds = [f32::MAX, f32::MAX, f32::MIN, f32::MIN];
    let (mut matrix, mut kept) = ([1.0, 0.0, 0.0, 1.0, 0.0, 0.0], Vec::new());
    for operation in content.operations {
        let numbers: Vec<f32> = operation
            .operands
            .iter()
            .filter_map(|number| number.as_float().ok())
            .collect();
        let mut meet = |x: f32, y: f32| {
            let [a, b, c, d, e, f]: [f32; 6] = matrix;
            let [x, y] = [a * x + c * y + e, b * x + d * y + f];
            bounds = [
                bounds[0].min(x),
                bounds[1].min(y),
                bounds[2].max(x),
                bounds[3].max(y),
            ];
        };
        match (operation.operator.as_str(), numbers.as_slice()) {
            ("q", _) => kept.push(matrix),
            ("Q", _) => matrix = kept.pop().expect("what is restored was kept"),
            ("cm", &[a, b, c, d, e, f]) => {
                let m = matrix;
                let along = |x: f32, y: f32| [m[0] * x + m[2] * y, m[1] * x + m[3] * y];
                let ([a, b], [c, d], [e, f]) = (along(a, b), along(c, d), along(e, f));
                matrix = [a, b, c, d, e + m[4], f + m[5]];
            }
            ("re", &[x, y, width, height]) => {
                meet(x, y);
                meet(x + width, y + height);
            }
            ("m" | "l", &[x, y]) | ("Tm", &[_, _, _, _, x, y]) => meet(x, y),
            _ => {}
        }
    }
    bounds
}
