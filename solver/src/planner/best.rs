//! The best draft of a plan: from a first one by the search.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use crate::bounds::simple_bounds;
use crate::check::check;
use crate::classes::Class;
use crate::columns::{self, FoundPlan};
use crate::cover::{ClassCovers, Cover, CoverSpace};
use crate::deadline::Deadline;
use crate::draft::Draft;
use crate::first::first_plan;
use crate::kept::Kept;
use crate::optimise::Known;
use crate::plan::{UnplannedEntry, objective, write};
use crate::repeated::repeated;
use crate::roll::Roll;
use crate::scenario::Scenario;
use crate::strips::QuiltTop;
use crate::task::Task;
use crate::wishes::{self, Bound};

/// The part of the time left for the search: the rest is for what other scenarios tell, and for the integer program over lists.
const SEARCHING: f64 = 0.7;
/// So many covers of each class are searched by themselves, one number after the other, each in this part of the time left.
const FEW_COVERS: [usize; 4] = [6, 16, 40, 100];
const SHARE_OF_FEW: f64 = 0.2;

/// A class with more pieces for all sums of its covers than this has so many covers that a few are searched before all of them, in
/// this part of the time left.
const MANY: usize = 1_000;
const SHARE_BEFORE: f64 = 0.15;

/// What a task is about, before its covers.
#[derive(Clone, Copy)]
pub struct About<'a> {
    pub scenario: &'a Scenario,
    pub top: &'a QuiltTop,
    pub classes: &'a [Class],
    pub bound: &'a Bound,
    pub roll: Option<&'a Roll>,
}

impl<'a> About<'a> {
    /// The task with these covers of each class.
    pub fn task<'b>(self, covers: &'b [ClassCovers<'b>]) -> Task<'b>
    where
        'a: 'b,
    {
        Task {
            scenario: self.scenario,
            top: self.top,
            classes: self.classes,
            covers,
            bound: self.bound,
            roll: self.roll,
        }
    }
}

/// What whoever listens to a solve is told while it searches.
struct Outlook<'o, 'a> {
    about: About<'a>,
    covers: &'o [ClassCovers<'a>],
    /// Bounds that hold for every plan.
    simple: &'o [i128],
    /// Values of the best plan so far.
    best: RefCell<Vec<i128>>,
    deadline: &'o Deadline,
}

impl Outlook<'_, '_> {
    /// Tells how far the search is, where a plan was found that may be better, or more was proven.
    fn tell(&self, found: Option<&FoundPlan>, proven: &[(Vec<i128>, i128)]) {
        self.deadline.tell(|| {
            let mut lists = self.covers.to_vec();
            let draft = found.map(|found| with_covers(found.clone(), &mut lists));
            let task = self.about.task(&lists);
            let mut best = self.best.borrow_mut();
            if let Some(draft) = draft {
                let values = draft.values(&task);
                if values < *best {
                    *best = values;
                }
            }
            let known = Known {
                simple: self.simple.to_vec(),
                proven: proven.to_vec(),
            };
            objective(&task, &best, &known.bounds_for(&best))
        });
    }
}

