//! Strips that are cut alike, and their names on one line.

use std::collections::{HashMap, HashSet};

use sashwright_solver::plan::{Plan, StripEntry};
use sashwright_solver::scenario::Scenario;

/// What makes two strips alike: all that she cuts and trims, and the family of their ids.
#[derive(PartialEq, Eq, Hash)]
struct Likeness<'a> {
    family: &'a str,
    design: &'a str,
    /// Written numbers of length, width, scale, overhang, cut and trimmed size.
    numbers: Vec<String>,
}

impl<'a> Likeness<'a> {
    fn of(strip: &'a StripEntry) -> Likeness<'a> {
        let [cut, trimmed] = [&strip.cut, &strip.trimmed];
        let numbers = [&strip.length, &strip.width, &strip.scale, &strip.overhang];
        let numbers = numbers.into_iter().chain(cut).chain(trimmed);
        Likeness {
            family: family(&strip.id),
            design: &strip.design,
            numbers: numbers.map(ToString::to_string).collect(),
        }
    }
}

/// The id without the parts at its end that number it or name its side.
fn family(id: &str) -> &str {
    let mut stem = id;
    while let Some((rest, part)) = stem.rsplit_once('-') {
        let side = ["left", "right", "top", "bottom"].contains(&part);
        let numbers = !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
        if !numbers && !side {
            break;
        }
        stem = rest;
    }
    stem
}

/// The ids of what can be left of begun strips; it is cut already.
pub fn parts(scenario: &Scenario) -> HashSet<String> {
    let begun = scenario.begun.iter();
    begun
        .flat_map(|of| ["start", "end"].map(|end| format!("{}-{end}", of.strip)))
        .collect()
}

/// Indices of the plan's strips, those together that are cut and named alike, without those that are left out.
pub fn cut_alike(plan: &Plan, left_out: &dyn Fn(&StripEntry) -> bool) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    let mut known: HashMap<Likeness<'_>, usize> = HashMap::new();
    let strips = plan.strips.iter().enumerate();
    for (index, strip) in strips.filter(|(_, strip)| !left_out(strip)) {
        let group = *known.entry(Likeness::of(strip)).or_insert(groups.len());
        if group == groups.len() {
            groups.push(Vec::new());
        }
        groups[group].push(index);
    }
    groups
}

/// The ids of a group; three or more that follow each other in the plan are written as `first … last`.
pub fn ids(strips: &[StripEntry], group: &[usize]) -> String {
    let mut parts = Vec::new();
    for row in group.chunk_by(|one, next| one + 1 == *next) {
        match row {
            [first, _, .., last] => {
                parts.push(format!("{} … {}", strips[*first].id, strips[*last].id));
            }
            few => parts.extend(few.iter().map(|index| strips[*index].id.clone())),
        }
    }
    parts.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn families_are_ids_without_numbers_and_sides() {
        for (id, stem) in [
            ("sash-v-1-12", "sash-v"),
            ("border-2-left", "border"),
            ("filler-a-3", "filler-a"),
            ("7", "7"),
            ("odd-", "odd-"),
        ] {
            assert_eq!(family(id), stem);
        }
    }
}
