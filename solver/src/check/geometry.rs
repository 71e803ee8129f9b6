//! The quilt geometry, derived anew: which strips there are, and which corners count.

use std::collections::HashMap;

use crate::length::Length;
use crate::scenario::{
    Begun, Border, BorderCorner, Centre, DoneEnd, First, Quilt, Sashing, Scenario, Side,
};
use crate::strips::End;

/// A strip that has to be stitched.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Strip {
    pub(super) id: String,
    pub(super) length: Length,
    pub(super) width: Length,
    /// Index into the scenario's designs.
    pub(super) design: usize,
    /// Where it is what is left of a begun strip.
    pub(super) rest: Option<Rest>,
}

impl Strip {
    /// Whether no scale is allowed, whatever the sizes say.
    pub(super) fn is_unscaled(&self) -> bool {
        self.rest.is_some_and(|rest| rest.unscaled)
    }
}

/// What is left of a begun strip.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Rest {
    /// The end at which it butts up to what is stitched.
    pub(super) butts: End,
    /// Which of the begun strips it is left of.
    pub(super) of: usize,
    /// Whether it may not be scaled.
    pub(super) unscaled: bool,
}

/// What lies at a corner.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum AtCorner {
    /// An end of a strip (its index) that has to be stitched.
    Strip(usize, End),
    /// An end that is stitched: of the strip of this id, with this pattern; whole repeats where none is given.
    Done(String, Option<DoneEnd>),
}

impl AtCorner {
    /// The strip of which it is an end, where that is still to be stitched.
    pub(super) fn strip(&self) -> Option<usize> {
        match self {
            AtCorner::Strip(strip, _) => Some(*strip),
            AtCorner::Done(..) => None,
        }
    }
}

/// A corner that counts: which end of which strip (indices) lies there, the upright strip first.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Corner {
    /// Name of the quilt, where it is one of several.
    pub(super) quilt: Option<String>,
    pub(super) border: usize,
    pub(super) name: String,
    pub(super) ends: [AtCorner; 2],
}

/// What so many alike things are called: one by its id, several by numbers after it.
pub(super) fn copies(id: &str, count: usize) -> impl Iterator<Item = String> {
    (1..=count).map(move |copy| match count {
        1 => id.to_string(),
        _ => format!("{id}-{copy}"),
    })
}

/// All strips and counted corners of a scenario.
#[derive(Default)]
pub(super) struct Geometry {
    pub(super) strips: Vec<Strip>,
    pub(super) corners: Vec<Corner>,
}

impl Geometry {
    pub(super) fn of(scenario: &Scenario) -> Geometry {
        let mut geometry = Geometry::default();
        if let Some(quilt) = &scenario.quilt {
            geometry.quilt(quilt);
        }
        for entry in &scenario.quilts {
            let mut one = Geometry::default();
            one.quilt(&entry.quilt);
            if one.strips.is_empty() {
                continue;
            }
            for name in copies(&entry.id, entry.count) {
                geometry.take_in(&one, &name);
            }
        }
        for entry in &scenario.strips {
            geometry.strips.reserve(entry.count);
            for id in copies(&entry.id, entry.count) {
                geometry.add(id, entry.length, entry.width, entry.design);
            }
        }
        if !scenario.measured.is_empty() {
            geometry.measure(scenario);
        }
        if scenario.begun.is_empty() {
            geometry
        } else {
            geometry.without_what_is_done(scenario)
        }
    }

    /// Adds the strips and corners of a quilt top, from its centre outward.
    fn quilt(&mut self, quilt: &Quilt) {
        let (mut width, mut height) = self.centre(&quilt.centre);
        for (number, border) in (1..).zip(&quilt.borders) {
            if let Some(design) = border.design {
                self.border(number, border, design, width, height);
            }
            width += border.width * 2;
            height += border.width_of_ends.unwrap_or(border.width) * 2;
        }
    }

