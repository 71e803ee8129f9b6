//! Lists of pieces that strips of every length share, and how much may be listed for all classes together.
//!
//! Which pieces there are depends on the sizes, the hoops and the rules. A strip's length only says which of them are too long for it, or,
//! where it is not to be split, too short; they stand in the order of their sums, so that what a class needs is a part of one list.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::ops::{Deref, Range, RangeInclusive};
use std::sync::Arc;
use std::time::{Duration, Instant};

use crate::classes::Class;
use crate::cover::Sizes;
use crate::cover::piece::{self, Extent, Piece, Pieces};
use crate::deadline::Deadline;
use crate::length::Length;
use crate::scenario::Scenario;

/// The most pieces that are listed for all classes together before lists are kept small: each takes some hundred bytes.
const MOST_IN_ALL: usize = 500_000;
/// The most steps between sums that are kept for all classes together: each takes 16 bytes.
const MOST_STEPS_IN_ALL: usize = 30_000_000;
/// When the time is over classes that no cover was found for at once are looked at longer all the same, until so much later.
const LATE: Duration = Duration::from_secs(2);

/// Pieces, longest first. Its copies, and parts of it, share their memory.
#[derive(Clone, Debug)]
pub struct PieceList {
    all: Arc<[Piece]>,
    part: Range<usize>,
}

impl PieceList {
    /// The pieces whose sums are in a range.
    fn within(&self, sums: &RangeInclusive<Length>) -> PieceList {
        let start = self.partition_point(|piece| piece.sum > *sums.end());
        let end = self.partition_point(|piece| piece.sum >= *sums.start());
        PieceList {
            all: Arc::clone(&self.all),
            part: self.part.start + start..self.part.start + end.max(start),
        }
    }
}

impl Default for PieceList {
    fn default() -> PieceList {
        PieceList::from(Vec::new())
    }
}

impl From<Vec<Piece>> for PieceList {
    fn from(pieces: Vec<Piece>) -> PieceList {
        PieceList {
            part: 0..pieces.len(),
            all: pieces.into(),
        }
    }
}

impl Deref for PieceList {
    type Target = [Piece];

    fn deref(&self) -> &[Piece] {
        &self.all[self.part.clone()]
    }
}

/// Which classes share a list.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    design: usize,
    /// Indices of the sizes in the design.
    sizes: Vec<usize>,
    one_size: bool,
    cornered: bool,
    unscaled: bool,
}

/// What is known of the list that classes share.
enum Shared {
    /// One class has asked so far, and was given its part alone.
    AskedOnce,
    /// All pieces of all lengths.
    Whole(PieceList),
    /// They are too many for one list.
    TooMany,
}

/// The pieces of a scenario's classes.
pub struct PieceStore<'s> {
    /// The scenario.
    pub scenario: &'s Scenario,
    shared: RefCell<BTreeMap<Key, Shared>>,
    listed: Cell<usize>,
    steps: Cell<usize>,
    /// When the first class was looked at longer.
    late_since: Cell<Option<Instant>>,
}

