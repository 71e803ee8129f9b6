//! What the wishes of a scenario mean for each strip and for every hooping.

mod conflict;
mod gather;
mod simple;

pub use conflict::{Contradiction, all_stitchable, conflict};
pub use simple::simple_plan;

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::length::Length;
use crate::scenario::{Scenario, Spot, Wish, Wished};
use crate::strips::{QuiltTop, Stage};

/// Hoops of a scenario, as bits by their index; there are at most 100.
pub type HoopMask = u128;

/// Whether a hoop (its index) is among those of a mask.
pub fn leaves(hoops: HoopMask, hoop: usize) -> bool {
    hoops >> hoop & 1 == 1
}

/// All hoops.
pub const EVERY_HOOP: HoopMask = HoopMask::MAX;

/// What the wishes want of a strip. Strips with the same are alike.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct StripWishes {
    /// The hoops that it may be stitched in.
    pub hoops: HoopMask,
    /// Whether it has to be stitched with one size.
    pub one_size: bool,
    /// The bundle that it belongs to, and the strip itself: it is stitched in one run, in the hooping of its bundle.
    pub bundle: Option<(usize, usize)>,
    /// The wishes (numbers) that keep it apart from others.
    pub apart: BTreeSet<usize>,
    /// Whether its hoopings come first.
    pub first: bool,
    /// The most runs of any hooping.
    pub at_most: Option<usize>,
    /// What joints stay away from, and how far.
    pub joints_away: BTreeSet<(Spot, Length)>,
    /// Whether its runs read the same from either end.
    pub symmetric: bool,
    /// The group of strips that it is stitched like.
    pub alike: Option<usize>,
    /// Whether its runs are told apart from those of all others.
    pub bound: bool,
}

impl StripWishes {
    /// Whether something is wished of where joints lie along the strip.
    pub fn places_joints(&self) -> bool {
        self.symmetric || !self.joints_away.is_empty()
    }

    /// Whether something is wished of the order of the runs along the strip.
    pub fn orders_runs(&self) -> bool {
        self.places_joints() || self.alike.is_some()
    }
}

impl Default for StripWishes {
    fn default() -> StripWishes {
        StripWishes {
            hoops: EVERY_HOOP,
            one_size: false,
            bundle: None,
            apart: BTreeSet::new(),
            first: false,
            at_most: None,
            joints_away: BTreeSet::new(),
            symmetric: false,
            alike: None,
            bound: false,
        }
    }
}

/// What all wishes want.
#[derive(Clone, Default, Debug)]
pub struct Wishes {
    /// By strip of the quilt top; empty where there are no wishes.
    strips: Vec<StripWishes>,
    /// Strips (indices) that share one hooping.
    pub bundles: Vec<Vec<usize>>,
}

impl Wishes {
    /// The wishes of a scenario whose strips are `top`'s.
    pub fn of(scenario: &Scenario, top: &QuiltTop) -> Wishes {
        Wishes::of_some(scenario, top, scenario.wishes.iter())
    }

