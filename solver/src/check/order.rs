//! The order of the work: what is stitched of a strip is one unbroken stretch at every moment.

use super::geometry::Strip;
use super::place::Place;
use super::placed::Placed;
use super::report::{Report, quoted};
use crate::scenario::Growth;
use crate::strips::End;

/// Checks the order in which the runs of each strip are stitched.
pub(super) fn check(growth: Growth, placed: &Placed<'_>, report: &mut Report) {
    let strips = Place::of("strips");
    for (index, strip) in placed.strips() {
        if let Some(rest) = strip.rest {
            check_rest(index, strip, rest.butts, placed, report);
            continue;
        }
        // One run or two are in order however they are stitched.
        if placed.runs_of(index) < 3 {
            continue;
        }
        // Runs without a place are reported elsewhere; the order of the others means nothing then.
        let Some(hoopings) = placed.hoopings_of(index) else {
            continue;
        };
        let name = quoted(&strip.id);
        match growth {
            Growth::EitherWay => {
                // A run stitched after both its neighbours fills a gap; without such a run the numbers fall to the
                // first run and rise from it, which is what growing at both ends means.
                let gap = first_filled_gap(&hoopings);
                if let Some(run) = gap {
                    report.broken(
                        strips.at(index).at("runs").at(run),
                        "order-gap",
                        format_args!(
                            "Run {} of the strip {name} is stitched in hooping {}, between stretches that are already \
                             stitched; every run has to butt up to an end of what is stitched.",
                            run + 1,
                            hoopings[run] + 1
                        ),
                    );
                }
            }
            Growth::OneWay => {
                let fall = hoopings.windows(2).position(|pair| pair[0] > pair[1]);
                let rise = hoopings.windows(2).position(|pair| pair[0] < pair[1]);
                if let (Some(fall), Some(rise)) = (fall, rise) {
                    let run = fall.max(rise) + 1;
                    report.broken(
                        strips.at(index).at("runs").at(run),
                        "order-one-way",
                        format_args!(
                            "The runs of the strip {name} are not stitched from one of its ends to the other: run {} is \
                             stitched in hooping {}, run {run} in hooping {}.",
                            run + 1,
                            hoopings[run] + 1,
                            hoopings[run - 1] + 1
                        ),
                    );
                }
            }
        }
    }
}

/// What is left of a begun strip is stitched from what is done outward.
fn check_rest(index: usize, strip: &Strip, butts: End, placed: &Placed<'_>, report: &mut Report) {
    let Some(mut hoopings) = placed.hoopings_of(index) else {
        return;
    };
    if butts == End::End {
        hoopings.reverse();
    }
    let Some(early) = hoopings.windows(2).position(|pair| pair[0] > pair[1]) else {
        return;
    };
    let run = match butts {
        End::Start => early + 1,
        End::End => hoopings.len() - 2 - early,
    };
    report.broken(
        Place::of("strips").at(index).at("runs").at(run),
        "order-rest",
        format_args!(
            "Run {} of {} is stitched before the run that lies between it and what is stitched already.",
            run + 1,
            quoted(&strip.id)
        ),
    );
}

/// The first run after which the numbers fall again although they have risen before it.
fn first_filled_gap(hoopings: &[usize]) -> Option<usize> {
    let first_rise = hoopings.windows(2).position(|pair| pair[0] < pair[1])?;
    let fall = hoopings[first_rise..]
        .windows(2)
        .position(|pair| pair[0] > pair[1])?;
    Some(first_rise + fall)
}

#[cfg(test)]
mod tests {
    use super::first_filled_gap;

    #[test]
    fn growing_at_either_end_fills_no_gap() {
        for fine in [&[0, 1, 2][..], &[2, 1, 0], &[3, 1, 0, 2], &[5], &[1, 0]] {
            assert_eq!(first_filled_gap(fine), None, "{fine:?}");
        }
        assert_eq!(first_filled_gap(&[0, 2, 1]), Some(1));
        assert_eq!(first_filled_gap(&[4, 0, 3, 1]), Some(2));
    }
}
