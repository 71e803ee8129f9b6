//! How well a pattern can fit one strip: the least scaling with which it ends at both seam lines.

use std::collections::BTreeSet;

use crate::classes::Class;
use crate::cover::{
    Cover, CoverSpace, Fit, Piece, PieceStore, Prices, Settled, SizeSet, Sizes, Total, covers_of,
    taken_in_one_run,
};
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::Length;
use crate::scenario::Scenario;

/// How a covering of a strip ends; less is better.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Ending {
    /// At both seam lines, scaled by so much: |s − 1|.
    Closing(Exact),
    /// Past them, with so much overhang, both ends together.
    Over(Length),
}

/// The best covering of a strip by how it ends.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Nearest {
    /// How it ends.
    pub ending: Ending,
    /// Whether every covering that ends so has sizes with different repeats.
    pub mixed: bool,
}

/// What is known of a strip.
#[derive(Clone, Copy, Debug)]
pub struct Known {
    /// The best covering that was found.
    pub nearest: Option<Nearest>,
    /// Whether no other covering can be better; without any, whether there is none.
    pub sure: bool,
}

/// The best covering of the strips of a class. They are not to be `cornered`: that would only tell more coverings apart.
/// Coverings that are too many to settle are listed until the deadline.
pub fn nearest(scenario: &Scenario, class: &Class, deadline: &Deadline) -> Known {
    let store = PieceStore::of(scenario);
    let space = CoverSpace::of(&store, class, deadline);
    let perfect = Some(Nearest {
        ending: Ending::Closing(Exact::ZERO),
        mixed: false,
    });
    let mut best = best_of(scenario, &space);
    if space.complete || best == perfect {
        return Known {
            nearest: best,
            sure: true,
        };
    }
    // Those of one repeat alone are few, and those that she would choose.
    let split = scenario.rules.split_short || taken_in_one_run(&store, class) == Some(false);
    if split {
        let sizes = &space.sizes;
        let every = sizes.list.iter().map(|(_, size)| size.repeat);
        for repeat in every.collect::<BTreeSet<Length>>() {
            let mut alone = scenario.clone();
            let sizes = &mut alone.designs[class.design].sizes;
            sizes.retain(|size| size.repeat == repeat);
            let found = best_of(
                &alone,
                &CoverSpace::of(&PieceStore::of(&alone), class, deadline),
            );
            best = best.into_iter().chain(found).min();
        }
    }
    if best == perfect {
        return Known {
            nearest: best,
            sure: true,
        };
    }
    let listed = covers_of(&store, class, deadline);
    let covers = listed.covers.iter();
    let found = covers.filter_map(|cover| of_cover(&listed.sizes, &listed.pieces, cover));
    Known {
        nearest: best.into_iter().chain(found).min(),
        sure: listed.every_piece && listed.complete_to.is_none(),
    }
}

/// The best covering of a space of covers.
fn best_of(scenario: &Scenario, space: &CoverSpace<'_>) -> Option<Nearest> {
    let listed = space.listed.iter();
    let listed = listed.filter_map(|cover| of_cover(&space.sizes, &space.pieces, cover));
    let mut best = listed.min();
    let mut totals: Vec<(Ending, &Total)> = space
        .totals
        .iter()
        .filter_map(|total| Some((ending(&total.settled)?, total)))
        .collect();
    totals.sort_by_key(|(ending, _)| *ending);
    // The first that is valid is the best: whether it is takes a shortest path, so the others are not asked.
    for (ending, total) in totals {
        let worse = |best: Nearest| (ending, false) >= (best.ending, best.mixed);
        if best.is_some_and(worse) {
            break;
        }
        if let Some(mixed) = mixing(scenario, space, total) {
            best = best.into_iter().chain([Nearest { ending, mixed }]).min();
        }
    }
    best
}

fn of_cover(sizes: &Sizes<'_>, pieces: &[Piece], cover: &Cover) -> Option<Nearest> {
    let runs = cover.runs.each().into_iter();
    let used = runs.fold(0, |used: SizeSet, (piece, _)| used | pieces[piece].sizes);
    Some(Nearest {
        ending: ending(&cover.settled)?,
        mixed: sizes.repeats(used).len() > 1,
    })
}

fn ending(settled: &Settled) -> Option<Ending> {
    match settled.fit {
        Fit::Exact => Some(Ending::Closing(Exact::ZERO)),
        Fit::Scaled => {
            let sum = i128::from(settled.sum.nanometres());
            Exact::new(i128::from(settled.stretch()), sum).map(Ending::Closing)
        }
        Fit::Over => Some(Ending::Over(settled.overhang())),
    }
}

/// Whether the covers of a total all have sizes with different repeats; `None` where it has no valid cover.
fn mixing(scenario: &Scenario, space: &CoverSpace<'_>, total: &Total) -> Option<bool> {
    let valid = |prices: &Prices<'_>| {
        let cheapest = space.cheapest(total, prices)?;
        space
            .is_valid(scenario, &cheapest.cover)
            .then_some(cheapest.cost)
    };
    valid(&Prices::of_joints(total))?;
    let used = total.pieces.iter();
    let used = used.fold(0, |used: SizeSet, piece| used | space.pieces[*piece].sizes);
    let pure = |repeat: &Length| {
        // A run costs something where it has any other repeat, so that only covers of this one cost nothing.
        let other = |piece: &usize| space.sizes.repeats(space.pieces[*piece].sizes) != [*repeat];
        let costs: Vec<i64> = total
            .pieces
            .iter()
            .map(|piece| other(piece).into())
            .collect();
        let prices = Prices {
            outer: costs.clone(),
            inner: costs,
            joint: 0,
            ends: &|_| 0,
        };
        valid(&prices) == Some(0)
    };
    Some(!space.sizes.repeats(used).iter().any(pure))
}
