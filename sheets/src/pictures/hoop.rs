//! Where frame, field and cloth of a hooping lie on the page.

use sashwright_solver::length::{Length, Unit};
use sashwright_solver::plan::{HoopingEntry, Placement};
use sashwright_solver::scenario::Scenario;
use sashwright_solver::strips::End;

use super::canvas::Area;
use super::run;
use super::scale::{Scale, length};

/// The width of the largest picture, in millimetres.
pub(super) const WIDTH: f64 = 178.0;
/// Heights of pictures: as low as need be for the steps below, but not lower than the first; as high as the second where there is room; and as
/// the third where letters do not fit into every lane else.
const HEIGHTS: [f64; 3] = [60.0, 100.0, 120.0];

/// A hoop with what lies in it, as long as on the table: along the strips and across them.
pub(super) struct Hoop {
    pub(super) field: [Length; 2],
    frame: [Length; 2],
    /// How far cloth reaches out of the frame, before and after it.
    beyond: [[Length; 2]; 2],
    narrowest: Length,
}

impl Hoop {
    /// The hoop of the scenario; where there is none of that name, one as large as what lies in it.
    pub(super) fn of(scenario: &Scenario, hooping: &HoopingEntry, unit: Unit) -> Hoop {
        let turned = |[first, second]: [Length; 2]| match hooping.turned {
            true => [second, first],
            false => [first, second],
        };
        let placed = &hooping.placements;
        let owned = scenario.hoops.iter().find(|hoop| hoop.id == hooping.hoop);
        let (field, frame) = match owned {
            Some(hoop) => (turned(hoop.field), turned(hoop.frame)),
            None => {
                let stitched = |axis: usize| {
                    let ends = placed
                        .iter()
                        .map(|of| covered(of, Length::ZERO, unit)[axis][1]);
                    ends.max().unwrap_or_default()
                };
                let all = [stitched(0), stitched(1)];
                (all, all)
            }
        };
        let reach = scenario.allowances.reach();
        let beyond = [0, 1].map(|axis| {
            let before = half(frame[axis] - field[axis]);
            let after = field[axis] + before;
            let cloths = placed.iter().map(|of| covered(of, reach, unit)[axis]);
            cloths.fold([Length::ZERO; 2], |[low, high], [start, end]| {
                [
                    low.max(Length::ZERO - before - start),
                    high.max(end - after),
                ]
            })
        });
        let widths = placed.iter().map(|of| length(&of.width, unit));
        let narrowest = widths.min().unwrap_or_default();
        Hoop {
            field,
            frame,
            beyond,
            narrowest,
        }
    }

    /// Puts it on a page that keeps so many millimetres free to the left and above, to the right and below, and has `room` for it all.
    pub(super) fn on_page(&self, before: [f64; 2], after: [f64; 2], room: f64) -> OnPage {
        let [lowest, usual, highest] = HEIGHTS;
        let all = [0, 1].map(|axis| {
            let [before, after] = self.beyond[axis];
            before + self.frame[axis] + after
        });
        let scale_for = |height: f64| {
            let room = [WIDTH - before[0] - after[0], height - before[1] - after[1]];
            Scale::fitting(all[0], all[1], room)
        };
        // Where even the lowest is too high the steps go on on the next page in any case.
        let fitting = if room < lowest {
            usual
        } else {
            room.min(usual)
        };
        let mut scales = [fitting, usual, highest].into_iter().map(scale_for);
        let roomy = scales.find(|scale| scale.of(self.narrowest) >= run::LABEL);
        let scale = roomy.unwrap_or_else(|| scale_for(highest));
        let outer = Area {
            at: before,
            size: all.map(|side| scale.of(side)),
        };
        let frame = Area {
            at: [0, 1].map(|axis| before[axis] + scale.of(self.beyond[axis][0])),
            size: self.frame.map(|side| scale.of(side)),
        };
        let size = self.field.map(|side| scale.of(side));
        let field = Area {
            at: [0, 1].map(|axis| frame.centre()[axis] - size[axis] / 2.0),
            size,
        };
        OnPage {
            scale,
            outer,
            frame,
            field,
        }
    }
}

/// The same in millimetres on the page.
#[derive(Clone, Copy)]
pub(super) struct OnPage {
    pub(super) scale: Scale,
    /// The frame, and all cloth that reaches out of it at a closed end or a side: what is written beside it stands clear of both.
    pub(super) outer: Area,
    pub(super) frame: Area,
    pub(super) field: Area,
}

/// From where to where cloth covers the field, along and across: it ends so far from the stitching, at open ends not before the hoop does.
fn covered(of: &Placement, reach: Length, unit: Unit) -> [[Length; 2]; 2] {
    let at = |measure| length(measure, unit);
    let (start, centre, width) = (at(&of.along), at(&of.across), at(&of.width));
    let past = open_sides(of).map(|open| if open { Length::ZERO } else { reach });
    let side = half(width) + reach;
    [
        [start - past[0], start + at(&of.length) + past[1]],
        [centre - side, centre + side],
    ]
}

/// Half of a length, for the eye: a nanometre does not matter.
fn half(length: Length) -> Length {
    Length::from_nanometres(length.nanometres() / 2)
}

/// Whether the lower and the upper end along the field are open.
pub(super) fn open_sides(placement: &Placement) -> [bool; 2] {
    let open = |end| placement.open.contains(&end);
    match placement.reversed {
        false => [open(End::Start), open(End::End)],
        true => [open(End::End), open(End::Start)],
    }
}
