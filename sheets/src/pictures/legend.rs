//! What the marks in the pictures of hoopings mean.

use super::canvas::{Anchor, Area, Canvas, FAINT, Pen, WHITE};
use super::dimensions::origin;
use super::run::{Run, draw_all};
use super::text::LINE;
use crate::content::Picture;

/// Two runs in a corner of a field, and what is seen of them, in words.
pub(crate) fn picture() -> Picture {
    let mut canvas = Canvas::default();
    let frame = Area::new(0.0, 0.0, 82.0, 34.0);
    let run = |key: &str, x: f64, y: f64, long: f64, open: [bool; 2]| Run {
        key: key.into(),
        lane: 1,
        named: None,
        length: String::new(),
        area: Area::new(x, y, long, 10.0),
        reach: 2.5,
        margins: [1.2, 1.2],
        open,
        leftward: false,
    };
    draw_all(
        &mut canvas,
        frame,
        &[run("a", 14.0, 12.0, 50.0, [false, true])],
    );
    origin(&mut canvas, [4.0, 4.0]);
    // Each note, where its number stands, and to where a line leads from there.
    let notes = [
        (
            "thick line: a closed end, with its tack-down line",
            [6.0, 27.0],
            [13.4, 20.0],
        ),
        (
            "zigzag: an open end; the next run butts up there",
            [74.0, 17.0],
            [66.0, 17.0],
        ),
        (
            "arrow: from the strip's left or top end to the other",
            [40.0, 31.0],
            [40.0, 17.6],
        ),
        (
            "dashed: edge of the cloth; it goes on past an open end",
            [30.0, 4.0],
            [30.0, 9.0],
        ),
        (
            "dotted: the room that the file asks for",
            [56.0, 31.0],
            [56.0, 23.4],
        ),
        (
            "double circle: the corner that lengths are measured from",
            [12.0, 4.0],
            [5.8, 4.0],
        ),
    ];
    for (index, (words, at, to)) in notes.iter().enumerate() {
        let number = (index + 1).to_string();
        canvas.line(*at, *to, Pen::new(FAINT, 0.2));
        canvas.circle(*at, 2.3, WHITE, Some(Pen::new(FAINT, 0.2)));
        canvas.text(*at, Anchor::Middle, &number);
        let y = 3.0 + index as f64 * (LINE + 1.6);
        canvas.bold([90.0, y], Anchor::Start, &number);
        canvas.text([94.0, y], Anchor::Start, words);
    }
    let size = [178.0, 36.0];
    let alt = format!(
        "How hoopings are drawn. {}.",
        notes.map(|note| note.0).join("; ")
    );
    Picture {
        name: "legend".into(),
        title: "How hoopings are drawn".into(),
        drawing: canvas.finish(),
        alt,
        caption: "How hoopings are drawn.".into(),
        size,
    }
}
