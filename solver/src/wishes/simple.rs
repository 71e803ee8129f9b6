//! A plan that keeps every wish and does nothing else: each bundle in one hooping, every other run by itself.

use std::collections::BTreeMap;

use crate::classes::Class;
use crate::columns::FoundPlan;
use crate::cover::{Cover, CoverSpace, Piece, SequenceRule};
use crate::deadline::Deadline;
use crate::deal::Dealt;
use crate::hooping::kind::Openness;
use crate::scenario::Scenario;
use crate::strips::End;
use crate::task::Task;
use crate::wishes::gather::{Member, gather};
use crate::wishes::leaves;

/// The plan. Every class has a cover and every bundle a hooping, which [`crate::wishes::conflict`] has made sure of.
pub fn simple_plan(
    task: &Task<'_>,
    spaces: Option<&[CoverSpace<'_>]>,
    deadline: &Deadline,
) -> FoundPlan {
    let (scenario, classes, covers) = (task.scenario, task.classes, task.covers);
    let mut plan = FoundPlan {
        covers: vec![None; task.top.strips.len()],
        hoopings: Vec::new(),
    };
    // Whether the hooping holds one of the first strips, and the hooping.
    let mut hoopings: Vec<(bool, Dealt)> = Vec::new();
    let mut bundles: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (number, class) in classes.iter().enumerate() {
        if let Some((bundle, _)) = class.wishes.bundle {
            bundles.entry(bundle).or_default().push(number);
        } else if let Some(cover) = covers[number].covers.first() {
            for strip in &class.members {
                plan.covers[*strip] = Some((number, cover.clone()));
                let runs = alone(scenario, class, &covers[number].pieces, cover, *strip);
                hoopings.extend(runs.into_iter().map(|run| (class.wishes.first, run)));
            }
        }
    }
    for bundle in bundles.into_values() {
        let members = bundle.iter().map(|number| {
            let (pieces, singles) = match spaces {
                Some(spaces) => (&spaces[*number].pieces, &spaces[*number].listed),
                None => (&covers[*number].pieces, &covers[*number].covers),
            };
            Member {
                class: &classes[*number],
                pieces,
                singles: singles.iter().filter(|cover| cover.count() == 1).collect(),
            }
        });
        let members: Vec<Member<'_>> = members.collect();
        let Some(gathered) = gather(scenario, &members, deadline) else {
            continue;
        };
        for (member, cover) in gathered.lanes.iter().flatten() {
            let cover: Cover = members[*member].singles[*cover].clone();
            let class = bundle[*member];
            plan.covers[classes[class].members[0]] = Some((class, cover));
        }
        let strip = |(member, _): &(usize, usize)| (classes[bundle[*member]].members[0], 0);
        let lanes = gathered
            .lanes
            .iter()
            .map(|lane| lane.iter().map(strip).collect());
        let dealt = Dealt {
            hoop: gathered.hoop,
            turned: gathered.turned,
            lanes: lanes.collect(),
        };
        let first = bundle.iter().any(|number| classes[*number].wishes.first);
        hoopings.push((first, dealt));
    }
    hoopings.sort_by_key(|(first, _)| !first);
    plan.hoopings = hoopings.into_iter().map(|(_, hooping)| hooping).collect();
    plan
}

/// The runs of a strip, each in a hooping of its own: from its start to its end where their order along it is told.
fn alone(
    scenario: &Scenario,
    class: &Class,
    pieces: &[Piece],
    cover: &Cover,
    strip: usize,
) -> Vec<Dealt> {
    let runs = cover.runs.each().into_iter().enumerate();
    let hooping = |(run, (piece, openness)): (usize, (usize, Openness))| {
        let kind = pieces[piece].kind(0, class, &cover.settled, openness);
        let hoops = scenario.hoops.iter().enumerate();
        let mut ways = hoops
            .filter(|(hoop, _)| leaves(kind.hoops, *hoop))
            .flat_map(|(hoop, owned)| owned.ways().map(move |way| (hoop, way)));
        let (hoop, (_, _, turned)) = ways.find(|(_, (along, across, _))| {
            kind.length + kind.margin_along <= *along && kind.width + kind.margin_across <= *across
        })?;
        Some(Dealt {
            hoop,
            turned,
            lanes: vec![vec![(strip, run)]],
        })
    };
    let mut alone: Vec<Dealt> = runs.filter_map(hooping).collect();
    if let Some(rule) = SequenceRule::of(scenario, class)
        && let Some(mut along) = rule.one_order(pieces, cover)
    {
        // What is left before a stretch that is stitched grows towards the strip's start.
        if class.stage.butts() == Some(End::End) {
            along.reverse();
        }
        alone.sort_by_key(|of| along.iter().position(|run| of.lanes[0][0].1 == *run));
    }
    alone
}
