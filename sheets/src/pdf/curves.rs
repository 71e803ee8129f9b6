//! Rectangles with rounded corners, and circles.

use krilla::geom::{Path, PathBuilder};

/// How far the handles of a cubic curve lie from its ends to draw a quarter of a circle of radius 1: 4/3 (√2 − 1), which is off by less
/// than 3 in 10 000.
const HANDLE: f32 = 0.552_284_8;

/// A rectangle with rounded corners; a circle where the radius is half its sides.
pub(super) fn rounded([x, y]: [f32; 2], [width, height]: [f32; 2], radius: f32) -> Option<Path> {
    let radius = radius.min(width / 2.0).min(height / 2.0);
    let ([right, bottom], rest) = ([x + width, y + height], radius * (1.0 - HANDLE));
    let mut path = PathBuilder::new();
    path.move_to(x + radius, y);
    path.line_to(right - radius, y);
    path.cubic_to(right - rest, y, right, y + rest, right, y + radius);
    path.line_to(right, bottom - radius);
    path.cubic_to(
        right,
        bottom - rest,
        right - rest,
        bottom,
        right - radius,
        bottom,
    );
    path.line_to(x + radius, bottom);
    path.cubic_to(x + rest, bottom, x, bottom - rest, x, bottom - radius);
    path.line_to(x, y + radius);
    path.cubic_to(x, y + rest, x + rest, y, x + radius, y);
    path.close();
    path.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A point on the cubic curve of these four (De Casteljau), halfway.
    fn halfway(points: [f32; 4]) -> f32 {
        let [a, b, c, d] = points;
        (a + 3.0 * b + 3.0 * c + d) / 8.0
    }

    #[test]
    fn a_quarter_is_a_circle() {
        let [x, y] = [
            halfway([1.0, 1.0, HANDLE, 0.0]),
            halfway([0.0, HANDLE, 1.0, 1.0]),
        ];
        assert!((x.hypot(y) - 1.0).abs() < 3e-4);
        assert!(rounded([0.0; 2], [2.0; 2], 1.0).is_some());
        assert!(rounded([0.0; 2], [f32::NAN; 2], 1.0).is_none());
    }
}
