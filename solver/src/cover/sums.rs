//! Between which sums the coverings of a length lie.

use crate::cover::Sizes;
use crate::cover::piece::{self, LONGEST_SUM};
use crate::length::Length;

/// What a covering may miss, or be over, for each repeat where it counts as exact: as many nanometres as there can be repeats.
pub(super) const ROUNDING: Length = Length::from_nanometres(1_000_000);

/// No covering of the length adds up to less than this.
pub(super) fn shortest_sum(sizes: &Sizes<'_>, length: Length) -> Length {
    let stretched = sizes.list.iter().map(|(_, size)| {
        let most = size.scale.most;
        i128::from(length.nanometres()) * most.denominator() / most.numerator()
    });
    let least = stretched.min().unwrap_or(0);
    let least = Length::from_nanometres(i64::try_from(least).unwrap_or(0));
    (length.min(least) - ROUNDING).max(Length::ZERO)
}

/// No covering of the length adds up to more than this.
pub(super) fn longest_sum(sizes: &Sizes<'_>, length: Length) -> Length {
    let scaled = sizes.list.iter().map(|(_, size)| {
        let least = size.scale.least;
        i128::from(length.nanometres()) * least.denominator() / least.numerator()
    });
    let step = sizes.list.iter().map(|(_, size)| piece::step(size));
    let unscaled = length + step.max().unwrap_or(Length::ZERO);
    let scaled = i64::try_from(scaled.max().unwrap_or(0)).unwrap_or(i64::MAX / 4);
    let longest = unscaled.max(Length::from_nanometres(scaled)) + ROUNDING;
    longest.min(LONGEST_SUM)
}
