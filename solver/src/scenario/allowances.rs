//! Allowances of the fabric.

use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::node::{Node, Span};

/// How far the fabric reaches past the stitching, and the room between two fabrics.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Allowances {
    /// Seam allowance on each side.
    pub seam: Length,
    /// What is trimmed off on each side after stitching.
    pub trim: Length,
    /// The room between two fabrics in one hooping.
    pub gap: Length,
    /// How much of its own length the cloth of a strip loses while it is stitched, in per cent: 0 to 20.
    pub take_up: Exact,
}

impl Default for Allowances {
    /// A quarter of an inch each for seam and trim, half an inch for the gap (common practice).
    fn default() -> Allowances {
        Allowances {
            seam: Length::from_nanometres(6_350_000),
            trim: Length::from_nanometres(6_350_000),
            gap: Length::from_nanometres(12_700_000),
            take_up: Exact::ZERO,
        }
    }
}

impl Allowances {
    /// e: how far the fabric reaches past the stitching at sides and closed ends.
    pub fn reach(&self) -> Length {
        self.seam + self.trim
    }

    /// How long to cut what has to measure `length` once the take-up is lost: length / (1 − take-up), rounded up to a nanometre.
    pub fn before_take_up(&self, length: Length) -> Length {
        let (lost, parts) = (self.take_up.numerator(), self.take_up.denominator());
        let whole = 100 * parts;
        let needed = i128::from(length.nanometres()) * whole;
        let left = whole - lost;
        let rounded_up = -(-needed).div_euclid(left);
        Length::from_nanometres(i64::try_from(rounded_up).unwrap_or(i64::MAX))
    }

    /// 2e + g: the least distance between the stitchings of two fabrics.
    pub fn between(&self) -> Length {
        self.reach() * 2 + self.gap
    }
}

pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<Allowances> {
    let fields = node.fields(&["seam", "trim", "gap", "take_up"])?;
    let length = |node: &Node<'_>| node.length(unit, Span::ZeroOrMore);
    let default = Allowances::default();
    let seam = fields.or("seam", default.seam, length);
    let trim = fields.or("trim", default.trim, length);
    let gap = fields.or("gap", default.gap, length);
    let take_up = fields.or("take_up", default.take_up, read_take_up);
    Some(Allowances {
        seam: seam?,
        trim: trim?,
        gap: gap?,
        take_up: take_up?,
    })
}

fn read_take_up(node: &Node<'_>) -> Option<Exact> {
    let wanted = "per cent, 0 to 20, with at most 6 decimals";
    let take_up = node.exact(wanted)?;
    // At most 6 decimals keep every product small.
    let fine = take_up >= Exact::ZERO
        && take_up.numerator() <= 20 * take_up.denominator()
        && 1_000_000 % take_up.denominator() == 0;
    if !fine {
        node.fault(
            FaultCode::OutOfRange,
            format!("The take-up is {take_up} per cent."),
            format!("Give {wanted}."),
        );
    }
    fine.then_some(take_up)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 % of 1000 mm is lost: 970 mm are left. For 970 mm, cut 1000; for a nanometre more, 1.03 nm more, rounded up.
    #[test]
    fn what_is_cut_shrinks_to_what_is_needed() {
        let allowances = Allowances {
            take_up: Exact::new(3, 1).expect("three"),
            ..Allowances::default()
        };
        let cut = |length| {
            allowances
                .before_take_up(Length::from_nanometres(length))
                .nanometres()
        };
        assert_eq!(cut(970_000_000), 1_000_000_000);
        assert_eq!(cut(970_000_001), 1_000_000_002);
        assert_eq!(
            Allowances::default().before_take_up(Length::LONGEST),
            Length::LONGEST
        );
    }
}
