//! Quilt geometry: from the described quilt top to its strips and counted corners.

use std::collections::{HashMap, HashSet};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::length::Length;
use crate::scenario::{
    Align, Border, BorderCorner, Centre, DoneEnd, First, Quilt, Sashing, Scenario, Side,
};

/// One strip to stitch.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Strip {
    /// Its id, unique in the scenario.
    pub id: String,
    /// L: finished length.
    pub length: Length,
    /// w: finished width.
    pub width: Length,
    /// Index of its design in the scenario.
    pub design: usize,
    /// Where the scenario describes it (JSON Pointer).
    pub pointer: String,
    /// How much of it there is to stitch.
    pub stage: Stage,
    /// Where in its id the name within its quilt begins, in bytes: behind the name of the quilt and a dash where the quilt is one of
    /// several, else 0.
    pub named_from: usize,
}

/// What strips have in common that can be stitched in the same ways: length, width, design, and how much of them there is to
/// stitch.
pub type Shape = (Length, Length, usize, Stage);

impl Strip {
    /// The name of its quilt, where that is one of several.
    pub fn quilt(&self) -> Option<&str> {
        self.id.get(..self.named_from.checked_sub(1)?)
    }

    /// What it has in common with others.
    pub fn shape(&self) -> Shape {
        (self.length, self.width, self.design, self.stage.of_any())
    }
}

/// What follows a begun strip's id in those of its rests: at its start, and at its end.
pub(crate) const RESTS: [&str; 2] = ["-start", "-end"];

/// How much of a strip there is to stitch.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Stage {
    /// All of it.
    Whole,
    /// What is left beside a stretch that is stitched.
    Rest {
        /// The end at which it butts up to the stretch; the other one is an end of the strip.
        butts: End,
        /// Which of the begun strips it belongs to.
        of: usize,
        /// Whether it goes on unscaled, whatever its sizes allow.
        unscaled: bool,
    },
    /// Nothing: it only shows a pattern at its ends.
    Done {
        /// The pattern at its start and at its end, where these are stitched.
        ends: [Option<DoneEnd>; 2],
    },
}

impl Stage {
    /// Twice the overhang at an end of a strip that has so much at both ends together.
    pub fn overhang_doubled(self, align: Align, overhang: Length, end: End) -> Length {
        match (self, align) {
            // What is stitched stays; all overhang is at the other end.
            (Stage::Rest { butts, .. }, _) if butts == end => Length::ZERO,
            (Stage::Rest { .. }, _) => overhang * 2,
            (_, Align::Centred) => overhang,
            (_, Align::Start) if end == End::Start => Length::ZERO,
            (_, Align::Start) => overhang * 2,
        }
    }

    /// Whether nothing is left to stitch.
    pub fn is_done(self) -> bool {
        matches!(self, Stage::Done { .. })
    }

    /// The end at which it butts up to what is stitched, if it does.
    pub fn butts(self) -> Option<End> {
        match self {
            Stage::Rest { butts, .. } => Some(butts),
            Stage::Whole | Stage::Done { .. } => None,
        }
    }

    /// The same without regard to which strip it is of.
    pub fn of_any(self) -> Stage {
        match self {
            Stage::Rest {
                butts, unscaled, ..
            } => Stage::Rest {
                butts,
                unscaled,
                of: 0,
            },
            Stage::Whole | Stage::Done { .. } => self,
        }
    }

    /// Whether no scale is allowed, whatever the sizes say.
    pub fn is_unscaled(self) -> bool {
        matches!(self, Stage::Rest { unscaled: true, .. })
    }
}

/// An end of a strip.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum End {
    /// Its left or top end.
    Start,
    /// Its right or bottom end.
    End,
}

/// A corner of a stitched butted or mitred border, where the pattern should meet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Corner {
    /// The border's number, from the centre outward, from 1.
    pub border: usize,
    /// The corner's name, such as `top-left`.
    pub name: &'static str,
    /// The two strips (indices) and which end of each lies there; the upright strip first.
    pub ends: [(usize, End); 2],
}

/// The strips to stitch, in the scenario's order, and the corners that are counted.
#[derive(Clone, Default, Debug)]
pub struct QuiltTop {
    /// All strips.
    pub strips: Vec<Strip>,
    /// All counted corners.
    pub corners: Vec<Corner>,
}

