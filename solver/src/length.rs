//! Exact lengths and areas: whole nanometres inside, inches or millimetres outside.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Number;

use crate::exact::{
    DECIMALS, Exact, MOST_IN_F64, NotANumber, gcd, in_last_decimals, round_half_up,
};

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

    /// Nanometres in what cloth is sold by: a yard (0.9144 m exactly, International Yard and Pound Agreement 1959) beside inches, a
    /// metre beside millimetres.
    pub const fn yard_or_metre(self) -> i64 {
        match self {
            Unit::Inch => 914_400_000,
            Unit::Millimetre => 1_000_000_000,
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

/// 1/16 in, in nanometres.
const SIXTEENTH: i64 = 1_587_500;

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

    /// The nearest whole number of sixteenths of an inch, the finest mark on a quilter's ruler, ties away from zero, as a fraction in
    /// lowest terms: `9 3/4`.
    pub fn sixteenths(self) -> String {
        let nanometres = i128::from(self.0);
        let count = round_half_up(nanometres.abs(), i128::from(SIXTEENTH));
        let (whole, part) = (count / 16, count % 16);
        let sign = if nanometres < 0 && count > 0 { "-" } else { "" };
        let divisor = gcd(part, 16);
        let (upper, lower) = (part / divisor, 16 / divisor);
        match (whole, part) {
            (_, 0) => format!("{sign}{whole}"),
            (0, _) => format!("{sign}{upper}/{lower}"),
            _ => format!("{sign}{whole} {upper}/{lower}"),
        }
    }

    /// Whether [`Length::sixteenths`] says it exactly.
    pub fn is_in_sixteenths(self) -> bool {
        self.0 % SIXTEENTH == 0
    }

    /// The length with its unit, as a quilter reads it: `9 1/2 in`, `247.65 mm`; `≈` where a sixteenth does not say it exactly.
    pub fn told(self, unit: Unit) -> String {
        let symbol = unit.symbol();
        match unit {
            Unit::Millimetre => format!("{} {symbol}", self.in_unit(unit)),
            Unit::Inch if self.is_in_sixteenths() => format!("{} {symbol}", self.sixteenths()),
            Unit::Inch => format!("≈ {} {symbol}", self.sixteenths()),
        }
    }

    /// Two lengths: `9 1/2 × 14 in`.
    pub fn both_told([first, second]: [Length; 2], unit: Unit) -> String {
        let symbol = format!(" {}", unit.symbol());
        let first = first.told(unit);
        format!(
            "{} × {}",
            first.trim_end_matches(&symbol),
            second.told(unit)
        )
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
pub struct Measure(#[schemars(with = "f64")] Number);

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
        let short = whole
            .checked_mul(DECIMALS)
            .map(|count| count + part)
            .filter(|count| *count < MOST_IN_F64)
            .and_then(|count| short_decimal(if negative { -count } else { count }));
        Measure(short.unwrap_or_else(|| long_decimal(negative, whole, part)))
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
        match in_last_decimals(&self.0) {
            Some(count) => {
                let product = i128::from(count) * i128::from(unit.nanometres());
                let nanometres = round_half_up(product, DECIMALS);
                i64::try_from(nanometres).ok().map(Length)
            }
            None => Length::from_exact(self.exact().ok()?, unit),
        }
    }
}

/// So many units of the last decimal as a JSON number. There are at most 15 digits, so that a `f64` keeps them all
/// (see [`in_last_decimals`]).
fn short_decimal(count: i128) -> Option<Number> {
    if count % DECIMALS == 0 {
        return i64::try_from(count / DECIMALS).ok().map(Number::from);
    }
    Number::from_f64(count as f64 / DECIMALS as f64)
}

/// A JSON number of any length, read from its text.
fn long_decimal(negative: bool, whole: i128, part: i128) -> Number {
    let sign = if negative && (whole, part) != (0, 0) {
        "-"
    } else {
        ""
    };
    let mut text = format!("{sign}{whole}");
    if part > 0 {
        text.push_str(format!(".{part:08}").trim_end_matches('0'));
    }
    serde_json::from_str(&text).unwrap_or_else(|_| Number::from(0))
}

impl From<i64> for Measure {
    fn from(number: i64) -> Measure {
        Measure(number.into())
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

    /// What is made without a text is what the text says, on either side of where texts begin.
    #[test]
    fn short_decimals_are_what_their_text_says() {
        let mut count = 1_i128;
        let mut counts = vec![0, 1, 25, DECIMALS, 3 * DECIMALS, MOST_IN_F64 - 1];
        for step in 0..20_000 {
            count = (count * 7 + step) % MOST_IN_F64;
            counts.push(count);
        }
        for count in counts {
            for negative in [false, true] {
                let text = long_decimal(negative, count / DECIMALS, count % DECIMALS);
                let signed = if negative { -count } else { count };
                assert_eq!(short_decimal(signed), Some(text.clone()));
                assert_eq!(Measure::from_ratio(signed, DECIMALS), Measure(text));
            }
        }
        let long = Measure::from_ratio(MOST_IN_F64 + 1, DECIMALS);
        assert_eq!(long.to_string(), "10000000.00000001");
    }

    /// A length is read the same way from short and from long decimals, ties up: 0.05 · 25.4 is 1.27.
    #[test]
    fn lengths_are_rounded_once() {
        let length = |number: f64, unit| {
            let number = Number::from_f64(number)?;
            Measure(number).length(unit).map(Length::nanometres)
        };
        assert_eq!(length(0.000_000_5, Unit::Millimetre), Some(1));
        assert_eq!(length(-0.000_000_5, Unit::Millimetre), Some(0));
        assert_eq!(length(0.000_000_499_999_9, Unit::Millimetre), Some(0));
        assert_eq!(length(0.05, Unit::Inch), Some(1_270_000));
        assert_eq!(length(1e18, Unit::Inch), None);
    }

    #[test]
    fn whole_numbers_have_no_point() {
        assert_eq!(inches("36").in_unit(Unit::Inch).to_string(), "36");
        assert_eq!(inches("35.5").in_unit(Unit::Inch).to_string(), "35.5");
        assert_eq!(inches("-1/4").in_unit(Unit::Inch).to_string(), "-0.25");
    }
}