    /// Adds what another one has, as a quilt of this name.
    fn take_in(&mut self, one: &Geometry, name: &str) {
        let before = self.strips.len();
        self.strips.extend(one.strips.iter().map(|strip| Strip {
            id: [name, "-", &strip.id].concat(),
            ..strip.clone()
        }));
        self.corners.extend(one.corners.iter().map(|corner| Corner {
            quilt: Some(name.to_owned()),
            ends: corner.ends.clone().map(|end| match end {
                AtCorner::Strip(strip, end) => AtCorner::Strip(before + strip, end),
                AtCorner::Done(..) => end,
            }),
            ..corner.clone()
        }));
    }

    /// Gives the strips that are measured the lengths that they have.
    fn measure(&mut self, scenario: &Scenario) {
        let measured = scenario.measured.iter();
        let lengths: HashMap<&str, Length> = measured
            .map(|measured| (measured.strip.as_str(), measured.length))
            .collect();
        for strip in &mut self.strips {
            if let Some(length) = lengths.get(strip.id.as_str()) {
                strip.length = *length;
            }
        }
    }

    /// What is left where some strips are begun.
    fn without_what_is_done(self, scenario: &Scenario) -> Geometry {
        let mut left = Geometry::default();
        let mut ends: Vec<[AtCorner; 2]> = Vec::new();
        let begun = scenario.begun.iter().enumerate();
        let begun: HashMap<&str, (usize, &Begun)> = begun
            .map(|(number, begun)| (begun.strip.as_str(), (number, begun)))
            .collect();
        for strip in &self.strips {
            let Some((of, begun)) = begun.get(strip.id.as_str()).copied() else {
                let index = left.strips.len();
                ends.push([
                    AtCorner::Strip(index, End::Start),
                    AtCorner::Strip(index, End::End),
                ]);
                left.strips.push(strip.clone());
                continue;
            };
            let mut rest =
                |name: &str, end: End, butts: End, length: Length, done: Option<DoneEnd>| {
                    if length == Length::ZERO {
                        return AtCorner::Done(strip.id.clone(), done);
                    }
                    left.strips.push(Strip {
                        id: format!("{}-{name}", strip.id),
                        length,
                        rest: Some(Rest {
                            butts,
                            of,
                            unscaled: begun.unscaled,
                        }),
                        ..strip.clone()
                    });
                    AtCorner::Strip(left.strips.len() - 1, end)
                };
            let before = rest("start", End::Start, End::End, begun.from, begun.start);
            let after = rest(
                "end",
                End::End,
                End::Start,
                strip.length - begun.to,
                begun.end,
            );
            ends.push([before, after]);
        }
        for corner in self.corners {
            let now = |end: AtCorner| match end {
                AtCorner::Strip(strip, End::Start) => ends[strip][0].clone(),
                AtCorner::Strip(strip, End::End) => ends[strip][1].clone(),
                AtCorner::Done(..) => end,
            };
            left.corners.push(Corner {
                ends: corner.ends.map(now),
                ..corner
            });
        }
        left
    }

    fn add(&mut self, id: String, length: Length, width: Length, design: usize) {
        self.strips.push(Strip {
            id,
            length,
            width,
            design,
            rest: None,
        });
    }

    /// Adds the strips of the centre and returns its width and height.
    fn centre(&mut self, centre: &Centre) -> (Length, Length) {
        let (columns, rows, block, sashing) = match centre {
            Centre::Pieced([width, height]) => return (*width, *height),
            Centre::Blocks {
                columns,
                rows,
                size,
                sashing,
            } => (*columns, *rows, *size, sashing.as_ref()),
        };
        let [block_width, block_height] = block;
        let mut width = block_width * columns;
        let mut height = block_height * rows;
        let Some(sashing) = sashing else {
            return (width, height);
        };
        width += sashing.width * sashes(columns, sashing);
        height += sashing.width * sashes(rows, sashing);
        let Some(design) = sashing.design else {
            return (width, height);
        };
        for row in 1..=rows {
            for column in 1..=sashes(columns, sashing) {
                let id = format!("sash-v-{row}-{column}");
                self.add(id, block_height, sashing.width, design);
            }
        }
        for row in 1..=sashes(rows, sashing) {
            if !sashing.cornerstones {
                self.add(format!("sash-row-{row}"), width, sashing.width, design);
                continue;
            }
            for column in 1..=columns {
                let id = format!("sash-h-{row}-{column}");
                self.add(id, block_width, sashing.width, design);
            }
        }
        (width, height)
    }

