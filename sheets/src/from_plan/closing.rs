//! Before the first hooping and after the last: steps, corners, time, cautions.

use sashwright_solver::job::Step;

use super::{Source, table};
use crate::content::{Block, Section};
use crate::words::{self, CAUTIONS, border_of, corners_met, missing};

/// The steps in words, each with a box to tick.
pub(super) fn ticks(steps: &[Step]) -> Block {
    Block::Ticks(steps.iter().map(|step| step.text.clone()).collect())
}

/// What is cut and marked first.
pub(super) fn before(source: &Source<'_>) -> Option<Section> {
    let steps = source
        .plan
        .steps
        .as_ref()
        .filter(|steps| !steps.before.is_empty())?;
    Some(super::section(
        "before",
        "Before the first hooping",
        vec![ticks(&steps.before)],
    ))
}

/// Where the pattern meets and where it does not.
pub(super) fn corners(source: &Source<'_>) -> Option<Section> {
    let plan = source.plan;
    if plan.corners.is_empty() {
        return None;
    }
    let mut blocks = vec![Block::Text(corners_met(plan))];
    let rows = missing(plan).map(|corner| {
        let [one, other] = &corner.strips;
        vec![
            format!("{}, {}", border_of(corner), corner.corner),
            source.ruler.length(&corner.mismatch),
            format!("{one} and {other}"),
        ]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    if !rows.is_empty() {
        let caption = "Corners where the pattern misses itself";
        blocks.push(Block::Table(table(
            caption,
            &["corner", "misses itself by", "between"],
            rows,
        )));
    }
    Some(super::section("corners", "Corners", blocks))
}

/// How long it takes.
pub(super) fn work(source: &Source<'_>) -> Option<Section> {
    let entry = source.plan.work.as_ref()?;
    let sentences = words::work(source.scenario, source.plan, entry);
    let blocks = sentences.into_iter().map(Block::Text).collect();
    Some(super::section("time-and-thread", "Time and thread", blocks))
}

/// What is done after the last hooping.
pub(super) fn assembly(source: &Source<'_>) -> Option<Section> {
    let steps = source
        .plan
        .steps
        .as_ref()
        .filter(|steps| !steps.assembly.is_empty())?;
    Some(super::section(
        "assembly",
        "After the last hooping",
        vec![ticks(&steps.assembly)],
    ))
}

/// The cautions of the plan, else the usual ones.
pub(super) fn cautions(source: &Source<'_>) -> Section {
    let of_plan = source
        .plan
        .steps
        .as_ref()
        .map(|steps| steps.cautions.clone());
    let cautions = of_plan
        .filter(|cautions| !cautions.is_empty())
        .unwrap_or_else(|| CAUTIONS.map(String::from).to_vec());
    super::section("cautions", "At the machine", vec![Block::List(cautions)])
}
