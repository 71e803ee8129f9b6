//! The grid that drawn lengths lie on, and the ways to write them.

use serde_json::{Value, json};

use crate::random::SplitMix64;

/// Lengths as whole numbers of steps.
pub struct Grid {
    unit: &'static str,
    /// One step in units, as a fraction.
    step: (i64, i64),
}

impl Grid {
    /// Half inches mostly; thirds of an inch and millimetres too.
    pub fn draw(random: &mut SplitMix64) -> Grid {
        let grids = [
            ("in", (1, 2)),
            ("in", (1, 2)),
            ("in", (1, 3)),
            ("mm", (25, 2)),
        ];
        let (unit, step) = random.pick(&grids);
        Grid { unit, step }
    }

    /// The scenario's unit.
    pub fn unit(&self) -> &'static str {
        self.unit
    }

    /// A length of that many steps, as a number or as a quilter's fraction.
    pub fn length(&self, random: &mut SplitMix64, steps: i64) -> Value {
        let (upper, lower) = (steps * self.step.0, self.step.1);
        let (whole, part) = (upper / lower, upper % lower);
        if part == 0 {
            return json!(whole);
        }
        if lower == 2 && random.chance(70) {
            return json!(upper as f64 / 2.0);
        }
        match whole {
            0 => json!(format!("{part}/{lower}")),
            _ => json!(format!("{whole} {part}/{lower}")),
        }
    }

    /// A quarter of a step, for allowances that are off the grid.
    pub fn quarters(&self, quarters: i64) -> Value {
        let (upper, lower) = (quarters * self.step.0, 4 * self.step.1);
        json!(format!("{upper}/{lower}"))
    }
}
