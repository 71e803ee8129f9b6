//! The cut list for a spreadsheet (RFC 4180: comma-separated, lines end in CR LF, UTF-8, one heading line).
//!
//! A spreadsheet takes a cell that begins with `=`, `+`, `-`, `@`, a tab or a carriage return for a formula, whatever quotes stand
//! around it. Such a text is written with an apostrophe before it, which spreadsheets take for "this is text" (OWASP, "CSV
//! Injection"). Numbers are written by this program and never touched.

use sashwright_solver::job::ClothCuts;
use sashwright_solver::length::Measure;
use sashwright_solver::plan::{Plan, StripEntry};
use sashwright_solver::scenario::Scenario;

use crate::words::{Book, cut_alike, material, parts};

/// The headings of the columns.
const HEAD: [&str; 10] = [
    "material",
    "cloth",
    "mark",
    "pieces",
    "first side",
    "second side",
    "unit",
    "trimmed first side",
    "trimmed second side",
    "for",
];

/// Every piece to cut: each kind of piece of each cloth, or, where the plan says nothing of cloths, the strips as they are first cut.
///
/// # Errors
/// Where the writer refuses a row; it is given rows of one length and writes to memory, so that no plan makes it refuse.
pub fn cut_list(scenario: &Scenario, plan: &Plan) -> Result<Vec<u8>, csv::Error> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(HEAD)?;
    match &plan.cutting {
        Some(cloths) => {
            let book = Book::new(scenario, plan);
            for cloth in cloths {
                write_cloth(&mut writer, plan, &book, cloth)?;
            }
        }
        None => write_strips(&mut writer, scenario, plan)?,
    }
    writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))
}

fn write_cloth(
    writer: &mut csv::Writer<Vec<u8>>,
    plan: &Plan,
    book: &Book<'_>,
    cloth: &ClothCuts,
) -> csv::Result<()> {
    for piece in &cloth.pieces {
        let [first, second] = piece.size.each_ref().map(number);
        let [trimmed, trimmed_second] = trimmed_of(book, &piece.uses);
        writer.write_record([
            material(cloth.material),
            &text(&cloth.cloth),
            &text(&piece.mark),
            &piece.count.to_string(),
            &first,
            &second,
            plan.unit.symbol(),
            &trimmed,
            &trimmed_second,
            &text(&piece.uses.join("; ")),
        ])?;
    }
    Ok(())
}

/// What the pieces for these uses are trimmed to: nothing where they are for no stitched strip, or for strips of several sizes.
fn trimmed_of(book: &Book<'_>, uses: &[String]) -> [String; 2] {
    let mut sizes: Vec<[String; 2]> = uses.iter().filter_map(|used| size_of(book, used)).collect();
    sizes.dedup();
    match sizes.as_slice() {
        [size] => size.clone(),
        _ => Default::default(),
    }
}

/// What a piece for this use is trimmed to: a strip to both its sides, a part of one that is sewn together to its width.
fn size_of(book: &Book<'_>, used: &str) -> Option<[String; 2]> {
    if let Some(strip) = book.strip(used) {
        return Some(trimmed(strip));
    }
    let (whole, _) = used.rsplit_once(", part ")?;
    let [_, wide] = trimmed(book.strip(whole)?);
    Some([String::new(), wide])
}

fn write_strips(
    writer: &mut csv::Writer<Vec<u8>>,
    scenario: &Scenario,
    plan: &Plan,
) -> csv::Result<()> {
    let parts = parts(scenario);
    for group in cut_alike(plan, &|strip: &StripEntry| parts.contains(&strip.id)) {
        let strips: Vec<&StripEntry> = group
            .iter()
            .filter_map(|index| plan.strips.get(*index))
            .collect();
        let Some(strip) = strips.first() else {
            continue;
        };
        let ids: Vec<&str> = strips.iter().map(|strip| strip.id.as_str()).collect();
        let [first, second] = strip.cut.each_ref().map(number);
        let [trimmed, trimmed_second] = trimmed(strip);
        writer.write_record([
            "fabric",
            "",
            "",
            &strips.len().to_string(),
            &first,
            &second,
            plan.unit.symbol(),
            &trimmed,
            &trimmed_second,
            &text(&ids.join("; ")),
        ])?;
    }
    Ok(())
}

fn trimmed(strip: &StripEntry) -> [String; 2] {
    strip.trimmed.each_ref().map(number)
}

/// The number as the plan has it.
fn number(measure: &Measure) -> String {
    measure.to_string()
}

/// The text so that no spreadsheet takes it for a formula.
fn text(of: &str) -> String {
    if of.starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ]) {
        format!("'{of}")
    } else {
        of.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_become_texts() {
        for bad in ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1"] {
            assert_eq!(text(bad), format!("'{bad}"));
        }
        assert_eq!(text("border-1-left"), "border-1-left");
    }
}
