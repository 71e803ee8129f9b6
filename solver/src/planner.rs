//! From a scenario to a checked plan.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::time::Duration;

use crate::bounds::simple_bounds;
use crate::check::{UNPLANNED_BUT_STITCHABLE, Violation, check};
use crate::classes::{self, Class};
use crate::columns::{self, FoundPlan};
use crate::cover::{
    ClassCovers, Cover, CoverSpace, Miss, PieceStore, Sure, covers_of, some_covers_of,
};
use crate::deadline::Deadline;
use crate::draft::Draft;
use crate::fault::{Fault, FaultCode, FaultList};
use crate::first::first_plan;
use crate::kept::Kept;
use crate::optimise::{Known, optimise};
use crate::plan::{Plan, UnplannedEntry, named, objective, write};
use crate::repeated::repeated;
use crate::roll::Roll;
use crate::scenario::{Scenario, Term};
use crate::strips::{self, QuiltTop, Stage};
use crate::task::Task;
use crate::wishes::{self, Bound, Contradiction, StripWishes, Wishes};

/// Why there is no plan.
#[derive(Debug, thiserror::Error)]
pub enum NoPlan {
    /// Strips that no covering and no hoop can take, each with the closest miss, or of which that was not known in time.
    #[error("there is no plan for all strips")]
    CannotBeStitched(Vec<Fault>),
    /// The solve was told to stop.
    #[error("the solve was told to stop")]
    Stopped,
    /// The plan that was found broke a rule: an error of this program, never an answer.
    #[error("the plan that was found broke {} rules", .0.len())]
    Broken(Vec<Violation>),
}

/// Why there is no plan, for the questions that go on from there.
pub(crate) enum Unsolved {
    /// By strip (index into those of the quilt top) why it cannot be stitched.
    Missed(BTreeMap<usize, Miss>),
    /// Wishes that contradict each other.
    Contradiction(Contradiction),
    Stopped,
    Broken(Vec<Violation>),
}

/// With less time left than this the integer program over lists is not built: that alone can take as long.
const WORTH_LISTING: Duration = Duration::from_secs(1);

/// The part of the time that may go by before all covers of all classes are known.
const SPACING: f64 = 0.6;

/// So many strips that cannot be stitched for one reason are told by name.
const MOST_NAMED: usize = 12;

/// More split strips than this are not planned one by one: there would be too many patterns.
const MOST_APART: usize = 10;

/// A class of strips and its covers: all of them without a list, and those that are listed so far.
#[derive(Clone)]
struct Stitchable<'a> {
    class: Class,
    space: Option<CoverSpace<'a>>,
    covers: ClassCovers<'a>,
}

/// Gives the few alike strips that are split into runs a class each.
fn apart(all: Vec<Stitchable<'_>>) -> Vec<Stitchable<'_>> {
    let split = |of: &Stitchable<'_>| of.covers.fewest_runs() > 1;
    let strips = all.iter().filter(|of| split(of));
    let strips: usize = strips.map(|of| of.class.members.len()).sum();
    let mut found = Vec::new();
    for of in all {
        if !(split(&of) && strips <= MOST_APART) {
            found.push(of);
            continue;
        }
        for class in of.class.clone().apart() {
            found.push(Stitchable {
                class,
                ..of.clone()
            });
        }
    }
    found
}

/// Plans a scenario within the deadline. The plan has passed [`check`].
///
/// # Errors
/// See [`NoPlan`].
pub fn plan(scenario: &Scenario, deadline: &Deadline) -> Result<Plan, NoPlan> {
    let top = strips::of(scenario);
    solve(scenario, &top, deadline).map_err(|unsolved| no_plan(&top, unsolved))
}

/// The same by the integer program over lists of covers and hoopings alone: the readable definition, with which the decomposition has to
/// agree wherever both end. Wishes and strips that are begun it leaves to the first plan.
///
/// # Errors
/// See [`NoPlan`].
pub fn plan_by_lists(scenario: &Scenario, deadline: &Deadline) -> Result<Plan, NoPlan> {
    let top = strips::of(scenario);
    solve_by(Method::Lists, scenario, &top, None, deadline)
        .map_err(|unsolved| no_plan(&top, unsolved))
}

/// How plans are searched.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Method {
    /// By decomposition, and what that cannot settle by lists.
    Decomposition,
    /// By lists alone.
    Lists,
}