/// Whether a draft is a valid plan.
fn is_plan(
    about: About<'_>,
    draft: &Draft,
    covers: &[ClassCovers<'_>],
    unplanned: &[UnplannedEntry],
) -> bool {
    let task = about.task(covers);
    let values = draft.values(&task);
    let entries = objective(&task, &values, &values);
    let plan = write(&task, draft, entries, unplanned.to_vec());
    check(about.scenario, &plan).is_empty()
}

/// What is kept as a draft; `None` where it is no valid plan.
pub fn kept_draft(
    about: About<'_>,
    kept: &Kept,
    covers: &mut [ClassCovers<'_>],
    unplanned: &[UnplannedEntry],
) -> Option<Draft> {
    let found = kept.found(&about.task(covers))?;
    let before: Vec<usize> = covers.iter().map(|list| list.covers.len()).collect();
    let draft = with_covers(found, covers);
    if is_plan(about, &draft, covers, unplanned) {
        return Some(draft);
    }
    // A cover of a draft that is none need not be one either: no hoop may take its runs.
    for (list, before) in covers.iter_mut().zip(before) {
        list.covers.truncate(before);
    }
    None
}

/// The best draft that is found, and what is known of all plans. Covers that it uses are added to the lists.
pub fn best_draft<'a>(
    about: About<'a>,
    kept: Option<(Draft, bool)>,
    covers: &mut Vec<ClassCovers<'a>>,
    spaces: &Option<Vec<CoverSpace<'a>>>,
    unplanned: &[UnplannedEntry],
    deadline: &Deadline,
) -> (Draft, Known) {
    let About {
        scenario, classes, ..
    } = about;
    let firmly = kept.as_ref().is_some_and(|(_, firmly)| *firmly);
    let kept = kept.map(|(kept, _)| kept);
    let mut known = Known {
        simple: simple_bounds(&about.task(covers)),
        proven: Vec::new(),
    };
    let mut best = begin(about, kept, covers, spaces, unplanned, deadline);
    // Where nothing is left to stitch, nothing can be any better.
    if (classes.iter()).all(|class| class.stage.is_done()) {
        known.simple = best.values(&about.task(covers));
        return (best, known);
    }
    let many = |space: &CoverSpace<'_>| space.totals.len() * space.pieces.len() > MANY;
    if let Some(spaces) = spaces
        && !firmly
        && spaces.iter().any(many)
    {
        let share = deadline.at_most(deadline.left().mul_f64(SHARE_BEFORE));
        best = by_few_covers(
            about,
            best,
            covers,
            spaces,
            &known,
            &FEW_COVERS[..2],
            &share,
        );
    }
    let listed = covers.clone();
    let task = about.task(&listed);
    let values = best.values(&task);
    let searching = deadline.at_most(deadline.left().mul_f64(SEARCHING));
    if let Some(spaces) = spaces
        && known.bounds_for(&values) != values
    {
        let outlook = Outlook {
            about,
            covers,
            simple: &known.simple,
            best: RefCell::new(values.clone()),
            deadline,
        };
        outlook.tell(None, &[]);
        let tell = |found: Option<&FoundPlan>, proven: &[_]| outlook.tell(found, proven);
        let found = columns::search(&task, spaces, &best, &known.simple, &tell, &searching);
        known.proven = found.proven;
        if let Some(found) = found.plan {
            let draft = with_covers(found, covers);
            let task = Task { covers, ..task };
            if draft.values(&task) < values && !firmly {
                best = draft;
            }
        }
    }
    // A search that the clock ended is given what quilt by quilt would do. One that ended by itself is not, so that it gives the same plan
    // each time.
    if searching.over()
        && !firmly
        && let Some(kept) = repeated(scenario, deadline)
    {
        best = better(about, best, &kept, covers, unplanned);
    }
    if let Some(spaces) = spaces.as_ref().filter(|_| !firmly) {
        best = by_few_covers(about, best, covers, spaces, &known, &FEW_COVERS, deadline);
    }
    (best, known)
}

/// A draft to begin with: what is kept of another plan, one that is filled hooping by hooping, or one that keeps all wishes.
fn begin<'a>(
    about: About<'a>,
    kept: Option<Draft>,
    covers: &mut Vec<ClassCovers<'a>>,
    spaces: &Option<Vec<CoverSpace<'a>>>,
    unplanned: &[UnplannedEntry],
    deadline: &Deadline,
) -> Draft {
    if let Some(kept) = kept {
        return kept;
    }
    let scenario = about.scenario;
    // A first plan fills hoopings with any runs, from the start of each strip to its end.
    let bound = scenario
        .wishes
        .iter()
        .any(|wish| wish.what.is_about_hoopings());
    if !bound && scenario.begun.is_empty() {
        return first_plan(&about.task(covers), deadline);
    }
    let simple = wishes::simple_plan(&about.task(covers), spaces.as_deref(), deadline);
    let simple = with_covers(simple, covers);
    if !scenario.begun.is_empty() {
        return simple;
    }
    // A plan that is filled without regard to wishes may keep them all the same.
    let task = about.task(covers);
    let filled = first_plan(&task, deadline);
    let better = filled.values(&task) < simple.values(&task);
    if better && is_plan(about, &filled, covers, unplanned) {
        filled
    } else {
        simple
    }
}

/// The better of a draft and of what is kept of another plan, where that is a plan here.
pub fn better(
    about: About<'_>,
    best: Draft,
    kept: &Kept,
    covers: &mut [ClassCovers<'_>],
    unplanned: &[UnplannedEntry],
) -> Draft {
    let Some(draft) = kept_draft(about, kept, covers, unplanned) else {
        return best;
    };
    let task = about.task(covers);
    if draft.values(&task) < best.values(&task) {
        draft
    } else {
        best
    }
}

/// Looks among a few covers of each class, where what is found among all of them is not proven, or they are too many to search. What holds
/// of a few is no bound, so it is not even told.
fn by_few_covers<'a>(
    about: About<'a>,
    best: Draft,
    covers: &mut Vec<ClassCovers<'a>>,
    spaces: &[CoverSpace<'a>],
    known: &Known,
    numbers: &[usize],
    deadline: &Deadline,
) -> Draft {
    let mut best = best;
    for most in numbers.iter().copied() {
        let listed = covers.clone();
        let task = about.task(&listed);
        let values = best.values(&task);
        if !known.leaves_open(&values) || deadline.over() {
            break;
        }
        let share = deadline.at_most(deadline.left().mul_f64(SHARE_OF_FEW));
        let mut used: Vec<BTreeSet<&Cover>> = vec![BTreeSet::new(); spaces.len()];
        for choice in best.covers.iter().flatten() {
            used[choice.0].insert(task.cover(*choice));
        }
        let few = spaces.iter().zip(&used);
        let few = few.map(|(space, used)| space.of_few(about.scenario, most, used, &share));
        let few: Vec<CoverSpace<'_>> = few.collect();
        let outlook = Outlook {
            about,
            covers: &listed,
            simple: &known.simple,
            best: RefCell::new(values.clone()),
            deadline,
        };
        let tell = |found: Option<&FoundPlan>, _: &[_]| outlook.tell(found, &known.proven);
        let found = columns::search(&task, &few, &best, &known.simple, &tell, &share);
        if let Some(found) = found.plan {
            let draft = with_covers(found, covers);
            if draft.values(&about.task(covers)) < values {
                best = draft;
            }
        }
    }
    best
}

/// Puts the covers of a found plan into the lists, and makes a draft of it.
fn with_covers(found: FoundPlan, lists: &mut [ClassCovers<'_>]) -> Draft {
    let mut places: BTreeMap<(usize, Cover), usize> = BTreeMap::new();
    for (class, list) in lists.iter().enumerate() {
        let listed = list.covers.iter().cloned().enumerate();
        places.extend(listed.map(|(place, cover)| ((class, cover), place)));
    }
    let mut number = |(class, cover): (usize, Cover)| {
        let place = *places.entry((class, cover.clone())).or_insert_with(|| {
            lists[class].covers.push(cover);
            lists[class].covers.len() - 1
        });
        (class, place)
    };
    Draft {
        covers: found
            .covers
            .into_iter()
            .map(|chosen| chosen.map(&mut number))
            .collect(),
        hoopings: found.hoopings,
    }
}
