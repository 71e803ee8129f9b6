//! What is cut: strips by their sizes, and how each cloth is cut into pieces.

use sashwright_solver::job::ClothCuts;
use sashwright_solver::length::Measure;
use sashwright_solver::plan::StripEntry;

use super::names::Names;
use super::{Source, table, tied};
use crate::content::{Block, Section, Table};
use crate::pictures;
use crate::words::{
    cut_alike, cutting_verdict, ids, material, own_name, parts, scaling, stock_title, uses,
};

/// Strips that are alike, and the cutting of every cloth where the plan has it.
pub(super) fn section(source: &Source<'_>, names: &mut Names) -> Section {
    let mut blocks = vec![Block::Heading("Strips to cut".into()), strips(source)];
    blocks.extend(begun(source));
    for cloth in source.plan.cutting.iter().flatten() {
        add_cloth(&mut blocks, source, cloth, names);
    }
    Section {
        new_page: source.plan.cutting.is_some(),
        ..super::section("cutting", "Cutting", blocks)
    }
}

/// The strips, those alike on one line.
fn strips(source: &Source<'_>) -> Block {
    let (plan, ruler) = (source.plan, source.ruler);
    let parts = parts(source.scenario);
    let groups = cut_alike(plan, &|strip: &StripEntry| parts.contains(&strip.id));
    let rows = groups.iter().filter_map(|group| {
        let strip = plan.strips.get(*group.first()?)?;
        Some(vec![
            group.len().to_string(),
            tied(&ruler.bare_size(&strip.cut)),
            tied(&ruler.bare_size(&strip.trimmed)),
            note(source, strip),
            ids(&plan.strips, group),
        ])
    });
    let symbol = plan.unit.symbol();
    let [cut, trimmed] = ["cut", "square up to"].map(|name| format!("{name}, {symbol}"));
    let head = ["pieces", &cut, &trimmed, "what", "strips"];
    Block::Table(Table {
        ticks: true,
        ..table(
            "Strips to cut: along the strip × across it",
            &head,
            rows.collect(),
        )
    })
}

/// Its finished size and its design, and how that is stretched.
fn note(source: &Source<'_>, strip: &StripEntry) -> String {
    let finished = source
        .ruler
        .size(&[strip.length.clone(), strip.width.clone()]);
    let mut note = format!("finished {}, design {}", tied(&finished), strip.design);
    if let Some(percent) = scaling(strip) {
        note.push_str(&format!(", scaled along the strip to {}", tied(&percent)));
    }
    if strip.overhang != Measure::whole(0) {
        let overhang = source.ruler.length(&strip.overhang);
        note.push_str(&format!(
            "; overhang {overhang}, stitched past the seam lines, both ends together"
        ));
    }
    note
}

/// What is left of begun strips.
fn begun(source: &Source<'_>) -> Vec<Block> {
    let parts = parts(source.scenario);
    let left = source
        .plan
        .strips
        .iter()
        .filter(|strip| parts.contains(&strip.id));
    let rows = left.map(|strip| {
        vec![
            strip.id.clone(),
            source.ruler.length(&strip.length),
            source.ruler.length(&strip.overhang),
        ]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading("Strips that are begun".into()),
        Block::Table(table(
            "What is left of begun strips",
            &["strip", "left to stitch", "overhang"],
            rows,
        )),
    ]
}

/// The pieces of a cloth, then a picture of everything that is cut up for them; the first one on a page with the pieces.
fn add_cloth(blocks: &mut Vec<Block>, source: &Source<'_>, cloth: &ClothCuts, names: &mut Names) {
    let ruler = source.ruler;
    let name = cloth_name(cloth);
    let mut first = vec![
        Block::Heading(capital(&name)),
        Block::Text(cutting_verdict(ruler, cloth)),
    ];
    let rows = cloth.pieces.iter().map(|piece| {
        vec![
            piece.mark.clone(),
            piece.count.to_string(),
            tied(&ruler.bare_size(&piece.size)),
            uses(&piece.uses),
        ]
    });
    let size = format!("size, {}", ruler.unit.symbol());
    first.push(Block::Table(Table {
        ticks: true,
        ..table(
            format!("Pieces to cut from {}", cloth.cloth),
            &["mark", "pieces", &size, "for"],
            rows.collect(),
        )
    }));
    for stock in &cloth.stocks {
        let title = format!("{}: {}", capital(&name), stock_title(ruler, stock));
        // Counted from the first one on, as hoopings are.
        let file = names.numbered(&name);
        let picture = pictures::cloth(cloth, stock, file, &title, ruler.unit);
        first.push(Block::Picture(picture));
        blocks.push(Block::Together(std::mem::take(&mut first)));
    }
    blocks.append(&mut first);
}

/// `stabilizer`, `fabric: linen`: a cloth without a name of its own is called after what it is for.
fn cloth_name(cloth: &ClothCuts) -> String {
    let material = material(cloth.material);
    match own_name(cloth) {
        None => material.into(),
        Some(name) => format!("{material}: {name}"),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}
