//! Exact numbers: what a document's decimal or fraction says, before any rounding.

use std::fmt;

/// The largest numerator and denominator that a document's number may have.
const LARGEST_PART: i128 = 1_000_000_000_000_000_000;

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
        Exact::parse(&number.to_string())
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
    let digits = natural(&format!("{whole_digits}{part}"))?;
    let places = i32::try_from(part.len()).map_err(|_| NotANumber::TooLarge)?;
    let shift = exponent.checked_sub(places).ok_or(NotANumber::TooLarge)?;
    if digits == 0 {
        return Ok(Exact::ZERO);
    }
    // A tiny number such as 1e-30 is as good as 0 to any length; a huge one is refused.
    if shift < -18 {
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
        (a, b) = (b, a % b);
    }
    a.max(1)
}

/// `numerator / denominator` rounded to the nearest whole number, ties up. The denominator is positive.
pub fn round_half_up(numerator: i128, denominator: i128) -> i128 {
    (2 * numerator + denominator).div_euclid(2 * denominator)
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
    fn halves_round_up() {
        assert_eq!(round_half_up(1, 2), 1);
        assert_eq!(round_half_up(-1, 2), 0);
        assert_eq!(round_half_up(4, 3), 1);
        assert_eq!(round_half_up(5, 3), 2);
    }
}
