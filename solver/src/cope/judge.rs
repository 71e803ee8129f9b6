//! How well the patterns fit a choice of widths, without planning it.
//!
//! Only strips that follow the widths are looked at. What no choice changes would weigh on all of them alike, and hide what
//! they differ in.

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::{self, Class};
use crate::cope::choices::{Choice, Free, Place};
use crate::cope::nearest::{Ending, Known, nearest};
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::Length;
use crate::scenario::{Centre, Scenario};
use crate::strips::{self, Stage};
use crate::wishes::{StripWishes, Wishes};

/// The stitched borders and sashing that follow the widths.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Followers {
    /// Borders (indices) outside something whose width may be another.
    pub borders: Vec<usize>,
    /// Whether the sashing itself may have another width.
    pub sashing: bool,
    /// Whether loose strips are looked at too: where no width may be another, every strip is.
    pub loose: bool,
}

impl Followers {
    /// What follows the widths of these places; every stitched strip where there are none.
    pub fn of(scenario: &Scenario, free: &[Free]) -> Followers {
        let all = free.is_empty();
        let inside = |index: usize| all || free.iter().any(|free| free.place.is_inside(index));
        let borders = scenario.quilt.iter().flat_map(|quilt| &quilt.borders);
        let stitched = borders
            .enumerate()
            .filter(|(index, border)| border.design.is_some() && inside(*index));
        Followers {
            borders: stitched.map(|(index, _)| index).collect(),
            sashing: all || free.iter().any(|free| free.place == Place::Sashing),
            loose: all,
        }
    }
}

/// How well the patterns of the strips that follow fit; less is better.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Quality {
    /// Strips that cannot be stitched, where they may be left out.
    pub left_out: usize,
    /// Strips whose patterns cannot end at both seam lines.
    pub not_closing: usize,
    /// The most that a strip has to be scaled: |s − 1|.
    pub scaling: Exact,
    /// The overhang of the strips that do not close, in all.
    pub overhang: Length,
    /// Strips on which sizes with different repeats have to follow each other for that.
    pub mixing: usize,
}

impl Quality {
    /// Whether every pattern ends at both seam lines without any scaling.
    pub fn closes(self) -> bool {
        self.ends_at_seams() && self.scaling == Exact::ZERO
    }

    /// Whether every pattern can end at both seam lines.
    pub fn ends_at_seams(self) -> bool {
        self.left_out == 0 && self.not_closing == 0
    }
}

/// What was found out about a choice.
#[derive(Clone, Copy, Debug)]
pub struct Judgement {
    /// `None` where some strip cannot be stitched, or no covering of it was found.
    pub quality: Option<Quality>,
    /// Whether every covering was looked through.
    pub sure: bool,
}

/// By length, width, design and wishes of strips, and how much of them there is to stitch: the choices of widths have many in common.
type Key = (Length, Length, usize, Stage, StripWishes);

/// Judges one choice after the other.
pub struct Judge<'f> {
    free: &'f [Free],
    /// The scenario with nothing but the strips that follow.
    lean: Scenario,
    wishes: Wishes,
    known: BTreeMap<Key, Known>,
}

impl<'f> Judge<'f> {
    /// A judge of choices for these places.
    pub fn new(scenario: &Scenario, free: &'f [Free], followers: &Followers) -> Judge<'f> {
        let mut lean = scenario.clone();
        if !followers.loose {
            lean.strips.clear();
            lean.quilts.clear();
        }
        if let Some(quilt) = &mut lean.quilt {
            if !followers.sashing {
                quilt.centre = Centre::Pieced(quilt.centre.size());
            }
            for (index, border) in quilt.borders.iter_mut().enumerate() {
                border.design = border.design.filter(|_| followers.borders.contains(&index));
            }
        }
        // What nobody stitches here is left out of the designs too: they are copied where sizes are tried by themselves.
        let top = strips::of(&lean);
        let used: BTreeSet<usize> = top.strips.iter().map(|strip| strip.design).collect();
        for (index, design) in lean.designs.iter_mut().enumerate() {
            if !used.contains(&index) {
                design.sizes.clear();
            }
        }
        let wishes = Wishes::of(&lean, &top);
        Judge {
            free,
            lean,
            wishes,
            known: BTreeMap::new(),
        }
    }

    /// Judges a choice.
    pub fn judge(&mut self, choice: &Choice, deadline: &Deadline) -> Judgement {
        if let Some(quilt) = &mut self.lean.quilt {
            choice.write(self.free, quilt);
        }
        let mut sure = true;
        let mut quality = Some(Quality {
            left_out: 0,
            not_closing: 0,
            scaling: Exact::ZERO,
            overhang: Length::ZERO,
            mixing: 0,
        });
        for class in classes::of(&strips::of(&self.lean), &self.wishes, false) {
            let known = self.of_class(&class, deadline);
            sure &= known.sure;
            quality = quality.and_then(|quality| self.with(quality, &class, known));
        }
        Judgement { quality, sure }
    }

    fn of_class(&mut self, class: &Class, deadline: &Deadline) -> Known {
        let key = (
            class.length,
            class.width,
            class.design,
            class.stage,
            class.wishes.clone(),
        );
        let lean = &self.lean;
        let known = self.known.entry(key);
        *known.or_insert_with(|| nearest(lean, class, deadline))
    }

    fn with(&self, mut quality: Quality, class: &Class, known: Known) -> Option<Quality> {
        let alike = class.members.len();
        match known.nearest {
            Some(nearest) => {
                quality.mixing += if nearest.mixed { alike } else { 0 };
                match nearest.ending {
                    Ending::Closing(scaling) => quality.scaling = quality.scaling.max(scaling),
                    Ending::Over(overhang) => {
                        quality.not_closing += alike;
                        quality.overhang += overhang * i64::try_from(alike).ok()?;
                    }
                }
            }
            None if known.sure && self.lean.rules.allow_partial => quality.left_out += alike,
            None => return None,
        }
        Some(quality)
    }
}
