//! Wishes that cannot be kept together, and the smallest set of them.
//!
//! Everything that wishes ask can be had one run a hooping, but for two things: that a strip can be covered at all, and
//! that the strips of a bundle have room in one hooping. So these are all that has to be tried.

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::cover::{CoverSpace, PieceStore, some_covers_of};
use crate::deadline::Deadline;
use crate::fault::{Fault, FaultCode};
use crate::length::{Length, Unit};
use crate::scenario::{Scenario, Wish, Wished};
use crate::strips::QuiltTop;
use crate::wishes::gather::{Member, gather};
use crate::wishes::{StripWishes, Wishes};

/// With more wishes than this about the same strips not every set of them is tried: the set that is named is then one from
/// which none can be left out.
const MOST_TRIED: usize = 12;

/// The steps in which distances are tried in place of one that cannot be kept.
const EIGHTH: Length = Length::from_nanometres(3_175_000);
const MILLIMETRE: Length = Length::from_nanometres(1_000_000);

/// Wishes that cannot be kept together.
#[derive(Clone, Debug)]
pub struct Contradiction {
    /// Where they are (JSON Pointers).
    pub wishes: Vec<String>,
    /// The strips that stand in the way.
    pub strips: Vec<String>,
    /// What cannot be had, in a sentence.
    pub reason: String,
    /// For some of the wishes a distance that may do in place of what they ask.
    pub distances: BTreeMap<String, Length>,
    /// The unit of the scenario.
    pub unit: Unit,
}

impl Contradiction {
    /// A fault for each of the wishes.
    pub fn faults(&self) -> Vec<Fault> {
        let fault = |wish: &String| {
            let others: Vec<&str> = self
                .wishes
                .iter()
                .filter(|other| *other != wish)
                .map(String::as_str)
                .collect();
            let (message, mend) = match others.as_slice() {
                [] => (
                    "This wish cannot be kept.".to_string(),
                    "Take it back, or change it",
                ),
                others => (
                    format!("This wish cannot be kept beside {}.", others.join(", ")),
                    "Take one of them back, or change it; each alone would do",
                ),
            };
            let distance = self.distances.get(wish).map(|distance| {
                let distance = distance.told(self.unit);
                format!("; here a \"distance\" of {distance} may do")
            });
            Fault {
                pointer: wish.clone(),
                code: FaultCode::ContradictingWishes,
                message: format!("{message} {}", self.reason),
                mend: format!("{mend}{}.", distance.unwrap_or_default()),
            }
        };
        self.wishes.iter().map(fault).collect()
    }
}

