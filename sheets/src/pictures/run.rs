//! Runs in a hooping: stitching, cloth around it, ends, direction and name.

use super::canvas::{Anchor, Area, Canvas, FAINT, Fill, INK, Pen, Point, WHITE};
use super::hooping::HELP;
use super::scale::apart;
use super::text::{shortened, width};

/// A run as it is drawn, in millimetres on the page.
pub(super) struct Run {
    /// Its short name in this picture.
    pub(super) key: String,
    pub(super) lane: u32,
    /// Its strip and number, where they are the same wherever this picture stands.
    pub(super) named: Option<String>,
    /// Its length in words.
    pub(super) length: String,
    /// The stitching.
    pub(super) area: Area,
    /// How far cloth reaches past it.
    pub(super) reach: f64,
    /// What the files ask for beyond it at each end and at each side.
    pub(super) margins: [f64; 2],
    /// Whether the ends to the left and to the right are open.
    pub(super) open: [bool; 2],
    /// Whether the strip points to the left.
    pub(super) leftward: bool,
}

/// Height that a label within a run needs.
pub(super) const LABEL: f64 = 3.6;

/// Draws them all: cloth first, so that no cloth covers stitching. `outer` holds the frame and all cloth that ends.
pub(super) fn draw_all(canvas: &mut Canvas, outer: Area, runs: &[Run]) {
    for run in runs {
        run.cloth(canvas, outer);
    }
    for run in runs {
        run.stitching(canvas);
    }
    let outside: Vec<&Run> = runs.iter().filter(|run| !run.name(canvas)).collect();
    name_beside(canvas, outer, &outside);
}

impl Run {
    /// The edge of the cloth, which goes on out of the hoop at an open end.
    fn cloth(&self, canvas: &mut Canvas, outer: Area) {
        let cloth = self.area.grown(self.reach);
        let [left, right] = [cloth.at[0], cloth.end()[0]];
        let beyond = [outer.at[0] - 1.0, outer.end()[0] + 1.0];
        let left = if self.open[0] { beyond[0] } else { left };
        let right = if self.open[1] { beyond[1] } else { right };
        let (top, bottom) = (cloth.at[1], cloth.end()[1]);
        let pen = Pen::new(INK, 0.25).dashed(&[1.6, 1.0]);
        for y in [top, bottom] {
            canvas.line([left, y], [right, y], pen);
        }
        for (open, x) in self.open.into_iter().zip([left, right]) {
            if !open {
                canvas.line([x, top], [x, bottom], pen);
            }
        }
    }

    /// The stitching, the room that its files ask for, its ends, and an arrow.
    fn stitching(&self, canvas: &mut Canvas) {
        let ([left, top], [right, bottom]) = (self.area.at, self.area.end());
        canvas.area(self.area, WHITE, None);
        let [m, a] = self.margins;
        if m > 0.0 || a > 0.0 {
            let asked = Area::new(
                left - m,
                top - a,
                right - left + 2.0 * m,
                bottom - top + 2.0 * a,
            );
            canvas.area(
                asked,
                Fill::None,
                Some(Pen::new(FAINT, 0.2).dashed(&[0.3, 0.7])),
            );
        }
        for y in [top, bottom] {
            canvas.line([left, y], [right, y], Pen::new(INK, 0.3));
        }
        for (open, x, out) in [(self.open[0], left, -1.0), (self.open[1], right, 1.0)] {
            if open {
                zigzag(canvas, x, top, bottom, out);
            } else {
                canvas.line([x, top], [x, bottom], Pen::new(INK, 1.0));
            }
        }
        self.arrow(canvas);
    }

    /// Where the arrow lies: below the name where there is room for both.
    fn arrow_height(&self) -> f64 {
        let middle = self.area.centre()[1];
        if self.area.size[1] >= 9.0 {
            middle + 2.4
        } else {
            middle
        }
    }

