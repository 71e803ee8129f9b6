//! What no quilter would print, and what cannot be printed.

use super::*;
use crate::drawing::{Anchor, Drawing, Fill, INK, Look, Pen, Shape};

#[test]
fn what_cannot_be_printed_is_told() {
    for size in [
        [f64::NAN, 1.0],
        [1.0, 0.0],
        [-3.0, 1.0],
        [1.0, f64::INFINITY],
    ] {
        let result = pdf(&sheet(vec![picture("bad", size)]), Paper::A4);
        assert!(matches!(result, Err(PdfError::Size { name, .. }) if name == "bad"));
    }
    let many = Table {
        caption: "Many".to_owned(),
        head: strings(&["a"; MOST_COLUMNS + 1]),
        rows: Vec::new(),
        ticks: false,
    };
    assert!(matches!(
        pdf(&sheet(vec![Block::Table(many)]), Paper::A4),
        Err(PdfError::Columns { columns: 17, .. })
    ));
    assert!(matches!(
        pdf(&sheet(vec![Block::Text("a".repeat(LONGEST))]), Paper::A4),
        Err(PdfError::Long { .. })
    ));
}

#[test]
fn odd_shapes_are_drawn_or_left_out() {
    let look = Look {
        fill: Fill::Plain(INK),
        pen: Some(Pen::new(INK, f64::NAN)),
    };
    let odd = [
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        1e300,
        -1e300,
        0.0,
    ];
    let mut shapes = vec![Shape::Outlines {
        outlines: vec![Vec::new(), vec![[1.0, 1.0]]],
        look,
    }];
    for place in odd {
        let at = [place, place];
        let (size, radius) = (at, place);
        shapes.push(Shape::Line {
            from: at,
            to: [0.0, 0.0],
            pen: Pen::new(INK, place),
        });
        shapes.push(Shape::Circle { at, radius, look });
        shapes.push(Shape::Rectangle {
            at,
            size,
            radius,
            look,
        });
        for upward in [false, true] {
            let words = "\u{0}a\n\u{301}<b>🧵\u{202e}".to_owned();
            shapes.push(Shape::Text {
                at,
                anchor: Anchor::End,
                words,
                bold: upward,
                upward,
            });
        }
    }
    let Block::Picture(mut odd) = picture("odd", [10.0, 10.0]) else {
        unreachable!()
    };
    odd.drawing = Drawing(shapes);
    let text = texts(&printed(&sheet(vec![Block::Picture(odd)]), Paper::A4)).concat();
    assert!(text.contains("<b>"), "{text}");
}

#[test]
fn odd_sheets_are_printed() {
    let nested = (0..300).fold(Block::Text("Inside".to_owned()), |inner, _| {
        Block::Together(vec![inner])
    });
    let odd = [
        vec![],
        vec![
            Block::Text(String::new()),
            Block::Heading(String::new()),
            Block::Ticks(Vec::new()),
            Block::List(vec![String::new()]),
            Block::Together(Vec::new()),
        ],
        vec![Block::Table(Table {
            caption: String::new(),
            head: Vec::new(),
            rows: Vec::new(),
            ticks: true,
        })],
        vec![Block::Table(Table {
            caption: "Bare".to_owned(),
            head: Vec::new(),
            rows: vec![Vec::new(), strings(&["a", "b"])],
            ticks: true,
        })],
        vec![Block::Table(Table {
            caption: "Full".to_owned(),
            head: strings(&["Many words and Donaudampfschifffahrt"; MOST_COLUMNS]),
            rows: vec![strings(&["12 3/4 in and more"; MOST_COLUMNS]); 9],
            ticks: true,
        })],
        vec![
            Block::Text(
                "\u{0}\u{1}\u{FEFF}\u{FFFE}\u{202E}\u{200B}\u{D}\n\t\u{301}\u{301}🧵👩‍👩‍👧".to_owned(),
            ),
            Block::Text("e\u{301}".repeat(2_000) + &"\u{301}".repeat(20_000)),
        ],
        (0..3_000)
            .map(|_| Block::Heading("On and on".to_owned()))
            .collect(),
        vec![
            Block::Heading("Above".to_owned()),
            picture("tiny", [1e-9, 1e9]),
            picture("flat", [1e300, 1e-300]),
        ],
        vec![nested],
    ];
    for blocks in odd {
        for paper in BOTH {
            let document = printed(&sheet(blocks.clone()), paper);
            assert!(!document.get_pages().is_empty());
        }
    }
    assert_eq!(
        printed(
            &Sheet {
                title: String::new(),
                sections: Vec::new()
            },
            Paper::A4
        )
        .get_pages()
        .len(),
        1
    );
}

#[test]
fn long_sheets_take_time_in_step_with_their_length() {
    // Bounds far above what is measured (see the commit), which only work out of step with the length would miss.
    let start = Instant::now();
    let rows = (0..4_000)
        .map(|row| {
            strings(&[
                &format!("{row}"),
                "some words in a cell",
                "and more of them",
            ])
        })
        .collect();
    let long = Block::Table(Table {
        caption: "Long".to_owned(),
        head: strings(&["a", "b", "c"]),
        rows,
        ticks: true,
    });
    let right_to_left = Block::Text("לגזור את הבד ".repeat(8_000));
    assert!(
        printed(
            &sheet(vec![
                long,
                Block::Text("word ".repeat(40_000)),
                right_to_left
            ]),
            Paper::A4
        )
        .get_pages()
        .len()
            > 100
    );
    assert!(
        start.elapsed() < Duration::from_secs(60),
        "{:?}",
        start.elapsed()
    );
}