/// The contradiction of the fewest wishes, if there is any.
pub fn conflict(scenario: &Scenario, top: &QuiltTop, deadline: &Deadline) -> Option<Contradiction> {
    if scenario.wishes.is_empty() {
        return None;
    }
    let mut trial = Trial {
        store: PieceStore::of(scenario),
        top,
        known: BTreeMap::new(),
        deadline,
    };
    let all = Wishes::of(scenario, top);
    let mut places: Vec<Vec<usize>> = all.bundles.clone();
    let single = (0..top.strips.len()).filter(|strip| all.of_strip(*strip).bundle.is_none());
    places.extend(single.map(|strip| vec![strip]));
    let mut seen = BTreeSet::new();
    let mut found: Option<(Contradiction, Vec<usize>, Vec<&Wish>)> = None;
    for mut strips in places {
        // What there is no time for is not said to contradict anything.
        if deadline.over() {
            break;
        }
        // Alike strips under the same wishes are tried once.
        if let [strip] = strips.as_slice() {
            let key = (top.strips[*strip].shape(), all.of_strip(*strip));
            if key.1 == StripWishes::default() || !seen.insert(key) {
                continue;
            }
        }
        // What cannot be stitched without any wish is no matter of wishes.
        strips.retain(|strip| trial.covered(*strip, StripWishes::default()));
        let ids: BTreeSet<&str> = strips
            .iter()
            .map(|strip| top.strips[*strip].id.as_str())
            .collect();
        let about = |wish: &&Wish| {
            wish.what != Wished::First
                && (wish.strips.is_empty()
                    || wish.strips.iter().any(|id| ids.contains(id.as_str())))
        };
        let wishes: Vec<&Wish> = scenario.wishes.iter().filter(about).collect();
        if trial.kept(&strips, &wishes) {
            continue;
        }
        let smallest = trial.smallest(&strips, wishes);
        if deadline.over() {
            break;
        }
        let names: Vec<String> = ids.iter().map(|id| id.to_string()).collect();
        let reason = match names.as_slice() {
            [strip] => {
                format!("No covering and no hoop that it leaves will do for the strip {strip}.")
            }
            names => match trial.too_long(&strips) {
                Some(long) => format!(
                    "Each of {} has to be in one run, and the strip {} is too long for that.",
                    names.join(", "),
                    top.strips[long].id
                ),
                None => format!(
                    "Each of them has to be in one run, and no hooping was found that holds the strips {} together.",
                    names.join(", ")
                ),
            },
        };
        if found
            .as_ref()
            .is_none_or(|(_, _, known)| known.len() > smallest.len())
        {
            let contradiction = Contradiction {
                wishes: smallest.iter().map(|wish| wish.pointer.clone()).collect(),
                strips: names,
                reason,
                distances: BTreeMap::new(),
                unit: scenario.unit,
            };
            found = Some((contradiction, strips, smallest));
        }
    }
    let (contradiction, strips, wishes) = found?;
    Some(Contradiction {
        distances: trial.distances(&strips, &wishes),
        ..contradiction
    })
}

/// Whether every strip could be stitched if nothing were wished.
pub fn all_stitchable(scenario: &Scenario, top: &QuiltTop, deadline: &Deadline) -> bool {
    let mut trial = Trial {
        store: PieceStore::of(scenario),
        top,
        known: BTreeMap::new(),
        deadline,
    };
    let mut seen = BTreeSet::new();
    (0..top.strips.len()).all(|strip| {
        let alike = !seen.insert(top.strips[strip].shape());
        alike || trial.covered(strip, StripWishes::default())
    })
}

struct Trial<'a> {
    store: PieceStore<'a>,
    top: &'a QuiltTop,
    /// Whether strips like this (one of them) can be covered under wishes, as far as that is known.
    known: BTreeMap<(usize, StripWishes), bool>,
    deadline: &'a Deadline,
}

