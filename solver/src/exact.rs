//! Exact numbers: what a document's decimal or fraction says, before any rounding.

use std::fmt;

/// The largest numerator and denominator that a document's number may have.
const LARGEST_PART: i128 = 1_000_000_000_000_000_000;
/// The last decimal that is read, as a power of ten.
const MOST_DECIMALS: i32 = -18;

/// Units of the last decimal that documents are printed to, the eighth, in 1.
pub(crate) const DECIMALS: i128 = 100_000_000;

/// Below this a count of last decimals has at most 15 digits, all of which a `f64` keeps.
pub(crate) const MOST_IN_F64: i128 = 10_i128.pow(f64::DIGITS);

/// A rational number `numerator / denominator` in lowest terms, the denominator positive.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Exact {
    numerator: i128,
    denominator: i128,
}

/// Why a text is not a number that this program takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum NotANumber {
    /// The text is neither a decimal nor a fraction.
    #[error("is neither a decimal nor a fraction such as 9 3/4")]
    Unreadable,
    /// The number, or a part of its fraction, is beyond 10^18 or has too many digits.
    #[error("has too many digits or is far too large")]
    TooLarge,
    /// A fraction's lower number is 0.
    #[error("divides by zero")]
    DividesByZero,
}

impl Exact {
    /// The number 0.
    pub const ZERO: Exact = Exact {
        numerator: 0,
        denominator: 1,
    };
    /// The number 1.
    pub const ONE: Exact = Exact {
        numerator: 1,
        denominator: 1,
    };

    /// 10^18: larger than any number that a document may give.
    pub const LARGEST: Exact = Exact {
        numerator: LARGEST_PART,
        denominator: 1,
    };

    /// `numerator / denominator` in lowest terms; `None` where the denominator is 0.
    pub fn new(numerator: i128, denominator: i128) -> Option<Exact> {
        if denominator == 0 {
            return None;
        }
        let divisor = gcd(numerator, denominator) * denominator.signum();
        Some(Exact {
            numerator: numerator / divisor,
            denominator: denominator / divisor,
        })
    }

    /// The upper part, in lowest terms; it carries the sign.
    pub fn numerator(self) -> i128 {
        self.numerator
    }

    /// The lower part, in lowest terms; always positive.
    pub fn denominator(self) -> i128 {
        self.denominator
    }

    /// The number with the other sign.
    pub fn opposite(self) -> Exact {
        Exact {
            numerator: -self.numerator,
            ..self
        }
    }

    /// `self · factor`, rounded to the nearest whole number, ties up; `None` on overflow.
    pub fn times_rounded(self, factor: i128) -> Option<i128> {
        let product = self.numerator.checked_mul(factor)?;
        Some(round_half_up(product, self.denominator))
    }

    /// Reads a decimal (`9.75`, `1e-3`), a fraction (`7/8`) or both (`9 3/4`), with an optional minus sign in front.
    pub fn parse(text: &str) -> Result<Exact, NotANumber> {
        let text = text.trim();
        let (sign, digits) = match text.strip_prefix('-') {
            Some(rest) => (-1, rest.trim_start()),
            None => (1, text),
        };
        let value = match digits.split_once('/') {
            None => decimal(digits)?,
            Some((upper, lower)) => {
                let (whole, upper) = match upper.trim_end().rsplit_once(char::is_whitespace) {
                    Some((whole, upper)) => (natural(whole.trim())?, upper),
                    None => (0, upper.trim_end()),
                };
                let (upper, lower) = (natural(upper)?, natural(lower.trim_start())?);
                let sum = whole
                    .checked_mul(lower)
                    .and_then(|product| product.checked_add(upper))
                    .ok_or(NotANumber::TooLarge)?;
                Exact::new(sum, lower).ok_or(NotANumber::DividesByZero)?
            }
        };
        if value.numerator > LARGEST_PART || value.denominator > LARGEST_PART {
            return Err(NotANumber::TooLarge);
        }
        Ok(Exact {
            numerator: sign * value.numerator,
            ..value
        })
    }

