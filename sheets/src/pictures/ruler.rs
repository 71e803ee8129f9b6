//! A strip's ruler: where each of its runs begins and ends.

use sashwright_solver::length::{Length, Unit};
use sashwright_solver::plan::StripEntry;

use super::canvas::{Anchor, Area, Canvas, Fill, INK, Pen, WHITE};
use super::palette::{fill, look};
use super::scale::{BAR, Scale, apart, bar, label_height, length};
use super::text::width;
use crate::content::Picture;
use crate::measure::Ruler;

/// How long a ruler may be, and how high the strip on it.
const LONG: f64 = 164.0;
const MOST_HIGH: f64 = 16.0;
const LEAST_HIGH: f64 = 5.0;
const LEFT: f64 = 7.0;
const TOP: f64 = 6.0;

/// Draws the ruler of a strip. Of `several` strips alike whose hoopings differ, runs are named by their own numbers.
pub(crate) fn picture(
    strip: &StripEntry,
    name: String,
    title: &str,
    unit: Unit,
    several: bool,
) -> Picture {
    let ruler = Ruler { unit };
    let mut canvas = Canvas::default();
    let at = |measure| length(measure, unit);
    let (long, wide) = (at(&strip.length), at(&strip.width));
    let first = strip.runs.first().map_or(Length::ZERO, |run| at(&run.from));
    let last = strip.runs.last().map_or(long, |run| at(&run.to));
    let (from, to) = (first.min(Length::ZERO), last.max(long));
    let scale = Scale::fitting(to - from, wide, [LONG, MOST_HIGH]);
    let place = |at: Length| LEFT + scale.of(at - from);
    let high = scale.of(wide).max(LEAST_HIGH);

    for (index, run) in strip.runs.iter().enumerate() {
        let (start, end) = (place(at(&run.from)), place(at(&run.to)));
        let area = Area::new(start, TOP, end - start, high);
        let fill = match several {
            true => Fill::Plain(WHITE),
            false => fill(look(run.hooping)),
        };
        canvas.area(area, fill, Some(Pen::new(INK, 0.3)));
        name_run(&mut canvas, area, index, run.hooping, several);
        if index > 0 {
            canvas.line(
                [start, TOP - 1.5],
                [start, TOP + high + 1.5],
                Pen::new(INK, 0.9),
            );
        }
    }
    // The finished ends, past which stitching may reach.
    for end in [Length::ZERO, long] {
        let x = place(end);
        canvas.line(
            [x, TOP - 2.0],
            [x, TOP + high + 2.0],
            Pen::new(INK, 0.5).dashed(&[1.0, 0.6]),
        );
    }

    // Printed positions are exact to 0.005 mm: ends that differ by less than twice that are one.
    let near = |one: Length, other: Length| (one - other).nanometres().abs() <= 10_000;
    let mut ends = vec![Length::ZERO, long];
    for run_end in strip
        .runs
        .iter()
        .flat_map(|run| [at(&run.from), at(&run.to)])
    {
        if !ends.iter().any(|end| near(*end, run_end)) {
            ends.push(run_end);
        }
    }
    ends.sort_unstable();
    let labels: Vec<String> = ends
        .iter()
        .map(|at| ruler.short(&at.in_unit(unit)))
        .collect();
    let places: Vec<f64> = ends.iter().map(|at| place(*at)).collect();
    let below = TOP + high + 2.0;
    let moved = apart(&places, 3.0, LEFT + LONG);
    let label_room = match &moved {
        Some(moved) => {
            for ((place, label_at), label) in places.iter().zip(moved).zip(&labels) {
                canvas.bent(
                    &[
                        [*place, below - 1.0],
                        [*place, below + 0.6],
                        [*label_at, below + 3.0],
                    ],
                    Pen::new(INK, 0.2),
                );
                canvas.upward([*label_at, below + 4.0], Anchor::End, label, false);
            }
            label_height(&labels) + 6.0
        }
        None => 2.0,
    };
    let size = [LEFT + LONG + 7.0, below + label_room + BAR];
    bar(&mut canvas, [LEFT, size[1] - BAR / 2.0], scale, unit);
    let stretches = strip.runs.iter().enumerate().map(|(index, run)| {
        let hooping = match several {
            true => String::new(),
            false => format!(" in hooping {}", run.hooping),
        };
        format!(
            "run {} from {} to {}{hooping}",
            index + 1,
            ruler.length(&run.from),
            ruler.length(&run.to)
        )
    });
    let stretches: Vec<String> = stretches.collect();
    let alt = format!(
        "Ruler of {title}, {} long: {}.",
        ruler.length(&strip.length),
        stretches.join("; ")
    );
    Picture {
        drawing: canvas.finish(),
        name,
        title: format!("Ruler of {title}"),
        alt,
        caption: "Where the runs begin and end, measured from the finished left or top end.".into(),
        size,
    }
}

/// Writes which run or hooping it is where that fits: the table below the ruler says it too.
fn name_run(canvas: &mut Canvas, area: Area, index: usize, hooping: u32, several: bool) {
    let (full, short) = match several {
        true => (format!("run {}", index + 1), (index + 1).to_string()),
        false => (format!("hooping {hooping}"), hooping.to_string()),
    };
    let fits = [full, short]
        .into_iter()
        .find(|words| width(words) + 1.6 <= area.size[0]);
    if let Some(words) = fits {
        let [x, y] = area.centre();
        let long = width(&words) + 1.2;
        canvas.rounded(
            Area::new(x - long / 2.0, y - 1.9, long, 3.8),
            0.6,
            WHITE,
            None,
        );
        canvas.text([x, y], Anchor::Middle, &words);
    }
}