    /// What some of the wishes want.
    pub fn of_some<'w>(
        scenario: &Scenario,
        top: &QuiltTop,
        wishes: impl Iterator<Item = &'w Wish>,
    ) -> Wishes {
        let mut wishes = wishes.enumerate().peekable();
        if wishes.peek().is_none() && scenario.begun.is_empty() {
            return Wishes::default();
        }
        let numbers: BTreeMap<&str, usize> = top
            .strips
            .iter()
            .enumerate()
            .map(|(number, strip)| (strip.id.as_str(), number))
            .collect();
        let mut strips = vec![StripWishes::default(); top.strips.len()];
        // What is left of one strip on either side never shares a hooping, whatever is wished.
        let mut rests: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (number, strip) in top.strips.iter().enumerate() {
            if let Stage::Rest { of, .. } = strip.stage {
                rests.entry(of).or_default().push(number);
            }
        }
        for (begun, both) in rests.into_iter().filter(|(_, of)| of.len() > 1) {
            for strip in both {
                strips[strip].apart.insert(usize::MAX - begun);
                strips[strip].bound = true;
            }
        }
        let mut together: Vec<BTreeSet<usize>> = Vec::new();
        let mut alike: Vec<BTreeSet<usize>> = Vec::new();
        let mut at_most: Option<usize> = None;
        for (number, wish) in wishes {
            let about: BTreeSet<usize> = wish
                .strips
                .iter()
                .filter_map(|id| numbers.get(id.as_str()).copied())
                .collect();
            match &wish.what {
                Wished::OnlyIn(hoops) => {
                    // One that names every hoop says nothing.
                    let mask = match mask(scenario, hoops) {
                        all if all.count_ones() as usize == scenario.hoops.len() => EVERY_HOOP,
                        some => some,
                    };
                    about.iter().for_each(|strip| strips[*strip].hoops &= mask);
                }
                Wished::OneSize => about
                    .iter()
                    .for_each(|strip| strips[*strip].one_size = true),
                Wished::First => about.iter().for_each(|strip| strips[*strip].first = true),
                Wished::Apart => about.iter().for_each(|strip| {
                    strips[*strip].apart.insert(number);
                    strips[*strip].bound = true;
                }),
                Wished::AtMost(runs) => {
                    at_most = Some(at_most.map_or(*runs, |known| known.min(*runs)));
                }
                Wished::JointsAway { spots, distance } => about.iter().for_each(|strip| {
                    let spots = spots.iter().map(|spot| (*spot, *distance));
                    strips[*strip].joints_away.extend(spots);
                }),
                Wished::Symmetric => about
                    .iter()
                    .for_each(|strip| strips[*strip].symmetric = true),
                Wished::Alike => alike.push(about),
                Wished::Together => together.push(about),
            }
        }
        let bundles = joined(together);
        for (bundle, members) in bundles.iter().enumerate() {
            for strip in members {
                strips[*strip].bundle = Some((bundle, *strip));
                strips[*strip].bound = true;
            }
        }
        for (group, members) in joined(alike).iter().enumerate() {
            for strip in members {
                strips[*strip].alike = Some(group);
            }
        }
        for strip in &mut strips {
            strip.at_most = at_most;
            strip.bound |= at_most.is_some() || strip.orders_runs();
        }
        Wishes { strips, bundles }
    }

    /// The group of strips that a strip of the quilt top is stitched like.
    pub fn group(&self, strip: usize) -> Option<usize> {
        self.strips.get(strip)?.alike
    }

    /// What is wished of a strip of the quilt top.
    pub fn of_strip(&self, strip: usize) -> StripWishes {
        self.strips.get(strip).cloned().unwrap_or_default()
    }
}

/// What wishes say of single strips when runs are dealt out.
#[derive(Clone, Default, Debug)]
pub struct Bound {
    /// Strips that share one hooping.
    pub bundles: Vec<BTreeSet<usize>>,
    /// Strips whose hoopings come before all others.
    pub first: BTreeSet<usize>,
}

impl Bound {
    /// What is wished of the strips of these classes.
    pub fn of(classes: &[Class]) -> Bound {
        let mut bundles: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        let mut first = BTreeSet::new();
        for class in classes {
            if let Some((bundle, strip)) = class.wishes.bundle {
                bundles.entry(bundle).or_default().insert(strip);
            }
            if class.wishes.first {
                first.extend(&class.members);
            }
        }
        Bound {
            bundles: bundles.into_values().collect(),
            first,
        }
    }
}

/// The hoops of these ids.
fn mask(scenario: &Scenario, ids: &[String]) -> HoopMask {
    let hoops = scenario.hoops.iter().enumerate();
    hoops
        .filter(|(_, hoop)| ids.contains(&hoop.id))
        .fold(0, |mask, (number, _)| mask | 1 << number)
}

/// Sets that share a member become one.
fn joined(sets: Vec<BTreeSet<usize>>) -> Vec<Vec<usize>> {
    let mut joined: Vec<BTreeSet<usize>> = Vec::new();
    for mut set in sets {
        let (touching, other): (Vec<_>, Vec<_>) = joined
            .into_iter()
            .partition(|known| !known.is_disjoint(&set));
        touching.into_iter().for_each(|known| set.extend(known));
        joined = other;
        joined.push(set);
    }
    joined
        .into_iter()
        .map(|set| set.into_iter().collect())
        .collect()
}
