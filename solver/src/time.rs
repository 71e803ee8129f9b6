//! Working time in whole ten-thousandths of a minute, so that sums and comparisons are exact.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul};

use crate::exact::Exact;
use crate::length::Measure;

/// A stretch of working time.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub struct Time(i64);

impl Time {
    /// No time at all.
    pub const ZERO: Time = Time(0);
    /// The parts of a minute that are told apart: one is 6 ms.
    pub const PARTS: i64 = 10_000;

    /// So many ten-thousandths of a minute.
    pub const fn from_parts(parts: i64) -> Time {
        Time(parts)
    }

    /// So many minutes, rounded once to the nearest part; `None` beyond ±10^18 parts.
    pub fn from_minutes(minutes: Exact) -> Option<Time> {
        let parts = minutes.times_rounded(i128::from(Time::PARTS))?;
        i64::try_from(parts).ok().map(Time)
    }

    /// Ten-thousandths of a minute.
    pub const fn parts(self) -> i64 {
        self.0
    }

    /// The time in minutes, exactly.
    pub fn in_minutes(self) -> Measure {
        Measure::from_ratio(i128::from(self.0), i128::from(Time::PARTS))
    }
}

impl Add for Time {
    type Output = Time;
    fn add(self, other: Time) -> Time {
        Time(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Time {
    fn add_assign(&mut self, other: Time) {
        *self = *self + other;
    }
}

impl Mul<i64> for Time {
    type Output = Time;
    fn mul(self, factor: i64) -> Time {
        Time(self.0.saturating_mul(factor))
    }
}

impl Sum for Time {
    fn sum<I: Iterator<Item = Time>>(times: I) -> Time {
        times.fold(Time::ZERO, Add::add)
    }
}

/// Minutes as people write them, to hundredths: `35.25 min`, `4 h 35.25 min`, `2 h`.
pub fn in_words(minutes: &Measure) -> String {
    let exact = minutes.exact().ok();
    let Some(hundredths) = exact.and_then(|exact| exact.times_rounded(100)) else {
        return format!("{minutes} min");
    };
    let sign = if hundredths < 0 { "-" } else { "" };
    let (hours, rest) = (hundredths.abs() / 6_000, hundredths.abs() % 6_000);
    let left = Measure::from_ratio(rest, 100);
    match (hours, rest) {
        (0, _) => format!("{sign}{left} min"),
        (_, 0) => format!("{sign}{hours} h"),
        _ => format!("{sign}{hours} h {left} min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand.
    #[test]
    fn times_are_hours_and_minutes() {
        for (hundredths, written) in [
            (0, "0 min"),
            (3_525, "35.25 min"),
            (6_000, "1 h"),
            (27_533, "4 h 35.33 min"),
            (-9_000, "-1 h 30 min"),
        ] {
            assert_eq!(in_words(&Measure::from_ratio(hundredths, 100)), written);
        }
        assert_eq!(in_words(&Measure::from_ratio(4, 1_000)), "0 min");
        assert_eq!(in_words(&Measure::from_ratio(59_996, 1_000)), "1 h");
    }
}