/// The corners of a border: name, upright side, its end, lying side, its end.
const CORNERS: [(&str, Side, End, Side, End); 4] = [
    ("top-left", Side::Left, End::Start, Side::Top, End::Start),
    ("top-right", Side::Right, End::Start, Side::Top, End::End),
    (
        "bottom-left",
        Side::Left,
        End::End,
        Side::Bottom,
        End::Start,
    ),
    (
        "bottom-right",
        Side::Right,
        End::End,
        Side::Bottom,
        End::End,
    ),
];

/// How many strips [`of`] would make, without making them.
pub fn count(scenario: &Scenario) -> usize {
    let listed = scenario.strips.iter().map(|entry| entry.count);
    let quilts = scenario.quilts.iter();
    let of_quilts = quilts.map(|entry| entry.count.saturating_mul(count_of(&entry.quilt)));
    let of_one = scenario.quilt.iter().map(count_of);
    listed
        .chain(of_one)
        .chain(of_quilts)
        .fold(0, usize::saturating_add)
}

/// How many strips of a quilt top are stitched.
fn count_of(quilt: &Quilt) -> usize {
    let sashes = match &quilt.centre {
        Centre::Blocks {
            columns,
            rows,
            sashing: Some(sashing),
            ..
        } if sashing.design.is_some() => {
            let upright = rows * sashing.beside(*columns);
            let lying = sashing.beside(*rows);
            upright
                + if sashing.cornerstones {
                    columns * lying
                } else {
                    lying
                }
        }
        _ => 0,
    };
    let stitched = quilt
        .borders
        .iter()
        .filter(|border| border.design.is_some());
    usize::try_from(sashes).unwrap_or(usize::MAX / 4) + 4 * stitched.count()
}

/// All strips that there are to stitch, and the corners of the scenario. Call [`count`] first where the scenario may be large.
///
/// What is left of a begun strip takes its place: `ID-start`, `ID-end`, or both. A strip of which an end is stitched stays as
/// well where that end lies at a corner.
pub fn of(scenario: &Scenario) -> QuiltTop {
    let whole = whole(scenario);
    if scenario.begun.is_empty() {
        return whole;
    }
    let begun: HashMap<&str, usize> = scenario
        .begun
        .iter()
        .enumerate()
        .map(|(number, begun)| (begun.strip.as_str(), number))
        .collect();
    let mut cornered = HashSet::new();
    cornered.extend(whole.corners.iter().flat_map(|corner| corner.ends));
    let mut top = QuiltTop::default();
    // For each strip what lies at its start and at its end now.
    let mut now: Vec<[usize; 2]> = Vec::with_capacity(whole.strips.len());
    for (index, strip) in whole.strips.into_iter().enumerate() {
        let Some(number) = begun.get(strip.id.as_str()) else {
            now.push([top.strips.len(); 2]);
            top.strips.push(strip);
            continue;
        };
        let of = &scenario.begun[*number];
        let open = [of.from > Length::ZERO, of.to < strip.length];
        let done = [of.start.filter(|_| !open[0]), of.end.filter(|_| !open[1])];
        let shown = [End::Start, End::End].map(|end| cornered.contains(&(index, end)));
        let mut at = [0; 2];
        if (0..2).any(|end| shown[end] && !open[end]) {
            at = [top.strips.len(); 2];
            top.strips.push(Strip {
                stage: Stage::Done { ends: done },
                ..strip.clone()
            });
        }
        let parts = [
            (open[0], RESTS[0], of.from, End::End),
            (open[1], RESTS[1], strip.length - of.to, End::Start),
        ];
        for (end, (open, name, length, butts)) in parts.into_iter().enumerate() {
            if open {
                at[end] = top.strips.len();
                top.strips.push(Strip {
                    id: format!("{}{name}", strip.id),
                    length,
                    stage: Stage::Rest {
                        butts,
                        of: *number,
                        unscaled: of.unscaled,
                    },
                    ..strip.clone()
                });
            }
        }
        now.push(at);
    }
    for corner in whole.corners {
        let ends = corner
            .ends
            .map(|(strip, end)| (now[strip][usize::from(end == End::End)], end));
        top.corners.push(Corner { ends, ..corner });
    }
    top
}

