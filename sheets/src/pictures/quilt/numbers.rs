//! Numbers of hoopings on runs: within them where they fit, else on free ground beside them.

use crate::pictures::canvas::{Anchor, Area, Canvas, INK, Pen, Point, WHITE};
use crate::pictures::text::width;

/// Height of a number with the white around it.
const HEIGHT: f64 = 3.1;
/// Side of the squares in which free ground is counted.
const CELL: f64 = 0.5;

/// What lies on a square: the later ones keep clear of more.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Debug)]
pub(crate) enum Taken {
    /// Nothing.
    Free,
    /// A strip: a line may cross it.
    Strip,
    /// Letters, or a line to them: nothing may cross them.
    Letters,
}

/// Which ground is taken, square by square.
pub(crate) struct Ground {
    columns: usize,
    rows: usize,
    taken: Vec<Taken>,
}

impl Ground {
    /// All of a page is free.
    pub(crate) fn new(size: Point) -> Ground {
        let [columns, rows] = size.map(|side| (side.max(0.0) / CELL) as usize);
        Ground {
            columns,
            rows,
            taken: vec![Taken::Free; columns * rows],
        }
    }

    /// The squares that an area touches; none where it reaches past the page.
    fn squares(&self, area: Area) -> Option<[std::ops::Range<usize>; 2]> {
        let end = area.end();
        let most = [self.columns, self.rows];
        let range = |axis: usize| {
            let (from, to) = ((area.at[axis] / CELL).floor(), (end[axis] / CELL).ceil());
            (from >= 0.0 && to <= most[axis] as f64).then_some(from as usize..to as usize)
        };
        Some([range(0)?, range(1)?])
    }

    pub(crate) fn take(&mut self, area: Area, by: Taken) {
        let Some([across, down]) = self.squares(area) else {
            return;
        };
        for row in down {
            self.taken[row * self.columns..][across.clone()].fill(by);
        }
    }

    /// Whether nothing lies there but what `allowed` lets lie there.
    fn is_free(&self, area: Area, allowed: Taken) -> bool {
        let Some([across, down]) = self.squares(area) else {
            return false;
        };
        let mut rows = down.map(|row| &self.taken[row * self.columns..][across.clone()]);
        rows.all(|row| row.iter().all(|taken| *taken <= allowed))
    }
}

/// A number that is to stand on a run.
pub(crate) struct Number {
    pub(crate) words: String,
    /// The run, without what a mitre cuts off.
    pub(crate) area: Area,
    pub(crate) upright: bool,
}

/// Writes all numbers and returns how many found no place.
pub(crate) fn write(canvas: &mut Canvas, ground: &mut Ground, numbers: &[Number]) -> usize {
    let mut outside: Vec<&Number> = numbers
        .iter()
        .filter(|number| !number.within(canvas, ground))
        .collect();
    // Those that find a place close by go first: a far one may then not come between a number and its run.
    for away in AWAY {
        outside.retain(|number| !number.beside(canvas, ground, away));
    }
    outside.len()
}

/// How far from its run a number may stand, in millimetres.
const AWAY: [f64; 3] = [1.2, 3.5, 6.0];

impl Number {
    fn long(&self) -> f64 {
        width(&self.words) + 0.8
    }

    /// Writes it in the middle of its run, across the page or upward; false where it does not fit.
    fn within(&self, canvas: &mut Canvas, ground: &mut Ground) -> bool {
        let [x, y] = self.area.centre();
        let lying = Area::new(x - self.long() / 2.0, y - HEIGHT / 2.0, self.long(), HEIGHT);
        let upward = Area::new(x - HEIGHT / 2.0, y - self.long() / 2.0, HEIGHT, self.long());
        for (plate, is_upward) in [(lying, false), (upward, true)] {
            if self.area.holds(plate) {
                ground.take(plate, Taken::Letters);
                canvas.rounded(plate, 0.6, WHITE, None);
                if is_upward {
                    canvas.upward([x, y], Anchor::Middle, &self.words, false);
                } else {
                    canvas.text([x, y], Anchor::Middle, &self.words);
                }
                return true;
            }
        }
        false
    }

    /// Writes it beside its run, with a line to it; false where the ground there is taken.
    fn beside(&self, canvas: &mut Canvas, ground: &mut Ground, away: f64) -> bool {
        let [x, y] = self.area.centre();
        let half = [self.long() / 2.0, HEIGHT / 2.0];
        let axis = usize::from(self.upright);
        for side in [-1.0, 1.0] {
            for along in [0.0, 0.2, -0.2, 0.4, -0.4] {
                let mut centre = [x, y];
                centre[axis] += along * self.area.size[axis];
                let across = self.area.size[1 - axis] / 2.0 + away + half[1 - axis];
                centre[1 - axis] += side * across;
                let label = Area::new(
                    centre[0] - half[0],
                    centre[1] - half[1],
                    2.0 * half[0],
                    2.0 * half[1],
                );
                let mut from = [x, y];
                from[axis] = centre[axis];
                let mut to = centre;
                to[1 - axis] -= side * half[1 - axis];
                let line = Area {
                    at: [from[0].min(to[0]), from[1].min(to[1])],
                    size: [(from[0] - to[0]).abs(), (from[1] - to[1]).abs()],
                };
                if ground.is_free(label, Taken::Free) && ground.is_free(line, Taken::Strip) {
                    ground.take(label.grown(0.3), Taken::Letters);
                    ground.take(line, Taken::Letters);
                    canvas.circle(from, 0.35, INK, None);
                    canvas.line(from, to, Pen::new(INK, 0.2));
                    canvas.text(centre, Anchor::Middle, &self.words);
                    return true;
                }
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taken_ground_is_not_free_and_nothing_is_free_past_the_page() {
        let mut ground = Ground::new([10.0, 10.0]);
        ground.take(Area::new(2.0, 2.0, 3.0, 3.0), Taken::Strip);
        assert!(ground.is_free(Area::new(4.0, 4.0, 2.0, 2.0), Taken::Strip));
        assert!(!ground.is_free(Area::new(4.0, 4.0, 2.0, 2.0), Taken::Free));
        assert!(ground.is_free(Area::new(5.0, 2.0, 2.0, 2.0), Taken::Free));
        assert!(!ground.is_free(Area::new(8.0, 8.0, 3.0, 1.0), Taken::Free));
        assert!(!ground.is_free(Area::new(-0.1, 8.0, 1.0, 1.0), Taken::Free));
    }
}
