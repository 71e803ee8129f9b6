//! After the last hooping: squaring up, and sewing the top together from the centre outward.

use sashwright_solver::job::{Step, StepKind};
use sashwright_solver::length::{Length, Measure};
use sashwright_solver::scenario::{
    Border, BorderCorner, Centre, First, Quilt, QuiltEntry, Sashing,
};
use sashwright_solver::strips;

use super::{Told, step};
use crate::words::{cut_alike, ids, parts};

/// The steps.
pub(super) fn steps(told: &Told<'_>) -> Vec<Step> {
    let mut steps = square_up(told);
    if let Some(quilt) = &told.scenario.quilt {
        steps.extend(sew_quilt(told, quilt));
    }
    for entry in &told.scenario.quilts {
        steps.push(step(StepKind::Sew, begin(entry)));
        steps.extend(sew_quilt(told, &entry.quilt));
    }
    if !told.scenario.strips.is_empty() {
        steps.push(step(
            StepKind::Sew,
            "Sew the strips that are listed on their own where your quilt has them.",
        ));
    }
    steps
}

/// From the centre outward.
fn sew_quilt(told: &Told<'_>, quilt: &Quilt) -> Vec<Step> {
    let mut steps = centre(told, &quilt.centre);
    let mut size = quilt.centre.size();
    for (number, border) in (1..).zip(&quilt.borders) {
        steps.push(measure(told, size, number));
        steps.extend(sew_border(told, border, number));
        size = border.around(size);
    }
    steps.push(step(
        StepKind::Press,
        format!(
            "Press the whole top from the back. It should now measure {}.",
            with_seams(told, size)
        ),
    ));
    steps
}

/// Which of several quilts the next steps are for, and how the names in them are to be read.
fn begin(entry: &QuiltEntry) -> String {
    let id = &entry.id;
    match entry.count {
        1 => format!(
            "Now sew {id} together. Its strips have its name in front: {id}-border-1-left where these steps say border-1-left."
        ),
        count => format!(
            "Now sew {id}-1 to {id}-{count} together, each by the steps that follow. Their strips have their names in front: \
             {id}-1-border-1-left where these steps say border-1-left. Keep the strips of each quilt together."
        ),
    }
}

fn square_up(told: &Told<'_>) -> Vec<Step> {
    let begun = parts(told.scenario);
    let seam = told.brief(told.scenario.allowances.seam);
    let strips = &told.plan.strips;
    let groups = cut_alike(told.plan, &|strip| begun.contains(&strip.id));
    let mut steps: Vec<Step> = groups
        .into_iter()
        .filter_map(|group| {
            let strip = strips.get(*group.first()?)?;
            let mut text = format!(
                "Square up {} to {}, the stitching in the middle: {seam} of it all around is seam allowance.",
                ids(strips, &group),
                told.ruler.size(&strip.trimmed)
            );
            if strip.overhang != Measure::whole(0) {
                text.push_str(" The pattern runs past the seam lines at the ends: cut and sew through the stitching there, slowly.");
            }
            Some(Step {
                kind: StepKind::SquareUp,
                text,
                strip: (group.len() == 1).then(|| strip.id.clone()),
            })
        })
        .collect();
    let seam = told.scenario.allowances.seam * 2;
    let begun = told.scenario.begun.iter();
    let whole = strips::whole(told.scenario).strips;
    steps.extend(begun.filter_map(|begun| {
        let strip = whole.iter().find(|strip| strip.id == begun.strip)?;
        let sides = [strip.length, strip.width].map(|side| (side + seam).in_unit(told.plan.unit));
        Some(Step {
            kind: StepKind::SquareUp,
            text: format!(
                "Square up {}, which was begun before, to {}, the stitching in the middle.",
                strip.id,
                told.ruler.size(&sides)
            ),
            strip: Some(strip.id.clone()),
        })
    }));
    steps
}

fn with_seams(told: &Told<'_>, size: [Length; 2]) -> String {
    let seams = told.scenario.allowances.seam * 2;
    format!(
        "{}, seam allowances included",
        told.brief_size(size.map(|side| side + seams))
    )
}

