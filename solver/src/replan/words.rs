//! Lengths in sentences about what is left.

use crate::length::{Length, Measure, Unit};

/// A length with its unit, in inches with the millimetres behind them: `0.118 in (3 mm)`.
pub(super) fn show(length: Length, unit: Unit) -> String {
    let rounded = |unit: Unit| {
        let of = i128::from(unit.nanometres());
        let thousandths = crate::exact::round_half_up(i128::from(length.nanometres()) * 1000, of);
        Measure::from_ratio(thousandths, 1000)
    };
    match unit {
        Unit::Inch => format!("{} in ({} mm)", rounded(unit), rounded(Unit::Millimetre)),
        Unit::Millimetre => format!("{} mm", rounded(unit)),
    }
}
