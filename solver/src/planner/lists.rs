//! What pricing could not settle is given to the integer program over lists of covers and hoopings.

use std::time::Duration;

use crate::cover::{ClassCovers, PieceStore, covers_of};
use crate::deadline::Deadline;
use crate::draft::Draft;
use crate::optimise::{Known, optimise};
use crate::planner::best::About;

/// With less time left than this the program is not built: that alone can take as long.
const WORTH_LISTING: Duration = Duration::from_secs(1);

/// Goes on from the best draft so far, and adds to what is known. The lists know nothing of wishes, nor of strips that are begun: the
/// scenario has none.
pub fn by_lists<'a>(
    about: About<'a>,
    best: Draft,
    covers: &mut Vec<ClassCovers<'a>>,
    known: &mut Known,
    deadline: &Deadline,
) -> Draft {
    if deadline.left() < WORTH_LISTING {
        return best;
    }
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
    let outlook = optimise(&task, draft, known.proven.clone(), deadline);
    let values = outlook.draft.values(&task);
    for (entry, bound) in outlook.bounds.iter().enumerate() {
        known.proven.push((values[..entry].to_vec(), *bound));
    }
    *covers = lists;
    outlook.draft
}
