//! Sheets written, read again by another library (`lopdf`), and compared with what was to be on them.

use std::time::{Duration, Instant};

use lopdf::content::Content;
use lopdf::{Document, Object};

use super::*;
use crate::content::{Section, Table};

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

/// A picture with hatching, texts, dimension lines and arrows.
fn picture(name: &str, size: [f64; 2]) -> Block {
    let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 150 80"><defs>
<pattern id="hatch" width="3" height="3" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0H3" stroke="#333"/></pattern>
<marker id="tip" viewBox="0 0 10 10" refX="10" refY="5" orient="auto-start-reverse"><path d="M0 0L10 5L0 10z"/></marker></defs>
<rect x="5" y="5" width="140" height="60" fill="url(#hatch)" stroke="black"/>
<path d="M5 72H145" stroke="black" stroke-width="0.3" marker-start="url(#tip)" marker-end="url(#tip)"/>
<text x="75" y="78" font-size="4" text-anchor="middle" font-family="any">5 1/2 in → 山</text></svg>"##;
    let [name, alt, caption] = [
        name.to_owned(),
        format!("What {name} shows"),
        format!("Below {name}"),
    ];
    Block::Picture(Picture {
        name,
        alt,
        caption,
        size,
        svg: svg.to_owned(),
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
fn all_words_are_there_in_order() {
    let sheet = sheet(vec![
        Block::Text("Müller’s quilt, Лоскутное Ελλάδα: ≈ 9 3/4 in × 4 – <script>alert(1)</script> 山田 🧵 end".to_owned()),
        Block::Ticks(strings(&["Cut the cloth", "Press it"])),
        Block::List(strings(&["First thing", "Second thing"])),
        Block::Heading("Smaller heading".to_owned()),
        Block::Table(Table {
            caption: "Cloth".to_owned(),
            head: strings(&["Name", "Length"]),
            rows: vec![strings(&["Background", "1 3/4 yd"]), strings(&["Backing"])],
            ticks: false,
        }),
        picture("hooping-1", [150.0, 80.0]),
        Block::Together(vec![Block::Text("The last words".to_owned())]),
    ]);
    for paper in BOTH {
        let text = texts(&printed(&sheet, paper)).concat();
        let words = [
            "A quilt",
            "Section one",
            "Müller’s quilt, Лоскутное Ελλάδα: ≈ 9 3/4 in × 4 – <script>alert(1)</script>",
            "end",
            "Cut the cloth",
            "Press it",
            "First thing",
            "Second thing",
            "Smaller heading",
            "Name",
            "Length",
            "Background",
            "1 3/4 yd",
            "Backing",
            "5 1/2 in →",
            "Below hooping-1",
            "The last words",
            "A quilt",
            "page 1 of 1",
        ];
        assert_in_order(&text, &words);
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
fn parts_are_tagged_for_those_who_have_them_read() {
    let document = printed(
        &sheet(vec![
            picture("hooping-1", [150.0, 80.0]),
            table(2, true),
            Block::Ticks(strings(&["Cut"])),
        ]),
        Paper::A4,
    );
    let told: Vec<String> = parts(&document, "Figure")
        .iter()
        .map(|figure| {
            lopdf::decode_text_string(figure.get(b"Alt").expect("an alternative")).unwrap()
        })
        .collect();
    assert_eq!(
        told.iter()
            .filter(|text| *text == "What hooping-1 shows")
            .count(),
        1
    );
    assert_eq!(told.iter().filter(|text| *text == "box to tick").count(), 3);
    assert_eq!(
        [
            parts(&document, "H1").len(),
            parts(&document, "H2").len(),
            parts(&document, "LI").len()
        ],
        [1, 1, 1]
    );
    let catalog = document.catalog().expect("a catalog");
    assert_eq!(
        lopdf::decode_text_string(catalog.get(b"Lang").expect("a language")).unwrap(),
        "en"
    );
    let outline = catalog
        .get(b"Outlines")
        .and_then(Object::as_reference)
        .and_then(|at| document.get_dictionary(at))
        .expect("an outline");
    assert_eq!(outline.get(b"Count").and_then(Object::as_i64).unwrap(), 1);
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

#[test]
fn the_same_sheet_gives_the_same_bytes() {
    let blocks = (0..40)
        .map(|number| picture(&format!("hooping-{number}"), [100.0, 60.0]))
        .chain([table(50, true)])
        .collect();
    let sheet = sheet(blocks);
    for paper in BOTH {
        assert!(pdf(&sheet, paper).unwrap() == pdf(&sheet.clone(), paper).unwrap());
    }
}

#[test]
fn text_from_right_to_left_is_written_so() {
    // Hebrew alef and bet: bet is seen at the left. The digits between keep their order.
    let family = Family::get().unwrap();
    let style = text::Style {
        weight: fonts::Weight::Regular,
        size: 10.0,
        leading: 14.0,
        grey: 0,
    };
    let line = text::Shaped::new("אב 12", style, family)
        .lines(f32::INFINITY)
        .remove(0);
    let seen: Vec<&str> = line
        .runs
        .iter()
        .flat_map(|run| {
            run.glyphs
                .iter()
                .map(|glyph| &run.text[glyph.from as usize..glyph.to as usize])
        })
        .collect();
    assert_eq!(seen, ["1", "2", " ", "ב", "א"]);
}

#[test]
fn lines_are_no_wider_than_their_room_and_lose_nothing() {
    let family = Family::get().unwrap();
    let style = text::Style {
        weight: fonts::Weight::Regular,
        size: 10.0,
        leading: 14.0,
        grey: 0,
    };
    let text = "Press; do not pull. Donaudampfschifffahrtsgesellschaft – 9 3/4 in, 山田さくら, قص القماش, לגזור\nand on";
    for width in [1.0, 12.0, 40.0, 90.0, 300.0] {
        let lines = text::Shaped::new(text, style, family).lines(width);
        let letters = |run: &lines::Run| {
            run.text
                .chars()
                .filter(|letter| !letter.is_whitespace())
                .count()
        };
        let written: usize = lines.iter().flat_map(|line| &line.runs).map(letters).sum();
        assert_eq!(
            written,
            text.chars()
                .filter(|letter| !letter.is_whitespace())
                .count(),
            "{width}"
        );
        assert!(
            lines
                .iter()
                .all(|line| line.width <= width.max(12.0) + 0.02),
            "{width}"
        );
    }
}

#[test]
fn what_cannot_be_printed_is_told() {
    let svg = |svg: &str| {
        let Block::Picture(picture) = picture("bad", [10.0, 10.0]) else {
            unreachable!()
        };
        pdf(
            &sheet(vec![Block::Picture(Picture {
                svg: svg.to_owned(),
                ..picture
            })]),
            Paper::A4,
        )
    };
    let fault = |result: Result<Vec<u8>, PdfError>| match result {
        Err(PdfError::Picture { name, fault }) if name == "bad" => fault,
        other => panic!("{:?}", other.map(|bytes| bytes.len())),
    };
    let whole = |inner: &str| {
        format!(r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">{inner}</svg>"#)
    };
    assert!(matches!(fault(svg("no picture")), PictureFault::Svg(_)));
    assert!(matches!(
        fault(svg("<!DOCTYPE svg [<!ENTITY a 'aaaa'>]><svg/>")),
        PictureFault::Svg(_)
    ));
    assert_eq!(
        fault(svg(&whole(r#"<image href="/etc/hostname"/>"#))),
        PictureFault::Element("image".to_owned())
    );
    assert_eq!(
        fault(svg(&whole(&("<g>".repeat(200) + &"</g>".repeat(200))))),
        PictureFault::Deep
    );
    assert!(matches!(
        fault(svg(&whole(&"<g/>".repeat(150_000)))),
        PictureFault::Svg(_)
    ));
    assert!(matches!(
        fault(svg(&"<svg>".repeat(1 << 20))),
        PictureFault::Long { .. }
    ));
    for size in [
        [f64::NAN, 1.0],
        [1.0, 0.0],
        [-3.0, 1.0],
        [1.0, f64::INFINITY],
    ] {
        assert!(matches!(
            fault(pdf(&sheet(vec![picture("bad", size)]), Paper::A4)),
            PictureFault::Size { .. }
        ));
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
