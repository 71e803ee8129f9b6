//! The quilt top: every strip, joint and corner, each run with the number of its hooping.

mod corners;
mod loose;
mod numbers;
mod pieces;
mod places;
mod shapes;

use std::collections::HashMap;

use sashwright_solver::length::Length;
use sashwright_solver::plan::{CornerEntry, Plan};
use sashwright_solver::scenario::{Quilt, QuiltEntry, Scenario, StripEntry};

use super::canvas::{Area, BARE, Canvas, Colour, FAINT, Fill, INK, Pen, Point};
use super::scale::{BAR, Scale, bar};
use crate::content::Picture;
use crate::measure::Ruler;
use crate::words::{Book, corners_met};
use loose::Loose;
use numbers::{Ground, Taken};
use pieces::Pieces;
use places::{Patch, Places};
use shapes::Shape;

/// The largest picture, in millimetres.
const ROOM: Point = [178.0, 205.0];
/// The most different quilts that are drawn, beside the one that is told of by itself; rulers tell of all of them.
pub(crate) const MOST_QUILTS: usize = 24;
/// On each side of the quilt, for numbers of narrow borders.
const MARGIN: f64 = 9.0;
/// What listed strips alone may take up, at least.
const LEAST_FOR_LOOSE: f64 = 25.0;

/// What one picture shows: a quilt top, strips that are listed, or both.
struct Shown<'a> {
    quilt: Option<&'a Quilt>,
    /// The entry that it is of, where it is one of several quilts: its first copy is shown.
    of: Option<&'a QuiltEntry>,
    /// Strips that are listed on their own.
    strips: &'a [StripEntry],
    corners: Vec<&'a CornerEntry>,
}

/// What is drawn, and where.
struct Layout {
    places: Option<Places>,
    scale: Scale,
    /// Upper left corner of the quilt.
    origin: Point,
    corners: Vec<corners::Corner>,
    loose: Loose,
    size: Point,
}

/// Draws the quilt top of a scenario, and the strips that it lists below; then each of several quilts by its first copy.
pub(crate) fn pictures(scenario: &Scenario, plan: &Plan, book: &Book<'_>) -> Vec<Picture> {
    let mut corners: HashMap<Option<&str>, Vec<&CornerEntry>> = HashMap::new();
    for corner in &plan.corners {
        corners
            .entry(corner.quilt.as_deref())
            .or_default()
            .push(corner);
    }
    let mut pictures = Vec::new();
    if scenario.quilt.is_some() || !scenario.strips.is_empty() {
        let shown = Shown {
            quilt: scenario.quilt.as_ref(),
            of: None,
            strips: &scenario.strips,
            corners: corners.get(&None).cloned().unwrap_or_default(),
        };
        pictures.push(picture(scenario, plan, book, &shown, "quilt".into()));
    }
    for (number, entry) in (1..).zip(scenario.quilts.iter().take(MOST_QUILTS)) {
        let first = entry.name(1);
        let shown = Shown {
            quilt: Some(&entry.quilt),
            of: Some(entry),
            strips: &[],
            corners: corners
                .get(&Some(first.as_str()))
                .cloned()
                .unwrap_or_default(),
        };
        let name = format!("quilt-{number}");
        pictures.push(picture(scenario, plan, book, &shown, name));
    }
    pictures
}

fn picture(
    scenario: &Scenario,
    plan: &Plan,
    book: &Book<'_>,
    shown: &Shown<'_>,
    name: String,
) -> Picture {
    let ruler = Ruler { unit: plan.unit };
    let layout = Layout::of(shown, ruler);
    let mut canvas = Canvas::default();
    let mut ground = Ground::new(layout.size);
    let mut pieces = Pieces::new(scenario, plan, book);
    if let Some(places) = &layout.places {
        layout.draw_cloth(&mut canvas, &mut ground, places, &mut pieces);
    }
    let width = layout.size[0];
    layout
        .loose
        .add(&mut canvas, &mut pieces, &mut ground, width);
    let numbers = pieces.draw(&mut canvas);
    let unnumbered = numbers::write(&mut canvas, &mut ground, &numbers);
    if let Some(places) = &layout.places {
        corners::draw(
            &mut canvas,
            &shown.corners,
            places,
            layout.scale,
            layout.origin,
            &layout.corners,
        );
    }
    let left = layout.places.as_ref().map_or(1.0, |_| layout.origin[0]);
    let at = [left, layout.size[1] - BAR / 2.0];
    bar(&mut canvas, at, layout.scale, plan.unit);

    let alt = alt(plan, shown, layout.places.as_ref(), ruler);
    Picture {
        name,
        title: match shown.of {
            Some(entry) => format!("The quilt top of {}", entry.id),
            None => "The quilt top".into(),
        },
        caption: caption(plan, shown, &layout, unnumbered),
        alt,
        size: layout.size,
        drawing: canvas.finish(),
    }
}

