//! How a strip is covered: what its segments add up to, at which scale, and with which overhang.

use super::geometry::Strip;
use super::place::Place;
use super::report::{Report, quoted};
use crate::exact::{Exact, round_half_up};
use crate::length::Length;
use crate::plan::{SegmentEntry, StripEntry};
use crate::scenario::{Scenario, Size};
use crate::strips::End;

/// A sum of segments beyond this covers no strip without segments to spare, as no strip and no segment is beyond
/// 100 m; it keeps every later sum small.
const LONGEST_SUM: i128 = 10 * Length::LONGEST.nanometres() as i128;

/// How the segments of a strip meet its length L.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Fit {
    /// Σ is L, but for the rounding of the repeats: T = L. A run is as long as its own repeats or as its
    /// share of L, whichever is shorter, so that rounding alone makes none too long for its hoop.
    Exact,
    /// s = L/Σ.
    Scaled,
    /// s = 1 and Σ is not L.
    Unscaled,
}

/// A strip as the plan covers it.
pub(super) struct Covering<'a> {
    pub(super) strip: &'a Strip,
    pub(super) fit: Fit,
    /// Σ: the unscaled length of all segments.
    pub(super) sum: Length,
    /// T − L; 0 where the segments fall short.
    pub(super) overhang: Length,
    pub(super) runs: Vec<Run>,
    /// Unscaled repeats of the segments at the strip's two ends.
    pub(super) end_repeats: [Length; 2],
}

/// One run, with its lengths recomputed.
pub(super) struct Run {
    /// Its own repeats, unscaled.
    pub(super) sum: Length,
    /// t: stitched length.
    pub(super) length: Length,
    /// m: margin along, both ends together.
    pub(super) margin_along: Length,
    /// a: margin across, both sides together.
    pub(super) margin_across: Length,
    /// Whether its start and its end are open.
    pub(super) open: [bool; 2],
}

impl Covering<'_> {
    /// T: stitched length of the strip.
    pub(super) fn stitched(&self) -> Length {
        self.strip.length + self.overhang
    }

    /// s, exact.
    pub(super) fn scale(&self) -> Exact {
        let scaled = Exact::new(
            i128::from(self.strip.length.nanometres()),
            i128::from(self.sum.nanometres()),
        );
        match (self.fit, scaled) {
            (Fit::Exact | Fit::Scaled, Some(scale)) => scale,
            _ => Exact::ONE,
        }
    }
}

impl Run {
    /// Whether the run's start or end is open.
    pub(super) fn is_open(&self, end: End) -> bool {
        match end {
            End::Start => self.open[0],
            End::End => self.open[1],
        }
    }
}

/// Checks the covering of a strip; `None` where its segments cannot be made out.
pub(super) fn check<'a>(
    scenario: &Scenario,
    strip: &'a Strip,
    entry: &StripEntry,
    place: Place<'_>,
    report: &mut Report,
) -> Option<Covering<'a>> {
    let segments = segments(scenario, strip, entry, place, report)?;
    let sum: i128 = segments.iter().map(Segment::nanometres).sum();
    if sum > LONGEST_SUM {
        report.broken(
            place.at("runs"),
            "superfluous-segment",
            format_args!(
                "The strip {} is covered many times over; no segment may be to spare.",
                quoted(&strip.id)
            ),
        );
        return None;
    }
    let sum = Length::from_nanometres(i64::try_from(sum).ok()?);
    let fit = fit(strip, sum, &segments);
    if fit == Fit::Unscaled {
        check_unscaled(scenario, strip, sum, &segments, place, report);
    }
    let overhang = match fit {
        Fit::Unscaled => (sum - strip.length).max(Length::ZERO),
        Fit::Exact | Fit::Scaled => Length::ZERO,
    };
    let last = entry.runs.len() - 1;
    let butts = strip.rest.map(|rest| rest.butts);
    let mut runs = Vec::with_capacity(entry.runs.len());
    // No run is without a segment, so every run has its chunk.
    for segments in segments.chunk_by(|one, next| one.run == next.run) {
        let own: Length = segments.iter().map(Segment::length).sum();
        let margin = |of: fn(&Size) -> Length| segments.iter().map(|s| of(s.size)).max();
        runs.push(Run {
            sum: own,
            length: match fit {
                Fit::Exact => proportion(strip.length, own, sum)?.min(own),
                Fit::Scaled => proportion(strip.length, own, sum)?,
                Fit::Unscaled => own,
            },
            margin_along: margin(Size::margin_along)?,
            margin_across: margin(Size::margin_across)?,
            open: [
                !runs.is_empty() || butts == Some(End::Start),
                runs.len() < last || butts == Some(End::End),
            ],
        });
    }
    let end_repeats = [segments.first()?.size.repeat, segments.last()?.size.repeat];
    Some(Covering {
        strip,
        fit,
        sum,
        overhang,
        runs,
        end_repeats,
    })
}