    /// The exact value of a JSON number: of the shortest decimal that names it, which is what was typed.
    pub fn of_json(number: &serde_json::Number) -> Result<Exact, NotANumber> {
        let short = in_last_decimals(number).and_then(|count| Exact::new(count.into(), DECIMALS));
        match short {
            Some(exact) => Ok(exact),
            None => Exact::parse(&number.to_string()),
        }
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        // Parts stay below 10^18, so the cross products stay below 10^36.
        (self.numerator * other.denominator).cmp(&(other.numerator * self.denominator))
    }
}

impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.denominator {
            1 => write!(f, "{}", self.numerator),
            denominator => write!(f, "{}/{denominator}", self.numerator),
        }
    }
}

/// How many units of the last decimal that documents are printed to, the eighth, a JSON number is; `None` where it has
/// more decimals or more than 15 digits and has to be read from its text.
///
/// JSON numbers with a point are kept as the nearest `f64`. No two decimals of up to 15 significant digits have the
/// same nearest `f64` ([`f64::DIGITS`] of Rust's standard library). So a decimal that is that short and names the value is
/// the shortest that does. A count below 10^15 and 10^8 are both exact as `f64`, and IEEE 754 rounds their quotient
/// to the nearest, so comparing it with the value tells whether the decimal names it.
pub(crate) fn in_last_decimals(number: &serde_json::Number) -> Option<i64> {
    if let Some(whole) = number.as_i64() {
        return whole.checked_mul(DECIMALS as i64);
    }
    let value = number.as_f64()?;
    let count = (value * DECIMALS as f64).round();
    let names_it = count.abs() < MOST_IN_F64 as f64 && count / DECIMALS as f64 == value;
    names_it.then_some(count as i64)
}

fn natural(digits: &str) -> Result<i128, NotANumber> {
    if digits.is_empty() || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(NotANumber::Unreadable);
    }
    if digits.len() > 18 {
        return Err(NotANumber::TooLarge);
    }
    digits.parse().map_err(|_| NotANumber::TooLarge)
}

fn decimal(text: &str) -> Result<Exact, NotANumber> {
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => {
            let exponent: i32 = exponent
                .trim_start_matches('+')
                .parse()
                .map_err(|_| NotANumber::Unreadable)?;
            (mantissa, exponent)
        }
        None => (text, 0),
    };
    let (whole, part) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    if part.is_empty() && mantissa.contains('.') {
        return Err(NotANumber::Unreadable);
    }
    let whole_digits = if whole.is_empty() && !part.is_empty() {
        "0"
    } else {
        whole
    };
    let part = part.trim_end_matches('0');
    let all = format!("{whole_digits}{part}");
    let significant = all.trim_start_matches('0');
    let mut digits = match significant {
        "" if all.is_empty() => return Err(NotANumber::Unreadable),
        "" => 0,
        _ => natural(significant)?,
    };
    let places = i32::try_from(part.len()).map_err(|_| NotANumber::TooLarge)?;
    let mut shift = exponent.checked_sub(places).ok_or(NotANumber::TooLarge)?;
    // What comes after the 18th decimal is as good as nothing to any length: a small number's last digits, or all of one such as 1e-30.
    while shift < MOST_DECIMALS && digits != 0 {
        digits = (digits + 5) / 10;
        shift += 1;
    }
    if digits == 0 {
        return Ok(Exact::ZERO);
    }
    let power = u32::try_from(shift.abs())
        .ok()
        .filter(|places| *places <= 18)
        .map(|places| 10_i128.pow(places))
        .ok_or(NotANumber::TooLarge)?;
    let value = if shift < 0 {
        Exact::new(digits, power)
    } else {
        digits
            .checked_mul(power)
            .and_then(|whole| Exact::new(whole, 1))
    };
    value.ok_or(NotANumber::TooLarge)
}

/// The greatest common divisor of the absolute values; `gcd(0, 0)` is 1, so that it can always divide.
pub fn gcd(a: i128, b: i128) -> i128 {
    let (mut a, mut b) = (a.abs(), b.abs());
    while b != 0 {
        // Processors divide 64 bits many times faster than 128.
        if let (Ok(a), Ok(b)) = (u64::try_from(a), u64::try_from(b)) {
            return gcd_of_small(a, b).into();
        }
        (a, b) = (b, a % b);
    }
    a.max(1)
}