/// All strips of the scenario, whatever is stitched of them, and its corners.
pub fn whole(scenario: &Scenario) -> QuiltTop {
    let mut top = QuiltTop::default();
    if let Some(quilt) = &scenario.quilt {
        add_quilt(&mut top, quilt);
    }
    for (index, entry) in scenario.quilts.iter().enumerate() {
        // Copies without strips are not gone through: there may be any number of them.
        if count_of(&entry.quilt) == 0 {
            continue;
        }
        for copy in 1..=entry.count {
            let first = top.strips.len();
            add_quilt(&mut top, &entry.quilt);
            let name = entry.name(copy);
            for strip in &mut top.strips[first..] {
                strip.id = format!("{name}-{}", strip.id);
                strip.pointer = format!("/quilts/{index}{}", strip.pointer);
                strip.named_from = name.len() + 1;
            }
        }
    }
    for (index, entry) in scenario.strips.iter().enumerate() {
        for copy in 1..=entry.count {
            top.strips.push(Strip {
                id: match entry.count {
                    1 => entry.id.clone(),
                    _ => format!("{}-{copy}", entry.id),
                },
                length: entry.length,
                width: entry.width,
                design: entry.design,
                pointer: format!("/strips/{index}"),
                stage: Stage::Whole,
                named_from: 0,
            });
        }
    }
    if !scenario.measured.is_empty() {
        let measured = scenario.measured.iter();
        let lengths: HashMap<&str, Length> = measured
            .map(|measured| (measured.strip.as_str(), measured.length))
            .collect();
        for strip in &mut top.strips {
            strip.length = *lengths.get(strip.id.as_str()).unwrap_or(&strip.length);
        }
    }
    top
}

/// The strips and corners of a quilt top by itself, named as those of the scenario's one quilt are.
pub fn of_quilt(quilt: &Quilt) -> QuiltTop {
    let mut top = QuiltTop::default();
    add_quilt(&mut top, quilt);
    top
}

/// Adds the strips and corners of a quilt top, named and placed as those of the scenario's one quilt are.
fn add_quilt(top: &mut QuiltTop, quilt: &Quilt) {
    let mut size = quilt.centre.size();
    if let Centre::Blocks {
        columns,
        rows,
        size: block,
        sashing: Some(sashing),
    } = &quilt.centre
    {
        add_sashes(top, [*columns, *rows], *block, sashing, size[0]);
    }
    for (index, border) in quilt.borders.iter().enumerate() {
        size = add_border(top, index, border, size);
    }
}

/// Adds the sashes between blocks; `across` is the width of the centre.
fn add_sashes(
    top: &mut QuiltTop,
    [columns, rows]: [i64; 2],
    [width, height]: [Length; 2],
    sashing: &Sashing,
    across: Length,
) {
    let Some(design) = sashing.design else {
        return;
    };
    let mut add = |id: String, length: Length| {
        top.strips.push(Strip {
            id,
            length,
            width: sashing.width,
            design,
            pointer: "/quilt/sashing".into(),
            stage: Stage::Whole,
            named_from: 0,
        });
    };
    for row in 1..=rows {
        for column in 1..=sashing.beside(columns) {
            add(format!("sash-v-{row}-{column}"), height);
        }
    }
    for level in 1..=sashing.beside(rows) {
        if sashing.cornerstones {
            for column in 1..=columns {
                add(format!("sash-h-{level}-{column}"), width);
            }
        } else {
            add(format!("sash-row-{level}"), across);
        }
    }
}

/// Adds the border's strips and corners and returns the size that the quilt top grows to.
fn add_border(
    top: &mut QuiltTop,
    index: usize,
    border: &Border,
    [width, height]: [Length; 2],
) -> [Length; 2] {
    let grown = border.around([width, height]);
    let Some(design) = border.design else {
        return grown;
    };
    let (upright, lying) = match border.corner {
        BorderCorner::Butted(First::Sides) => (height, grown[0]),
        BorderCorner::Butted(First::Ends) => (grown[1], width),
        BorderCorner::Cornerstone => (height, width),
        BorderCorner::Mitred => (grown[1], grown[0]),
    };
    let [of_sides, of_ends] = border.widths();
    let first = top.strips.len();
    for (side, measured) in Side::ALL.into_iter().zip(border.measured) {
        let (computed, width) = match side {
            Side::Left | Side::Right => (upright, of_sides),
            Side::Top | Side::Bottom => (lying, of_ends),
        };
        top.strips.push(Strip {
            id: format!("border-{}-{}", index + 1, side.name()),
            length: measured.unwrap_or(computed),
            width,
            design,
            pointer: format!("/quilt/borders/{index}"),
            stage: Stage::Whole,
            named_from: 0,
        });
    }
    if border.corner != BorderCorner::Cornerstone {
        let strip = |side: Side| first + side as usize;
        for (name, upright, upright_end, lying, lying_end) in CORNERS {
            top.corners.push(Corner {
                border: index + 1,
                name,
                ends: [(strip(upright), upright_end), (strip(lying), lying_end)],
            });
        }
    }
    grown
}
