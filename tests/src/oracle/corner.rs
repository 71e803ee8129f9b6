//! How far the pattern misses itself where two strips meet.

use sashwright_solver::exact::{gcd, round_half_up};
use sashwright_solver::scenario::{Align, DoneEnd};
use sashwright_solver::strips::End;

use super::covering::Covering;

/// The pattern at one end of a strip, in exact fractions.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct EndPattern {
    /// φ/P: which part of a repeat hangs over.
    phase: (i128, i128),
    /// P: the scaled repeat of the end's segment.
    repeat: (i128, i128),
}

fn lowest((upper, lower): (i128, i128)) -> (i128, i128) {
    let divisor = gcd(upper, lower);
    (upper / divisor, lower / divisor)
}

/// The pattern at an end that is stitched already.
pub fn done_pattern(end: DoneEnd) -> EndPattern {
    let repeat = i128::from(end.repeat.nanometres());
    EndPattern {
        phase: lowest((i128::from(end.past.nanometres()) % repeat, repeat)),
        repeat: (repeat, 1),
    }
}

/// The pattern at the outer end of what is left of a begun strip, whose segments are listed outward: all overhang is there.
pub fn outer_pattern(covering: &Covering<'_>) -> Option<EndPattern> {
    end_pattern(covering, End::End, Align::Start)
}

/// The pattern at an end of a covered strip.
pub fn end_pattern(covering: &Covering<'_>, end: End, align: Align) -> Option<EndPattern> {
    let segment = match end {
        End::Start => covering.segments.first()?,
        End::End => covering.segments.last()?,
    };
    // Twice the overhang at this end, as half an overhang may be half a nanometre.
    let doubled = match (align, end) {
        (Align::Centred, _) => covering.overhang(),
        (Align::Start, End::Start) => 0,
        (Align::Start, End::End) => 2 * covering.overhang(),
    };
    // Only an unscaled strip hangs over, and there P is the size's repeat.
    let turn = 2 * i128::from(segment.size.repeat.nanometres());
    Some(EndPattern {
        phase: lowest((doubled % turn, turn)),
        repeat: lowest(covering.scaled_repeat(segment.size)),
    })
}

/// min(f, 1 − f) × (P₁ + P₂)/2 with f = |φ₁/P₁ − φ₂/P₂|, to the nearest nanometre, ties up.
pub fn mismatch(one: EndPattern, other: EndPattern) -> i128 {
    let ((a, b), (c, d)) = (one.phase, other.phase);
    let whole = b * d;
    let apart = (a * d - c * b).abs();
    let nearest = apart.min(whole - apart);
    let ((p, q), (r, s)) = (one.repeat, other.repeat);
    // A stretched end has phase 0, so never are both fractions and both phases long: below 10^30.
    round_half_up(nearest * (p * s + r * q), 2 * whole * q * s)
}