impl<'s> PieceStore<'s> {
    /// No piece yet.
    pub fn of(scenario: &'s Scenario) -> PieceStore<'s> {
        PieceStore {
            scenario,
            shared: RefCell::default(),
            listed: Cell::new(0),
            steps: Cell::new(0),
            late_since: Cell::new(None),
        }
    }

    /// How much is listed for a class: where the time is over, or much is listed already, a small list has to do.
    pub(super) fn extent(&self, deadline: &Deadline) -> Extent {
        if deadline.over() || self.listed.get() >= MOST_IN_ALL {
            Extent::OneSizeEach
        } else {
            Extent::Every
        }
    }

    /// Whether a class that no cover was found for at once may be looked at longer, though the time is over.
    pub(super) fn second_look(&self) -> bool {
        let since = self.late_since.get().unwrap_or_else(Instant::now);
        self.late_since.set(Some(since));
        since.elapsed() < LATE
    }

    /// Whether so many steps between sums may be kept for one more class; if so they count.
    pub(super) fn keeps(&self, steps: usize) -> bool {
        let kept = self.steps.get().saturating_add(steps);
        let keeps = kept <= MOST_STEPS_IN_ALL;
        if keeps {
            self.steps.set(kept);
        }
        keeps
    }

    /// Every piece of a class, of a sum within `sums`, that some hoop can take by itself; or some of them, where the extent is small.
    pub(super) fn within(
        &self,
        sizes: &Sizes<'_>,
        class: &Class,
        sums: RangeInclusive<Length>,
        extent: Extent,
    ) -> Pieces {
        let key = Key {
            design: class.design,
            sizes: sizes.list.iter().map(|(index, _)| *index).collect(),
            one_size: class.wishes.one_size,
            cornered: class.cornered,
            unscaled: sizes.unscaled,
        };
        let list = |sums, extent| {
            let pieces = piece::all(self.scenario, sizes, sums, class, extent);
            self.listed.set(self.listed.get() + pieces.list.len());
            pieces
        };
        let mut shared = self.shared.borrow_mut();
        if let (Some(Shared::AskedOnce), Extent::Every) = (shared.get(&key), extent) {
            let whole = list(Length::ZERO..=piece::LONGEST_SUM, Extent::Every);
            let known = if whole.complete {
                Shared::Whole(whole.list)
            } else {
                Shared::TooMany
            };
            shared.insert(key, known);
            drop(shared);
            return self.within(sizes, class, sums, extent);
        }
        if let Some(Shared::Whole(list)) = shared.get(&key) {
            return Pieces {
                list: list.within(&sums),
                complete: true,
            };
        }
        if extent == Extent::Every {
            shared.entry(key).or_insert(Shared::AskedOnce);
        }
        list(sums, extent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::classes;
    use crate::cover::{Sure, covers_of, some_covers_of};
    use crate::scenario::read;
    use crate::strips;
    use crate::wishes::Wishes;

    /// Two strips of a design: 2 a + 3 b covers the first, b b b a the second, and no runs of one size do; neither does what is tried at once.
    const MIXED: &str = r#"{
        "format": 1, "unit": "in",
        "strips": [
            {"id": "first", "length": 12.55, "width": 1, "design": "vine"},
            {"id": "second", "length": 10.55, "width": 1, "design": "vine"}],
        "hoops": [{"id": "large", "field": [13, 14], "turn": false}],
        "designs": [{"id": "vine", "sizes": [
            {"id": "a", "width": 1, "repeat": 2, "repeats": 1},
            {"id": "b", "width": 1, "repeat": 2.85, "repeats": 1}]}],
        "rules": {"max_overhang": 0.01}
    }"#;

    #[test]
    fn late_classes_are_looked_at_longer_for_a_while() {
        let scenario = read(MIXED.as_bytes()).expect("no fault");
        let top = strips::of(&scenario);
        let classes = classes::of(&top, &Wishes::of(&scenario, &top), false);
        let over = Deadline::never().at_most(Duration::ZERO);
        for class in &classes {
            let store = PieceStore::of(&scenario);
            let found = some_covers_of(&store, class, &over);
            assert!(!found.covers.is_empty() && !found.hurried);

            let late = Instant::now().checked_sub(LATE).expect("a clock that runs");
            store.late_since.set(Some(late));
            let hurried = some_covers_of(&store, class, &over);
            assert!(hurried.covers.is_empty() && hurried.hurried);
            let miss = hurried.miss(&scenario, class, &over);
            assert_eq!(miss.sure, Sure::OutOfTime, "{miss:?}");
        }
    }

    /// What the second and later classes of a list are given is what they would list by themselves.
    #[test]
    fn classes_share_what_they_would_list_alone() {
        let text = MIXED.replace(
            "\"repeats\": 1",
            "\"repeats\": 1, \"stop_early\": true, \"scale\": [0.95, 1.02]",
        );
        let scenario = read(text.as_bytes()).expect("no fault");
        let top = strips::of(&scenario);
        let classes = classes::of(&top, &Wishes::of(&scenario, &top), false);
        let shared = PieceStore::of(&scenario);
        for class in classes.iter().chain(&classes) {
            let own = covers_of(&PieceStore::of(&scenario), class, &Deadline::never());
            let list = covers_of(&shared, class, &Deadline::never());
            assert!(!own.pieces.is_empty());
            assert_eq!(list.pieces[..], own.pieces[..]);
            assert_eq!(list.covers, own.covers);
        }
        let lists = shared.shared.borrow();
        let is_whole = |list: &Shared| matches!(list, Shared::Whole(_));
        assert!(lists.len() == 1 && lists.values().all(is_whole));
    }
}
