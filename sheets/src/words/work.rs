//! How long the work takes and what thread it uses, in words.

use sashwright_solver::length::{Length, Measure, Unit};
use sashwright_solver::plan::{Plan, ThreadEntry, WorkEntry};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::time::in_words as time;

use crate::measure::number;

/// A yard, in nanometres: exactly 0.9144 m (the international yard and pound agreement of 1959).
const YARD: i128 = 914_400_000;
const METRE: i128 = 1_000_000_000;

/// The time by hand and at the machine, and the thread, in sentences.
pub fn work(scenario: &Scenario, plan: &Plan, work: &WorkEntry) -> Vec<String> {
    let hands = time(&work.hands_on_minutes);
    let mut sentences = Vec::new();
    sentences.push(match (&work.minutes, &work.machine_minutes, work.stitches) {
        (Some(all), Some(machine), Some(stitches)) => format!(
            "About {} in all: {} at the machine for {} stitches at {} a minute, and {hands} by hand.",
            time(all),
            time(machine),
            grouped(stitches),
            scenario.rates.stitches_per_minute
        ),
        _ => format!(
            "About {hands} by hand. How long the machine stitches is not known: not every size says its \"stitches\"."
        ),
    });
    match work.thread_changes {
        0 => {}
        1 => sentences.push("Another thread is put on once.".to_string()),
        count => sentences.push(format!(
            "Another thread is put on {} times.",
            grouped(count)
        )),
    }
    if let Some(ThreadEntry { upper, bobbin }) = &work.thread {
        sentences.push(format!(
            "Thread, roughly: {} of upper thread, {} on bobbins.",
            long(upper, plan.unit),
            long(bobbin, plan.unit)
        ));
    }
    sentences
}

/// A length of thread in yards or metres.
fn long(measure: &Measure, unit: Unit) -> String {
    let nanometres = measure.length(unit).map_or(0, Length::nanometres);
    let (each, name) = match unit {
        Unit::Inch => (YARD, "yd"),
        Unit::Millimetre => (METRE, "m"),
    };
    format!(
        "{} {name}",
        number(&Measure::from_ratio(nanometres.into(), each), 0)
    )
}

/// `12 345`: digits in threes from the right.
fn grouped(number: i64) -> String {
    let digits = number.unsigned_abs().to_string();
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    if number < 0 { format!("-{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_grouped_in_threes() {
        let written = [0, 7, 999, 1_000, 1_234_567, -12_345].map(grouped);
        assert_eq!(written, ["0", "7", "999", "1 000", "1 234 567", "-12 345"]);
    }

    /// 36 in are a yard; 1 m is 1000 mm.
    #[test]
    fn thread_is_in_yards_or_metres() {
        assert_eq!(long(&Measure::whole(3_600), Unit::Inch), "100 yd");
        assert_eq!(long(&Measure::whole(2_600), Unit::Millimetre), "3 m");
    }
}
