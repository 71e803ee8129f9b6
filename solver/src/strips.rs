//! Quilt geometry: from the described quilt top to its strips and counted corners.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::length::Length;
use crate::scenario::{Border, BorderCorner, Centre, First, Sashing, Scenario, Side};

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
    let listed = scenario
        .strips
        .iter()
        .map(|entry| entry.count)
        .sum::<usize>();
    let Some(quilt) = &scenario.quilt else {
        return listed;
    };
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
    listed + usize::try_from(sashes).unwrap_or(usize::MAX / 4) + 4 * stitched.count()
}

/// All strips and corners of the scenario. Call [`count`] first where the scenario may be large.
pub fn of(scenario: &Scenario) -> QuiltTop {
    let mut top = QuiltTop::default();
    if let Some(quilt) = &scenario.quilt {
        let mut size = quilt.centre.size();
        if let Centre::Blocks {
            columns,
            rows,
            size: block,
            sashing: Some(sashing),
        } = &quilt.centre
        {
            add_sashes(&mut top, [*columns, *rows], *block, sashing, size[0]);
        }
        for (index, border) in quilt.borders.iter().enumerate() {
            size = add_border(&mut top, index, border, size);
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
            });
        }
    }
    top
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
    let first = top.strips.len();
    for (side, measured) in Side::ALL.into_iter().zip(border.measured) {
        let computed = match side {
            Side::Left | Side::Right => upright,
            Side::Top | Side::Bottom => lying,
        };
        top.strips.push(Strip {
            id: format!("border-{}-{}", index + 1, side.name()),
            length: measured.unwrap_or(computed),
            width: border.width,
            design,
            pointer: format!("/quilt/borders/{index}"),
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
