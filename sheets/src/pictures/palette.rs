//! Colours and hatchings that tell hoopings apart, in colour, in grey, and for those who see fewer colours.

use crate::drawing::{Colour, Fill, Hatching, Point, WHITE};

/// Tints that alternate between yellow-brown and blue and get darker step by step, so that each differs from the others in
/// grey too and none is told from another by red against green.
pub(super) const TINTS: [Colour; 6] = [
    Colour(0xfb_f0c0),
    Colour(0xc3_dcf2),
    Colour(0xe3_bd62),
    Colour(0x8f_b0d8),
    Colour(0xb5_8a3c),
    Colour(0x5f_7fb4),
];

/// Lines of the hatchings, in a square of [`Hatching::SIDE`]: none, rising, level, falling, upright.
const HATCHINGS: [&[[Point; 2]]; 5] = [
    &[],
    &[
        [[-1.0, 1.0], [1.0, -1.0]],
        [[0.0, 3.0], [3.0, 0.0]],
        [[2.0, 4.0], [4.0, 2.0]],
    ],
    &[[[0.0, 1.5], [3.0, 1.5]]],
    &[
        [[-1.0, 2.0], [1.0, 4.0]],
        [[0.0, 0.0], [3.0, 3.0]],
        [[2.0, -1.0], [4.0, 1.0]],
    ],
    &[[[1.5, 0.0], [1.5, 3.0]]],
];

/// How many hoopings look different before the looks begin again; the number still tells them apart.
pub(super) const LOOKS: usize = TINTS.len() * HATCHINGS.len();

/// The look of a hooping. The two counts have no common divisor, so that every tint meets every hatching.
pub(super) fn look(hooping: u32) -> usize {
    usize::try_from(hooping.saturating_sub(1)).unwrap_or(0) % LOOKS
}

/// What a shape of that look is filled with.
pub(super) fn fill(look: usize) -> Fill {
    let ground = TINTS[look % TINTS.len()];
    match HATCHINGS[look % HATCHINGS.len()] {
        [] => Fill::Plain(ground),
        lines => Fill::Hatched(Hatching {
            ground,
            ink: Colour(0x3a_3a40),
            lines,
        }),
    }
}

/// What is waste: crossed lines on white.
pub(super) const WASTE: Fill = Fill::Hatched(Hatching {
    ground: WHITE,
    ink: Colour(0xa5_a5aa),
    lines: &[[[0.0, 3.0], [3.0, 0.0]], [[0.0, 0.0], [3.0, 3.0]]],
});

#[cfg(test)]
mod tests {
    use super::*;

    /// Linear parts of red, green and blue (sRGB, IEC 61966-2-1).
    fn linear(colour: Colour) -> [f64; 3] {
        let part = |byte: u8| {
            let value = f64::from(byte) / 255.0;
            if value <= 0.04045 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        colour.parts().map(part)
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
