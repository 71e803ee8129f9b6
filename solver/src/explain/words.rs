//! Lengths and strips in words.

use crate::explain::groups::Belonging;
use crate::explain::stock::Stock;
use crate::length::Unit;
use crate::plan::SegmentEntry;
use crate::strips::QuiltTop;

/// What a run is stitched with: `fern-12 × 4 and fern-9 × 3`.
pub fn segments(of: &[SegmentEntry]) -> String {
    let alike = of.chunk_by(|one, other| one == other);
    let each = alike.map(|several| {
        let segment = format!("{} × {}", several[0].size, several[0].repeats);
        match several.len() {
            1 => segment,
            count => format!("{count} times {segment}"),
        }
    });
    let each: Vec<String> = each.collect();
    crate::compare::words::listed(&each)
}

/// The strips of a group, as the beginning of a sentence.
pub fn group(
    belonging: &Belonging,
    count: usize,
    top: &QuiltTop,
    stock: &Stock,
    unit: Unit,
) -> String {
    match belonging {
        Belonging::All => "All strips together".into(),
        Belonging::Borders => format!("The {count} border strips alone"),
        Belonging::Border(number) => format!("The {count} strips of border {number} alone"),
        Belonging::Sashes => format!("The {count} sashes alone"),
        Belonging::Loose(width) => {
            format!("The {count} loose strips {} wide alone", width.told(unit))
        }
        Belonging::Alike(place) => {
            let members = &stock.classes[*place].class.members;
            let first = members.first().map_or("", |strip| &top.strips[*strip].id);
            match count {
                1 => format!("The strip {first} alone"),
                _ => format!("The {count} strips like {first} alone"),
            }
        }
    }
}

/// `1 hooping`, `7 hoopings`.
pub fn hoopings(count: u64) -> String {
    match count {
        1 => "1 hooping".into(),
        _ => format!("{count} hoopings"),
    }
}
