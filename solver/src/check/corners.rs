//! Corners: how far the pattern misses itself where two strips of a border meet.

use std::collections::HashMap;
use std::fmt;

use super::covering::{Covering, Fit};
use super::geometry::{AtCorner, Corner, Geometry};
use super::place::Place;
use super::report::{Report, quoted};
use super::roll::Roll;
use crate::exact::{Exact, round_half_up};
use crate::length::Length;
use crate::plan::Plan;
use crate::scenario::{Align, DoneEnd};
use crate::strips::End;

/// Checks the list of corners and returns the sum of their mismatches; `None` where one cannot be worked out.
pub(super) fn check(
    align: Align,
    geometry: &Geometry,
    roll: &Roll<'_>,
    coverings: &[Option<Covering<'_>>],
    plan: &Plan,
    report: &mut Report,
) -> Option<Length> {
    // A corner counts unless a strip of it is left out.
    let counted = geometry.corners.iter().filter(|corner| {
        let mut strips = corner.ends.iter().filter_map(AtCorner::strip);
        strips.all(|strip| roll.entries[strip].is_some())
    });
    let mut open: HashMap<(Option<&str>, usize, &str), (&Corner, bool)> = counted
        .map(|corner| (key(corner), (corner, false)))
        .collect();
    let mut sum = Some(Length::ZERO);
    for (corner, _) in open.values() {
        let exact = mismatch_of(align, corner, roll, coverings);
        sum = sum.zip(exact).map(|(sum, exact)| sum + exact);
    }
    let corners = Place::of("corners");
    for (index, entry) in plan.corners.iter().enumerate() {
        let place = corners.at(index);
        let name = quoted(&entry.corner);
        let border = usize::try_from(entry.border).unwrap_or(usize::MAX);
        let quilt = OfQuilt(entry.quilt.as_deref());
        let Some((corner, listed)) = open.get_mut(&(quilt.0, border, entry.corner.as_str())) else {
            report.broken(
                place,
                "unknown-corner",
                format_args!(
                    "Border {}{quilt} has no corner {name} that counts.",
                    entry.border
                ),
            );
            continue;
        };
        if *listed {
            report.broken(
                place,
                "corner-listed-twice",
                format_args!("The corner {name} of border {border}{quilt} is listed before."),
            );
            continue;
        }
        *listed = true;
        let [upright, lying] = corner.ends.each_ref().map(|end| match end {
            AtCorner::Strip(strip, _) => geometry.strips[*strip].id.as_str(),
            AtCorner::Done(strip, _) => strip.as_str(),
        });
        let seen = [entry.strips[0].as_str(), entry.strips[1].as_str()];
        if seen != [upright, lying] && seen != [lying, upright] {
            report.broken(
                place.at("strips"),
                "wrong-corner-strips",
                format_args!(
                    "At the corner {name} of border {border}{quilt} the strips {} and {} meet.",
                    quoted(upright),
                    quoted(lying)
                ),
            );
        }
        if let Some(exact) = mismatch_of(align, corner, roll, coverings) {
            report.compare(
                place.at("mismatch"),
                "wrong-mismatch",
                format_args!("The mismatch at the corner {name} of border {border}{quilt}"),
                &entry.mismatch,
                exact,
            );
        }
    }
    for corner in &geometry.corners {
        let listed = open.get(&key(corner));
        if listed.is_some_and(|(_, listed)| !listed) {
            report.broken(
                corners,
                "corner-missing",
                format_args!(
                    "The corner {} of border {}{} is not listed; every counted corner is.",
                    quoted(&corner.name),
                    corner.border,
                    OfQuilt(corner.quilt.as_deref())
                ),
            );
        }
    }
    sum
}

/// What no two corners have in common: the quilt, the border and the corner's name.
fn key(corner: &Corner) -> (Option<&str>, usize, &str) {
    (corner.quilt.as_deref(), corner.border, corner.name.as_str())
}

/// Of which quilt a border is, in words; nothing where there is only the one.
#[derive(Clone, Copy)]
struct OfQuilt<'a>(Option<&'a str>);

impl fmt::Display for OfQuilt<'_> {
    fn fmt(&self, text: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Some(quilt) => write!(text, " of {}", quoted(quilt)),
            None => Ok(()),
        }
    }
}

