//! Lengths in sentences about what is left.

use crate::length::{Length, Measure, Unit};

/// Less than half of the finest mark of a ruler in inches is told in decimals.
const FINE: Length = Length::from_nanometres(793_750);

/// A length with its unit, in inches with the millimetres behind them: `≈ 1/8 in (3 mm)`, `0.02 in (0.508 mm)`.
pub(super) fn show(length: Length, unit: Unit) -> String {
    let rounded = |unit: Unit| {
        let of = i128::from(unit.nanometres());
        let thousandths = crate::exact::round_half_up(i128::from(length.nanometres()) * 1000, of);
        Measure::from_ratio(thousandths, 1000)
    };
    match unit {
        Unit::Inch => {
            let is_fine = length < FINE && length > -FINE && length != Length::ZERO;
            let inches = if is_fine {
                format!("{} in", rounded(unit))
            } else {
                length.told(unit)
            };
            format!("{inches} ({} mm)", rounded(Unit::Millimetre))
        }
        Unit::Millimetre => format!("{} mm", rounded(unit)),
    }
}

/// A length as a document takes it, exactly, and in inches as a ruler shows it: `9.9782963 (≈ 10 in)`.
pub(super) fn to_write(length: Length, unit: Unit) -> String {
    let number = length.in_unit(unit);
    match unit {
        Unit::Inch if !length.is_in_sixteenths() => format!("{number} ({})", length.told(unit)),
        _ => number.to_string(),
    }
}