    fn arrow(&self, canvas: &mut Canvas) {
        let y = self.arrow_height();
        let (left, right) = (self.area.at[0] + 2.5, self.area.end()[0] - 2.5);
        if right - left < 3.0 {
            return;
        }
        let (tail, head, back) = match self.leftward {
            false => (left, right, -2.4),
            true => (right, left, 2.4),
        };
        canvas.line([tail, y], [head + back / 2.0, y], Pen::new(INK, 0.35));
        canvas.polygon(
            &[[head, y], [head + back, y - 0.9], [head + back, y + 0.9]],
            INK,
            None,
        );
    }

    /// Writes its key, and as much of its name as fits; false where not even the key does.
    fn name(&self, canvas: &mut Canvas) -> bool {
        let [x, middle] = self.area.centre();
        // Beside an arrow on the same height its ends stay visible.
        let above = self.arrow_height() > middle;
        let room = self.area.size[0] - if above { 2.0 } else { 9.0 };
        let key = width(&self.key) * 1.15;
        if self.area.size[1] < LABEL || room < key {
            return false;
        }
        let rest = room - key - 2.5;
        let name = self.named.as_deref().unwrap_or_default();
        let full = format!("{name}: {}", self.length);
        let words = match self.named {
            Some(_) if width(&full) <= rest => Some(full),
            Some(_) => shortened(name, rest),
            None => Some(self.length.clone()).filter(|words| width(words) <= rest),
        };
        let words = words.unwrap_or_default();
        let gap = if words.is_empty() { 0.0 } else { 1.5 };
        let long = key + gap + width(&words);
        let y = if above { middle - 2.0 } else { middle };
        let plate = Area::new(x - long / 2.0 - 0.8, y - 1.7, long + 1.6, 3.4);
        canvas.area(plate, WHITE, None);
        canvas.bold([plate.at[0] + 0.8, y], Anchor::Start, &self.key);
        if !words.is_empty() {
            canvas.text([plate.at[0] + 0.8 + key + gap, y], Anchor::Start, &words);
        }
        true
    }
}

/// An edge that stays open: a line that breaks, with a small arrow out of the run.
fn zigzag(canvas: &mut Canvas, x: f64, top: f64, bottom: f64, out: f64) {
    let middle = (top + bottom) / 2.0;
    let tooth = ((bottom - top) / 6.0).min(1.2);
    let points: [Point; 6] = [
        [x, top - 1.0],
        [x, middle - 2.0 * tooth],
        [x + out * tooth, middle - tooth],
        [x - out * tooth, middle + tooth],
        [x, middle + 2.0 * tooth],
        [x, bottom + 1.0],
    ];
    canvas.bent(&points, Pen::new(INK, 0.4));
}

/// Names runs that are too small for letters: at the right side, lane by lane.
fn name_beside(canvas: &mut Canvas, outer: Area, runs: &[&Run]) {
    let lanes: Vec<&[&Run]> = runs.chunk_by(|one, next| one.lane == next.lane).collect();
    let heights: Vec<f64> = lanes.iter().map(|lane| lane[0].area.centre()[1]).collect();
    let Some(moved) = apart(&heights, outer.at[1] + 2.0, outer.end()[1] - 2.0) else {
        return;
    };
    let right = outer.end()[0];
    for ((lane, from), to) in lanes.iter().zip(heights).zip(moved) {
        let keys: Vec<&str> = lane.iter().map(|run| run.key.as_str()).collect();
        let words = match keys.as_slice() {
            [first, _, .., last] => format!("{first}–{last}"),
            few => few.join(", "),
        };
        let end = lane.iter().map(|run| run.area.end()[0]).fold(0.0, f64::max);
        let label = width(&words) + 1.6;
        canvas.bent(
            &[
                [end, from],
                [right - label - 3.0, from],
                [right - label - 1.0, to],
            ],
            HELP,
        );
        canvas.area(
            Area::new(right - label - 0.5, to - 2.0, label, 4.0),
            WHITE,
            None,
        );
        canvas.bold([right - 1.3, to], Anchor::End, &words);
    }
}
