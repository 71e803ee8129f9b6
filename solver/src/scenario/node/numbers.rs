//! Numbers, prices and lengths.

use serde_json::Value;

use super::{Node, capitalised};
use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::length::{Length, Unit};

/// Which lengths a field accepts, all of them at most [`Length::LONGEST`].
#[derive(Clone, Copy)]
pub(crate) enum Span {
    /// More than zero.
    Positive,
    /// Zero or more.
    ZeroOrMore,
}

impl Node<'_> {
    /// A whole number from `least` to `most`.
    pub(crate) fn whole(&self, least: u64, most: u64) -> Option<u64> {
        let wanted = match least == most {
            true => format!("the whole number {least}"),
            false => format!("a whole number from {least} to {most}"),
        };
        let Value::Number(number) = self.value else {
            return self.wrong_kind(&wanted);
        };
        // What is too small for an exact number is read as 0, and is not whole for that.
        let is_whole = number.as_f64().is_some_and(|number| number.fract() == 0.0);
        let value = Exact::of_json(number)
            .ok()
            .filter(|value| is_whole && value.denominator() == 1)
            .and_then(|value| u64::try_from(value.numerator()).ok())
            .filter(|value| (least..=most).contains(value));
        if value.is_none() {
            self.fault(
                FaultCode::OutOfRange,
                format!("Here stands {number}."),
                format!("Give {wanted}."),
            );
        }
        value
    }

    /// An exact number: a JSON number or a text with a decimal or fraction.
    pub(crate) fn exact(&self, wanted: &str) -> Option<Exact> {
        let read = match self.value {
            Value::Number(number) => Exact::of_json(number),
            Value::String(text) => Exact::parse(text),
            _ => return self.wrong_kind(wanted),
        };
        match read {
            Ok(value) => Some(value),
            Err(reason) => {
                self.fault(
                    FaultCode::UnreadableNumber,
                    format!("{} {reason}.", capitalised(&self.seen())),
                    format!("Give {wanted}."),
                );
                None
            }
        }
    }

    /// A price of 0 or more, at most `most`, with at most `decimals` decimals.
    pub(crate) fn price(&self, most: u32, decimals: u32) -> Option<Exact> {
        let wanted =
            format!("a price of 0 or more and at most {most}, with at most {decimals} decimals");
        let price = self.exact(&wanted)?;
        let highest = Exact::new(i128::from(most), 1)?;
        let fine = (Exact::ZERO..=highest).contains(&price)
            && 10_i128.pow(decimals) % price.denominator() == 0;
        if !fine {
            self.fault(
                FaultCode::OutOfRange,
                format!("The price is {price}."),
                format!("Give {wanted}."),
            );
        }
        fine.then_some(price)
    }

    /// A length in the scenario's unit, within `span` and at most 100 m.
    pub(crate) fn length(&self, unit: Unit, span: Span) -> Option<Length> {
        let (least, least_words) = match span {
            Span::Positive => (1, "more than 0"),
            Span::ZeroOrMore => (0, "0 or more"),
        };
        let longest = Length::LONGEST.in_unit(unit);
        let symbol = unit.symbol();
        let wanted = format!(
            "a length of {least_words} and at most {longest} {symbol} (100 m), as a number or as a fraction such as \"9 3/4\""
        );
        let value = self.exact(&wanted)?;
        let length = Length::from_exact(value, unit)
            .filter(|length| (least..=Length::LONGEST.nanometres()).contains(&length.nanometres()));
        if length.is_none() {
            self.fault(
                FaultCode::OutOfRange,
                format!(
                    "{} is no length that can be stitched.",
                    capitalised(&self.seen())
                ),
                format!("Give {wanted}."),
            );
        }
        length
    }
}