/// `length · part / whole`, to the nearest nanometre, ties up.
fn proportion(length: Length, part: Length, whole: Length) -> Option<Length> {
    let product = i128::from(length.nanometres()).checked_mul(i128::from(part.nanometres()))?;
    let rounded = round_half_up(product, i128::from(whole.nanometres()));
    i64::try_from(rounded).ok().map(Length::from_nanometres)
}

/// A segment whose size is known and whose repeats are within reason.
struct Segment<'a> {
    size: &'a Size,
    repeats: i64,
    /// Its run, and which of the run's segments it is, from 0.
    run: usize,
    number: usize,
}

impl Segment<'_> {
    fn length(&self) -> Length {
        self.size.repeat * self.repeats
    }

    fn nanometres(&self) -> i128 {
        i128::from(self.length().nanometres())
    }
}

/// The segments of all runs, in order; `None` where one of them cannot be made out or a run has none.
fn segments<'a>(
    scenario: &'a Scenario,
    strip: &Strip,
    entry: &StripEntry,
    place: Place<'_>,
    report: &mut Report,
) -> Option<Vec<Segment<'a>>> {
    let sizes = &scenario.designs.get(strip.design)?.sizes;
    let place = place.at("runs");
    let mut fine = !entry.runs.is_empty();
    if !fine {
        report.broken(
            place,
            "no-runs",
            format_args!(
                "The strip {} has no run; a planned strip has at least one.",
                quoted(&strip.id)
            ),
        );
    }
    let count = entry.runs.iter().map(|run| run.segments.len()).sum();
    let mut segments = Vec::with_capacity(count);
    for (index, run) in entry.runs.iter().enumerate() {
        let place = place.at(index);
        let place = place.at("segments");
        if run.segments.is_empty() {
            fine = false;
            report.broken(
                place,
                "no-segments",
                "The run has no segment; a run has at least one.",
            );
        }
        if run.segments.len() > 1 && !scenario.rules.combine_sizes {
            report.broken(
                place,
                "combined-sizes",
                format_args!(
                    "The run has {} segments; with \"combine_sizes\" false it has one.",
                    run.segments.len()
                ),
            );
        }
        for (number, segment) in run.segments.iter().enumerate() {
            match known(sizes, strip, segment, place.at(number), report) {
                Some((size, repeats)) => segments.push(Segment {
                    size,
                    repeats,
                    run: index,
                    number,
                }),
                None => fine = false,
            }
        }
    }
    fine.then_some(segments)
}

