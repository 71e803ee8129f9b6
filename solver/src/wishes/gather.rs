//! Finds a hooping for strips that are wished together.

use std::collections::BTreeSet;

use crate::classes::Class;
use crate::cover::{Cover, Piece};
use crate::deadline::Deadline;
use crate::hooping::caps::{Bonds, Caps};
use crate::hooping::kind::{Kinds, Openness};
use crate::hooping::pattern::{Limits, Pattern};
use crate::hooping::way::ways;
use crate::scenario::Scenario;

/// A strip that is wished together with others, and how it can be covered in one run.
pub struct Member<'a> {
    /// Its class, of which it is the only strip.
    pub class: &'a Class,
    pub pieces: &'a [Piece],
    /// Covers in a single run.
    pub singles: Vec<&'a Cover>,
}

/// One hooping for all members.
pub struct Gathered {
    pub hoop: usize,
    pub turned: bool,
    /// In each lane the members and which of their covers they get.
    pub lanes: Vec<Vec<(usize, usize)>>,
}

/// A hooping that takes all members, if one is found.
pub fn gather(
    scenario: &Scenario,
    members: &[Member<'_>],
    deadline: &Deadline,
) -> Option<Gathered> {
    let mut kinds = Kinds::default();
    let mut users: Vec<BTreeSet<usize>> = Vec::new();
    // For each kind a member and a cover that has it.
    let mut meant: Vec<(usize, usize)> = Vec::new();
    for (number, member) in members.iter().enumerate() {
        for (place, cover) in member.singles.iter().enumerate() {
            let Some((piece, _)) = cover.runs.each().first().copied() else {
                continue;
            };
            let piece = &member.pieces[piece];
            let kind =
                kinds.number(piece.kind(number, member.class, &cover.settled, Openness::Closed));
            if kind == users.len() {
                users.push(BTreeSet::from([number]));
                meant.push((number, place));
            }
        }
    }
    let classes: Vec<Class> = members.iter().map(|member| member.class.clone()).collect();
    let numbers: Vec<usize> = (0..members.len()).collect();
    let caps = Caps {
        of_class: numbers.iter().map(|number| (*number, 1)).collect(),
        bonds: Bonds::of(&classes, &numbers),
    };
    let limits = Limits::of(&classes, &users, caps);
    let ways = ways(scenario, &kinds.list, &|_| true, &limits, deadline);
    let worth = vec![1; kinds.list.len()];
    let best = ways.best(scenario.hoops.len(), &worth, &limits.caps, None);
    let all = |pattern: &&Pattern| pattern.kinds().len() == members.len();
    let found = best.iter().flat_map(|of_hoop| &of_hoop.found);
    let pattern = found.map(|best| &best.pattern).find(all)?;
    let lanes = pattern.lanes.iter();
    let lanes = lanes.map(|lane| lane.iter().map(|kind| meant[*kind]).collect());
    Some(Gathered {
        hoop: pattern.hoop,
        turned: pattern.turned,
        lanes: lanes.collect(),
    })
}