fn mismatch_of(
    align: Align,
    corner: &Corner,
    roll: &Roll<'_>,
    coverings: &[Option<Covering<'_>>],
) -> Option<Length> {
    let phase = |end: &AtCorner| match end {
        AtCorner::Strip(strip, end) => {
            let covering = coverings.get(roll.entries[*strip]?)?.as_ref()?;
            Phase::at(align, covering, *end)
        }
        AtCorner::Done(_, done) => Phase::done(*done),
    };
    mismatch(phase(&corner.ends[0])?, phase(&corner.ends[1])?)
}

/// The pattern at an end of a strip.
#[derive(Clone, Copy)]
struct Phase {
    /// φ/P, in lowest terms.
    part: Exact,
    /// P in nanometres, in lowest terms.
    repeat: Exact,
}

impl Phase {
    fn at(align: Align, covering: &Covering<'_>, end: End) -> Option<Phase> {
        let repeat = match end {
            End::Start => covering.end_repeats[0],
            End::End => covering.end_repeats[1],
        };
        let repeat = i128::from(repeat.nanometres());
        if covering.fit != Fit::Unscaled {
            let scale = covering.scale();
            return Some(Phase {
                part: Exact::ZERO,
                repeat: Exact::new(repeat.checked_mul(scale.numerator())?, scale.denominator())?,
            });
        }
        let overhang = i128::from(covering.overhang.nanometres());
        let twice_overhang = match (align, end) {
            // The rest of a strip has all of it at the strip's end.
            _ if covering.strip.rest.is_some() => 2 * overhang,
            (Align::Centred, _) => overhang,
            (Align::Start, End::Start) => 0,
            (Align::Start, End::End) => 2 * overhang,
        };
        Some(Phase {
            part: Exact::new(twice_overhang.rem_euclid(2 * repeat), 2 * repeat)?,
            repeat: Exact::new(repeat, 1)?,
        })
    }
}

impl Phase {
    /// The pattern at an end that is stitched already.
    fn done(end: Option<DoneEnd>) -> Option<Phase> {
        let Some(end) = end else {
            return Some(Phase {
                part: Exact::ZERO,
                repeat: Exact::ONE,
            });
        };
        let repeat = i128::from(end.repeat.nanometres());
        Some(Phase {
            part: Exact::new(i128::from(end.past.nanometres()).rem_euclid(repeat), repeat)?,
            repeat: Exact::new(repeat, 1)?,
        })
    }
}

/// min(f, 1 − f) · (P₁ + P₂)/2 with f = |φ₁/P₁ − φ₂/P₂|, to the nearest nanometre; `None` on overflow.
///
/// Lengths stay below 10^12 nm. A phase that is not 0 belongs to an unscaled strip, whose P is whole. So of two phases
/// that are not 0 the parts' product stays below 10^25 and the sum of the repeats is whole, and beside a phase of 0
/// the other's parts stay below 10^12 and the sum's below 10^25: the product stays below 10^38.
fn mismatch(one: Phase, other: Phase) -> Option<Length> {
    let [a, b] = [one.part, other.part];
    let difference = a.numerator() * b.denominator() - b.numerator() * a.denominator();
    let f = Exact::new(difference.abs(), a.denominator() * b.denominator())?;
    let nearer = f.numerator().min(f.denominator() - f.numerator());
    if nearer == 0 {
        return Some(Length::ZERO);
    }
    let [p, q] = [one.repeat, other.repeat];
    let sum = p
        .numerator()
        .checked_mul(q.denominator())?
        .checked_add(q.numerator().checked_mul(p.denominator())?)?;
    let sum = Exact::new(sum, p.denominator().checked_mul(q.denominator())?)?;
    let upper = nearer.checked_mul(sum.numerator())?;
    let lower = f
        .denominator()
        .checked_mul(sum.denominator())?
        .checked_mul(2)?;
    let reduced = Exact::new(upper, lower)?;
    reduced.numerator().checked_mul(2)?;
    let rounded = round_half_up(reduced.numerator(), reduced.denominator());
    i64::try_from(rounded).ok().map(Length::from_nanometres)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn phase(part: (i128, i128), repeat: (i128, i128)) -> Phase {
        Phase {
            part: Exact::new(part.0, part.1).expect("a fraction"),
            repeat: Exact::new(repeat.0, repeat.1).expect("a fraction"),
        }
    }

    /// |1/4 − 0| · (4 + 2)/2 = 3/4; |7/8 − 1/8| = 3/4, of which 1/4 is left to the next repeat: 1/4 · 4 = 1.
    #[test]
    fn the_nearer_way_round_counts() {
        let mismatch = |one, other| mismatch(one, other).map(Length::nanometres);
        assert_eq!(
            mismatch(phase((1, 4), (4000, 1)), phase((0, 1), (2000, 1))),
            Some(750)
        );
        assert_eq!(
            mismatch(phase((7, 8), (4000, 1)), phase((1, 8), (4000, 1))),
            Some(1000)
        );
        assert_eq!(
            mismatch(phase((0, 1), (7, 3)), phase((0, 1), (5, 1))),
            Some(0)
        );
    }

    /// Repeats of 100 m, an odd nanometre apart, are worked out without overflow.
    #[test]
    fn the_longest_repeats_do_not_overflow() {
        let (p, q) = (100_000_000_000, 99_999_999_999);
        let long = mismatch(phase((1, 2 * p), (p, 1)), phase((q, 2 * q + 1), (q, 1)));
        assert!(long.is_some());
        let scaled = mismatch(
            phase((p - 1, 2 * p), (p, 1)),
            phase((0, 1), (p * (q - 2), q)),
        );
        assert!(scaled.is_some());
    }
}
