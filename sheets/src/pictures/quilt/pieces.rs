//! What is stitched where on each strip of a picture.

use std::collections::{BTreeMap, HashMap};

use sashwright_solver::length::{Length, Unit};
use sashwright_solver::plan::{Plan, StripEntry};
use sashwright_solver::scenario::{Begun, Scenario};

use super::numbers::Number;
use super::shapes::Shape;
use crate::pictures::canvas::{Area, Canvas, Colour, FAINT, Fill, INK, Pen, Point, WHITE};
use crate::pictures::palette::{fill, look};
use crate::pictures::scale::length;
use crate::words::Book;

/// Shapes that look alike, each by its corners.
type Outlines = Vec<Vec<Point>>;

/// Collects the shapes of all strips, those alike in one path each, so that a large quilt stays a small picture.
pub(crate) struct Pieces<'a> {
    unit: Unit,
    book: &'a Book<'a>,
    begun: HashMap<&'a str, &'a Begun>,
    /// Outlines of runs by their look.
    looks: BTreeMap<usize, Outlines>,
    /// Stretches that were stitched before.
    done: Outlines,
    /// Strips that the plan leaves out.
    left_out: Outlines,
    edges: Outlines,
    joints: Vec<[Point; 2]>,
    numbers: Vec<Number>,
}

impl<'a> Pieces<'a> {
    pub(crate) fn new(scenario: &'a Scenario, plan: &Plan, book: &'a Book<'a>) -> Pieces<'a> {
        let begun = scenario.begun.iter();
        Pieces {
            unit: plan.unit,
            book,
            begun: begun.map(|of| (of.strip.as_str(), of)).collect(),
            looks: BTreeMap::new(),
            done: Outlines::new(),
            left_out: Outlines::new(),
            edges: Outlines::new(),
            joints: Vec::new(),
            numbers: Vec::new(),
        }
    }

    /// Adds the strip of that id.
    pub(crate) fn add(&mut self, id: &str, shape: &Shape) {
        self.edges.push(shape.outline(0.0, 1.0));
        let book = self.book;
        if let Some(of) = self.begun.get(id).copied() {
            let rest = |end: &str| book.strip(&format!("{id}-{end}"));
            let (start, end) = (rest("start"), rest("end"));
            let left = end.map_or(Length::ZERO, |entry| length(&entry.length, self.unit));
            let whole = of.to + left;
            let part = |at: Length| part_of(at, whole);
            self.done.push(shape.outline(part(of.from), part(of.to)));
            for (entry, offset) in [(start, Length::ZERO), (end, of.to)] {
                if let Some(entry) = entry {
                    self.add_runs(entry, shape, offset, whole);
                }
            }
            return;
        }
        match book.strip(id) {
            Some(entry) => {
                let whole = length(&entry.length, self.unit);
                self.add_runs(entry, shape, Length::ZERO, whole);
            }
            None => self.left_out.push(shape.outline(0.0, 1.0)),
        }
    }

    /// Adds the runs of an entry whose start lies `offset` from the start of a strip of length `whole`.
    fn add_runs(&mut self, entry: &StripEntry, shape: &Shape, offset: Length, whole: Length) {
        for (index, run) in entry.runs.iter().enumerate() {
            let at = |measure| part_of(offset + length(measure, self.unit), whole);
            let (from, to) = (at(&run.from), at(&run.to));
            let alike = self.looks.entry(look(run.hooping)).or_default();
            alike.push(shape.outline(from, to));
            if index > 0 {
                self.joints.push(shape.across(from, 0.9));
            }
            self.numbers.push(Number {
                words: run.hooping.to_string(),
                area: number_area(shape, from, to),
                upright: shape.upright,
            });
        }
    }

    /// Draws all that was added and returns the numbers that are still to be written.
    pub(crate) fn draw(self, canvas: &mut Canvas) -> Vec<Number> {
        canvas.outlines(self.done, Colour(0xd5_d5d8), None);
        canvas.outlines(self.left_out, WHITE, None);
        for (look, alike) in self.looks {
            canvas.outlines(alike, fill(look), Some(Pen::new(FAINT, 0.15)));
        }
        canvas.outlines(self.edges, Fill::None, Some(Pen::new(INK, 0.3)));
        for [from, to] in self.joints {
            canvas.line(from, to, Pen::new(INK, 0.8));
        }
        self.numbers
    }
}

/// Where the number of a run may stand: on a mitred strip away from the corners, where there is something between them.
fn number_area(shape: &Shape, from: f64, to: f64) -> Area {
    let cut_off = match shape.mitred {
        Some(_) => shape.width() / shape.length().max(f64::MIN_POSITIVE),
        None => 0.0,
    };
    let (inner_from, inner_to) = (from.max(cut_off), to.min(1.0 - cut_off));
    if inner_from < inner_to {
        shape.stretch(inner_from, inner_to)
    } else {
        shape.stretch(from, to)
    }
}

/// Which part of `whole` lies before `at`, 0 to 1: overhang is not drawn.
fn part_of(at: Length, whole: Length) -> f64 {
    let part = at.nanometres() as f64 / whole.nanometres().max(1) as f64;
    part.clamp(0.0, 1.0)
}