/// How the blocks and the sashes between them are sewn together.
fn centre(told: &Told<'_>, centre: &Centre) -> Vec<Step> {
    let Centre::Blocks {
        columns,
        rows,
        sashing,
        ..
    } = centre
    else {
        return Vec::new();
    };
    let sew = |text: String| step(StepKind::Sew, text);
    let seam = told.brief(told.scenario.allowances.seam);
    let Some(sashing) = sashing else {
        return match columns * rows {
            1 => Vec::new(),
            _ => vec![sew(format!(
                "Sew the blocks together in rows and the rows to each other, with seams of {seam}."
            ))],
        };
    };
    let mut steps = Vec::new();
    if sashing.beside(*columns) > 0 {
        let ends = if sashing.outer {
            " and one at either end"
        } else {
            ""
        };
        steps.push(sew(format!(
            "Sew each row of blocks together with a {} between two blocks{ends}{}, with seams of {seam}.",
            if stitched(sashing) { "sash" } else { "plain sash" },
            numbered(sashing, "sash-v-ROW-COLUMN")
        )));
    }
    if sashing.beside(*rows) > 0 {
        let across = if sashing.cornerstones {
            let ends = if sashing.outer {
                " and at either end"
            } else {
                ""
            };
            if sashing.beside(*columns) > 0 {
                steps.push(sew(format!(
                    "Sew each row of sashes together with a cornerstone between two sashes{ends}{}.",
                    numbered(sashing, "sash-h-ROW-COLUMN")
                )));
            }
            "a row of sashes"
        } else {
            "a long sash"
        };
        let outer = if sashing.outer {
            " and one above and below"
        } else {
            ""
        };
        let names = if sashing.cornerstones {
            String::new()
        } else {
            numbered(sashing, "sash-row-N")
        };
        steps.push(sew(format!(
            "Sew the rows of blocks together with {across} between two rows{outer}{names}. Pin where seams meet."
        )));
    }
    steps.push(press());
    steps
}

fn stitched(sashing: &Sashing) -> bool {
    sashing.design.is_some()
}

/// How the stitched sashes of a kind are named.
fn numbered(sashing: &Sashing, names: &str) -> String {
    match stitched(sashing) {
        true => format!(" ({names}, counted from the top left)"),
        false => String::new(),
    }
}

fn press() -> Step {
    step(
        StepKind::Press,
        "Press the seams away from the stitched strips, from the back; keep the iron off the embroidery.",
    )
}

fn measure(told: &Told<'_>, size: [Length; 2], number: usize) -> Step {
    let what = if number == 1 { "The centre" } else { "The top" };
    step(
        StepKind::SquareUp,
        format!(
            "{what} should now measure {}. Where it does not, ease the border to the length that was planned, or measure it and plan the border anew.",
            with_seams(told, size)
        ),
    )
}

/// How a border is sewn on.
fn sew_border(told: &Told<'_>, border: &Border, number: usize) -> Vec<Step> {
    let seam = told.brief(told.scenario.allowances.seam);
    let pair = |one: &str, other: &str| match border.design {
        Some(_) => format!("border-{number}-{one} and border-{number}-{other}"),
        None => format!("the plain {one} and {other} strips of border {number}"),
    };
    let (sides, ends) = (pair("left", "right"), pair("top", "bottom"));
    let sew = |text: String| step(StepKind::Sew, text);
    let mut steps = match border.corner {
        BorderCorner::Butted(first) => {
            let (one, other) = match first {
                First::Sides => (sides, ends),
                First::Ends => (ends, sides),
            };
            vec![
                sew(format!("Sew on {one} first, with seams of {seam}.")),
                press(),
                sew(format!("Sew on {other}, which run the full way across them.")),
            ]
        }
        BorderCorner::Cornerstone => vec![
            sew(format!("Sew on {sides}, with seams of {seam}.")),
            press(),
            sew(format!(
                "Sew a cornerstone to either end of {ends}, then sew them on; the seams meet at the corners."
            )),
        ],
        BorderCorner::Mitred => vec![
            sew(format!(
                "Sew on {sides}, {ends}: begin and end each seam {seam} from the corner of the top."
            )),
            sew(
                "Fold the top at each corner so that two strips lie on each other, and sew them together at 45 degrees, from the inner \
                 corner outward. See that the pattern meets before you trim the seam."
                    .into(),
            ),
        ],
    };
    steps.push(press());
    steps
}