/// Why there is no plan for the strips of a quilt top.
pub(crate) fn no_plan(top: &QuiltTop, unsolved: Unsolved) -> NoPlan {
    match unsolved {
        Unsolved::Missed(misses) => NoPlan::CannotBeStitched(faults(top, misses)),
        Unsolved::Contradiction(contradiction) => NoPlan::CannotBeStitched(contradiction.faults()),
        Unsolved::Stopped => NoPlan::Stopped,
        Unsolved::Broken(violations) => NoPlan::Broken(violations),
    }
}

/// A fault for each entry with strips that cannot be stitched, and each reason.
fn faults(top: &QuiltTop, misses: BTreeMap<usize, Miss>) -> Vec<Fault> {
    let mut alike: Vec<(&str, Miss, Vec<&str>)> = Vec::new();
    for (strip, miss) in misses {
        let strip = &top.strips[strip];
        match alike.last_mut() {
            Some((pointer, of_last, ids)) if *pointer == strip.pointer && *of_last == miss => {
                ids.push(&strip.id);
            }
            _ => alike.push((&strip.pointer, miss, vec![&strip.id])),
        }
    }
    let mut faults = FaultList::default();
    for (pointer, miss, ids) in alike {
        let what = match (miss.sure, ids.len()) {
            (Sure::Yes, _) => "cannot be stitched",
            (_, 1) => "is not planned",
            (_, _) => "are not planned",
        };
        let strips = if ids.len() == 1 { "strip" } else { "strips" };
        let named = named(&ids, MOST_NAMED);
        faults.add(
            pointer,
            FaultCode::CannotBeStitched,
            format!("The {strips} {named} {what}. {}", miss.reason),
            miss.mend,
        );
    }
    faults.into_faults()
}

/// Plans a scenario whose strips are `top`'s.
pub(crate) fn solve(
    scenario: &Scenario,
    top: &QuiltTop,
    deadline: &Deadline,
) -> Result<Plan, Unsolved> {
    solve_from(scenario, top, None, deadline)
}

/// The same, from what is kept of another plan: that is the plan unless another one is better, or, where it is kept firmly, in
/// any case. What is no plan for this scenario is passed over.
pub(crate) fn solve_from(
    scenario: &Scenario,
    top: &QuiltTop,
    kept: Option<&Kept>,
    deadline: &Deadline,
) -> Result<Plan, Unsolved> {
    solve_by(Method::Decomposition, scenario, top, kept, deadline)
}

