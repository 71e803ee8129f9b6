//! The choices of widths that a scenario leaves.

use serde_json::json;

use crate::cope::judge::Followers;
use crate::cope::{Width, WidthOf};
use crate::explain::Setting;
use crate::fault::{Fault, FaultCode, FaultList};
use crate::length::Length;
use crate::scenario::{Centre, Cope, Quilt, Scenario, Widths};

/// The most choices of widths that are looked at.
pub const MOST_CHOICES: u64 = 20_000;

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

impl Place {
    /// Whether it lies inside a border (its index), whose strips then follow its width.
    pub fn is_inside(self, border: usize) -> bool {
        match self {
            Place::Sides(index) | Place::Ends(index) => index < border,
            Place::Sashing => true,
        }
    }
}

/// A width that may be another: where it is, what it is now, and what it may be.
#[derive(Clone, Copy, Debug)]
pub struct Free {
    /// Where it is.
    pub place: Place,
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

/// What keeps a scenario from being fitted: widths that nothing follows, strips that were measured and would follow, more
/// choices than can be looked at.
pub fn faults(scenario: &Scenario) -> Vec<Fault> {
    let free = places(scenario);
    let followers = Followers::of(scenario, &free);
    let mut faults = FaultList::default();
    if let Some(begun) = scenario.begun.first().filter(|_| !free.is_empty()) {
        faults.add(
            begun.pointer.clone(),
            FaultCode::Conflict,
            format!(
                "The strip {} is begun; other widths would give it another length.",
                begun.strip
            ),
            "Ask for widths before the first stitch.",
        );
    }
    let measured_before = |index: usize| {
        format!(
            "Border {} was measured, and would have other lengths with other widths inside it.",
            index + 1
        )
    };
    let borders = || scenario.quilt.iter().flat_map(|quilt| &quilt.borders);
    for (index, border) in borders().enumerate() {
        let pointer = format!("/quilt/borders/{index}");
        let copes = border.cope != Cope::default();
        if copes && followers.borders.last().is_none_or(|last| *last < index) {
            faults.add(
                format!("{pointer}/cope"),
                FaultCode::Conflict,
                format!("No stitched border lies outside border {}, so nothing fits better by its width.", index + 1),
                "Give \"cope\" to a plain border inside the stitched one.",
            );
        }
        let measured = border.measured.iter().any(Option::is_some);
        if !free.is_empty() && measured && followers.borders.contains(&index) {
            faults.add(
                format!("{pointer}/measured"),
                FaultCode::Conflict,
                measured_before(index),
                "Take \"measured\" out to look for widths, and measure again once the new ones are sewn.",
            );
        }
    }
    for measured in scenario.measured.iter().filter(|_| !free.is_empty()) {
        let of_border = |index: &usize| {
            measured
                .strip
                .starts_with(&format!("border-{}-", index + 1))
        };
        if let Some(index) = followers.borders.iter().find(|index| of_border(index)) {
            faults.add(
                measured.pointer.clone(),
                FaultCode::Conflict,
                measured_before(*index),
                "Take this out to look for widths, and measure again once the new ones are sewn.",
            );
        }
    }
    let sashing = free.iter().any(|free| free.place == Place::Sashing);
    if sashing && followers.borders.is_empty() && !sashing_is_stitched(scenario) {
        faults.add(
            "/quilt/sashing/cope",
            FaultCode::Conflict,
            "Neither the sashing nor a border around it is stitched, so nothing fits better by its width.",
            "Give a \"design\" to the sashing or to a border, or take \"cope\" out.",
        );
    }
    let count = count(&free);
    if count > MOST_CHOICES {
        faults.add(
            "/quilt",
            FaultCode::OutOfRange,
            format!("There are {count} choices of widths."),
            format!(
                "Leave at most {MOST_CHOICES}: narrower ranges, larger steps, or fewer widths that may be others."
            ),
        );
    }
    faults.into_faults()
}

fn sashing_is_stitched(scenario: &Scenario) -> bool {
    let centre = scenario.quilt.as_ref().map(|quilt| &quilt.centre);
    matches!(centre, Some(Centre::Blocks { sashing: Some(sashing), .. }) if sashing.design.is_some())
}

/// How many choices there are.
fn count(free: &[Free]) -> u64 {
    let each = free.iter().map(|free| free.widths.count());
    each.fold(1, u64::saturating_mul)
}

/// Every choice but the widths as they are, those that change them least first.
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
    let mut others: Vec<Choice> = all.into_iter().map(|widths| choice(free, widths)).collect();
    others.sort_by(|one, other| (one.change, &one.widths).cmp(&(other.change, &other.widths)));
    others
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
    /// Writes the widths into the quilt.
    pub fn write(&self, free: &[Free], quilt: &mut Quilt) {
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
