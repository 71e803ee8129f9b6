//! Settles one stage of the goal: the least value that a plan can have there, or, where that cannot be proven, the least that is
//! found.

use crate::columns::atoms::Atom;
use crate::columns::dealer::Hit;
use crate::columns::generate::Bound;
use crate::columns::search::Search;
use crate::columns::tree::Found;

/// So many values of an entry are tried one after the other from its bound upwards.
const MOST_CLIMBED: usize = 4;
/// Where there are more between the least that is left and one that is known, all of these are looked at together.
const FEW_LEFT: i64 = 8;
/// So far above what is left it is looked at most.
const FARTHEST: i64 = 1 << 40;
/// The most values of an entry that are tried in all.
const MOST_TRIED: usize = 100;
/// The most values of an entry for which a plan is looked for before it is known which of them can be had.
const MOST_GUESSED: usize = 12;

/// So many of these one after the other.
const SINGLE_STEPS: usize = 3;

/// What one entry may take of the time: the other half is for the entries that follow.
const HALF: f64 = 0.5;

/// How far above the least value that is left it is looked: what is ruled out there is ruled out for all values up to it. Where values are many,
/// as those of an area, it would take too long to look at one after the other.
struct Stride {
    ahead: i64,
    /// The least value of which a look could not tell.
    doubtful: i64,
}

impl Default for Stride {
    fn default() -> Stride {
        Stride {
            ahead: 0,
            doubtful: i64::MAX,
        }
    }
}

impl Stride {
    /// Goes farther, but not near what is doubtful.
    fn lengthen(&mut self, value: i64, step: i64) {
        let farther = (2 * self.ahead + step).min(FARTHEST);
        self.ahead = farther.min(self.doubtful.saturating_sub(value).max(0) / 4);
    }

    /// Goes less far, since a look at `most` could not tell.
    fn shorten(&mut self, value: i64, most: i64) {
        self.doubtful = most;
        self.ahead = (most - value) / 4;
    }
}

