//! What is cut, sewn and marked before the first hooping.

use std::collections::BTreeMap;

use sashwright_solver::job::{ClothCuts, Material, Step, StepKind};

use super::{Told, step};
use crate::words::{cut_alike, ids, listed, material, own_name, parts};

/// Of more kinds of pieces than this a step names the count only; the cut list has them all.
const MOST_NAMED: usize = 8;

/// The steps.
pub(super) fn steps(told: &Told<'_>) -> Vec<Step> {
    let mut steps = Vec::new();
    match &told.plan.cutting {
        Some(cloths) => {
            steps.extend(cloths.iter().map(|cloth| cut_cloth(told, cloth)));
            steps.push(step(
                StepKind::Mark,
                "Write on every piece its letter from the cut list and what it is for.",
            ));
            steps.extend(cloths.iter().flat_map(|cloth| pieced(told, cloth)));
        }
        None => steps.extend(cut_by_plan(told)),
    }
    if told.scenario.materials.backing.is_some() {
        steps.push(step(
            StepKind::Fuse,
            "Fuse the backing to the wrong side of the strips that are stitched, as its maker says, and let them cool.",
        ));
    }
    let begun = parts(told.scenario);
    if told
        .plan
        .strips
        .iter()
        .any(|strip| !begun.contains(&strip.id))
    {
        steps.push(step(
            StepKind::Mark,
            "Pin a label with its name to every strip, at its left or top end: all positions are measured from there.",
        ));
    }
    steps
}

/// How a cloth is called: by its name too, where that says more.
fn called(cloth: &ClothCuts) -> String {
    let kind = material(cloth.material);
    match own_name(cloth) {
        None => format!("the {kind}"),
        Some(name) => format!("the {kind} \"{name}\""),
    }
}

fn cut_cloth(told: &Told<'_>, cloth: &ClothCuts) -> Step {
    let count: u64 = cloth
        .pieces
        .iter()
        .map(|piece| u64::from(piece.count))
        .sum();
    let many = if count == 1 { "piece" } else { "pieces" };
    let start = format!("Cut {} as its cutting plan shows", called(cloth));
    let text = if cloth.pieces.len() > MOST_NAMED {
        format!("{start}: {count} {many} of {} sizes.", cloth.pieces.len())
    } else {
        let pieces: Vec<String> = cloth
            .pieces
            .iter()
            .map(|piece| {
                format!(
                    "{} of {}, {}",
                    piece.count,
                    piece.mark,
                    told.ruler.size(&piece.size)
                )
            })
            .collect();
        format!("{start}: {}.", pieces.join("; "))
    };
    step(StepKind::Cut, text)
}

/// Strips that are sewn together from parts, as their uses on the cut list say.
fn pieced(told: &Told<'_>, cloth: &ClothCuts) -> Vec<Step> {
    if cloth.material != Material::Fabric {
        return Vec::new();
    }
    let mut parts: BTreeMap<&str, Vec<(u32, &str)>> = BTreeMap::new();
    for piece in &cloth.pieces {
        for usage in &piece.uses {
            let Some((strip, part)) = usage.rsplit_once(", part ") else {
                continue;
            };
            let number = part
                .split(' ')
                .next()
                .and_then(|number| number.parse().ok());
            if let Some(number) = number {
                parts.entry(strip).or_default().push((number, &piece.mark));
            }
        }
    }
    let seam = told.brief(told.scenario.allowances.seam);
    let steps = parts.into_iter().map(|(strip, mut parts)| {
        parts.sort_unstable();
        let marks: Vec<&str> = parts.iter().map(|(_, mark)| *mark).collect();
        Step {
            kind: StepKind::Sew,
            text: format!(
                "Sew {} end to end, in this order from its left or top end, for {strip}: seams of {seam}, pressed open.",
                listed(&marks)
            ),
            strip: Some(strip.to_string()),
        }
    });
    steps.collect()
}

/// Where the plan does not say how cloths are cut: the sizes of its pieces.
fn cut_by_plan(told: &Told<'_>) -> Vec<Step> {
    let mut sizes: Vec<(String, u32)> = Vec::new();
    for hooping in &told.plan.hoopings {
        let size = told.ruler.size(&hooping.stabilizer);
        match sizes.iter_mut().find(|(known, _)| *known == size) {
            Some((_, count)) => *count += 1,
            None => sizes.push((size, 1)),
        }
    }
    let sizes: Vec<String> = sizes
        .into_iter()
        .map(|(size, count)| format!("{count} of {size}"))
        .collect();
    let mut steps = vec![step(
        StepKind::Cut,
        format!("Cut the stabilizer: {}.", listed(&sizes)),
    )];
    let begun = parts(told.scenario);
    let strips = &told.plan.strips;
    let groups = cut_alike(told.plan, &|strip| begun.contains(&strip.id));
    steps.extend(groups.into_iter().filter_map(|group| {
        let strip = strips.get(*group.first()?)?;
        Some(step(
            StepKind::Cut,
            format!(
                "Cut the fabric of {}: {} of {}.",
                ids(strips, &group),
                group.len(),
                told.ruler.size(&strip.cut)
            ),
        ))
    }));
    steps
}
