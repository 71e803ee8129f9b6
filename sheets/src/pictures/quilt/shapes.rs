//! The shape of a stretch of a strip, in millimetres on the page.

use sashwright_solver::scenario::Side;

use crate::pictures::canvas::{Area, Point};

/// A strip on the page.
#[derive(Clone, Debug)]
pub(crate) struct Shape {
    pub(crate) area: Area,
    pub(crate) upright: bool,
    pub(crate) mitred: Option<Side>,
}

impl Shape {
    /// The axis along the strip: 0 to the right, 1 down.
    pub(crate) fn axis(&self) -> usize {
        usize::from(self.upright)
    }

    /// Its length on the page.
    pub(crate) fn length(&self) -> f64 {
        self.area.size[self.axis()]
    }

    /// Its width on the page.
    pub(crate) fn width(&self) -> f64 {
        self.area.size[1 - self.axis()]
    }

    /// The stretch between two parts of its length, 0 and 1 being its ends, as if no corner were cut off.
    pub(crate) fn stretch(&self, from: f64, to: f64) -> Area {
        let axis = self.axis();
        let mut area = self.area;
        area.at[axis] += from * self.length();
        area.size[axis] = (to - from) * self.length();
        area
    }

    /// The outline of that stretch, mitred corners cut off.
    pub(crate) fn outline(&self, from: f64, to: f64) -> Vec<Point> {
        let area = self.stretch(from, to);
        let ([x, y], [right, bottom]) = (area.at, area.end());
        let corners = vec![[x, y], [right, y], [right, bottom], [x, bottom]];
        let Some(side) = self.mitred else {
            return corners;
        };
        // A point lies within where it is at least as far from either end as it is from the long edge.
        let axis = self.axis();
        let (start, end) = (self.area.at, self.area.end());
        let depth = move |point: Point| match side {
            Side::Left | Side::Top => point[1 - axis] - start[1 - axis],
            Side::Right | Side::Bottom => end[1 - axis] - point[1 - axis],
        };
        let from_start = move |point: Point| point[axis] - start[axis] - depth(point);
        let from_end = move |point: Point| end[axis] - point[axis] - depth(point);
        clipped(&clipped(&corners, &from_start), &from_end)
    }

    /// The line across the strip at that part of its length, from edge to edge within the mitre, reaching so much further.
    pub(crate) fn across(&self, part: f64, further: f64) -> [Point; 2] {
        let axis = self.axis();
        let thin = self.outline(part, part);
        let ends = thin.iter().map(|point| point[1 - axis]);
        let low = ends.clone().fold(f64::INFINITY, f64::min) - further;
        let high = ends.fold(f64::NEG_INFINITY, f64::max) + further;
        let along = self.area.at[axis] + part * self.length();
        [low, high].map(|across| match axis {
            0 => [along, across],
            _ => [across, along],
        })
    }
}

/// The part of a convex outline where `inside` is not negative (Sutherland and Hodgman, "Reentrant polygon clipping", 1974).
fn clipped(points: &[Point], inside: &dyn Fn(Point) -> f64) -> Vec<Point> {
    let mut kept = Vec::new();
    for (index, point) in points.iter().enumerate() {
        let before = points[(index + points.len() - 1) % points.len()];
        let (here, there) = (inside(*point), inside(before));
        if (here < 0.0) != (there < 0.0) {
            let part = there / (there - here);
            kept.push([0, 1].map(|axis| before[axis] + part * (point[axis] - before[axis])));
        }
        if here >= 0.0 {
            kept.push(*point);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A top border 10 long and 2 wide: its inner edge runs from 2 to 8.
    #[test]
    fn mitred_ends_are_cut_off_at_45_degrees() {
        let shape = Shape {
            area: Area::new(0.0, 0.0, 10.0, 2.0),
            upright: false,
            mitred: Some(Side::Top),
        };
        let outline = shape.outline(0.0, 1.0);
        for corner in [[0.0, 0.0], [10.0, 0.0], [8.0, 2.0], [2.0, 2.0]] {
            assert!(outline.contains(&corner), "{outline:?}");
        }
        assert_eq!(shape.across(0.1, 0.0), [[1.0, 0.0], [1.0, 1.0]]);
        assert_eq!(shape.across(0.5, 1.0), [[5.0, -1.0], [5.0, 3.0]]);
    }
}