impl Search<'_, '_, '_> {
    /// Finds the least value of the next stage, or, where that cannot be proven, the least that is found; `known` is a value
    /// that a plan is known to have.
    pub fn settle(&mut self, settled: &[i64], known: Option<i64>) -> Option<(i64, Option<Hit>)> {
        let stage = settled.len();
        let (mut value, bound) = self.bound(stage, settled)?;
        // The least value that a plan was found for, once it is not clear at once that there is none with less.
        let mut found: Option<(i64, Option<Hit>)> = known.map(|known| (known, None));
        let mut patient = false;
        let mut stride = Stride::default();
        for climbed in 0..MOST_TRIED {
            self.note(stage, settled, value);
            if let Some((least, hit)) = found.take_if(|(least, _)| *least == value) {
                return Some((least, hit));
            }
            let below = found
                .as_ref()
                .map_or(i64::MAX, |(known, _)| known.saturating_sub(1));
            let most = self.reachable(
                stage,
                value.saturating_add(stride.ahead).min(below),
                settled,
            );
            let most = most.map_or(value, |most| most.min(below).max(value));
            let hoped: Vec<i64> = settled.iter().copied().chain([most]).collect();
            let looked = if patient && most == value {
                self.patiently(&bound, &hoped)
            } else {
                self.look_quickly(&bound, &hoped, false)
            };
            match looked {
                (Found::Point(_), hit) if most == value => return Some((value, hit)),
                (Found::None, _) => {
                    value = self.reachable(stage, most + 1, settled)?;
                    if climbed >= MOST_CLIMBED && !self.is_dealt(stage) {
                        stride.lengthen(value, self.stages[stage].divisor);
                    }
                    continue;
                }
                (Found::Point(_), Some(hit)) => {
                    stride.ahead = 0;
                    found = Some((hit.values[stage].min(most), Some(hit)));
                }
                // What is too much to look through at once may not be so step by step.
                _ if most > value => stride.shorten(value, most),
                _ if !patient => {
                    // A plan first, then the proof.
                    patient = true;
                    let known = found.as_ref().map(|(known, _)| *known);
                    found = self.guess(settled, &bound, value, known).or(found);
                }
                _ => break,
            }
            let is_far = |(known, _): &mut (i64, Option<Hit>)| *known - value > FEW_LEFT;
            if let Some(found) = found.take_if(is_far) {
                return Some(self.improve_on(stage, settled, &bound, value, found));
            }
        }
        if found.is_some() {
            self.unproven.insert(self.stages[stage].entry, value);
        }
        found
    }

    /// Looks with all effort, in half of the time that is left.
    fn patiently(&mut self, bound: &Bound, hoped: &[i64]) -> (Found, Option<Hit>) {
        self.in_part_of_the_time(HALF, |search| {
            let found = search.look(bound, hoped);
            search.postpone(&found.0, hoped);
            found
        })
    }

    /// Notes a look that its part of the time was not enough for.
    fn postpone(&mut self, found: &Found, hoped: &[i64]) {
        if *found == Found::Unknown && self.deadline.over() {
            self.postponed.push(hoped.to_vec());
        }
    }

    /// Does work that has to end with such a part of the time that is left.
    pub fn in_part_of_the_time<T>(&mut self, part: f64, work: impl FnOnce(&mut Self) -> T) -> T {
        let part = self.deadline.at_most(self.deadline.left().mul_f64(part));
        let whole = std::mem::replace(&mut self.deadline, part);
        let done = work(self);
        self.deadline = whole;
        done
    }

    /// Goes on with the looks that half of the time was not enough for, now that the other entries have had their share. So a
    /// search that ends before its time has done all its work, and ends in the same way on any machine.
    pub fn go_on(&mut self) -> Option<Hit> {
        for hoped in std::mem::take(&mut self.postponed) {
            let stage = hoped.len() - 1;
            let (settled, value) = (&hoped[..stage], hoped[stage]);
            self.hold_first(settled);
            let Some((_, bound)) = self.bound(stage, settled) else {
                continue;
            };
            match self.look(&bound, &hoped) {
                (Found::Point(_), hit) => return hit,
                (Found::None, _) => {
                    let entry = self.stages[stage].entry;
                    let first = self.stages.iter().position(|of| of.entry == entry);
                    // What a first stage has at least is true whatever was settled there.
                    if first == Some(stage) {
                        let Some(next) = self.reachable(stage, value + 1, settled) else {
                            continue;
                        };
                        let before = self.unproven.remove(&entry);
                        self.note(stage, settled, next);
                        self.unproven.extend(before.map(|_| (entry, next)));
                    }
                }
                (Found::Unknown | Found::Better(_), _) => {}
            }
            if self.deadline.over() {
                break;
            }
        }
        None
    }

    /// Looks for a plan from a value on upwards, where it costs little, up to what is known already: in steps that grow, since what a plan is
    /// far away from it mostly has no chance to have.
    fn guess(
        &mut self,
        settled: &[i64],
        bound: &Bound,
        value: i64,
        known: Option<i64>,
    ) -> Option<(i64, Option<Hit>)> {
        let stage = settled.len();
        let mut value = value;
        for guess in 0..MOST_GUESSED {
            let step = 1_i64 << (guess + 1).saturating_sub(SINGLE_STEPS);
            let farthest = known.map_or(i64::MAX, |known| known.saturating_sub(1));
            let next = value.saturating_add(step).min(farthest).max(value + 1);
            value = self.reachable(stage, next, settled)?;
            if self.deadline.over() || value > farthest {
                return None;
            }
            let hoped: Vec<i64> = settled.iter().copied().chain([value]).collect();
            if let (Found::Point(_), Some(hit)) = self.look_quickly(bound, &hoped, false) {
                return Some((hit.values[stage], Some(hit)));
            }
        }
        None
    }

    /// Looks for the best plan of a stage that has less than the least that was found; less than `least` is ruled out.
    fn improve_on(
        &mut self,
        stage: usize,
        settled: &[i64],
        bound: &Bound,
        least: i64,
        found: (i64, Option<Hit>),
    ) -> (i64, Option<Hit>) {
        let mut found = found;
        for _ in 0..MOST_TRIED {
            let hoped: Vec<i64> = settled.iter().copied().chain([found.0 - 1]).collect();
            let improved = self.in_part_of_the_time(HALF, |search| {
                let improved = search.improve(bound, &hoped);
                search.postpone(&improved.0, &hoped);
                improved
            });
            match improved {
                (Found::Point(_), Some(hit)) if !self.is_dealt(stage) => {
                    self.note(stage, settled, hit.values[stage]);
                    return (hit.values[stage], Some(hit));
                }
                (Found::None, _) => {
                    self.note(stage, settled, found.0);
                    return found;
                }
                // Of a point with fewer changes than it was dealt out with, others may be dealt out better.
                (Found::Better(_) | Found::Point(_), Some(hit)) => {
                    found = (hit.values[stage], Some(hit));
                }
                _ => {}
            }
            // What could not be seen all at once may be seen cover by cover.
            let hoped: Vec<i64> = settled.iter().copied().chain([found.0 - 1]).collect();
            match self.patiently(bound, &hoped) {
                (Found::Point(_), Some(hit)) => found = (hit.values[stage], Some(hit)),
                (Found::None, _) => {
                    self.note(stage, settled, found.0);
                    return found;
                }
                _ => break,
            }
        }
        self.unproven.insert(self.stages[stage].entry, least);
        found
    }

    /// Whether a stage's value is known only once a point is dealt out: hoop changes, where the point counts no more than its hoops need.
    fn is_dealt(&self, stage: usize) -> bool {
        let of = &self.stages[stage];
        let changes = self.of.atoms.number(Atom::Change);
        !self.task.scenario.goal.weighs_changes()
            && changes.is_some_and(|changes| of.form[changes] != 0)
    }
}
