//! What the wishes of a scenario allow, asked of single strips and of whole hoopings.

use std::collections::{BTreeMap, BTreeSet};

use sashwright_solver::length::Length;
use sashwright_solver::scenario::{Scenario, Spot, Wished};
use sashwright_solver::strips::{QuiltTop, Stage};

use super::choice::{Choice, Repeats, Run};

/// The wishes, each with the strips (indices) that it is about.
pub struct Wishes<'a> {
    scenario: &'a Scenario,
    all: Vec<(&'a Wished, BTreeSet<usize>)>,
    /// For each begun strip what is left of it: on one cloth, so never in one hooping.
    rests: Vec<BTreeSet<usize>>,
}

impl<'a> Wishes<'a> {
    /// The wishes of a scenario.
    pub fn of(scenario: &'a Scenario, top: &QuiltTop) -> Wishes<'a> {
        let number = |id: &String| top.strips.iter().position(|strip| strip.id == *id);
        let all = scenario.wishes.iter();
        let all = all.map(|wish| (&wish.what, wish.strips.iter().filter_map(number).collect()));
        let rests = (0..scenario.begun.len()).map(|begun| {
            let is_left = |strip: &usize| matches!(top.strips[*strip].stage, Stage::Rest { of, .. } if of == begun);
            (0..top.strips.len()).filter(is_left).collect()
        });
        Wishes {
            scenario,
            all: all.collect(),
            rests: rests.collect(),
        }
    }

    /// Whether nothing is wished.
    pub fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// Whether strips alike have to be told apart.
    pub fn tell_apart(&self) -> bool {
        !self.all.is_empty() || !self.rests.is_empty()
    }

    fn about(&self, strip: usize) -> impl Iterator<Item = &'a Wished> {
        let all = self.all.iter();
        all.filter(move |(_, strips)| strips.contains(&strip))
            .map(|(what, _)| *what)
    }

    /// Whether a run of a strip may be stitched in a hoop.
    pub fn may_lie_in(&self, strip: usize, hoop: usize) -> bool {
        let id = &self.scenario.hoops[hoop].id;
        self.about(strip).all(|what| match what {
            Wished::OnlyIn(hoops) => hoops.contains(id),
            _ => true,
        })
    }

    /// Whether a strip may be stitched with so many sizes.
    pub fn allow_sizes(&self, strip: usize, sizes: usize) -> bool {
        sizes == 1 || self.about(strip).all(|what| *what != Wished::OneSize)
    }

    /// Whether a strip may be stitched so, the rules of short strips aside.
    pub fn allow(&self, strip: usize, choice: &Choice) -> bool {
        choice.runs.len() == 1 || self.about(strip).all(|what| *what != Wished::Together)
    }

    /// Whether the runs of a strip may follow each other so along it. `joints` are twice the distances of its joints from its
    /// start, as fractions of nanometres.
    pub fn allow_order(
        &self,
        strip: usize,
        length: i128,
        joints: &[(i128, i128)],
        runs: &[Repeats],
    ) -> bool {
        let nanometres = |length: &Length| i128::from(length.nanometres());
        self.about(strip).all(|what| match what {
            Wished::JointsAway { spots, distance } => joints.iter().all(|(joint, parts)| {
                spots.iter().all(|spot| {
                    let spot = match spot {
                        Spot::Middle => length,
                        Spot::At(at) => 2 * nanometres(at),
                    };
                    (joint - spot * parts).abs() >= 2 * nanometres(distance) * parts
                })
            }),
            Wished::Symmetric => {
                let held = |run: &Repeats| {
                    let mut held: BTreeMap<String, i128> = BTreeMap::new();
                    for (size, repeats) in run {
                        *held.entry(size.clone()).or_default() += repeats;
                    }
                    held
                };
                let there: Vec<_> = runs.iter().map(held).collect();
                there.iter().eq(there.iter().rev())
            }
            _ => true,
        })
    }

    /// Whether a strip is wished to be like some other.
    pub fn is_like_another(&self, strip: usize) -> bool {
        self.about(strip).any(|what| *what == Wished::Alike)
    }

    /// Whether two strips have to be stitched with the same segments in the same runs, so far as they are of one length, width
    /// and design.
    pub fn are_alike(&self, one: usize, other: usize) -> bool {
        let mut alike = self.all.iter().filter(|(what, _)| **what == Wished::Alike);
        alike.any(|(_, strips)| strips.contains(&one) && strips.contains(&other))
    }

    /// Whether these runs may share a hooping. `planned` are all strips that are stitched.
    pub fn share(&self, runs: &[Run], planned: &BTreeSet<usize>) -> bool {
        let here: BTreeSet<usize> = runs.iter().map(|run| run.strip).collect();
        let on_cloths = |rests: &BTreeSet<usize>| rests.intersection(&here).count() <= 1;
        self.rests.iter().all(on_cloths)
            && self.all.iter().all(|(what, strips)| {
                let mut wanted = strips.intersection(planned);
                let count = strips.intersection(&here).count();
                match what {
                    Wished::Apart => count <= 1,
                    Wished::Together => count == 0 || wanted.all(|strip| here.contains(strip)),
                    Wished::AtMost(most) => runs.len() <= *most,
                    Wished::OnlyIn(_)
                    | Wished::First
                    | Wished::OneSize
                    | Wished::JointsAway { .. }
                    | Wished::Symmetric
                    | Wished::Alike => true,
                }
            })
    }

    /// Whether a hooping of these strips may come before others of these.
    pub fn may_come_before(&self, here: &BTreeSet<usize>, later: &BTreeSet<usize>) -> bool {
        self.all.iter().all(|(what, strips)| {
            **what != Wished::First || !strips.is_disjoint(here) || strips.is_disjoint(later)
        })
    }
}
