//! What she should know of a plan beyond its figures.

use std::collections::BTreeMap;

use crate::draft::Draft;
use crate::length::Length;
use crate::plan::build::used_sizes;
use crate::plan::laid::LaidRun;
use crate::scenario::Hoop;
use crate::task::Task;

/// So many strips of which one warning is true are told by name.
const MOST_NAMED: usize = 3;

/// The warnings of a plan, each a sentence; alike strips share one.
pub(super) fn warnings(task: &Task<'_>, draft: &Draft, laid: &[Vec<LaidRun<'_>>]) -> Vec<String> {
    let unit = task.scenario.unit;
    let mut found: BTreeMap<(u8, String), Vec<&str>> = BTreeMap::new();
    for (strip, choice) in draft.covers.iter().enumerate() {
        let Some(choice) = choice else { continue };
        let id = task.top.strips[strip].id.as_str();
        let of_class = &task.covers[choice.0];
        let repeats = of_class.sizes.repeats(used_sizes(&laid[strip]));
        let overhang = task.cover(*choice).settled.overhang();
        if let Some(repeat) = repeats.first().filter(|repeat| overhang > **repeat) {
            let least = of_class.least_overhang;
            if least <= *repeat {
                let text = format!(
                    "the overhang of {} is more than a repeat; another covering would have {}.",
                    overhang.told(unit),
                    least.told(unit)
                );
                found.entry((0, text)).or_default().push(id);
            }
        }
        if repeats.len() > 1 {
            let list: Vec<String> = repeats.iter().map(|repeat| repeat.told(unit)).collect();
            let text = format!(
                "sizes with different repeats ({}) follow each other on the strip.",
                list.join(", ")
            );
            found.entry((1, text)).or_default().push(id);
        }
    }
    let strips = found
        .into_iter()
        .map(|((_, text), ids)| format!("{}: {text}", named(&ids, MOST_NAMED)));
    let hoops = across_only(task).into_iter();
    strips
        .chain(hoops)
        .chain(wide_pieces(task, draft))
        .collect()
}

/// The first so many ids, or one more, by name, and the number of the others.
pub(crate) fn named(ids: &[&str], most: usize) -> String {
    match ids.split_at_checked(most) {
        Some((first, rest)) if rest.len() > 1 => {
            format!("{} and {} more strips", first.join(", "), rest.len())
        }
        _ => ids.join(", "),
    }
}

/// Hoops whose longer side no strip may lie along: often that was not meant.
fn across_only(task: &Task<'_>) -> Vec<String> {
    let unit = task.scenario.unit;
    let hoops = task.scenario.hoops.iter();
    let shorter_first = hoops.filter(|hoop| !hoop.turn && hoop.field[0] < hoop.field[1]);
    let told = |hoop: &Hoop| {
        let [along, across] = hoop.field.map(|side| side.told(unit));
        format!(
            "The hoop \"{}\" may not be turned, so strips lie along its {along}; if they may lie along its {across} as well, leave out \
             \"turn\": false.",
            hoop.id
        )
    };
    shorter_first.map(told).collect()
}

fn wide_pieces(task: &Task<'_>, draft: &Draft) -> Vec<String> {
    let unit = task.scenario.unit;
    let Some(roll) = task.scenario.materials.stabilizer.roll_width else {
        return Vec::new();
    };
    let used = |hoop: &usize| draft.hoopings.iter().any(|hooping| hooping.hoop == *hoop);
    let told = |hoop: usize| {
        let hoop = &task.scenario.hoops[hoop];
        let piece = task.scenario.materials.stabilizer.piece(hoop);
        let (id, sides, roll_told) = (&hoop.id, Length::both_told(piece, unit), roll.told(unit));
        let wide = piece.iter().all(|side| *side > roll);
        wide.then(|| format!("The stabilizer for the hoop \"{id}\", {sides}, is wider both ways than the roll of {roll_told}."))
    };
    let hoops = 0..task.scenario.hoops.len();
    hoops.filter(used).filter_map(told).collect()
}