impl Trial<'_> {
    /// The smallest set of these wishes that cannot be kept.
    fn smallest<'w>(&mut self, strips: &[usize], wishes: Vec<&'w Wish>) -> Vec<&'w Wish> {
        if wishes.len() > MOST_TRIED {
            let mut left = wishes;
            let mut at = 0;
            while at < left.len() {
                let mut fewer = left.clone();
                fewer.remove(at);
                if self.kept(strips, &fewer) {
                    at += 1;
                } else {
                    left = fewer;
                }
            }
            return left;
        }
        let mut sets: Vec<u32> = (1..1_u32 << wishes.len()).collect();
        sets.sort_by_key(|set| (set.count_ones(), *set));
        let chosen = |set: u32| -> Vec<&'w Wish> {
            let numbered = wishes.iter().enumerate();
            let within = numbered.filter(|(number, _)| set >> number & 1 == 1);
            within.map(|(_, wish)| *wish).collect()
        };
        let broken = sets
            .into_iter()
            .map(chosen)
            .find(|set| !self.kept(strips, set));
        broken.unwrap_or(wishes)
    }

    /// For each of these wishes that keeps joints away the longest distance, in steps, that is not known to be impossible beside the others;
    /// none where there is no time to find it.
    fn distances(&mut self, strips: &[usize], wishes: &[&Wish]) -> BTreeMap<String, Length> {
        let step = match self.store.scenario.unit {
            Unit::Inch => EIGHTH,
            Unit::Millimetre => MILLIMETRE,
        };
        let mut distances = BTreeMap::new();
        for wish in wishes {
            let Wished::JointsAway { spots, distance } = &wish.what else {
                continue;
            };
            // So many steps will do, and so many will not.
            let step_length = step.nanometres();
            let (mut fewest, mut most) =
                (0, (distance.nanometres() + step_length - 1) / step_length);
            while most - fewest > 1 && !self.deadline.over() {
                let steps = fewest + (most - fewest) / 2;
                let nearer = Wish {
                    what: Wished::JointsAway {
                        spots: spots.clone(),
                        distance: step * steps,
                    },
                    ..(*wish).clone()
                };
                let with = wishes.iter().map(|other| {
                    let same = other.pointer == wish.pointer;
                    if same { &nearer } else { *other }
                });
                let with: Vec<&Wish> = with.collect();
                if self.kept(strips, &with) {
                    fewest = steps;
                } else {
                    most = steps;
                }
            }
            // What the clock ended is not known.
            if fewest > 0 && !self.deadline.over() {
                distances.insert(wish.pointer.clone(), step * fewest);
            }
        }
        distances
    }

    /// Whether these wishes can be kept as far as these strips go.
    fn kept(&mut self, strips: &[usize], wishes: &[&Wish]) -> bool {
        let wanted = Wishes::of_some(self.store.scenario, self.top, wishes.iter().copied());
        let covered = strips
            .iter()
            .all(|strip| self.covered(*strip, wanted.of_strip(*strip)));
        covered
            && wanted.bundles.iter().all(|bundle| {
                let touched: Vec<usize> = bundle
                    .iter()
                    .copied()
                    .filter(|strip| strips.contains(strip))
                    .collect();
                touched.is_empty() || self.gathered(&touched, &wanted)
            })
    }

    fn class(&self, strip: usize, wishes: StripWishes) -> Class {
        let of = &self.top.strips[strip];
        Class {
            length: of.length,
            width: of.width,
            design: of.design,
            cornered: false,
            stage: of.stage,
            wishes,
            members: vec![strip],
        }
    }

    /// Whether a strip can be covered under wishes: false only where that is known.
    fn covered(&mut self, strip: usize, wishes: StripWishes) -> bool {
        let class = self.class(strip, wishes.clone());
        let (store, deadline) = (&self.store, self.deadline);
        *self.known.entry((strip, wishes)).or_insert_with(|| {
            let space = CoverSpace::of(store, &class, deadline);
            if space.complete && space.simplest(store.scenario).is_some() {
                return true;
            }
            if space.lists_all() {
                return false;
            }
            let some = some_covers_of(store, &class, deadline);
            let lists_all = some.every_piece && some.complete_to.is_none() && !some.hurried;
            !some.covers.is_empty() || !lists_all
        })
    }

    /// The first of these strips that cannot be in one run, whatever else is wished.
    fn too_long(&self, strips: &[usize]) -> Option<usize> {
        strips.iter().copied().find(|strip| {
            let class = self.class(*strip, StripWishes::default());
            let space = CoverSpace::of(&self.store, &class, self.deadline);
            space.complete && space.listed.iter().all(|cover| cover.count() > 1)
        })
    }

    fn gathered(&self, bundle: &[usize], wanted: &Wishes) -> bool {
        let classes: Vec<Class> = bundle
            .iter()
            .map(|strip| self.class(*strip, wanted.of_strip(*strip)))
            .collect();
        let spaces: Vec<CoverSpace<'_>> = classes
            .iter()
            .map(|class| CoverSpace::of(&self.store, class, &Deadline::never()))
            .collect();
        let members = classes.iter().zip(&spaces).map(|(class, space)| Member {
            class,
            pieces: &space.pieces,
            singles: space.listed.iter().collect(),
        });
        let members: Vec<Member<'_>> = members.collect();
        gather(self.store.scenario, &members, self.deadline).is_some()
    }
}
