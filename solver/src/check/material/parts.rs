//! Strips that are longer than the cloth is wide, and sewn together from parts.

use std::collections::HashMap;

use super::wanted::{Wanted, read};
use crate::check::place::Place;
use crate::check::report::{Report, TOLERANCE, quoted};
use crate::cutting::Lay;
use crate::job::ClothCuts;
use crate::length::Length;
use crate::scenario::Scenario;

/// A strip is not sewn together from more parts than this.
const MOST_PARTS: usize = 1_000;

/// A strip that is longer than its cloth is wide.
pub(super) struct Long {
    /// It as one piece.
    pub(super) whole: Wanted,
    /// What it is called where its parts are: its name, in quotes as often as it takes for no other piece to be called like a part.
    pub(super) of_parts: String,
    /// Where its runs butt up, from its cut end.
    pub(super) joints: Vec<Length>,
    /// How far joins stay from these, and from its ends.
    pub(super) clear: Length,
    /// The usable width of the cloth.
    pub(super) across: Length,
    pub(super) seam: Length,
}

/// A part of a strip, as a plan prints it.
pub(super) struct Part {
    number: usize,
    of: usize,
    length: Length,
}

/// The parts that a plan lists, by the strip that they are of.
pub(super) fn listed<'c>(scenario: &Scenario, cuts: &'c ClothCuts) -> HashMap<&'c str, Vec<Part>> {
    let mut all: HashMap<&str, Vec<Part>> = HashMap::new();
    for piece in &cuts.pieces {
        for usage in &piece.uses {
            let Some((strip, numbers)) = usage.rsplit_once(", part ") else {
                continue;
            };
            let Some((number, of)) = numbers.split_once(" of ") else {
                continue;
            };
            let (Ok(number), Ok(of)) = (number.parse(), of.parse()) else {
                continue;
            };
            let length = read(scenario, &piece.size[0]);
            let part = Part { number, of, length };
            all.entry(strip).or_default().push(part);
        }
    }
    all
}

impl Long {
    /// The pieces that have to be there: the parts that are listed, or the whole strip where there are none.
    pub(super) fn wanted(
        &self,
        parts: Option<&mut Vec<Part>>,
        place: Place<'_>,
        report: &mut Report,
    ) -> Vec<Wanted> {
        let name = &self.whole.name;
        let Some(parts) = parts else {
            if self.fewest_parts().is_some() {
                report.broken(
                    place.at("pieces"),
                    "long-strip-in-one-piece",
                    format_args!(
                        "{} is longer than the cloth is wide; it is to be sewn together from parts.",
                        quoted(name)
                    ),
                );
            }
            return vec![self.whole.clone()];
        };
        parts.sort_by_key(|part| part.number);
        if let Err(fault) = self.judge(parts, report) {
            report.broken(
                place.at("pieces"),
                "wrong-parts",
                format_args!("The parts of {} {fault}.", quoted(name)),
            );
        }
        let wanted = parts.iter().map(|part| Wanted {
            name: format!("{}, part {} of {}", self.of_parts, part.number, part.of),
            sides: [part.length, self.whole.sides[1]],
            lay: Lay::Crosswise,
        });
        wanted.collect()
    }

    /// What is wrong with parts, which are in order.
    fn judge(&self, parts: &[Part], report: &Report) -> Result<(), String> {
        let count = parts.len();
        let numbered = (1..).zip(parts);
        if numbered
            .into_iter()
            .any(|(number, part)| part.number != number || part.of != count)
        {
            return Err("are not numbered from 1 to their number".into());
        }
        let length = self.whole.sides[0];
        let mut join = Length::ZERO;
        for (index, part) in parts.iter().enumerate() {
            if part.length > self.across {
                return Err(format!(
                    "are not all as short as the cloth is wide, {}",
                    report.show(self.across)
                ));
            }
            // A seam on either side, but for the two cut ends of the strip.
            let (before, after) = (index > 0, index + 1 < count);
            let seams = self.seam * (i64::from(before) + i64::from(after));
            if part.length <= seams {
                return Err("are not all longer than their seams".into());
            }
            join += part.length - seams;
            let near = |spot: Length| {
                let apart = (spot - join).nanometres().abs();
                apart + TOLERANCE.nanometres() < self.clear.nanometres()
            };
            let mut spots = self.joints.iter().copied().chain([Length::ZERO, length]);
            if after && spots.any(near) {
                return Err(format!(
                    "meet {} from its cut end, too near to an end or to a joint of the stitching",
                    report.show(join)
                ));
            }
        }
        let apart = (join - length).nanometres().abs();
        if apart > TOLERANCE.nanometres() {
            return Err(format!(
                "make up {}; it is {} long",
                report.show(join),
                report.show(length)
            ));
        }
        Ok(())
    }

    /// The fewest parts that it can be sewn together from; `None` where it cannot. The farthest place for a join is never worse than a nearer one: all that can be reached from
    /// the nearer one can be reached from it.
    pub(super) fn fewest_parts(&self) -> Option<usize> {
        let length = self.whole.sides[0];
        let mut joints = self.joints.clone();
        joints.sort_unstable();
        let mut at = Length::ZERO;
        let mut seam = Length::ZERO;
        let mut parts = 1;
        while length - at + seam > self.across {
            let mut next = (at + self.across - seam - self.seam).min(length - self.clear);
            while let Some(near) = joints
                .iter()
                .rev()
                .find(|joint| **joint - self.clear < next && next < **joint + self.clear)
            {
                next = *near - self.clear;
            }
            let least = if at == Length::ZERO {
                self.clear
            } else {
                at + self.seam * 2
            };
            parts += 1;
            if next <= least.max(at) || parts > MOST_PARTS {
                return None;
            }
            (at, seam) = (next, self.seam);
        }
        Some(parts)
    }
}
