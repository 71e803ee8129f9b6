//! Where in its repeat the pattern stands at a strip's end, and how far two of them miss each other at a corner.

use crate::exact::{Exact, gcd, round_half_up};
use crate::length::Length;

/// The pattern at one end of a strip.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Phase {
    /// 2φ in nanometres: the overhang there, doubled, modulo twice the repeat. 0 wherever the pattern is scaled.
    offset_doubled: i128,
    /// P in nanometres, as a fraction in lowest terms.
    period: (i128, i128),
}

impl Phase {
    /// The pattern is stretched to end exactly at the seam line: φ = 0, P = repeat · length / sum.
    pub fn scaled(repeat: Length, length: Length, sum: Length) -> Phase {
        let upper = i128::from(repeat.nanometres()) * i128::from(length.nanometres());
        let lower = i128::from(sum.nanometres());
        let divisor = gcd(upper, lower);
        Phase {
            offset_doubled: 0,
            period: (upper / divisor, lower / divisor),
        }
    }

    /// The pattern runs unscaled past the seam line; `overhang_doubled` is twice the overhang at this end.
    pub fn unscaled(repeat: Length, overhang_doubled: Length) -> Phase {
        let repeat = i128::from(repeat.nanometres());
        Phase {
            offset_doubled: i128::from(overhang_doubled.nanometres()) % (2 * repeat),
            period: (repeat, 1),
        }
    }

    /// Whether a repeat ends exactly at the seam line.
    pub fn ends_at_seam(&self) -> bool {
        self.offset_doubled == 0
    }

    /// How far the pattern at this end misses that at `other`: min(f, 1 − f) · (P₁ + P₂)/2 with
    /// f = |φ₁/P₁ − φ₂/P₂|, to the nearest nanometre.
    pub fn mismatch(&self, other: &Phase) -> Length {
        if self.offset_doubled == 0 && other.offset_doubled == 0 {
            return Length::ZERO;
        }
        // A phase that is not 0 belongs to an unscaled strip, whose period is whole. So at most one period here has a
        // lower part, and that one comes with φ = 0: all products stay below 10^35.
        let fraction = |phase: &Phase| {
            let (upper, lower) = phase.period;
            if phase.offset_doubled == 0 {
                (0, 1)
            } else {
                (phase.offset_doubled * lower, 2 * upper)
            }
        };
        let ((a, b), (c, d)) = (fraction(self), fraction(other));
        let (upper, lower) = ((a * d - c * b).abs(), b * d);
        let nearest = upper.min(lower - upper);
        let divisor = gcd(nearest, lower);
        let (nearest, lower) = (nearest / divisor, lower / divisor);
        let ((p1, q1), (p2, q2)) = (self.period, other.period);
        let (sum, sum_lower) = (p1 * q2 + p2 * q1, 2 * q1 * q2);
        let divisor = gcd(sum, lower);
        let (sum, lower) = (sum / divisor, lower / divisor);
        let nanometres = round_half_up(nearest * sum, lower * sum_lower);
        Length::from_nanometres(i64::try_from(nanometres).unwrap_or(i64::MAX))
    }
}

/// lo·Σ ≤ L ≤ hi·Σ, without division.
pub(crate) fn within(least: Exact, most: Exact, sum: Length, length: Length) -> bool {
    let (sum, length) = (
        i128::from(sum.nanometres()),
        i128::from(length.nanometres()),
    );
    least.numerator() * sum <= length * least.denominator()
        && length * most.denominator() <= most.numerator() * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nm(nanometres: i64) -> Length {
        Length::from_nanometres(nanometres)
    }

    #[test]
    fn patterns_that_end_at_the_seam_always_meet() {
        let one = Phase::scaled(nm(35), nm(700), nm(690));
        let other = Phase::scaled(nm(40), nm(500), nm(520));
        assert_eq!(one.mismatch(&other), Length::ZERO);
    }

    /// By hand: φ = 10 of 40 against 0 of 40 misses by a quarter of 40; 30 of 40 misses the other way round.
    #[test]
    fn the_shorter_way_round_counts() {
        let zero = Phase::unscaled(nm(40), nm(0));
        assert_eq!(Phase::unscaled(nm(40), nm(20)).mismatch(&zero), nm(10));
        assert_eq!(Phase::unscaled(nm(40), nm(60)).mismatch(&zero), nm(10));
        assert_eq!(Phase::unscaled(nm(40), nm(80)).mismatch(&zero), nm(0));
        // φ = 10 of 40 is a quarter, 10 of 20 a half: a quarter of the mean period 30 is 7.5, rounded up.
        assert_eq!(
            Phase::unscaled(nm(40), nm(20)).mismatch(&Phase::unscaled(nm(20), nm(20))),
            nm(8)
        );
    }

    #[test]
    fn the_largest_lengths_do_not_overflow() {
        let long = Phase::unscaled(nm(99_999_999_977), nm(12_345_678_901));
        let scaled = Phase::scaled(nm(99_999_999_943), nm(99_999_999_947), nm(99_999_999_961));
        assert!(long.mismatch(&scaled) > Length::ZERO);
        let other = Phase::unscaled(nm(99_999_999_943), nm(98_765_432_101));
        assert!(long.mismatch(&other) > Length::ZERO);
    }
}