impl Layout {
    fn of(shown: &Shown<'_>, ruler: Ruler) -> Layout {
        let name = shown.of.map(|entry| entry.name(1));
        let places = shown.quilt.map(|quilt| places::of(quilt, name.as_deref()));
        let corners = corners::of(&shown.corners, ruler);
        let [above, below] = corners::heights(&corners);
        let margin = if places.is_some() { MARGIN } else { 0.0 };
        let top = if places.is_some() {
            MARGIN.max(above + 4.0)
        } else {
            0.0
        };
        let bottom = if places.is_some() {
            MARGIN.max(below + 4.0)
        } else {
            0.0
        };
        let quilt = places
            .as_ref()
            .map_or([Length::ZERO; 2], |places| places.size);
        let listed = if shown.strips.is_empty() {
            0.0
        } else {
            LEAST_FOR_LOOSE
        };
        let room = [ROOM[0] - 2.0 * margin, ROOM[1] - top - bottom - BAR];
        let long = loose::longest(shown.strips);
        let mut scale = match places {
            Some(_) => Scale::fitting(quilt[0], quilt[1], [room[0], room[1] - listed]),
            None => Scale::fitting(long, long, [room[0], room[0]]),
        };
        scale = scale.at_most(Scale::fitting(long, Length::ZERO, [ROOM[0], room[1]]));
        // Rows of listed strips break anew at each scale: smaller ones are tried until all of it fits.
        for _ in 0..60 {
            let quilt_bottom = top + scale.of(quilt[1]) + bottom;
            let loose = loose::lay(shown.strips, scale, quilt_bottom, ROOM[0]);
            if loose.bottom + BAR <= ROOM[1] {
                break;
            }
            scale = scale.times(0.93);
        }
        let size = quilt.map(|side| scale.of(side));
        let loose = loose::lay(shown.strips, scale, top + size[1] + bottom, ROOM[0]);
        let width = match shown.strips.is_empty() {
            true => size[0] + 2.0 * margin,
            false => ROOM[0],
        };
        // Two lines at the corners of a narrow quilt stand side by side.
        let width = width.max(if above + below > 0.0 { 110.0 } else { 60.0 });
        Layout {
            origin: [(width - size[0]) / 2.0, top],
            size: [width, loose.bottom + BAR],
            places,
            scale,
            corners,
            loose,
        }
    }

    /// A patch on the page.
    fn area(&self, patch: Patch) -> Area {
        Area {
            at: [0, 1].map(|axis| self.origin[axis] + self.scale.of(patch.at[axis])),
            size: patch.size.map(|side| self.scale.of(side)),
        }
    }

    /// Blocks and plain cloth; adds the strips to the pieces.
    fn draw_cloth(
        &self,
        canvas: &mut Canvas,
        ground: &mut Ground,
        places: &Places,
        pieces: &mut Pieces<'_>,
    ) {
        let all = |patches: &[Patch]| {
            let areas = patches.iter().map(|patch| self.area(*patch).outline());
            areas.collect::<Vec<_>>()
        };
        canvas.outlines(all(&places.blocks), BARE, Some(Pen::new(FAINT, 0.15)));
        canvas.outlines(
            all(&places.plain),
            Colour(0xe2_e0da),
            Some(Pen::new(FAINT, 0.2)),
        );
        for place in &places.strips {
            let shape = Shape {
                area: self.area(place.patch),
                upright: place.upright,
                mitred: place.mitred,
            };
            ground.take(shape.area, Taken::Strip);
            pieces.add(&place.id, &shape);
        }
        let whole = self.area(Patch {
            at: [Length::ZERO; 2],
            size: places.size,
        });
        let (y, bottom) = (whole.at[1], whole.end()[1]);
        canvas.area(whole, Fill::None, Some(Pen::new(INK, 0.4)));
        // Numbers keep clear of the lines at the corners.
        let [above, below] = corners::heights(&self.corners);
        let lines = [(above, y - 3.0 - above), (below, bottom + 3.0)];
        for (high, top) in lines.into_iter().filter(|(high, _)| *high > 0.0) {
            ground.take(Area::new(0.0, top, self.size[0], high), Taken::Letters);
        }
    }
}

fn caption(plan: &Plan, shown: &Shown<'_>, layout: &Layout, unnumbered: usize) -> String {
    let mut text = String::from(
        "Each run has the number of its hooping; runs of one hooping have one colour and hatching. A thick line across a strip is a \
         joint.",
    );
    match shown.of {
        Some(entry) if entry.count > 1 => text.push_str(&format!(
            " This is {}, the first of {} that are sewn alike; the runs of the others can lie in other hoopings: their rulers tell of them.",
            entry.name(1),
            entry.count
        )),
        Some(entry) => text.push_str(&format!(" This is {}.", entry.name(1))),
        None => {}
    }
    if layout.places.is_some() && !shown.corners.is_empty() {
        text.push_str(
            " A dot is a corner where the pattern meets, a diamond one where it misses itself.",
        );
    }
    if !plan.unplanned.is_empty() {
        text.push_str(" A white strip without a number is left out of this plan.");
    }
    match unnumbered {
        0 => {}
        1 => text.push_str(" One run is too small for its number: its ruler has it."),
        more => text.push_str(&format!(
            " {more} runs are too small for their numbers: their rulers have them."
        )),
    }
    match layout.loose.left_out {
        0 => {}
        more => text.push_str(&format!(
            " {more} more listed strips are not drawn here: their rulers tell of them."
        )),
    }
    text
}

fn alt(plan: &Plan, shown: &Shown<'_>, places: Option<&Places>, ruler: Ruler) -> String {
    if let (Some(entry), Some(places)) = (shown.of, places) {
        let size = places.size.map(|side| side.in_unit(ruler.unit));
        return format!(
            "The quilt top of {}, {}, to scale: {} strips, each run with the number of its hooping.",
            entry.name(1),
            ruler.size(&size),
            places.strips.len()
        );
    }
    let runs: usize = plan.strips.iter().map(|strip| strip.runs.len()).sum();
    let (strips, hoopings) = (plan.strips.len(), plan.hoopings.len());
    let what = match places {
        Some(places) => {
            let size = places.size.map(|side| side.in_unit(ruler.unit));
            format!("The quilt top, {}, to scale", ruler.size(&size))
        }
        None => "The strips side by side, to scale".into(),
    };
    let mut text =
        format!("{what}: {strips} strips in {runs} runs, numbered by {hoopings} hoopings.");
    if !plan.corners.is_empty() {
        text.push(' ');
        text.push_str(&corners_met(plan));
    }
    text
}
