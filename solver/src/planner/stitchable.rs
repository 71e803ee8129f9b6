//! Which strips can be stitched: their classes with what they can be covered with, and why others have no covering.

use std::collections::BTreeMap;

use crate::classes::{self, Class};
use crate::cover::{ClassCovers, CoverSpace, Miss, PieceStore, Sure, some_covers_of};
use crate::deadline::Deadline;
use crate::plan::UnplannedEntry;
use crate::planner::Method;
use crate::planner::no_plan::Unsolved;
use crate::scenario::{Scenario, Term};
use crate::strips::QuiltTop;
use crate::wishes::{StripWishes, Wishes};

/// The part of the time that may go by before all covers of all classes are known.
const SPACING: f64 = 0.6;

/// More split strips than this are not planned one by one: there would be too many patterns.
const MOST_APART: usize = 10;

/// A class of strips and its covers: all of them without a list, and those that are listed so far.
#[derive(Clone)]
struct OfClass<'a> {
    class: Class,
    space: Option<CoverSpace<'a>>,
    covers: ClassCovers<'a>,
}

/// The strips that can be stitched, by class.
pub struct Stitchable<'a> {
    pub classes: Vec<Class>,
    /// The covers of each class that are listed so far: at least one.
    pub covers: Vec<ClassCovers<'a>>,
    /// All covers of each class without a list; `None` where those of one class are not known.
    pub spaces: Option<Vec<CoverSpace<'a>>>,
}

/// The strips (index into those of the quilt top) that have no covering.
#[derive(Default)]
pub struct Missed(BTreeMap<usize, Miss>);

/// Finds coverings for the strips of each class. `unsettled` says that there was no time to see whether wishes can be kept.
///
/// # Errors
/// The solve was told to stop.
pub fn stitchable<'a>(
    store: &PieceStore<'a>,
    method: Method,
    top: &QuiltTop,
    wishes: &Wishes,
    unsettled: bool,
    deadline: &Deadline,
) -> Result<(Stitchable<'a>, Missed), Unsolved> {
    let scenario = store.scenario;
    let corners_count = scenario.goal.counts(Term::CornerMismatch);
    // Lists of covers that take longer are cut short, and without a search there is no use for the spaces of covers: so that time is left
    // for a plan.
    let listing = deadline.at_most(deadline.left() / 4);
    let spacing = deadline.at_most(deadline.left().mul_f64(SPACING));
    let mut found: Vec<OfClass<'_>> = Vec::new();
    let mut missed = Missed::default();
    for class in classes::of(top, wishes, corners_count) {
        if deadline.stopped() {
            return Err(Unsolved::Stopped);
        }
        let spaced = method == Method::Decomposition && !spacing.over();
        let space = spaced.then(|| CoverSpace::of(store, &class, &spacing));
        let space = space.filter(|space| space.complete);
        let simplest = space.as_ref().and_then(|space| {
            let (cover, fewest) = space.simplest(scenario)?;
            Some(space.with_cover(cover, fewest))
        });
        let (covers, space) = match simplest {
            Some(covers) => (covers, space),
            None => {
                let covers = some_covers_of(store, &class, &listing);
                // Covers name pieces by their places.
                let space = space.filter(|space| *space.pieces == *covers.pieces);
                (covers, space)
            }
        };
        if covers.covers.is_empty() {
            let miss = if unsettled && class.wishes != StripWishes::default() {
                Miss::out_of_time()
            } else {
                covers.miss(scenario, &class, deadline)
            };
            let strips = class.members.iter();
            missed.0.extend(strips.map(|strip| (*strip, miss.clone())));
        } else {
            found.push(OfClass {
                class,
                space,
                covers,
            });
        }
    }
    Ok((taken_apart(apart(found)), missed))
}

/// Gives the few alike strips that are split into runs a class each.
fn apart(all: Vec<OfClass<'_>>) -> Vec<OfClass<'_>> {
    let split = |of: &OfClass<'_>| of.covers.fewest_runs() > 1;
    let strips = all.iter().filter(|of| split(of));
    let strips: usize = strips.map(|of| of.class.members.len()).sum();
    let mut found = Vec::new();
    for of in all {
        if !(split(&of) && strips <= MOST_APART) {
            found.push(of);
            continue;
        }
        for class in of.class.clone().apart() {
            found.push(OfClass {
                class,
                ..of.clone()
            });
        }
    }
    found
}

fn taken_apart(all: Vec<OfClass<'_>>) -> Stitchable<'_> {
    let mut found = Stitchable {
        classes: Vec::new(),
        covers: Vec::new(),
        spaces: Some(Vec::new()),
    };
    for of in all {
        found.classes.push(of.class);
        found.covers.push(of.covers);
        found.spaces = found.spaces.zip(of.space).map(|(mut spaces, space)| {
            spaces.push(space);
            spaces
        });
    }
    found
}

impl FromIterator<(usize, Miss)> for Missed {
    fn from_iter<I: IntoIterator<Item = (usize, Miss)>>(misses: I) -> Missed {
        Missed(misses.into_iter().collect())
    }
}

impl Missed {
    /// Those of which so much is known.
    fn known_as(&self, sure: Sure) -> Missed {
        let alike = self.0.iter().filter(|(_, miss)| miss.sure == sure);
        alike.map(|(strip, miss)| (*strip, miss.clone())).collect()
    }

    /// Those that the count of steps ended the search for.
    pub fn out_of_steps(&self) -> Missed {
        self.known_as(Sure::OutOfSteps)
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub fn into_unsolved(self) -> Unsolved {
        Unsolved::Missed(self.0)
    }

    /// What a plan says of them; `planned` says whether it has anything else.
    ///
    /// # Errors
    /// They may not be left out.
    pub fn left_out(
        self,
        scenario: &Scenario,
        top: &QuiltTop,
        planned: bool,
    ) -> Result<Vec<UnplannedEntry>, Unsolved> {
        // Nobody may leave out what could be stitched, nor is anything known of it.
        let out_of_time = self.known_as(Sure::OutOfTime);
        if !out_of_time.is_empty() {
            return Err(out_of_time.into_unsolved());
        }
        // Beside strips that are begun a plan may hold nothing.
        let nothing = !planned && scenario.begun.is_empty();
        if !self.is_empty() && (!scenario.rules.allow_partial || nothing) {
            return Err(self.into_unsolved());
        }
        let entry = |(strip, miss): (usize, Miss)| UnplannedEntry {
            strip: top.strips[strip].id.clone(),
            reason: format!("{} {}", miss.reason, miss.mend),
        };
        Ok(self.0.into_iter().map(entry).collect())
    }
}
