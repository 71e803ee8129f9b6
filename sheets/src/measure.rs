//! Lengths in words: a quilter's fractions to sixteenths beside decimals for inches, decimals alone for millimetres.

use sashwright_solver::length::{Measure, Unit};

/// How lengths of one unit are written.
#[derive(Clone, Copy, Debug)]
pub struct Ruler {
    /// The unit.
    pub unit: Unit,
}

/// A length, taken apart into what is written of it.
struct Reading {
    /// `9 3/4`; `None` for millimetres.
    fraction: Option<String>,
    /// Whether the fraction is the nearest sixteenth only.
    rounded: bool,
    /// `9.75`.
    decimal: String,
}

impl Ruler {
    /// `9 3/4 in (9.75)`, `7 in`, `≈ 3 5/16 in (3.3)`, `247.65 mm`.
    pub fn length(self, measure: &Measure) -> String {
        self.written(&[measure], self.unit.symbol())
    }

    /// The same without the unit, for columns that name it once: `9 3/4 (9.75)`.
    pub fn bare(self, measure: &Measure) -> String {
        self.written(&[measure], "")
    }

    /// The length alone, for a label in a drawing: `9 3/4`, `≈ 3 5/16`, `247.65`.
    pub fn short(self, measure: &Measure) -> String {
        let reading = self.read(measure);
        let mark = if reading.rounded { "≈ " } else { "" };
        format!("{mark}{}", reading.fraction.unwrap_or(reading.decimal))
    }

    /// Length by width: `35 1/2 × 2 1/2 in (35.5 × 2.5)`.
    pub fn size(self, sides: &[Measure; 2]) -> String {
        self.written(&[&sides[0], &sides[1]], self.unit.symbol())
    }

    /// The same without the unit.
    pub fn bare_size(self, sides: &[Measure; 2]) -> String {
        self.written(&[&sides[0], &sides[1]], "")
    }

    /// A length of many yards or metres, to one decimal: `17.4 yd`, `268.4 m`.
    pub fn long(self, measure: &Measure) -> String {
        let (each, symbol) = match self.unit {
            Unit::Inch => (36, "yd"),
            Unit::Millimetre => (1000, "m"),
        };
        let exact = measure.exact().ok();
        let long = exact.and_then(|exact| {
            let parts = exact.denominator().checked_mul(each)?;
            Some(Measure::from_ratio(exact.numerator(), parts))
        });
        match long {
            Some(long) => format!("{} {symbol}", number(&long, 1)),
            None => self.length(measure),
        }
    }

    /// An area to two decimals: `157.5 in²`.
    pub fn area(self, measure: &Measure) -> String {
        format!("{} {}²", number(measure, 2), self.unit.symbol())
    }

    fn written(self, measures: &[&Measure], symbol: &str) -> String {
        let readings: Vec<Reading> = measures.iter().map(|measure| self.read(measure)).collect();
        let join = |part: &dyn Fn(&Reading) -> String| {
            let parts: Vec<String> = readings.iter().map(part).collect();
            parts.join(" × ")
        };
        let decimals = join(&|reading| reading.decimal.clone());
        let main = join(&|reading| {
            let fraction = reading.fraction.as_ref();
            fraction.unwrap_or(&reading.decimal).clone()
        });
        let mut text = main.clone();
        if readings.iter().any(|reading| reading.rounded) {
            text.insert_str(0, "≈ ");
        }
        if !symbol.is_empty() {
            text.push(' ');
            text.push_str(symbol);
        }
        if main != decimals {
            text.push_str(&format!(" ({decimals})"));
        }
        text
    }

    fn read(self, measure: &Measure) -> Reading {
        // A length beyond all reason, which no plan of this program holds, is written as it stands.
        let Some(length) = measure.length(self.unit) else {
            return Reading {
                fraction: None,
                rounded: false,
                decimal: measure.to_string(),
            };
        };
        match self.unit {
            // Four decimals name every sixteenth exactly; a hundredth of a millimetre is far finer than a needle.
            Unit::Inch => Reading {
                fraction: Some(length.sixteenths()),
                rounded: !length.is_in_sixteenths(),
                decimal: number(measure, 4),
            },
            Unit::Millimetre => Reading {
                fraction: None,
                rounded: false,
                decimal: number(measure, 2),
            },
        }
    }
}

