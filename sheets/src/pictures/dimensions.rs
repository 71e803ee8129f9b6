//! Dimension lines of a hooping: every length is measured from the same corner of the field.

use std::collections::BTreeMap;

use sashwright_solver::length::Length;
use sashwright_solver::plan::HoopingEntry;

use super::canvas::{Anchor, Canvas, INK, Pen, Point, WHITE};
use super::hoop::OnPage;
use super::hooping::HELP;
use super::scale::{apart, length};
use crate::measure::Ruler;

/// A place that is measured.
pub(super) struct Mark {
    at: Length,
    /// What is written of it.
    pub(super) label: String,
    /// From where the line to its label comes, in the other direction.
    from: Length,
}

/// Where runs start and end along the field, each place once.
pub(super) fn along(hooping: &HoopingEntry, ruler: Ruler) -> Vec<Mark> {
    let mut marks = BTreeMap::new();
    for placement in &hooping.placements {
        let [start, across, long] = [&placement.along, &placement.across, &placement.length]
            .map(|measure| length(measure, ruler.unit));
        for at in [start, start + long] {
            let from = marks.entry(at).or_insert(across);
            *from = across.min(*from);
        }
    }
    listed(marks, ruler)
}

/// The centre lines of the lanes.
pub(super) fn across(hooping: &HoopingEntry, ruler: Ruler) -> Vec<Mark> {
    let mut marks = BTreeMap::new();
    for placement in &hooping.placements {
        let [start, across] =
            [&placement.along, &placement.across].map(|measure| length(measure, ruler.unit));
        let from = marks.entry(across).or_insert(start);
        *from = start.max(*from);
    }
    listed(marks, ruler)
}

fn listed(marks: BTreeMap<Length, Length>, ruler: Ruler) -> Vec<Mark> {
    let marks = marks.into_iter().map(|(at, from)| Mark {
        at,
        label: ruler.short(&at.in_unit(ruler.unit)),
        from,
    });
    marks.collect()
}

const PEN: Pen = Pen::new(INK, 0.2);

/// The two sides of the field: above all and to its right.
pub(super) fn field(canvas: &mut Canvas, on_page: OnPage, labels: [String; 2]) {
    let [label, upright] = labels;
    let OnPage { outer, field, .. } = on_page;
    let ([left, top], [right, bottom]) = (field.at, field.end());
    let y = outer.at[1] - 2.5;
    canvas.line([left, y], [right, y], PEN);
    for x in [left, right] {
        canvas.line([x, y - 1.2], [x, y + 1.2], PEN);
        canvas.line([x, y], [x, top], HELP);
    }
    canvas.text(
        [field.centre()[0], y - 3.2],
        Anchor::Middle,
        &format!("field {label}"),
    );
    let x = outer.end()[0] + 2.5;
    canvas.line([x, top], [x, bottom], PEN);
    for y in [top, bottom] {
        canvas.line([x - 1.2, y], [x + 1.2, y], PEN);
        canvas.line([right, y], [x, y], HELP);
    }
    let at = [x + 3.2, field.centre()[1]];
    canvas.upward(at, Anchor::Middle, &format!("field {upright}"), false);
}

/// Labels below all, for places along the field; false where there is no room for them all.
pub(super) fn below(canvas: &mut Canvas, on_page: OnPage, marks: &[Mark]) -> bool {
    let OnPage {
        scale,
        outer,
        field,
        ..
    } = on_page;
    origin(canvas, field.at);
    let places = marks.iter().map(|mark| field.at[0] + scale.of(mark.at));
    let places: Vec<f64> = places.collect();
    let Some(moved) = apart(&places, outer.at[0] + 2.0, outer.end()[0] - 2.0) else {
        return false;
    };
    let bottom = outer.end()[1];
    for ((mark, place), label) in marks.iter().zip(places).zip(moved) {
        canvas.line(
            [place, field.at[1] + scale.of(mark.from)],
            [place, bottom],
            HELP,
        );
        canvas.bent(
            &[
                [place, bottom],
                [place, bottom + 1.2],
                [label, bottom + 3.5],
            ],
            PEN,
        );
        canvas.upward([label, bottom + 4.5], Anchor::End, &mark.label, false);
    }
    true
}

/// Labels left of all, for centre lines across the field; false where there is no room for them all.
pub(super) fn beside(canvas: &mut Canvas, on_page: OnPage, marks: &[Mark]) -> bool {
    let OnPage {
        scale,
        outer,
        field,
        ..
    } = on_page;
    let places = marks.iter().map(|mark| field.at[1] + scale.of(mark.at));
    let places: Vec<f64> = places.collect();
    let Some(moved) = apart(&places, outer.at[1], outer.end()[1]) else {
        return false;
    };
    let left = outer.at[0];
    for ((mark, place), label) in marks.iter().zip(places).zip(moved) {
        canvas.line(
            [left, place],
            [field.at[0] + scale.of(mark.from), place],
            HELP,
        );
        canvas.bent(
            &[[left, place], [left - 1.2, place], [left - 3.5, label]],
            PEN,
        );
        canvas.text([left - 4.5, label], Anchor::End, &mark.label);
    }
    true
}

/// The corner from which everything is measured.
pub(super) fn origin(canvas: &mut Canvas, at: Point) {
    canvas.circle(at, 1.3, WHITE, Some(Pen::new(INK, 0.4)));
    canvas.circle(at, 0.4, INK, None);
}
