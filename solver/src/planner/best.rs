//! The best draft of a plan: from a first one by the search, and by the integer program over lists where that leaves something open.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::time::Duration;

use crate::bounds::simple_bounds;
use crate::check::check;
use crate::classes::Class;
use crate::columns::{self, FoundPlan};
use crate::cover::{ClassCovers, Cover, CoverSpace, PieceStore, covers_of};
use crate::deadline::Deadline;
use crate::draft::Draft;
use crate::first::first_plan;
use crate::kept::Kept;
use crate::optimise::{Known, optimise};
use crate::plan::{UnplannedEntry, objective, write};
use crate::repeated::repeated;
use crate::roll::Roll;
use crate::scenario::Scenario;
use crate::strips::{QuiltTop, Stage};
use crate::task::Task;
use crate::wishes::{self, Bound};

/// With less time left than this the integer program over lists is not built: that alone can take as long.
const WORTH_LISTING: Duration = Duration::from_secs(1);

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
pub fn best_draft<'a>(
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
    by_lists(about, best, covers, known.proven, deadline)
}

/// What pricing could not settle is given to the integer program over lists of covers and hoopings.
fn by_lists<'a>(
    about: About<'a>,
    best: Draft,
    covers: &mut Vec<ClassCovers<'a>>,
    proven: Vec<(Vec<i128>, i128)>,
    deadline: &Deadline,
) -> (Draft, Vec<i128>) {
    let About {
        scenario, classes, ..
    } = about;
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
    let outlook = optimise(&task, draft, proven, deadline);
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
