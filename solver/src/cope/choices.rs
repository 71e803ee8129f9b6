//! The choices of widths that a scenario leaves.

use serde_json::json;

use crate::cope::{Width, WidthOf};
use crate::explain::Setting;
use crate::fault::{Fault, FaultCode};
use crate::length::Length;
use crate::scenario::{Centre, Scenario, Widths};

/// The most choices of widths.
const MOST_CHOICES: u64 = 20_000;

/// Something whose width may be another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Place {
    /// The left and right strips of a border (its index).
    Sides(usize),
    /// The top and bottom strips.
    Ends(usize),
    /// The sashing.
    Sashing,
}

/// A width that may be another: where it is, what it is now, and what it may be.
#[derive(Clone, Copy, Debug)]
pub struct Free {
    place: Place,
    now: Length,
    widths: Widths,
}

/// A width for each place.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Choice {
    /// In the order of the places.
    pub widths: Vec<Length>,
    /// By how much they differ from what they are now, in all.
    pub change: Length,
}

/// Every place whose width may be another.
pub fn places(scenario: &Scenario) -> Vec<Free> {
    let Some(quilt) = &scenario.quilt else {
        return Vec::new();
    };
    let mut free = Vec::new();
    if let Centre::Blocks {
        sashing: Some(sashing),
        ..
    } = &quilt.centre
        && let Some(widths) = sashing.cope
    {
        free.push(Free {
            place: Place::Sashing,
            now: sashing.width,
            widths,
        });
    }
    for (index, border) in quilt.borders.iter().enumerate() {
        let [of_sides, of_ends] = border.widths();
        let sides = (Place::Sides(index), of_sides, border.cope.sides);
        let ends = (Place::Ends(index), of_ends, border.cope.ends);
        let both = [sides, ends].into_iter();
        free.extend(both.filter_map(|(place, now, widths)| {
            Some(Free {
                place,
                now,
                widths: widths?,
            })
        }));
    }
    free
}

/// What keeps a scenario from being fitted: more choices than can be looked at.
pub fn faults(scenario: &Scenario) -> Vec<Fault> {
    let places = places(scenario);
    if let Some(begun) = scenario.begun.first().filter(|_| !places.is_empty()) {
        return vec![Fault {
            pointer: begun.pointer.clone(),
            code: FaultCode::Conflict,
            message: format!(
                "The strip {} is begun; other widths would give it another length.",
                begun.strip
            ),
            mend: "Ask for widths before the first stitch.".into(),
        }];
    }
    let count = count(&places);
    if count <= MOST_CHOICES {
        return Vec::new();
    }
    vec![Fault {
        pointer: "/quilt".into(),
        code: FaultCode::OutOfRange,
        message: format!("There are {count} choices of widths."),
        mend: format!(
            "Leave at most {MOST_CHOICES}: narrower ranges, larger steps, or fewer widths that may be others."
        ),
    }]
}

/// How many choices there are.
fn count(free: &[Free]) -> u64 {
    let each = free.iter().map(|free| free.widths.count());
    each.fold(1, u64::saturating_mul)
}

/// Every choice but the widths as they are.
pub fn others(free: &[Free]) -> Vec<Choice> {
    if free.is_empty() || count(free) > MOST_CHOICES {
        return Vec::new();
    }
    let mut all: Vec<Vec<Length>> = vec![Vec::new()];
    for free in free {
        let longer = |chosen: &Vec<Length>| -> Vec<Vec<Length>> {
            let with = |width: Length| [chosen.as_slice(), &[width]].concat();
            free.widths.each().map(with).collect()
        };
        all = all.iter().flat_map(longer).collect();
    }
    let now = as_they_are(free);
    all.retain(|widths| *widths != now.widths);
    all.into_iter().map(|widths| choice(free, widths)).collect()
}

/// The widths as they are.
pub fn as_they_are(free: &[Free]) -> Choice {
    choice(free, free.iter().map(|free| free.now).collect())
}

fn choice(free: &[Free], widths: Vec<Length>) -> Choice {
    let changes = free.iter().zip(&widths);
    let change = changes
        .map(|(free, width)| Length::from_nanometres((*width - free.now).nanometres().abs()));
    Choice {
        change: change.sum(),
        widths,
    }
}

impl Choice {
    /// The scenario with these widths.
    pub fn apply(&self, free: &[Free], scenario: &Scenario) -> Scenario {
        let mut changed = scenario.clone();
        let Some(quilt) = &mut changed.quilt else {
            return changed;
        };
        for (free, width) in free.iter().zip(&self.widths) {
            match free.place {
                Place::Sashing => {
                    if let Centre::Blocks {
                        sashing: Some(sashing),
                        ..
                    } = &mut quilt.centre
                    {
                        sashing.width = *width;
                    }
                }
                Place::Sides(index) => {
                    let border = &mut quilt.borders[index];
                    // What was said of both pairs stays so for the other one.
                    border.width_of_ends = border.width_of_ends.or(Some(border.width));
                    border.width = *width;
                }
                Place::Ends(index) => quilt.borders[index].width_of_ends = Some(*width),
            }
        }
        changed
    }

    /// What to write where to have these widths.
    pub fn settings(&self, free: &[Free], scenario: &Scenario) -> Vec<Setting> {
        let mut settings = Vec::new();
        let unit = scenario.unit;
        let mut set = |pointer: String, width: Length| {
            settings.push(Setting {
                pointer,
                value: json!(width.in_unit(unit)),
            });
        };
        for (free_place, width) in free.iter().zip(&self.widths) {
            match free_place.place {
                _ if *width == free_place.now => {}
                Place::Sashing => set("/quilt/sashing/width".into(), *width),
                Place::Sides(index) => {
                    let border = scenario.quilt.as_ref().map(|quilt| &quilt.borders[index]);
                    let kept = border.filter(|border| border.width_of_ends.is_none());
                    let ends_too = free.iter().zip(&self.widths).any(|(other, width)| {
                        other.place == Place::Ends(index) && *width != other.now
                    });
                    if let Some(border) = kept.filter(|_| !ends_too) {
                        set(
                            format!("/quilt/borders/{index}/width_of_ends"),
                            border.width,
                        );
                    }
                    set(format!("/quilt/borders/{index}/width"), *width);
                }
                Place::Ends(index) => set(format!("/quilt/borders/{index}/width_of_ends"), *width),
            }
        }
        settings
    }

    /// The widths as the document tells them.
    pub fn told(&self, free: &[Free], scenario: &Scenario) -> Vec<Width> {
        let number = |index: usize| u32::try_from(index + 1).ok();
        let pairs = free.iter().zip(&self.widths);
        pairs
            .map(|(free, width)| {
                let (of, border) = match free.place {
                    Place::Sides(index) => (WidthOf::Sides, number(index)),
                    Place::Ends(index) => (WidthOf::Ends, number(index)),
                    Place::Sashing => (WidthOf::Sashing, None),
                };
                Width {
                    of,
                    border,
                    width: width.in_unit(scenario.unit),
                }
            })
            .collect()
    }
}
