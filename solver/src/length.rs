//! Exact lengths and areas: whole nanometres inside, inches or millimetres outside.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::exact::{Exact, NotANumber, round_half_up};

/// The unit of a scenario's lengths.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize, JsonSchema)]
pub enum Unit {
    /// Inches; 1 in = 25.4 mm exactly (NIST SP 811, Appendix B).
    #[serde(rename = "in")]
    Inch,
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
}

impl Unit {
    /// Nanometres in one unit of length.
    pub const fn nanometres(self) -> i64 {
        match self {
            Unit::Inch => 25_400_000,
            Unit::Millimetre => 1_000_000,
        }
    }

    /// The unit's symbol: `in` or `mm`.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::Inch => "in",
            Unit::Millimetre => "mm",
        }
    }
}

/// A length in whole nanometres.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Length(i64);

impl Length {
    /// No length at all.
    pub const ZERO: Length = Length(0);
    /// The longest length that a document may give: 100 m.
    pub const LONGEST: Length = Length(100_000_000_000);

    /// A length of that many nanometres.
    pub const fn from_nanometres(nanometres: i64) -> Length {
        Length(nanometres)
    }

    /// The length in nanometres.
    pub const fn nanometres(self) -> i64 {
        self.0
    }

    /// `value` units, rounded once to the nearest nanometre; `None` beyond ±10^18 nm.
    pub fn from_exact(value: Exact, unit: Unit) -> Option<Length> {
        let nanometres = value.times_rounded(i128::from(unit.nanometres()))?;
        i64::try_from(nanometres).ok().map(Length)
    }

    /// The length as a number of the given unit, to 8 decimals: enough to name every nanometre.
    pub fn in_unit(self, unit: Unit) -> Measure {
        Measure::from_ratio(i128::from(self.0), i128::from(unit.nanometres()))
    }
}

impl Add for Length {
    type Output = Length;
    fn add(self, other: Length) -> Length {
        Length(self.0 + other.0)
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Length) {
        self.0 += other.0;
    }
}

impl Sub for Length {
    type Output = Length;
    fn sub(self, other: Length) -> Length {
        Length(self.0 - other.0)
    }
}

impl Neg for Length {
    type Output = Length;
    fn neg(self) -> Length {
        Length(-self.0)
    }
}

impl Mul<i64> for Length {
    type Output = Length;
    fn mul(self, factor: i64) -> Length {
        Length(self.0 * factor)
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Length>>(lengths: I) -> Length {
        lengths.fold(Length::ZERO, Add::add)
    }
}

/// A number as a document prints it: exact in decimal, a whole number without a point.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Measure(#[schemars(with = "f64")] serde_json::Number);

/// The decimals that a document's numbers are rounded to.
const DECIMALS: i128 = 100_000_000;

impl Measure {
    /// `numerator / denominator` to 8 decimals. The denominator is positive.
    pub fn from_ratio(numerator: i128, denominator: i128) -> Measure {
        let negative = numerator < 0;
        let numerator = numerator.abs();
        let (mut whole, rest) = (numerator / denominator, numerator % denominator);
        // The rest is below the denominator, and no denominator here is beyond 10^30.
        let mut part = round_half_up(rest * DECIMALS, denominator);
        if part == DECIMALS {
            (whole, part) = (whole + 1, 0);
        }
        let sign = if negative && (whole, part) != (0, 0) {
            "-"
        } else {
            ""
        };
        let mut text = format!("{sign}{whole}");
        if part > 0 {
            text.push_str(format!(".{part:08}").trim_end_matches('0'));
        }
        Measure(serde_json::from_str(&text).unwrap_or_else(|_| serde_json::Number::from(0)))
    }

    /// The largest number of 8 decimals that is at most `numerator / denominator`. The denominator is positive.
    pub fn rounded_down(numerator: i128, denominator: i128) -> Measure {
        match numerator.checked_mul(DECIMALS) {
            Some(scaled) => Measure::from_ratio(scaled.div_euclid(denominator), DECIMALS),
            None => Measure::from_ratio(numerator, denominator),
        }
    }

    /// The number with one less in its last decimal, the eighth.
    pub fn one_less(numerator: i128, denominator: i128) -> Measure {
        match numerator.checked_mul(DECIMALS) {
            Some(scaled) => Measure::from_ratio(scaled.div_euclid(denominator) - 1, DECIMALS),
            None => Measure::from_ratio(numerator, denominator),
        }
    }

    /// A whole number.
    pub fn whole(number: i64) -> Measure {
        Measure(number.into())
    }

    /// The exact number that the document gives.
    pub fn exact(&self) -> Result<Exact, NotANumber> {
        Exact::of_json(&self.0)
    }

    /// The length that this number of units names, to the nearest nanometre; `None` where it is beyond reason.
    pub fn length(&self, unit: Unit) -> Option<Length> {
        Length::from_exact(self.exact().ok()?, unit)
    }
}

impl std::fmt::Display for Measure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inches(text: &str) -> Length {
        Exact::parse(text)
            .ok()
            .and_then(|value| Length::from_exact(value, Unit::Inch))
            .expect("a length")
    }

    /// The inch is 25.4 mm exactly (NIST SP 811; International Yard and Pound Agreement 1959).
    #[test]
    fn an_inch_is_25_4_mm_exactly() {
        let checks = [
            ("1", 25_400_000),
            ("36", 914_400_000),
            ("1/4", 6_350_000),
            ("1/8", 3_175_000),
            ("1/16", 1_587_500),
        ];
        for (text, nanometres) in checks {
            assert_eq!(inches(text).nanometres(), nanometres);
        }
        assert_eq!(inches("1/64").nanometres(), 396_875);
    }

    #[test]
    fn every_nanometre_survives_the_document() {
        for nanometres in [
            0,
            1,
            25,
            396_875,
            8_466_667,
            1_524_000_001,
            -3,
            99_999_999_999,
        ] {
            let length = Length::from_nanometres(nanometres);
            for unit in [Unit::Inch, Unit::Millimetre] {
                assert_eq!(length.in_unit(unit).length(unit), Some(length));
            }
        }
    }

    #[test]
    fn whole_numbers_have_no_point() {
        assert_eq!(inches("36").in_unit(Unit::Inch).to_string(), "36");
        assert_eq!(inches("35.5").in_unit(Unit::Inch).to_string(), "35.5");
        assert_eq!(inches("-1/4").in_unit(Unit::Inch).to_string(), "-0.25");
    }
}
