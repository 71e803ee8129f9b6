//! Whether what lies in a hooping fits the hoop's field: each lane along it, all lanes across it, open ends outward.

use super::covering::Run;
use super::geometry::Strip;
use super::lanes::{Item, Misplaced, check_places, twice_needed};
use super::place::Place;
use super::report::{Report, TOLERANCE, quoted};
use crate::length::Length;
use crate::plan::Placement;
use crate::scenario::{Hoop, Scenario};
use crate::strips::End;

/// A placed run whose lengths are known.
pub(super) struct Laid<'a> {
    pub(super) strip: &'a Strip,
    pub(super) run: &'a Run,
    pub(super) placement: &'a Placement,
    /// Which of the hooping's placements it is, from 0.
    pub(super) index: usize,
    pub(super) along: Length,
    pub(super) across: Length,
}

/// Whether all lanes fit the field. Brings the runs into the order of their lanes.
pub(super) fn check_field(
    scenario: &Scenario,
    hoop: &Hoop,
    turned: bool,
    laid: &mut [Laid<'_>],
    place: Place<'_>,
    report: &mut Report,
) {
    let [first, second] = hoop.field;
    let (along, across) = if turned {
        (second, first)
    } else {
        (first, second)
    };
    let between =
        (scenario.allowances.seam + scenario.allowances.trim) * 2 + scenario.allowances.gap;
    let placements = place.at("placements");
    laid.sort_by_key(|laid| (laid.placement.lane, laid.along));
    let lanes = || laid.chunk_by(|one, next| one.placement.lane == next.placement.lane);
    let mut runs = Vec::with_capacity(laid.len());
    let mut row = Vec::with_capacity(laid.len());
    for lane in lanes() {
        runs.clear();
        runs.extend(lane.iter().map(Laid::as_item));
        check_lane(lane, &runs, between, along, placements, report);
        check_open_ends(lane, placements, report);
        row.push(lane_as_item(lane, placements, report));
    }
    let numbers = lanes().map(|lane| u64::from(lane[0].placement.lane));
    let from_one = numbers.eq(1..=row.len() as u64);
    let upward = lanes()
        .zip(lanes().skip(1))
        .all(|(lower, upper)| lower[0].across < upper[0].across);
    if !from_one || !upward {
        let message =
            "Lanes are numbered from 1, without a gap, from the lowest \"across\" upward.";
        report.broken(placements, "lane-number", message);
        return;
    }
    let needed = twice_needed(&row, between);
    if needed > 2 * i128::from(across.nanometres()) {
        let message = format!(
            "The lanes need {} across the field; it has {}.",
            report.show_half(needed),
            report.show(across)
        );
        report.broken(placements, "lanes-too-wide", message);
        return;
    }
    if let Err(misplaced) = check_places(&row, between, across) {
        let lane = lanes().nth(misplaced.index());
        if let Some(first) = lane.and_then(<[_]>::first) {
            note_misplaced(misplaced, first, "across", placements, report);
        }
    }
}

impl Laid<'_> {
    /// A run as one item along its lane.
    fn as_item(&self) -> Item {
        Item {
            size: self.run.length,
            margin: self.run.margin_along,
            twice_low: 2 * i128::from(self.along.nanometres()),
        }
    }
}

/// Whether the runs of a lane, in the order in which they lie, fit along the field. They are its items.
fn check_lane(
    lane: &[Laid<'_>],
    runs: &[Item],
    between: Length,
    field: Length,
    placements: Place<'_>,
    report: &mut Report,
) {
    let needed = twice_needed(runs, between);
    if needed > 2 * i128::from(field.nanometres()) {
        let message = format!(
            "Lane {} needs {} along the field; it has {}.",
            lane[0].placement.lane,
            report.show_half(needed),
            report.show(field)
        );
        report.broken(placements.at(lane[0].index), "too-long-for-field", message);
    } else if let Err(misplaced) = check_places(runs, between, field)
        && let Some(laid) = lane.get(misplaced.index())
    {
        note_misplaced(misplaced, laid, "along", placements, report);
    }
}

/// Notes a run, or the first run of a lane, that lies in the wrong place along or across the field.
fn note_misplaced(
    misplaced: Misplaced,
    laid: &Laid<'_>,
    field: &'static str,
    placements: Place<'_>,
    report: &mut Report,
) {
    let (rule, asked) = match misplaced {
        Misplaced::Outside(_) => (
            "outside-field",
            "its stitching and half of its margin have to stay inside the field",
        ),
        Misplaced::TooClose(_) => (
            "gap-too-small",
            "it is closer to the one before it than the fabrics or the margins allow",
        ),
    };
    let at = if field == "along" {
        laid.along
    } else {
        laid.across
    };
    let message = format!(
        "Run {} of the strip {} lies at {} {field} the field, and {asked}.",
        laid.placement.run,
        quoted(&laid.strip.id),
        report.show(at)
    );
    report.broken(placements.at(laid.index).at(field), rule, message);
}

/// Open ends face out of the hoop.
fn check_open_ends(lane: &[Laid<'_>], placements: Place<'_>, report: &mut Report) {
    if lane.len() < 2 {
        return;
    }
    for (index, laid) in lane.iter().enumerate() {
        let (low, high) = if laid.placement.reversed {
            (End::End, End::Start)
        } else {
            (End::Start, End::End)
        };
        let (run, lane_number) = (laid.placement.run, laid.placement.lane);
        let name = quoted(&laid.strip.id);
        let (low, high) = (laid.run.is_open(low), laid.run.is_open(high));
        if low && high {
            report.broken(
                placements.at(laid.index),
                "open-ends-share-lane",
                format_args!(
                    "Run {run} of the strip {name} has two open ends and shares lane {lane_number}; it has to be alone \
                     in its lane."
                ),
            );
        } else if (low && index > 0) || (high && index + 1 < lane.len()) {
            report.broken(
                placements.at(laid.index),
                "open-end-inward",
                format_args!(
                    "Run {run} of the strip {name} has its open end towards another run of lane {lane_number}; it has \
                     to face out of the hoop."
                ),
            );
        }
    }
}

/// A lane as one item across the field: its width and margin are the largest of its runs'.
fn lane_as_item(lane: &[Laid<'_>], placements: Place<'_>, report: &mut Report) -> Item {
    let mut item = Item {
        size: Length::ZERO,
        margin: Length::from_nanometres(i64::MIN),
        twice_low: 0,
    };
    let (mut least, mut most) = (&lane[0], &lane[0]);
    for laid in lane {
        item.size = item.size.max(laid.strip.width);
        item.margin = item.margin.max(laid.run.margin_across);
        if laid.across < least.across {
            least = laid;
        }
        if laid.across > most.across {
            most = laid;
        }
    }
    let spread = i128::from(most.across.nanometres()) - i128::from(least.across.nanometres());
    if spread > 2 * i128::from(TOLERANCE.nanometres()) {
        let message = format!(
            "Runs of lane {} lie at {} and at {} across; a lane has one centre line.",
            least.placement.lane,
            report.show(least.across),
            report.show(most.across)
        );
        report.broken(
            placements.at(most.index).at("across"),
            "lane-not-straight",
            message,
        );
    }
    let twice_centre = 2 * i128::from(lane[0].across.nanometres());
    item.twice_low = twice_centre - i128::from(item.size.nanometres());
    item
}