fn solve_by(
    method: Method,
    scenario: &Scenario,
    top: &QuiltTop,
    kept: Option<&Kept>,
    deadline: &Deadline,
) -> Result<Plan, Unsolved> {
    let mut wishes = Wishes::of(scenario, top);
    if let Some(contradiction) = wishes::conflict(scenario, top, deadline) {
        if scenario.rules.allow_partial || wishes::all_stitchable(scenario, top, deadline) {
            return Err(Unsolved::Contradiction(contradiction));
        }
        // What cannot be stitched whatever is wished is told first, and there is no plan.
        wishes = Wishes::default();
    }
    let corners_count = scenario.goal.counts(Term::CornerMismatch);
    // Then it is not known whether wishes can be kept.
    let unsettled = !scenario.wishes.is_empty() && deadline.over();
    // Lists of covers that take longer are cut short, and without a search there is no use for the spaces of covers: so that time is left
    // for a plan.
    let listing = deadline.at_most(deadline.left() / 4);
    let spacing = deadline.at_most(deadline.left().mul_f64(SPACING));
    let store = PieceStore::of(scenario);
    let mut stitchable: Vec<Stitchable<'_>> = Vec::new();
    let mut misses = BTreeMap::new();
    for class in classes::of(top, &wishes, corners_count) {
        if deadline.stopped() {
            return Err(Unsolved::Stopped);
        }
        let spaced = method == Method::Decomposition && !spacing.over();
        let space = spaced.then(|| CoverSpace::of(&store, &class, &spacing));
        let space = space.filter(|space| space.complete);
        let simplest = space.and_then(|space| Some((space.simplest(scenario)?, space)));
        if let Some((cover, space)) = simplest {
            stitchable.push(Stitchable {
                class,
                covers: space.with_cover(cover),
                space: Some(space),
            });
            continue;
        }
        let covers = some_covers_of(&store, &class, &listing);
        if covers.covers.is_empty() {
            let miss = if unsettled && class.wishes != StripWishes::default() {
                Miss::out_of_time()
            } else {
                covers.miss(scenario, &class, deadline)
            };
            misses.extend(class.members.iter().map(|strip| (*strip, miss.clone())));
        } else {
            stitchable.push(Stitchable {
                class,
                space: None,
                covers,
            });
        }
    }
    // Nobody may leave out what could be stitched, nor is anything known of it.
    let unsure = |sure: Sure| {
        let unsure = misses.iter().filter(|(_, miss)| miss.sure == sure);
        let unsure = unsure.map(|(strip, miss)| (*strip, miss.clone()));
        unsure.collect::<BTreeMap<usize, Miss>>()
    };
    let (out_of_time, out_of_steps) = (unsure(Sure::OutOfTime), unsure(Sure::OutOfSteps));
    if !out_of_time.is_empty() {
        return Err(Unsolved::Missed(out_of_time));
    }
    // Beside strips that are begun a plan may hold nothing.
    let nothing = stitchable.is_empty() && scenario.begun.is_empty();
    if !misses.is_empty() && (!scenario.rules.allow_partial || nothing) {
        return Err(Unsolved::Missed(misses));
    }
    let unplanned: Vec<UnplannedEntry> = misses
        .into_iter()
        .map(|(strip, miss)| UnplannedEntry {
            strip: top.strips[strip].id.clone(),
            reason: format!("{} {}", miss.reason, miss.mend),
        })
        .collect();
    let (classes, mut covers, spaces) = taken_apart(apart(stitchable));
    let bound = Bound::of(&classes);
    let roll = Roll::of(scenario, deadline);
    let about = About {
        scenario,
        top,
        classes: &classes,
        bound: &bound,
        roll: roll.as_ref(),
    };
    let kept = kept.and_then(|kept| {
        let draft = kept_draft(about, kept, &mut covers, &unplanned)?;
        Some((draft, kept.firmly))
    });
    let (draft, bounds) = best_draft(about, kept, &mut covers, &spaces, &unplanned, deadline);
    if deadline.stopped() {
        return Err(Unsolved::Stopped);
    }
    let task = about.task(&covers);
    let entries = objective(&task, &draft.values(&task), &bounds);
    let plan = write(&task, &draft, entries, unplanned);
    let violations = check(scenario, &plan);
    if unsettled && !violations.is_empty() {
        let wished = classes.iter();
        let wished = wished.filter(|class| class.wishes != StripWishes::default());
        let strips = wished.flat_map(|class| &class.members);
        let late = strips.map(|strip| (*strip, Miss::out_of_time()));
        return Err(Unsolved::Missed(late.collect()));
    }
    let left_out = |violation: &Violation| violation.rule == UNPLANNED_BUT_STITCHABLE;
    if violations.is_empty() {
        Ok(plan)
    } else if !out_of_steps.is_empty() && violations.iter().all(left_out) {
        // The check knows better than the search, which ended by its count of steps.
        Err(Unsolved::Missed(out_of_steps))
    } else {
        Err(Unsolved::Broken(violations))
    }
}

/// Classes, their listed covers, and their spaces of covers: `None` where one of them is not known.
fn taken_apart(
    all: Vec<Stitchable<'_>>,
) -> (
    Vec<Class>,
    Vec<ClassCovers<'_>>,
    Option<Vec<CoverSpace<'_>>>,
) {
    let (mut classes, mut covers, mut spaces) = (Vec::new(), Vec::new(), Some(Vec::new()));
    for of in all {
        classes.push(of.class);
        covers.push(of.covers);
        spaces = spaces.zip(of.space).map(|(mut spaces, space)| {
            spaces.push(space);
            spaces
        });
    }
    (classes, covers, spaces)
}

/// What a task is about, before its covers.
#[derive(Clone, Copy)]
struct About<'a> {
    scenario: &'a Scenario,
    top: &'a QuiltTop,
    classes: &'a [Class],
    bound: &'a Bound,
    roll: Option<&'a Roll>,
}

