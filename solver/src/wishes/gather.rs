//! Finds a hooping for strips that are wished together.

use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::time::Duration;

use crate::classes::Class;
use crate::cover::{Cover, Piece};
use crate::deadline::Deadline;
use crate::hooping::arrange::arrange;
use crate::hooping::caps::{Bonds, Caps};
use crate::hooping::kind::{Kind, Kinds, Openness};
use crate::hooping::pattern::{Limits, Pattern};
use crate::hooping::way::ways;
use crate::length::Length;
use crate::scenario::Scenario;
use crate::wishes::leaves;

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

/// So long a hooping is looked for even if the time is over.
const LATE: Duration = Duration::from_secs(1);

/// A hooping that takes all members, if one is found: by a search of everything that the hoops can hold and, as that ends
/// where there is too much of it, one after the other.
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
    // That there is none would contradict a wish, whatever the clock says.
    let deadline = deadline.at_least(LATE);
    let searched = search(scenario, &kinds, &meant, &limits, members.len(), &deadline);
    searched.or_else(|| first_fit(scenario, members, &limits.caps))
}

/// A hooping among all that the hoops can hold; `meant` says for each kind which member it is, and which of its covers.
fn search(
    scenario: &Scenario,
    kinds: &Kinds,
    meant: &[(usize, usize)],
    limits: &Limits,
    members: usize,
    deadline: &Deadline,
) -> Option<Gathered> {
    let ways = ways(scenario, &kinds.list, &|_| true, limits, deadline);
    let worth = vec![1; kinds.list.len()];
    let best = ways.best(scenario.hoops.len(), &worth, &limits.caps, &|_| 0, None);
    let all = |pattern: &&Pattern| pattern.kinds().len() == members;
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

/// A member in one of its covers.
struct Lying {
    kind: Kind,
    member: usize,
    cover: usize,
}

/// The hooping that comes of laying each member into the first lane that takes it, the longest first.
fn first_fit(scenario: &Scenario, members: &[Member<'_>], caps: &Caps) -> Option<Gathered> {
    let each = (0..members.len()).map(|number| (number, 1)).collect();
    let may_share = scenario.rules.share_hoopings || members.len() == 1;
    if !may_share || !caps.allow(&each) {
        return None;
    }
    let between = scenario.allowances.between();
    let hoops = scenario.hoops.iter().enumerate();
    let mut ways = hoops.flat_map(|(hoop, owned)| owned.ways().map(move |way| (hoop, way)));
    ways.find_map(|(hoop, (along, across, turned))| {
        let shortest = |(number, member): (usize, &Member<'_>)| {
            let covers = member.singles.iter().enumerate();
            let lying = covers.filter_map(|(place, cover)| {
                let piece = &member.pieces[cover.runs.each().first()?.0];
                let kind = piece.kind(number, member.class, &cover.settled, Openness::Closed);
                leaves(kind.hoops, hoop).then_some(Lying {
                    kind,
                    member: number,
                    cover: place,
                })
            });
            lying.min_by_key(|of| (of.kind.length + of.kind.margin_along, of.cover))
        };
        let lying: Option<Vec<Lying>> = members.iter().enumerate().map(shortest).collect();
        let mut lying = lying?;
        lying.sort_by_key(|of| (Reverse(of.kind.length), of.member));
        let fits = |lanes: &[Vec<Lying>], lane: usize| {
            let of_lane = |value: fn(&Kind) -> Length| -> Vec<Length> {
                lanes[lane].iter().map(|of| value(&of.kind)).collect()
            };
            let widest = |value: fn(&Kind) -> Length| -> Vec<Length> {
                let lanes = lanes.iter();
                let most = lanes.map(|lane| lane.iter().map(|of| value(&of.kind)).max());
                most.flatten().collect()
            };
            let room = |sizes: Vec<Length>, margins: Vec<Length>| {
                arrange(&sizes, &margins, between, &[]).room_doubled
            };
            room(
                of_lane(|kind| kind.length),
                of_lane(|kind| kind.margin_along),
            ) <= along * 2
                && room(widest(|kind| kind.width), widest(|kind| kind.margin_across)) <= across * 2
        };
        let mut lanes: Vec<Vec<Lying>> = Vec::new();
        for of in lying {
            let mut waiting = Some(of);
            for lane in 0..=lanes.len() {
                if lane == lanes.len() {
                    lanes.push(Vec::new());
                }
                lanes[lane].extend(waiting.take());
                if fits(&lanes, lane) {
                    break;
                }
                waiting = lanes[lane].pop();
            }
            if waiting.is_some() {
                return None;
            }
        }
        let lanes = lanes.iter();
        let lanes = lanes.map(|lane| lane.iter().map(|of| (of.member, of.cover)).collect());
        Some(Gathered {
            hoop,
            turned,
            lanes: lanes.collect(),
        })
    })
}
