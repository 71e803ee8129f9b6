//! What the plan is, what is proven of it, and what must not be missed.

use super::{Source, table};
use crate::content::{Block, Section};
use crate::words::{known, shown, term, verdict};

/// The goal's terms, one to a row.
fn goal(source: &Source<'_>) -> Block {
    let ruler = source.ruler;
    let objective = source.plan.objective.iter().enumerate();
    let rows = objective.map(|(index, entry)| {
        vec![
            term(entry).0.to_string(),
            shown(entry, &entry.value, ruler),
            known(entry, index, ruler),
        ]
    });
    let caption = "The goal of this scenario, most important first";
    Block::Table(table(
        caption,
        &["goal", "this plan", "what is known"],
        rows.collect(),
    ))
}

/// The first section.
pub(super) fn section(source: &Source<'_>) -> Section {
    let plan = source.plan;
    let mut blocks = vec![Block::Text(verdict(plan).into()), goal(source)];
    if !plan.unplanned.is_empty() {
        let rows = plan.unplanned.iter();
        let rows = rows.map(|entry| vec![entry.strip.clone(), entry.reason.clone()]);
        blocks.push(Block::Heading("Left out of this plan".into()));
        blocks.push(Block::Table(table(
            "Strips that are left out, and why",
            &["strip", "reason"],
            rows.collect(),
        )));
    }
    if !plan.warnings.is_empty() {
        blocks.push(Block::Heading("Warnings".into()));
        blocks.push(Block::List(plan.warnings.clone()));
    }
    super::section("summary", "Summary", blocks)
}