impl<'a> About<'a> {
    fn task<'b>(self, covers: &'b [ClassCovers<'b>]) -> Task<'b>
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

/// What is kept as a draft; `None` where it is no valid plan.
fn kept_draft(
    about: About<'_>,
    kept: &Kept,
    covers: &mut [ClassCovers<'_>],
    unplanned: &[UnplannedEntry],
) -> Option<Draft> {
    let found = kept.found(&about.task(covers))?;
    let before: Vec<usize> = covers.iter().map(|list| list.covers.len()).collect();
    let draft = with_covers(found, covers);
    let task = about.task(covers);
    let values = draft.values(&task);
    let entries = objective(&task, &values, &values);
    let plan = write(&task, &draft, entries, unplanned.to_vec());
    if check(about.scenario, &plan).is_empty() {
        return Some(draft);
    }
    // A cover of a draft that is none need not be one either: no hoop may take its runs.
    for (list, before) in covers.iter_mut().zip(before) {
        list.covers.truncate(before);
    }
    None
}

/// The best draft that is found, and for each entry of the goal what no plan can beat. Covers that it uses are added to the
/// lists.
fn best_draft<'a>(
    about: About<'a>,
    kept: Option<(Draft, bool)>,
    covers: &mut Vec<ClassCovers<'a>>,
    spaces: &Option<Vec<CoverSpace<'a>>>,
    unplanned: &[UnplannedEntry],
    deadline: &Deadline,
) -> (Draft, Vec<i128>) {
    let About {
        scenario, classes, ..
    } = about;
    let wished = !scenario.wishes.is_empty() || !scenario.begun.is_empty();
    let firmly = kept.as_ref().is_some_and(|(_, firmly)| *firmly);
    // A first plan fills hoopings with any runs, from the start of each strip to its end.
    let bound = scenario
        .wishes
        .iter()
        .any(|wish| wish.what.is_about_hoopings());
    let simple = ((bound || !scenario.begun.is_empty()) && kept.is_none())
        .then(|| wishes::simple_plan(&about.task(covers), spaces.as_deref(), deadline));
    let simple = simple.map(|simple| with_covers(simple, covers));
    let listed = covers.clone();
    let task = about.task(&listed);
    let kept = kept.map(|(draft, _)| draft);
    let start = kept.or(simple);
    let mut best = start.unwrap_or_else(|| first_plan(&task, deadline));
    let mut known = Known {
        simple: simple_bounds(&task),
        proven: Vec::new(),
    };
    let values = best.values(&task);
    // Where nothing is left to stitch, nothing can be any better.
    if (classes.iter()).all(|class| matches!(class.stage, Stage::Done { .. })) {
        return (best, values);
    }
    // A part of the time is left for the integer program over lists.
    let searching = deadline.at_most(deadline.left().mul_f64(0.85));
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
        && let Some(draft) = kept_draft(about, &kept, covers, unplanned)
    {
        let task = about.task(covers);
        if draft.values(&task) < best.values(&task) {
            best = draft;
        }
    }
    let task = Task { covers, ..task };
    let values = best.values(&task);
    let bounds = known.bounds_for(&values);
    // The lists know nothing of wishes, nor of strips that are begun.
    if bounds == values || deadline.left() < WORTH_LISTING || wished || firmly {
        return (best, bounds);
    }
    // What pricing could not settle is given to the integer program over lists of covers and hoopings.
    let listing = deadline.at_most(deadline.left() / 4);
    let store = PieceStore::of(scenario);
    let mut lists: Vec<ClassCovers<'_>> = Vec::new();
    for (class, of_class) in classes.iter().zip(covers.iter()) {
        let mut list = covers_of(&store, class, &listing);
        let used = of_class.covers.iter();
        let missing: Vec<_> = used
            .filter(|cover| !list.covers.contains(cover))
            .cloned()
            .collect();
        list.covers.extend(missing);
        lists.push(list);
    }
    let place = |choice: &Option<(usize, usize)>| {
        let (class, cover) = (*choice)?;
        let cover = &covers[class].covers[cover];
        let place = lists[class]
            .covers
            .iter()
            .position(|other| other == cover)?;
        Some((class, place))
    };
    let draft = Draft {
        covers: best.covers.iter().map(place).collect(),
        hoopings: best.hoopings,
    };
    let task = about.task(&lists);
    let outlook = optimise(&task, draft, known.proven, deadline);
    *covers = lists;
    (outlook.draft, outlook.bounds)
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
