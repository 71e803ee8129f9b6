//! Recent plans, kept so that they can be fetched again: in memory alone, and within bounds.
//!
//! A plan is kept as the two texts that made it and that it was answered with, so that what it takes is known to the byte. The same
//! scenario with the same options is answered with the plan that is kept.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::body::Bytes;

use super::tag::Tag;

/// A plan that was answered.
pub(super) struct KeptPlan {
    /// Its name in the address: made from the scenario's text and from what was told beside it.
    pub(super) id: String,
    /// The scenario as it was sent.
    pub(super) scenario: Bytes,
    /// The plan document.
    pub(super) plan: Bytes,
    /// The plan document's tag.
    tag: Tag,
}

impl KeptPlan {
    pub(super) fn new(id: String, scenario: Vec<u8>, plan: Vec<u8>) -> KeptPlan {
        let tag = Tag::of(&plan);
        // Boxed, a text takes its length and no more.
        let exactly = |text: Vec<u8>| Bytes::from(text.into_boxed_slice());
        KeptPlan {
            id,
            scenario: exactly(scenario),
            plan: exactly(plan),
            tag,
        }
    }

    /// The plan document and its tag.
    pub(super) fn document(&self) -> (Bytes, Tag) {
        (self.plan.clone(), self.tag.clone())
    }

    fn bytes(&self) -> usize {
        self.scenario.len().saturating_add(self.plan.len())
    }
}

/// The plans that are kept.
pub(super) struct Kept {
    most_plans: usize,
    most_bytes: usize,
    shelf: Mutex<Shelf>,
}

/// The oldest plan stands first. They are few enough that looking through them takes microseconds.
#[derive(Default)]
struct Shelf {
    plans: VecDeque<Arc<KeptPlan>>,
    bytes: usize,
}

impl Kept {
    /// Keeps at most so many plans, whose texts have at most so many bytes together.
    pub(super) fn new(most_plans: usize, most_bytes: usize) -> Kept {
        Kept {
            most_plans,
            most_bytes,
            shelf: Mutex::default(),
        }
    }

    /// Keeps a plan in place of an older one of the same name; the oldest plans make room for it. Says whether it is kept: one that
    /// is larger than all the room is not, and no other one goes for it.
    pub(super) fn keep(&self, plan: Arc<KeptPlan>) -> bool {
        let bytes = plan.bytes();
        let mut shelf = self.shelf();
        if let Some(place) = shelf.plans.iter().position(|kept| kept.id == plan.id) {
            shelf.take(place);
        }
        if bytes > self.most_bytes || self.most_plans == 0 {
            return false;
        }
        while shelf.plans.len() >= self.most_plans || shelf.bytes > self.most_bytes - bytes {
            shelf.take(0);
        }
        shelf.bytes += bytes;
        shelf.plans.push_back(plan);
        true
    }

    /// The plan of that name, where it is kept.
    pub(super) fn get(&self, id: &str) -> Option<Arc<KeptPlan>> {
        let shelf = self.shelf();
        shelf.plans.iter().find(|kept| kept.id == id).cloned()
    }

    /// How many plans are kept, and the bytes of their texts.
    pub(super) fn load(&self) -> (usize, usize) {
        let shelf = self.shelf();
        (shelf.plans.len(), shelf.bytes)
    }

    fn shelf(&self) -> MutexGuard<'_, Shelf> {
        // Nothing that is done with the shelf can panic halfway.
        self.shelf.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Shelf {
    fn take(&mut self, place: usize) {
        if let Some(plan) = self.plans.remove(place) {
            self.bytes -= plan.bytes();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(id: usize, bytes: usize) -> Arc<KeptPlan> {
        Arc::new(KeptPlan::new(
            id.to_string(),
            vec![b' '; bytes / 2],
            vec![b' '; bytes - bytes / 2],
        ))
    }

    fn names(kept: &Kept) -> Vec<String> {
        let shelf = kept.shelf();
        shelf.plans.iter().map(|plan| plan.id.clone()).collect()
    }

    #[test]
    fn the_oldest_goes_where_plans_are_too_many() {
        let kept = Kept::new(3, 1000);
        for id in 0..5 {
            assert!(kept.keep(plan(id, 10)));
        }
        assert_eq!(
            (names(&kept), kept.load()),
            (vec!["2".into(), "3".into(), "4".into()], (3, 30))
        );
        assert!(kept.get("1").is_none() && kept.get("2").is_some());
        // Kept once more, a plan is the youngest.
        assert!(kept.keep(plan(2, 20)));
        assert_eq!(
            (names(&kept), kept.load()),
            (vec!["3".into(), "4".into(), "2".into()], (3, 40))
        );
    }

    #[test]
    fn the_oldest_go_where_bytes_are_too_many() {
        let kept = Kept::new(100, 100);
        for (id, bytes) in [(0, 40), (1, 40), (2, 20)] {
            assert!(kept.keep(plan(id, bytes)));
        }
        assert_eq!(kept.load(), (3, 100));
        assert!(kept.keep(plan(3, 41)));
        assert_eq!(
            (names(&kept), kept.load()),
            (vec!["2".into(), "3".into()], (2, 61))
        );
        assert!(kept.keep(plan(4, 100)));
        assert_eq!((names(&kept), kept.load()), (vec!["4".into()], (1, 100)));
    }

    #[test]
    fn a_plan_that_is_larger_than_all_the_room_drives_no_other_out() {
        let kept = Kept::new(100, 100);
        assert!(kept.keep(plan(0, 60)) && kept.keep(plan(1, 40)));
        assert!(!kept.keep(plan(2, 101)));
        assert_eq!(kept.load(), (2, 100));
        // But an older one of the same name is no longer what was answered.
        assert!(!kept.keep(plan(1, 101)));
        assert_eq!((names(&kept), kept.load()), (vec!["0".into()], (1, 60)));
        assert!(!Kept::new(0, 100).keep(plan(0, 1)));
    }

    /// Sizes out of a linear congruential generator, by the count and by the bytes in turn.
    #[test]
    fn the_bounds_hold_after_every_plan() {
        let kept = Kept::new(50, 5_000);
        let mut state = 1_u64;
        for id in 0..10_000 {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            kept.keep(plan(
                id % 97,
                (state >> 33) as usize % 6_000 / (1 + id / 50 % 40),
            ));
            let (plans, bytes) = kept.load();
            assert!(plans <= 50 && bytes <= 5_000, "{plans} {bytes}");
            let sum: usize = kept.shelf().plans.iter().map(|plan| plan.bytes()).sum();
            assert_eq!(sum, bytes);
        }
    }
}
