//! Why a strip cannot be stitched, with the closest miss.

use crate::classes::Class;
use crate::cover::piece::step;
use crate::cover::{ClassCovers, PieceStore, covers_of};
use crate::deadline::Deadline;
use crate::length::{Length, Unit};
use crate::scenario::{Scenario, Size};

/// Why no covering of a class's strips will do, and what would mend it; both are sentences.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Miss {
    /// What stands in the way.
    pub reason: String,
    /// What would do.
    pub mend: String,
    /// How sure it is.
    pub sure: Sure,
}

/// How sure it is that strips cannot be stitched.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sure {
    /// There is no covering.
    Yes,
    /// None was found before the search ended by its count of steps.
    OutOfSteps,
    /// None was found before the time was over.
    OutOfTime,
}

impl Miss {
    /// Nothing is known yet.
    pub fn out_of_time() -> Miss {
        Miss {
            reason: "The time was over before a way to stitch it was found.".into(),
            mend: "Give more seconds under limits.".into(),
            sure: Sure::OutOfTime,
        }
    }
}

impl ClassCovers<'_> {
    /// The closest miss of a class that has no cover.
    pub fn miss(&self, scenario: &Scenario, class: &Class, deadline: &Deadline) -> Miss {
        let unit = scenario.unit;
        let design = &scenario.designs[class.design];
        if self.sizes.list.is_empty() {
            let mut widths: Vec<Length> = design.sizes.iter().map(|size| size.width).collect();
            widths.sort_unstable();
            widths.dedup();
            let widths: Vec<String> = widths
                .iter()
                .map(|width| width.in_unit(unit).to_string())
                .collect();
            return Miss {
                reason: format!(
                    "The design \"{}\" has no size for strips {} wide; it has sizes for {}.",
                    design.id,
                    show(class.width, unit),
                    widths.join(", ")
                ),
                mend: "Add a size of that width, or give the strip another design.".into(),
                sure: Sure::Yes,
            };
        }
        if self.pieces.is_empty() && self.every_piece {
            return self.no_hoop(scenario);
        }
        if self.hurried {
            return Miss::out_of_time();
        }
        if self.complete_to.is_some() {
            return Miss {
                reason: "No covering was found before the search reached its limit of steps."
                    .into(),
                mend: "Offer fewer sizes, or narrower scale ranges: then there are fewer coverings to go through; or a larger max_overhang."
                    .into(),
                sure: Sure::OutOfSteps,
            };
        }
        if let Some(most) = scenario.rules.max_overhang {
            let mut generous = scenario.clone();
            generous.rules.max_overhang = None;
            let covers = covers_of(&PieceStore::of(&generous), class, deadline).covers;
            if covers.is_empty() && deadline.over() {
                return Miss {
                    reason: format!(
                        "No whole number of repeats ends close enough, with an overhang of at most {}.",
                        show(most, unit)
                    ),
                    mend: "Set max_overhang higher, or offer a size with another repeat or a wider scale range.".into(),
                    sure: Sure::Yes,
                };
            }
            if let Some(least) = covers.iter().map(|cover| cover.settled.overhang()).min() {
                return Miss {
                    reason: format!(
                        "No whole number of repeats ends close enough: the closest covering of {} has an overhang of {}, and at most {} is allowed.",
                        show(class.length, unit),
                        show(least, unit),
                        show(most, unit)
                    ),
                    mend: format!(
                        "Set max_overhang to at least {}, or offer a size with another repeat or a wider scale range.",
                        show(least, unit)
                    ),
                    sure: Sure::Yes,
                };
            }
        }
        Miss {
            reason: "Its sizes fit the hoops only when they are shortened, and no covering is shortened enough.".into(),
            mend: "Add a shorter size or a larger hoop.".into(),
            sure: Sure::Yes,
        }
    }

    /// No hoop takes even the shortest stretch of any size: names the size that asks for the least.
    fn no_hoop(&self, scenario: &Scenario) -> Miss {
        let unit = scenario.unit;
        let closest = self.sizes.list.iter().map(|(_, size)| {
            let need = [
                step(size) + size.margin_along(),
                size.width + size.margin_across(),
            ];
            let short = scenario.hoops.iter().flat_map(|hoop| hoop.ways());
            let short = short.map(|way| missing(need[0], way.0) + missing(need[1], way.1));
            (short.min().unwrap_or(Length::ZERO), need, *size)
        });
        let closest = closest.min_by_key(|(short, _, _)| *short);
        let largest = scenario.hoops.iter().max_by_key(|hoop| {
            i128::from(hoop.field[0].nanometres()) * i128::from(hoop.field[1].nanometres())
        });
        let (Some((_, need, size)), Some(largest)) = (closest, largest) else {
            return Miss {
                reason: "There is no size or no hoop.".into(),
                mend: "Add one.".into(),
                sure: Sure::Yes,
            };
        };
        let turned = if scenario.hoops.iter().all(|hoop| hoop.turn) {
            ""
        } else {
            " (hoops with \"turn\": false are not turned)"
        };
        Miss {
            reason: format!(
                "No hoop takes any size: the size that asks for the least, \"{}\", {}needs a field of at least {} × {}; the largest owned is {} × {}{turned}.",
                size.id,
                stop_words(size),
                need[0].in_unit(unit),
                need[1].in_unit(unit),
                largest.field[0].in_unit(unit),
                largest.field[1].in_unit(unit),
            ),
            mend: "Add a larger hoop, or a size for a smaller field.".into(),
            sure: Sure::Yes,
        }
    }
}

fn stop_words(size: &Size) -> &'static str {
    if size.stop_early {
        "stopped after one repeat, "
    } else {
        ""
    }
}

fn missing(need: Length, room: Length) -> Length {
    (need - room).max(Length::ZERO)
}

fn show(length: Length, unit: Unit) -> String {
    format!("{} {}", length.in_unit(unit), unit.symbol())
}
