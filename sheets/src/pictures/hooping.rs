//! A hooping: frame and field, what lies where in it, and which ends stay open.

use sashwright_solver::job::mark;
use sashwright_solver::length::{Length, Unit};
use sashwright_solver::plan::{HoopingEntry, Placement, Plan, StripEntry};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::strips::End;

use super::canvas::{Area, Canvas, Colour, FAINT, INK, Pen, WHITE};
use super::dimensions;
use super::run::{self, Run};
use super::scale::{BAR, Scale, bar, label_height, length};
use crate::content::Picture;
use crate::measure::Ruler;
use crate::words::Book;

/// The largest picture, in millimetres.
const WIDTH: f64 = 178.0;
/// Heights of pictures: the lower one where letters fit into every lane at it, so that steps find room below.
const HEIGHTS: [f64; 2] = [106.0, 126.0];
/// Above the frame and to its right: a dimension line and its label.
const BESIDE: f64 = 9.0;

/// Where the frame and the field lie, along the strips and across them.
struct Hoop {
    field: [Length; 2],
    frame: [Length; 2],
}

impl Hoop {
    /// The hoop of the scenario; where there is none of that name, one as large as what lies in it.
    fn of(scenario: &Scenario, hooping: &HoopingEntry, unit: Unit) -> Hoop {
        let owned = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop);
        if let Some(hoop) = owned {
            let turned = |[first, second]: [Length; 2]| match hooping.turned {
                true => [second, first],
                false => [first, second],
            };
            return Hoop {
                field: turned(hoop.field),
                frame: turned(hoop.frame),
            };
        }
        let reach = |end: &dyn Fn(&Placement) -> Length| {
            let ends = hooping.placements.iter().map(end);
            ends.fold(Length::ZERO, Length::max)
        };
        let field = [
            reach(&|of| length(&of.along, unit) + length(&of.length, unit)),
            reach(&|of| length(&of.across, unit) + length(&of.width, unit)),
        ];
        Hoop {
            field,
            frame: field,
        }
    }
}

/// The short name of the run that stands at that place in its hooping: `a`, `b`, … `z`, `aa`, …
pub(crate) fn key(index: usize) -> String {
    mark(index).to_ascii_lowercase()
}

/// Draws a hooping. `shared` are the numbers of all hoopings that this picture stands for: of several the strips have no names in it.
pub(crate) fn picture(
    scenario: &Scenario,
    plan: &Plan,
    book: &Book<'_>,
    hooping: &HoopingEntry,
    shared: &[u32],
) -> Picture {
    let unit = plan.unit;
    let ruler = Ruler { unit };
    let hoop = Hoop::of(scenario, hooping, unit);
    let name = format!("hooping-{}", hooping.number);
    let mut canvas = Canvas::default();

    let along = dimensions::along(hooping, ruler);
    let across = dimensions::across(hooping, ruler);
    let [left, below] = [&across, &along].map(|marks| label_height(&labels(marks)) + 6.0);
    let scale_for = |height: f64| {
        let room = [WIDTH - left - BESIDE, height - below - BESIDE - BAR];
        Scale::fitting(hoop.frame[0], hoop.frame[1], room)
    };
    let widths = hooping.placements.iter().map(|of| length(&of.width, unit));
    let narrowest = widths.min().unwrap_or_default();
    let roomy = HEIGHTS
        .into_iter()
        .map(scale_for)
        .find(|scale| scale.of(narrowest) >= run::LABEL);
    let scale = roomy.unwrap_or_else(|| scale_for(HEIGHTS[1]));
    let frame = Area {
        at: [left, BESIDE],
        size: hoop.frame.map(|side| scale.of(side)),
    };
    let size = hoop.field.map(|side| scale.of(side));
    let field = Area {
        at: [0, 1].map(|axis| frame.centre()[axis] - size[axis] / 2.0),
        size,
    };

    canvas.rounded(frame, 3.0, Colour(0xec_ebe7), Some(Pen::new(INK, 0.5)));
    canvas.area(field, WHITE, Some(Pen::new(INK, 0.4)));
    dimensions::field(
        &mut canvas,
        frame,
        field,
        hoop.field.map(|side| ruler.length(&side.in_unit(unit))),
    );
    let noted_along = dimensions::below(&mut canvas, frame, field, scale, &along);
    let noted_across = dimensions::beside(&mut canvas, frame, field, scale, &across);

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
    run::draw_all(&mut canvas, frame, &runs);

    let height = frame.end()[1] + below + BAR;
    bar(&mut canvas, [left, height - BAR / 2.0], scale, unit);
    let size = [frame.end()[0] + BESIDE, height];
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

/// Whether the lower and the upper end along the field are open.
fn open_sides(placement: &Placement) -> [bool; 2] {
    let open = |end| placement.open.contains(&end);
    match placement.reversed {
        false => [open(End::Start), open(End::End)],
        true => [open(End::End), open(End::Start)],
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
