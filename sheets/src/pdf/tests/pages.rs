//! What stands on which page, and where.

use super::*;

#[test]
fn pages_are_as_large_as_the_paper() {
    // ISO 216: A4 is 210 × 297 mm. US Letter is 8 1/2 × 11 in.
    for (paper, inches) in [
        (Paper::A4, [210.0 / 25.4, 297.0 / 25.4]),
        (Paper::Letter, [8.5, 11.0]),
    ] {
        let document = printed(&sheet(vec![table(100, true)]), paper);
        assert!(document.get_pages().len() > 1);
        for page in document.get_pages().values() {
            let page = document.get_dictionary(*page).expect("a page");
            let size: Vec<f32> = page
                .get(b"MediaBox")
                .and_then(Object::as_array)
                .expect("a size")
                .iter()
                .map(|side| side.as_float().unwrap())
                .collect();
            assert!(size[0] == 0.0 && size[1] == 0.0);
            assert!(
                (size[2] - inches[0] * 72.0).abs() < 0.01
                    && (size[3] - inches[1] * 72.0).abs() < 0.01,
                "{size:?}"
            );
        }
    }
}

#[test]
fn nothing_is_written_beyond_the_margins() {
    let long = "word ".repeat(400) + &"Donaudampfschiff".repeat(40);
    let wide = Block::Table(Table {
        caption: "Wide".to_owned(),
        head: vec![long.clone(), "b".repeat(200), "c".to_owned()],
        rows: vec![vec![long.clone(), "x".repeat(500), "many words ".repeat(60)]; 3],
        ticks: true,
    });
    let sheet = sheet(vec![
        Block::Heading(long.clone()),
        Block::Text(long.clone()),
        Block::Ticks(vec![long.clone()]),
        wide,
        table(90, true),
        picture("large", [900.0, 2000.0]),
        picture("wide", [4000.0, 1.0]),
    ]);
    for paper in BOTH {
        let document = printed(
            &Sheet {
                title: long.clone(),
                ..sheet.clone()
            },
            paper,
        );
        let margin = 15.0 / 25.4 * 72.0 - 0.01;
        for page in document.get_pages().values() {
            let [left, bottom, right, top] = bounds(&document, *page);
            let [width, height] = paper.size();
            assert!(
                left >= margin
                    && bottom >= margin
                    && right <= width - margin
                    && top <= height - margin,
                "{left} {bottom} {right} {top}"
            );
            assert!(bottom < margin + 30.0, "the running line is at the foot");
        }
    }
}

#[test]
fn a_heading_row_is_on_each_page_of_its_table_and_tagged_once() {
    for paper in BOTH {
        let document = printed(&sheet(vec![table(120, true)]), paper);
        let texts = texts(&document);
        assert!(texts.len() >= 3);
        for (at, text) in texts.iter().enumerate() {
            assert_eq!(
                text.matches("StripLengthWhat").count(),
                1,
                "page {at}: {text}"
            );
        }
        for row in 1..=120 {
            let cell = format!("Row{row}{row}3/4in");
            assert_eq!(
                texts
                    .iter()
                    .map(|text| text.matches(&cell).count())
                    .sum::<usize>(),
                1,
                "{cell}"
            );
        }
        assert_eq!(
            [
                parts(&document, "TH").len(),
                parts(&document, "TR").len(),
                parts(&document, "TD").len()
            ],
            [4, 121, 480]
        );
    }
}

#[test]
fn what_is_together_stays_together_and_new_pages_are_begun() {
    let group = |number: usize| {
        let name = format!("hooping-{number}");
        Block::Together(vec![
            Block::Heading(format!("Begin{number}.")),
            picture(&name, [150.0, 80.0]),
            Block::Text(format!("Finish{number}.")),
        ])
    };
    let mut sheet = sheet((1..=9).map(group).collect());
    let heading = "Section two".to_owned();
    sheet.sections.push(Section {
        id: "two".to_owned(),
        heading,
        new_page: true,
        blocks: vec![Block::Text("Short.".to_owned())],
    });
    for paper in BOTH {
        let texts = texts(&printed(&sheet, paper));
        for number in 1..=9 {
            let [begin, finish] = ["Begin", "Finish"].map(|word| {
                texts
                    .iter()
                    .position(|text| text.contains(&format!("{word}{number}.")))
            });
            assert!(
                begin.is_some() && begin == finish,
                "{number}: {begin:?} {finish:?}"
            );
        }
        assert!(
            texts
                .last()
                .is_some_and(|text| text.starts_with("Sectiontwo"))
        );
    }
}

#[test]
fn a_picture_stays_with_what_is_said_above_it() {
    // Together they are higher than a page, wherever they begin.
    for lines in 0..40 {
        let mut blocks: Vec<Block> = (0..lines).map(|_| Block::Text("Line".to_owned())).collect();
        let said = Block::Text("Said above.".to_owned());
        blocks.push(Block::Together(vec![
            said,
            picture("hooping-1", [150.0, 80.0]),
            table(60, true),
        ]));
        let texts = texts(&printed(&sheet(blocks), Paper::A4));
        assert!(
            texts.iter().any(|text| text.contains("Saidabove.51/2in→")),
            "{lines}"
        );
    }
}

#[test]
fn no_heading_is_alone_at_the_foot() {
    // Whatever stands above, the heading goes with the first lines of what it is for.
    for lines in 20..70 {
        let mut blocks: Vec<Block> = (0..lines).map(|_| Block::Text("Line".to_owned())).collect();
        blocks.push(Block::Heading("Heading".to_owned()));
        blocks.push(Block::Text("Begin ".to_owned() + &"word ".repeat(120)));
        let texts = texts(&printed(&sheet(blocks), Paper::A4));
        assert!(
            texts.iter().any(|text| text.contains("HeadingBegin")),
            "{lines}"
        );
    }
}
