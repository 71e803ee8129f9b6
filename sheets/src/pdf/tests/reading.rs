//! What is written: all words in order, and what the parts are.

use super::*;

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
    let family = &Family::get().unwrap();
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
    let family = &Family::get().unwrap();
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
