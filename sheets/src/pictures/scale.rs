//! From lengths on the table to millimetres on the page, and the bar that says how.

use sashwright_solver::length::{Length, Measure, Unit};

use super::canvas::{Anchor, Canvas, INK, Pen, Point};
use super::text::{self, LINE};
use crate::measure::Ruler;

/// Millimetres on the page for a nanometre on the table.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Scale(f64);

impl Scale {
    /// The largest at which `width` × `height` fit into `room`, at most life-size.
    pub(super) fn fitting(width: Length, height: Length, room: Point) -> Scale {
        let [width, height] = [width, height].map(|side| side.nanometres().max(1) as f64);
        Scale((room[0] / width).min(room[1] / height).min(1e-6))
    }

    /// The smaller of two.
    pub(super) fn at_most(self, other: Scale) -> Scale {
        Scale(self.0.min(other.0))
    }

    pub(super) fn times(self, factor: f64) -> Scale {
        Scale(self.0 * factor)
    }

    pub(super) fn of(self, length: Length) -> f64 {
        length.nanometres() as f64 * self.0
    }

    /// The same for a length as a document prints it.
    pub(super) fn measure(self, measure: &Measure, unit: Unit) -> f64 {
        self.of(length(measure, unit))
    }
}

/// The length that a document prints; none at all where it is beyond reason.
pub(super) fn length(measure: &Measure, unit: Unit) -> Length {
    measure.length(unit).unwrap_or_default()
}

/// Height that a scale bar takes up.
pub(super) const BAR: f64 = 8.0;

/// How long a bar can be together with its length in words.
pub(super) const LONGEST_BAR: f64 = 60.0;

/// Draws a bar of a round length, and that length behind it; at most `LONGEST_BAR` long.
pub(super) fn bar(canvas: &mut Canvas, at: Point, scale: Scale, unit: Unit) {
    let Some(round) = round_length(scale, unit) else {
        return;
    };
    let [x, y] = at;
    let end = x + scale.of(round);
    let pen = Pen::new(INK, 0.3);
    canvas.line([x, y], [end, y], Pen::new(INK, 0.6));
    for x in [x, end] {
        canvas.line([x, y - 1.2], [x, y + 1.2], pen);
    }
    let words = Ruler { unit }.length(&round.in_unit(unit));
    canvas.text([end + 2.0, y], Anchor::Start, &words);
}

/// The longest round length that is at most 40 mm on the page.
fn round_length(scale: Scale, unit: Unit) -> Option<Length> {
    let each = unit.nanometres();
    let steps: &[i64] = match unit {
        Unit::Inch => &[1, 2, 4, 6, 12, 24, 36, 72, 144, 360, 720, 1440, 3600],
        Unit::Millimetre => &[
            10, 20, 50, 100, 200, 500, 1_000, 2_000, 5_000, 10_000, 20_000, 50_000, 100_000,
        ],
    };
    let lengths = steps
        .iter()
        .map(|step| Length::from_nanometres(step * each));
    lengths
        .take_while(|length| scale.of(*length) <= 40.0)
        .last()
}

/// The room that a column of upright labels takes up, each as wide as a line is high.
pub(super) fn label_height(labels: &[String]) -> f64 {
    labels
        .iter()
        .map(|label| text::width(label))
        .fold(0.0, f64::max)
}

/// Moves places apart so that each has `LINE` to itself, as little as can be done in one sweep each way, within `from` and `to`;
/// none where they do not fit.
pub(super) fn apart(places: &[f64], from: f64, to: f64) -> Option<Vec<f64>> {
    let needed = places.len().saturating_sub(1) as f64 * LINE;
    if needed > to - from {
        return None;
    }
    let mut moved = Vec::with_capacity(places.len());
    let mut free = from;
    for place in places {
        let at = place.max(free);
        moved.push(at);
        free = at + LINE;
    }
    let mut free = to;
    for place in moved.iter_mut().rev() {
        *place = place.min(free);
        free = *place - LINE;
    }
    Some(moved)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_moved_apart_and_stay_within() {
        let moved = apart(&[0.0, 1.0, 50.0, 50.5], 0.0, 50.5).expect("room for four");
        assert_eq!(moved[0], 0.0);
        for pair in moved.windows(2) {
            assert!(pair[1] - pair[0] >= LINE - 1e-9, "{moved:?}");
        }
        assert_eq!(moved[3], 50.5);
        assert_eq!(apart(&[0.0, 1.0, 2.0], 0.0, 5.0), None);
    }

    #[test]
    fn bars_are_round_and_short() {
        let metre = Length::from_nanometres(1_000_000_000);
        let scale = Scale::fitting(metre, metre, [180.0, 180.0]);
        let bar = round_length(scale, Unit::Millimetre).expect("a bar");
        assert_eq!(bar, Length::from_nanometres(200_000_000));
        let tiny = Length::from_nanometres(1);
        assert_eq!(Scale::fitting(tiny, tiny, [100.0, 100.0]).of(metre), 1000.0);
    }
}
