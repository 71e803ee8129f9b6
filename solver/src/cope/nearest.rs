//! How well patterns fit strips: the least scaling with which they end at both seam lines.

use std::collections::BTreeMap;

use crate::classes::{self, Class};
use crate::cover::{CoverSpace, Fit, Prices, Settled};
use crate::exact::Exact;
use crate::length::Length;
use crate::scenario::Scenario;
use crate::strips::QuiltTop;
use crate::wishes::{StripWishes, Wishes};

/// How well the patterns of all strips fit; less is better.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Quality {
    /// Strips whose patterns cannot end at both seam lines.
    pub not_closing: usize,
    /// The most that a strip has to be scaled: |s − 1|.
    pub scaling: Exact,
    /// The overhang of the strips that do not close, in all.
    pub overhang: Length,
}

/// How well the pattern of a strip fits at best.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Nearest {
    /// It ends at both seam lines, scaled by so much: |s − 1|.
    Closing(Exact),
    /// It has at least so much overhang.
    Over(Length),
}

/// What is known of classes of strips, by length, width, design and wishes: the choices of widths have many in common.
#[derive(Default)]
pub struct Known(BTreeMap<(Length, Length, usize, StripWishes), Option<Nearest>>);

impl Known {
    /// How well the patterns of a scenario's strips fit; `None` where some cannot be stitched.
    pub fn quality(&mut self, scenario: &Scenario, top: &QuiltTop) -> Option<Quality> {
        let mut quality = Quality {
            not_closing: 0,
            scaling: Exact::ZERO,
            overhang: Length::ZERO,
        };
        for class in classes::of(top, &Wishes::of(scenario, top), false) {
            let key = (
                class.length,
                class.width,
                class.design,
                class.wishes.clone(),
            );
            let nearest = *self
                .0
                .entry(key)
                .or_insert_with(|| nearest(scenario, &class));
            match nearest? {
                Nearest::Closing(scaling) => quality.scaling = quality.scaling.max(scaling),
                Nearest::Over(overhang) => {
                    quality.not_closing += class.members.len();
                    let count = i64::try_from(class.members.len()).unwrap_or(i64::MAX);
                    quality.overhang += overhang * count;
                }
            }
        }
        Some(quality)
    }
}

/// The best covering of a class by how it ends; `None` where there is none, or none could be listed.
fn nearest(scenario: &Scenario, class: &Class) -> Option<Nearest> {
    let space = CoverSpace::of(scenario, class);
    let singles = space.listed.iter().map(|cover| cover.settled);
    let totals = space.totals.iter().filter(|total| {
        let cover = space.cheapest(total, &Prices::of_joints(total));
        cover.is_some_and(|cheapest| space.is_valid(scenario, &cheapest.cover))
    });
    let all = singles.chain(totals.map(|total| total.settled));
    all.filter_map(|settled| of_covering(&settled)).min()
}

fn of_covering(settled: &Settled) -> Option<Nearest> {
    match settled.fit {
        Fit::Exact => Some(Nearest::Closing(Exact::ZERO)),
        Fit::Scaled => {
            let sum = i128::from(settled.sum.nanometres());
            Exact::new(i128::from(settled.stretch()), sum).map(Nearest::Closing)
        }
        Fit::Over => Some(Nearest::Over(settled.overhang())),
    }
}