/// The size that a segment names, and its repeats.
fn known<'a>(
    sizes: &'a [Size],
    strip: &Strip,
    segment: &SegmentEntry,
    place: Place<'_>,
    report: &mut Report,
) -> Option<(&'a Size, i64)> {
    let name = quoted(&segment.size);
    let Some(size) = sizes.iter().find(|size| size.id == segment.size) else {
        report.broken(
            place.at("size"),
            "unknown-size",
            format_args!(
                "The design of the strip {} has no size {name}.",
                quoted(&strip.id)
            ),
        );
        return None;
    };
    if size.width != strip.width {
        let message = format!(
            "The size {name} is for strips {} wide; the strip {} is {} wide.",
            report.show(size.width),
            quoted(&strip.id),
            report.show(strip.width)
        );
        report.broken(place.at("size"), "size-of-another-width", message);
        return None;
    }
    let place = place.at("repeats");
    if segment.repeats == 0 || segment.repeats > size.repeats {
        report.broken(
            place,
            "repeats-out-of-range",
            format_args!(
                "The segment has {} repeats; the size {name} has 1 to {}.",
                segment.repeats, size.repeats
            ),
        );
        return None;
    }
    if segment.repeats < size.repeats && !size.stop_early {
        report.broken(
            place,
            "stops-early",
            format_args!(
                "The segment stops after {} of {} repeats; the size {name} is stitched whole.",
                segment.repeats, size.repeats
            ),
        );
    }
    Some((size, i64::from(segment.repeats)))
}

fn fit(strip: &Strip, sum: Length, segments: &[Segment<'_>]) -> Fit {
    let length = strip.length;
    let repeats: i64 = segments.iter().map(|segment| segment.repeats).sum();
    // Each repeat may carry up to a nanometre of rounding.
    if (sum - length).nanometres().abs() <= repeats {
        return Fit::Exact;
    }
    if strip.is_unscaled() {
        return Fit::Unscaled;
    }
    let (length, sum) = (
        i128::from(length.nanometres()),
        i128::from(sum.nanometres()),
    );
    let allowed = segments.iter().all(|segment| {
        let scale = segment.size.scale;
        // lo·Σ ≤ L ≤ hi·Σ without division; the bounds' parts have at most 9 digits.
        scale.least.numerator() * sum <= length * scale.least.denominator()
            && length * scale.most.denominator() <= scale.most.numerator() * sum
    });
    if allowed { Fit::Scaled } else { Fit::Unscaled }
}

/// The rules of a covering that is not scaled: long enough, not too long, nothing to spare.
fn check_unscaled(
    scenario: &Scenario,
    strip: &Strip,
    sum: Length,
    segments: &[Segment<'_>],
    place: Place<'_>,
    report: &mut Report,
) {
    let name = quoted(&strip.id);
    if sum < strip.length {
        let message = format!(
            "The segments of the strip {name} add up to {}, and no scale that all of them allow brings them to {}.",
            report.show(sum),
            report.show(strip.length)
        );
        let stretches = !strip.is_unscaled()
            && segments
                .iter()
                .any(|segment| segment.size.scale.most > Exact::ONE);
        let rule = if stretches {
            "scale-out-of-range"
        } else {
            "covering-too-short"
        };
        report.broken(place.at("runs"), rule, message);
        return;
    }
    let overhang = sum - strip.length;
    if let Some(most) = scenario.rules.max_overhang
        && overhang > most
    {
        let message = format!(
            "The strip {name} has an overhang of {}; at most {} is allowed.",
            report.show(overhang),
            report.show(most)
        );
        report.broken(place.at("runs"), "overhang-too-large", message);
    }
    let repeats: i64 = segments.iter().map(|segment| segment.repeats).sum();
    // Whether what is left covers the strip, where it may fall short by the rounding of its repeats.
    let still_covers = |left_out: &Segment<'_>, fewer: i64| {
        let rest = sum - left_out.size.repeat * fewer;
        (strip.length - rest).nanometres() <= repeats - fewer
    };
    let runs = place.at("runs");
    for segment in segments {
        let run = runs.at(segment.run);
        let place = run.at("segments");
        let place = place.at(segment.number);
        let size = quoted(&segment.size.id);
        if still_covers(segment, segment.repeats) {
            report.broken(
                place,
                "superfluous-segment",
                format_args!(
                    "The strip {name} is covered without this segment of the size {size}, too."
                ),
            );
        } else if segment.size.stop_early && segment.repeats > 1 && still_covers(segment, 1) {
            report.broken(
                place,
                "could-stop-sooner",
                format_args!(
                    "This segment of the size {size} could stop one repeat sooner, and the strip {name} would still be covered."
                ),
            );
        }
    }
}
