//! Colours and hatchings that tell hoopings apart, in colour, in grey, and for those who see fewer colours.

use svg::Node;
use svg::node::element::{Element, Path, Pattern, Rectangle};

use super::canvas::Canvas;

/// Tints that alternate between yellow-brown and blue and get darker step by step, so that each differs from the others in
/// grey too and none is told from another by red against green.
pub(super) const TINTS: [&str; 6] = [
    "#fbf0c0", "#c3dcf2", "#e3bd62", "#8fb0d8", "#b58a3c", "#5f7fb4",
];

/// Lines of the hatchings, in a square of 3 mm.
const HATCHINGS: [&str; 5] = [
    "",
    "M-1 1L1 -1M0 3L3 0M2 4L4 2",
    "M0 1.5H3",
    "M-1 2L1 4M0 0L3 3M2 -1L4 1",
    "M1.5 0V3",
];

/// How many hoopings look different before the looks begin again; the number still tells them apart.
pub(super) const LOOKS: usize = TINTS.len() * HATCHINGS.len();

/// The look of a hooping. The two counts have no common divisor, so that every tint meets every hatching.
pub(super) fn look(hooping: u32) -> usize {
    usize::try_from(hooping.saturating_sub(1)).unwrap_or(0) % LOOKS
}

/// What a shape of that look is filled with; defines it where it is not yet.
pub(super) struct Fills {
    known: [bool; LOOKS],
}

impl Fills {
    pub(super) fn new() -> Fills {
        Fills {
            known: [false; LOOKS],
        }
    }

    pub(super) fn of(&mut self, canvas: &mut Canvas, look: usize) -> String {
        let tint = TINTS[look % TINTS.len()];
        let lines = HATCHINGS[look % HATCHINGS.len()];
        if lines.is_empty() {
            return tint.to_string();
        }
        let id = canvas.id(&format!("look-{look}"));
        if !self.known[look] {
            self.known[look] = true;
            canvas.define(hatching(&id, tint, lines, "#3a3a40"));
        }
        format!("url(#{id})")
    }
}

/// What is waste: crossed lines on white.
pub(super) fn waste(canvas: &mut Canvas) -> String {
    let id = canvas.id("waste");
    canvas.define(hatching(&id, "#ffffff", "M0 3L3 0M0 0L3 3", "#a5a5aa"));
    format!("url(#{id})")
}

fn hatching(id: &str, ground: &str, lines: &str, colour: &str) -> Element {
    let mut pattern = Pattern::new()
        .set("id", id)
        .set("width", 3)
        .set("height", 3)
        .set("patternUnits", "userSpaceOnUse");
    pattern.append(
        Rectangle::new()
            .set("width", 3)
            .set("height", 3)
            .set("fill", ground),
    );
    pattern.append(
        Path::new()
            .set("d", lines)
            .set("fill", "none")
            .set("stroke", colour)
            .set("stroke-width", "0.25"),
    );
    pattern.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Linear parts of red, green and blue (sRGB, IEC 61966-2-1).
    fn linear(colour: &str) -> [f64; 3] {
        let part = |at: usize| {
            let byte = u8::from_str_radix(&colour[at..at + 2], 16).expect("two digits");
            let value = f64::from(byte) / 255.0;
            if value <= 0.04045 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        [1, 3, 5].map(part)
    }

    fn times(matrix: [[f64; 3]; 3], of: [f64; 3]) -> [f64; 3] {
        matrix.map(|row| row.iter().zip(of).map(|(a, b)| a * b).sum::<f64>())
    }

    /// CIE L*a*b* under D65 (ISO/CIE 11664-4).
    fn lab(linear: [f64; 3]) -> [f64; 3] {
        let xyz = times(
            [
                [0.4124, 0.3576, 0.1805],
                [0.2126, 0.7152, 0.0722],
                [0.0193, 0.1192, 0.9505],
            ],
            linear,
        );
        let root = |value: f64| {
            if value > 0.008_856 {
                value.cbrt()
            } else {
                value.mul_add(7.787, 16.0 / 116.0)
            }
        };
        let [x, y, z] = [root(xyz[0] / 0.9505), root(xyz[1]), root(xyz[2] / 1.089)];
        [y.mul_add(116.0, -16.0), 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn distance(one: [f64; 3], other: [f64; 3]) -> f64 {
        let squares = one.iter().zip(other).map(|(a, b)| (a - b) * (a - b));
        squares.sum::<f64>().sqrt()
    }

    /// Each tint is at least 7 steps of lightness from every other: several times what the eye tells apart side by side.
    #[test]
    fn tints_differ_in_grey() {
        let mut greys = TINTS.map(|tint| lab(linear(tint))[0]);
        greys.sort_by(f64::total_cmp);
        for pair in greys.windows(2) {
            assert!(pair[1] - pair[0] >= 7.0, "{greys:?}");
        }
    }

    /// Simulated for protanopia, deuteranopia and tritanopia with the matrices of Machado, Oliveira and Fernandes (2009, "A
    /// physiologically-based model for simulation of color vision deficiency", severity 1.0; values from memory): any two tints
    /// differ by 10 at least.
    #[test]
    fn tints_differ_for_those_who_see_fewer_colours() {
        let matrices = [
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ],
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ],
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ],
        ];
        for matrix in matrices {
            let seen = TINTS.map(|tint| {
                let seen = times(matrix, linear(tint));
                lab(seen.map(|part| part.clamp(0.0, 1.0)))
            });
            for (index, one) in seen.iter().enumerate() {
                for other in &seen[index + 1..] {
                    assert!(distance(*one, *other) >= 10.0, "{seen:?}");
                }
            }
        }
    }

    #[test]
    fn thirty_hoopings_look_different() {
        let looks: std::collections::BTreeSet<(usize, usize)> = (1..=30)
            .map(look)
            .map(|look| (look % TINTS.len(), look % HATCHINGS.len()))
            .collect();
        assert_eq!((looks.len(), look(31)), (30, 0));
    }
}