/// The number rounded to at most that many decimals, without trailing zeros.
pub fn number(measure: &Measure, decimals: usize) -> String {
    let factor = 10_i128.pow(u32::try_from(decimals).unwrap_or(0));
    let scaled = measure
        .exact()
        .ok()
        .and_then(|exact| exact.times_rounded(factor));
    let Some(scaled) = scaled else {
        return measure.to_string();
    };
    let sign = if scaled < 0 { "-" } else { "" };
    let (whole, part) = (scaled.abs() / factor, scaled.abs() % factor);
    let text = format!("{sign}{whole}.{part:0decimals$}");
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    const INCHES: Ruler = Ruler { unit: Unit::Inch };
    const MILLIMETRES: Ruler = Ruler {
        unit: Unit::Millimetre,
    };

    fn measure(text: &str) -> Measure {
        serde_json::from_str(text).expect("a number")
    }

    /// Worked by hand: sixteenths are 0.0625 apart.
    #[test]
    fn inches_are_fractions_to_sixteenths_beside_decimals() {
        let checks = [
            ("7", "7 in"),
            ("0", "0 in"),
            ("9.75", "9 3/4 in (9.75)"),
            ("0.5", "1/2 in (0.5)"),
            ("0.0625", "1/16 in (0.0625)"),
            ("9.8125", "9 13/16 in (9.8125)"),
            ("-0.125", "-1/8 in (-0.125)"),
            ("-2.25", "-2 1/4 in (-2.25)"),
        ];
        for (value, written) in checks {
            assert_eq!(INCHES.length(&measure(value)), written);
        }
    }

    /// 3.3 = 52.8/16, nearest 53/16 = 3 5/16. 1/3 = 5.33/16, nearest 5/16. 0.999 = 15.98/16, nearest 1.
    /// 0.01 = 0.16/16, nearest 0. 1/32 is halfway to 1/16 and goes up. 100.005 mm is 3.93720472… in = 62.995/16.
    #[test]
    fn what_is_between_sixteenths_is_marked() {
        let checks = [
            ("3.3", "≈ 3 5/16 in (3.3)"),
            ("0.33333333", "≈ 5/16 in (0.3333)"),
            ("0.999", "≈ 1 in (0.999)"),
            ("0.01", "≈ 0 in (0.01)"),
            ("-0.01", "≈ 0 in (-0.01)"),
            ("0.03125", "≈ 1/16 in (0.0313)"),
            ("3.93720472", "≈ 3 15/16 in (3.9372)"),
        ];
        for (value, written) in checks {
            assert_eq!(INCHES.length(&measure(value)), written);
        }
        assert_eq!(INCHES.short(&measure("3.3")), "≈ 3 5/16");
        assert_eq!(INCHES.short(&measure("9.75")), "9 3/4");
    }

    /// 247.654 rounds down to hundredths, 8.466667 up.
    #[test]
    fn millimetres_are_decimals() {
        for (value, written) in [
            ("247.65", "247.65 mm"),
            ("247.654", "247.65 mm"),
            ("8.466667", "8.47 mm"),
            ("-3", "-3 mm"),
        ] {
            assert_eq!(MILLIMETRES.length(&measure(value)), written);
        }
    }

    #[test]
    fn sizes_and_areas() {
        let pair = |a, b| [measure(a), measure(b)];
        assert_eq!(INCHES.size(&pair("36", "3")), "36 × 3 in");
        assert_eq!(
            INCHES.size(&pair("35.5", "2.5")),
            "35 1/2 × 2 1/2 in (35.5 × 2.5)"
        );
        assert_eq!(
            INCHES.bare_size(&pair("3.3", "2")),
            "≈ 3 5/16 × 2 (3.3 × 2)"
        );
        assert_eq!(MILLIMETRES.size(&pair("914.4", "76.2")), "914.4 × 76.2 mm");
        assert_eq!(INCHES.long(&measure("627")), "17.4 yd");
        assert_eq!(MILLIMETRES.long(&measure("268395.6")), "268.4 m");
        assert_eq!(INCHES.area(&measure("157.5")), "157.5 in²");
        assert_eq!(INCHES.area(&measure("2205")), "2205 in²");
    }

    #[test]
    fn a_length_beyond_reason_is_written_as_it_stands() {
        assert_eq!(INCHES.length(&measure("1e300")), "1e+300 in");
    }
}