    /// Adds the four strips and the corners of a stitched border around `width` × `height`.
    fn border(
        &mut self,
        number: usize,
        border: &Border,
        design: usize,
        width: Length,
        height: Length,
    ) {
        let past = border.width * 2;
        // Which pair of strips runs past the ends of the other.
        let (sides_run_past, ends_run_past) = match border.corner {
            BorderCorner::Butted(First::Sides) => (false, true),
            BorderCorner::Butted(First::Ends) => (true, false),
            BorderCorner::Cornerstone => (false, false),
            BorderCorner::Mitred => (true, true),
        };
        let mut index_of = [0; 4];
        for (place, side) in Side::ALL.into_iter().enumerate() {
            let (along, runs_past) = match side {
                Side::Left | Side::Right => (height, sides_run_past),
                Side::Top | Side::Bottom => (width, ends_run_past),
            };
            let computed = if runs_past { along + past } else { along };
            let length = border.measured[place].unwrap_or(computed);
            index_of[place] = self.strips.len();
            let id = format!("border-{number}-{}", side.name());
            self.add(id, length, border.width, design);
        }
        if border.corner == BorderCorner::Cornerstone {
            return;
        }
        let [left, right, top, bottom] = index_of;
        // Strips start at their left or top end.
        for (row, lying, upright_end) in [("top", top, End::Start), ("bottom", bottom, End::End)] {
            for (column, upright, lying_end) in
                [("left", left, End::Start), ("right", right, End::End)]
            {
                self.corners.push(Corner {
                    quilt: None,
                    border: number,
                    name: format!("{row}-{column}"),
                    ends: [
                        AtCorner::Strip(upright, upright_end),
                        AtCorner::Strip(lying, lying_end),
                    ],
                });
            }
        }
    }
}

