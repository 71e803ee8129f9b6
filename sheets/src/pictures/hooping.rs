//! A hooping: frame and field, what lies where in it, and which ends stay open.

use sashwright_solver::job::mark;
use sashwright_solver::length::Length;
use sashwright_solver::plan::{HoopingEntry, Placement, Plan, StripEntry};
use sashwright_solver::scenario::Scenario;

use super::canvas::{Area, Canvas, Colour, FAINT, INK, Pen, WHITE};
use super::dimensions;
use super::hoop::{Hoop, OnPage, WIDTH, open_sides};
use super::run::{self, Run};
use super::scale::{BAR, LONGEST_BAR, bar, label_height};
use crate::content::Picture;
use crate::measure::Ruler;
use crate::words::Book;

/// Above all and to its right: a dimension line and its label.
const BESIDE: f64 = 9.0;

/// The short name of the run that stands at that place in its hooping: `a`, `b`, … `z`, `aa`, …
pub(crate) fn key(index: usize) -> String {
    mark(index).to_ascii_lowercase()
}

/// Draws a hooping, at most `room` millimetres high where letters then fit into it. `shared` are the numbers of all hoopings that this picture stands for: of
/// several the strips have no names in it.
pub(crate) fn picture(
    (scenario, plan): (&Scenario, &Plan),
    book: &Book<'_>,
    (hooping, shared): (&HoopingEntry, &[u32]),
    room: f64,
) -> Picture {
    let unit = plan.unit;
    let ruler = Ruler { unit };
    let hoop = Hoop::of(scenario, hooping, unit);
    let name = format!("hooping-{}", hooping.number);
    let mut canvas = Canvas::default();

    let along = dimensions::along(hooping, ruler);
    let across = dimensions::across(hooping, ruler);
    let [left, below] = [&across, &along].map(|marks| label_height(&labels(marks)) + 6.0);
    // The bar stands beside the hoop where it can, so that the hoop is drawn the larger.
    let above_bar = hoop.on_page([left, BESIDE], [BESIDE, below + BAR], room);
    let beside_bar = hoop.on_page([left, BESIDE], [BESIDE, below], room);
    let is_beside = beside_bar.outer.end()[0] + BESIDE + LONGEST_BAR <= WIDTH;
    let on_page = if is_beside { beside_bar } else { above_bar };
    let OnPage {
        scale,
        outer,
        frame,
        field,
    } = on_page;

    canvas.rounded(frame, 3.0, Colour(0xec_ebe7), Some(Pen::new(INK, 0.5)));
    canvas.area(field, WHITE, Some(Pen::new(INK, 0.4)));
    dimensions::field(
        &mut canvas,
        on_page,
        hoop.field.map(|side| ruler.length(&side.in_unit(unit))),
    );
    let noted_along = dimensions::below(&mut canvas, on_page, &along);
    let noted_across = dimensions::beside(&mut canvas, on_page, &across);

    let reach = scale.of(scenario.allowances.reach());
    let runs = hooping.placements.iter().enumerate();
    let runs = runs.map(|(index, placement)| {
        let at = |measure| scale.measure(measure, unit);
        let width = at(&placement.width);
        let (m, a) = margins(scenario, book.strip(&placement.strip), placement);
        let named = match shared.len() {
            1 => Some(run_name(book, placement)),
            _ => None,
        };
        Run {
            key: key(index),
            lane: placement.lane,
            named,
            length: ruler.length(&placement.length),
            area: Area::new(
                field.at[0] + at(&placement.along),
                field.at[1] + at(&placement.across) - width / 2.0,
                at(&placement.length),
                width,
            ),
            reach,
            margins: [scale.of(m) / 2.0, scale.of(a) / 2.0],
            open: open_sides(placement),
            leftward: placement.reversed,
        }
    });
    let runs: Vec<Run> = runs.collect();
    run::draw_all(&mut canvas, outer, &runs);

    let [right, bottom] = outer.end();
    let (at, size) = match is_beside {
        true => (
            [right + BESIDE, bottom + BAR / 2.0],
            [right + BESIDE + LONGEST_BAR, bottom + below.max(BAR)],
        ),
        false => (
            [left, bottom + below + BAR / 2.0],
            [right + BESIDE, bottom + below + BAR],
        ),
    };
    bar(&mut canvas, at, scale, unit);
    let numbers = numbers(shared);
    let alt = alt(plan, book, hooping, &numbers, ruler);
    let mut caption = format!("{numbers}, to scale.");
    if !(noted_along && noted_across) {
        caption.push_str(" There is no room for all positions; the table has them.");
    }
    Picture {
        drawing: canvas.finish(),
        name,
        title: numbers,
        alt,
        caption,
        size,
    }
}

/// `Hooping 3`, `Hoopings 4, 7 and 9`.
fn numbers(shared: &[u32]) -> String {
    match shared {
        [one] => format!("Hooping {one}"),
        several => format!("Hoopings {}", crate::words::listed_numbers(several)),
    }
}

fn labels(marks: &[dimensions::Mark]) -> Vec<String> {
    marks.iter().map(|mark| mark.label.clone()).collect()
}

/// `border-1-left, 2 of 4`.
fn run_name(book: &Book<'_>, placement: &Placement) -> String {
    match book.strip(&placement.strip).map(|strip| strip.runs.len()) {
        Some(1) | None => placement.strip.clone(),
        Some(runs) => format!("{}, {} of {runs}", placement.strip, placement.run),
    }
}

/// The largest margins of the run's sizes, both sides together: along, across.
fn margins(
    scenario: &Scenario,
    strip: Option<&StripEntry>,
    placement: &Placement,
) -> (Length, Length) {
    let index = usize::try_from(placement.run).unwrap_or(0).wrapping_sub(1);
    let none = (Length::ZERO, Length::ZERO);
    let Some((strip, run)) = strip.and_then(|strip| Some((strip, strip.runs.get(index)?))) else {
        return none;
    };
    let design = scenario.designs.iter().find(|of| of.id == strip.design);
    let Some(design) = design else {
        return none;
    };
    let used = |id: &str| run.segments.iter().any(|segment| segment.size == id);
    let sizes = design.sizes.iter().filter(|size| used(&size.id));
    sizes.fold(none, |(m, a), size| {
        (m.max(size.margin_along()), a.max(size.margin_across()))
    })
}

/// What the picture shows, in words.
fn alt(
    plan: &Plan,
    book: &Book<'_>,
    hooping: &HoopingEntry,
    numbers: &str,
    ruler: Ruler,
) -> String {
    let mut text = format!(
        "{numbers} of {}: the field of hoop {}",
        plan.hoopings.len(),
        hooping.hoop
    );
    for (index, placement) in hooping.placements.iter().enumerate() {
        let lie = book.lie(&placement.strip);
        let open: Vec<&str> = placement.open.iter().map(|end| lie.end(*end)).collect();
        let ends = match open.as_slice() {
            [] => "both ends closed".to_string(),
            open => format!("{} open", open.join(" and ")),
        };
        text.push_str(&format!(
            "; {} in lane {}: starts at {}, {} long, centre line at {}, {ends}",
            key(index),
            placement.lane,
            ruler.length(&placement.along),
            ruler.length(&placement.length),
            ruler.length(&placement.across),
        ));
    }
    text.push('.');
    text
}

/// A line that only helps the eye.
pub(super) const HELP: Pen = Pen::new(FAINT, 0.2).dashed(&[0.8, 0.8]);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_go_on_after_z() {
        assert_eq!(
            [0, 25, 26, 27, 52, 702].map(key),
            ["a", "z", "aa", "ab", "ba", "aaa"]
        );
    }
}