fn gcd_of_small(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// `numerator / denominator` rounded to the nearest whole number, ties up. The denominator is positive.
pub fn round_half_up(numerator: i128, denominator: i128) -> i128 {
    let (upper, lower) = (2 * numerator + denominator, 2 * denominator);
    match (i64::try_from(upper), i64::try_from(lower)) {
        (Ok(upper), Ok(lower)) => upper.div_euclid(lower).into(),
        _ => upper.div_euclid(lower),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_and_decimals_say_the_same() {
        assert_eq!(Exact::parse("9 3/4"), Exact::parse("9.75"));
        assert_eq!(Exact::parse("7/8"), Exact::parse("0.875"));
        assert_eq!(Exact::parse("1e-3"), Exact::parse("1/1000"));
        assert_eq!(Exact::parse("-1 1/2"), Exact::parse("-1.5"));
        assert_eq!(Exact::parse("2.50"), Exact::parse("5/2"));
    }

    /// Short decimals, the floating-point numbers next to them, and numbers that are not short at all are read as their
    /// text says.
    #[test]
    fn json_numbers_are_what_their_text_says() {
        let mut numbers: Vec<serde_json::Number> = [0, 1, -1, 36, 1 << 53, i64::MAX, i64::MIN]
            .map(serde_json::Number::from)
            .into();
        numbers.push(u64::MAX.into());
        let mut count = 1_i64;
        for step in 0..2000_i64 {
            count = (count * 7 + step) % 1_200_000_000_000_000;
            let decimal = count as f64 / 1e8;
            for value in [decimal, decimal.next_up(), decimal.next_down(), -decimal] {
                numbers.extend(serde_json::Number::from_f64(value));
            }
        }
        for value in [
            -0.0,
            0.1,
            1e-8,
            5e-9,
            1e-30,
            5e-324,
            1e15,
            9_999_999.999_999_99,
            1e300,
        ] {
            numbers.extend(serde_json::Number::from_f64(value));
        }
        let short = |number: &&serde_json::Number| in_last_decimals(number).is_some();
        let short = numbers.iter().filter(short).count();
        assert!(short > 2000 && short < numbers.len() - 2000);
        for number in numbers {
            let read = Exact::of_json(&number);
            assert_eq!(read, Exact::parse(&number.to_string()), "{number}");
        }
    }

    #[test]
    fn small_numbers_keep_their_first_digits() {
        let small = Exact::parse("0.00015748031496062994").expect("a number");
        assert_eq!(
            small,
            Exact::new(157_480_314_960_630, 10_i128.pow(18)).expect("the same")
        );
        assert_eq!(Exact::parse("1e-30"), Ok(Exact::ZERO));
    }

    #[test]
    fn nonsense_is_refused() {
        for text in [
            "", "9 3", "a", "1/2/3", "3/-4", "1.2.3", "nan", "inf", "5 in", "1.",
        ] {
            assert_eq!(Exact::parse(text), Err(NotANumber::Unreadable), "{text}");
        }
        assert_eq!(Exact::parse("1/0"), Err(NotANumber::DividesByZero));
        assert_eq!(Exact::parse("1e300"), Err(NotANumber::TooLarge));
    }

    #[test]
    fn large_numbers_divide_as_small_ones_do() {
        let large = 1_i128 << 70;
        assert_eq!(gcd(12 * large, -18 * large), 6 * large);
        assert_eq!(gcd(large, 3), 1);
        assert_eq!(gcd(0, large), large);
        assert_eq!((gcd(0, 0), gcd(i128::from(i64::MIN), 6)), (1, 2));
        assert_eq!(round_half_up(-large, 2 * large), 0);
        assert_eq!(round_half_up(3 * large, 2 * large), 2);
    }

    #[test]
    fn halves_round_up() {
        assert_eq!(round_half_up(1, 2), 1);
        assert_eq!(round_half_up(-1, 2), 0);
        assert_eq!(round_half_up(4, 3), 1);
        assert_eq!(round_half_up(5, 3), 2);
    }
}
