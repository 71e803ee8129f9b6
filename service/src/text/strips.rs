//! The cut list: strips alike on one line, so that a large quilt stays readable.

use std::collections::{HashMap, HashSet};

use sashwright_solver::length::Measure;
use sashwright_solver::plan::{Plan, StripEntry};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::strips::End;

use super::hoopings::scaling;
use super::measure::Ruler;
use super::section;
use super::table::Table;

/// How a strip lies in the quilt top, which names its ends.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Lie {
    /// From the top to the bottom.
    Upright,
    /// From left to right; so do strips that the scenario lists on their own.
    Lying,
}

impl Lie {
    /// The end in words: `left end`, `bottom end`.
    pub(super) fn end(self, end: End) -> &'static str {
        match (self, end) {
            (Lie::Upright, End::Start) => "top end",
            (Lie::Upright, End::End) => "bottom end",
            (Lie::Lying, End::Start) => "left end",
            (Lie::Lying, End::End) => "right end",
        }
    }

    /// How a strip of the quilt lies, by the form of its id.
    pub(super) fn of_quilt_strip(id: &str) -> Lie {
        // What is left of a strip lies as the strip does.
        let part = |suffix| id.strip_suffix(suffix);
        let id = part("-start").or_else(|| part("-end")).unwrap_or(id);
        let upright = id.starts_with("sash-v-") || id.ends_with("-left") || id.ends_with("-right");
        if upright { Lie::Upright } else { Lie::Lying }
    }
}

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

/// The ids of what can be left of begun strips.
fn parts(scenario: &Scenario) -> HashSet<String> {
    let begun = scenario.begun.iter();
    begun
        .flat_map(|of| ["start", "end"].map(|end| format!("{}-{end}", of.strip)))
        .collect()
}

/// Writes the cut list; what is left of begun strips is cut already.
pub(super) fn write(text: &mut String, scenario: &Scenario, plan: &Plan) {
    let parts = parts(scenario);
    let is_part = |strip: &StripEntry| parts.contains(&strip.id);
    if plan.strips.iter().any(|strip| !is_part(strip)) {
        section(text, "Strips to cut");
        cut_list(text, plan, &is_part);
    }
    if plan.strips.iter().any(is_part) {
        section(text, "Strips that are begun");
        let mut table = Table::new(2);
        let ruler = Ruler { unit: plan.unit };
        for strip in plan.strips.iter().filter(|strip| is_part(strip)) {
            let mut left = format!("{} are left", ruler.length(&strip.length));
            if strip.overhang != Measure::whole(0) {
                let overhang = ruler.length(&strip.overhang);
                left.push_str(&format!(
                    "; overhang {overhang}, stitched past the seam line"
                ));
            }
            table.row([strip.id.clone(), left]);
        }
        table.write(text);
    }
}

fn cut_list(text: &mut String, plan: &Plan, left_out: &dyn Fn(&StripEntry) -> bool) {
    let ruler = Ruler { unit: plan.unit };
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
    let mut table = Table::new(2);
    let symbol = plan.unit.symbol();
    let (cut, trimmed) = (format!("cut, {symbol}"), format!("square up to, {symbol}"));
    table.row(["pieces", &cut, &trimmed, "strips"]);
    for group in groups {
        let Some(strip) = group.first().and_then(|index| plan.strips.get(*index)) else {
            continue;
        };
        table.row([
            group.len().to_string(),
            ruler.bare_size(&strip.cut),
            ruler.bare_size(&strip.trimmed),
            ids(&plan.strips, &group),
        ]);
        let sides = [strip.length.clone(), strip.width.clone()];
        let mut note = format!("finished {}, design {}", ruler.size(&sides), strip.design);
        if let Some(percent) = scaling(strip) {
            note.push_str(&format!(", scaled along the strip to {percent}"));
        }
        if strip.overhang != Measure::whole(0) {
            let overhang = ruler.length(&strip.overhang);
            note.push_str(&format!(
                "; overhang {overhang}, stitched past the seam lines, both ends together"
            ));
        }
        table.note(note);
    }
    table.write(text);
}

/// The ids of a group; three or more that follow each other in the plan are written as `first … last`.
fn ids(strips: &[StripEntry], group: &[usize]) -> String {
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

    #[test]
    fn ends_are_named_as_the_strip_lies_in_the_quilt() {
        let checks = [
            ("sash-v-1-1", "top end", "bottom end"),
            ("border-1-left", "top end", "bottom end"),
            ("sash-h-1-1", "left end", "right end"),
            ("sash-row-2", "left end", "right end"),
            ("border-1-bottom", "left end", "right end"),
        ];
        for (id, start, end) in checks {
            let lie = Lie::of_quilt_strip(id);
            assert_eq!((lie.end(End::Start), lie.end(End::End)), (start, end));
        }
    }
}