/// How many sashes lie beside each other across `blocks` blocks.
fn sashes(blocks: i64, sashing: &Sashing) -> i64 {
    if sashing.outer {
        blocks + 1
    } else {
        blocks - 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn scenario(quilt: Value) -> Scenario {
        let document = json!({
            "format": 1, "unit": "mm", "quilt": quilt,
            "hoops": [{"id": "h", "field": [100, 100]}],
            "designs": [{"id": "d", "sizes": [{"id": "s", "width": 10, "repeat": 10, "repeats": 1}]}]
        });
        let bytes = serde_json::to_vec(&document).expect("JSON");
        crate::scenario::read(&bytes).expect("a scenario")
    }

    fn geometry(quilt: Value) -> Geometry {
        Geometry::of(&scenario(quilt))
    }

    fn listed(geometry: &Geometry) -> Vec<(&str, i64)> {
        let strips = geometry.strips.iter();
        strips
            .map(|strip| (strip.id.as_str(), strip.length.nanometres() / 1_000_000))
            .collect()
    }

    #[test]
    fn sashes_with_cornerstones_are_as_long_as_the_block_sides() {
        let blocks = json!({"columns": 2, "rows": 2, "size": [80, 70]});
        let sashing = json!({"width": 10, "cornerstones": true, "design": "d"});
        let inner = geometry(json!({"blocks": blocks, "sashing": sashing}));
        assert_eq!(
            listed(&inner),
            [
                ("sash-v-1-1", 70),
                ("sash-v-2-1", 70),
                ("sash-h-1-1", 80),
                ("sash-h-1-2", 80)
            ]
        );
        let sashing = json!({"width": 10, "cornerstones": true, "outer": true, "design": "d"});
        let outer = geometry(json!({"blocks": blocks, "sashing": sashing}));
        // 2 rows × 3 upright ones and 3 rows × 2 lying ones.
        assert_eq!(outer.strips.len(), 12);
        assert_eq!(outer.strips[5].id, "sash-v-2-3");
        assert_eq!(outer.strips[11].id, "sash-h-3-2");
    }

    #[test]
    fn sash_rows_run_the_whole_width() {
        let quilt = json!({
            "blocks": {"columns": 2, "rows": 1, "size": [80, 70]},
            "sashing": {"width": 10, "outer": true, "design": "d"}
        });
        // 2 · 80 + 10 + 2 · 10 = 190.
        assert_eq!(
            listed(&geometry(quilt)),
            [
                ("sash-v-1-1", 70),
                ("sash-v-1-2", 70),
                ("sash-v-1-3", 70),
                ("sash-row-1", 190),
                ("sash-row-2", 190)
            ]
        );
    }

    /// 100 × 60 grows by 10 all around with every border, the plain one included: 120 × 80, 140 × 100, 160 × 120,
    /// 180 × 140.
    #[test]
    fn borders_grow_from_the_computed_size() {
        let quilt = json!({"centre": [100, 60], "borders": [
            {"width": 10, "design": "d", "measured": {"right": 61}},
            {"width": 10},
            {"width": 10, "design": "d", "first": "ends"},
            {"width": 10, "design": "d", "corner": "cornerstone"},
            {"width": 10, "design": "d", "corner": "mitred"}
        ]});
        let geometry = geometry(quilt);
        let lengths: Vec<i64> = listed(&geometry)
            .iter()
            .map(|(_, length)| *length)
            .collect();
        assert_eq!(lengths[..4], [60, 61, 120, 120]);
        assert_eq!(lengths[4..8], [120, 120, 140, 140]);
        assert_eq!(lengths[8..12], [120, 120, 160, 160]);
        assert_eq!(lengths[12..], [160, 160, 200, 200]);
        assert_eq!(geometry.strips[4].id, "border-3-left");
        assert_eq!(geometry.corners.len(), 12);
        let last = &geometry.corners[11];
        assert_eq!((last.border, last.name.as_str()), (5, "bottom-right"));
        let ends = [AtCorner::Strip(13, End::End), AtCorner::Strip(15, End::End)];
        assert_eq!(last.ends, ends);
    }

    /// The geometry that plans are made from and the one that they are checked by, on every kind of quilt.
    #[test]
    fn both_derivations_agree() {
        let mut centres = vec![json!({"centre": [130, 170]})];
        for (columns, rows) in [(1, 1), (1, 3), (2, 1), (3, 4)] {
            let blocks = json!({"columns": columns, "rows": rows, "size": [80, 70]});
            centres.push(json!({"blocks": blocks}));
            for (cornerstones, outer) in
                [(false, false), (false, true), (true, false), (true, true)]
            {
                let sashing = json!({"width": 10, "cornerstones": cornerstones, "outer": outer, "design": "d"});
                centres.push(json!({"blocks": blocks, "sashing": sashing}));
                let plain = json!({"width": 10, "cornerstones": cornerstones, "outer": outer});
                centres.push(json!({"blocks": blocks, "sashing": plain}));
            }
        }
        let borders = json!([
            {"width": 10, "design": "d", "measured": {"left": 9, "bottom": 11}},
            {"width": 3, "width_of_ends": 5},
            {"width": 10, "design": "d", "corner": "butted", "first": "ends"},
            {"width": 7, "design": "d", "corner": "mitred", "measured": {"top": 77}},
            {"width": 10, "design": "d", "corner": "cornerstone"}
        ]);
        for mut quilt in centres {
            quilt["borders"] = borders.clone();
            let scenario = scenario(quilt);
            let (checked, made) = (Geometry::of(&scenario), crate::strips::of(&scenario));
            let strips = made.strips.into_iter().map(|strip| Strip {
                id: strip.id,
                length: strip.length,
                width: strip.width,
                design: strip.design,
                rest: None,
            });
            assert_eq!(checked.strips, strips.collect::<Vec<_>>());
            let corners = made.corners.into_iter().map(|corner| Corner {
                quilt: None,
                border: corner.border,
                name: corner.name.to_owned(),
                ends: corner.ends.map(|(strip, end)| AtCorner::Strip(strip, end)),
            });
            assert_eq!(checked.corners, corners.collect::<Vec<_>>());
        }
    }
}
