//! What the plan for some of a set's hoops tells of the set: it is a plan there, too.

use crate::compare::rows::Known;
use crate::exact::Exact;
use crate::length::Measure;

/// The values of the goal's terms.
fn values(known: &Known) -> Option<Vec<Exact>> {
    let terms = known.objective.iter();
    terms.map(|entry| entry.value.exact().ok()).collect()
}

/// Whether the plan for a part of a set's hoops, which takes every strip, is better by the goal than the one found for the set.
pub fn is_better(part: &Known, set: &Known) -> bool {
    part.takes_all()
        && set.takes_all()
        && matches!((values(part), values(set)), (Some(part), Some(set)) if part < set)
}

/// What is known of a set once it has the better plan of a part of its hoops.
///
/// Bounds hold for plans whose earlier terms have the same values, so those of the set hold up to the first value that differs. After
/// that only is known that no term is below 0.
pub fn with_plan_of(part: &Known, set: &Known) -> Known {
    let mut known = part.clone();
    let mut same = true;
    for (entry, before) in known.objective.iter_mut().zip(&set.objective) {
        entry.bound = if same {
            before.bound.clone()
        } else {
            Measure::whole(0)
        };
        same &= entry.value == before.value;
        entry.proven = entry.value == entry.bound;
    }
    known
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::rows::known;

    /// For the set 12 is proven, and that nothing with 12 has less than 5; what the part's 0 and 4 were proven for was the part.
    #[test]
    fn bounds_of_the_set_hold_up_to_the_first_value_that_differs() {
        let set = known(&[(12, 12), (9, 5), (1, 1), (3, 2)], &[0]);
        let part = known(&[(12, 12), (8, 8), (0, 0), (4, 4)], &[1]);
        assert!(is_better(&part, &set) && !is_better(&set, &part) && !is_better(&set, &set));
        let expected = known(&[(12, 12), (8, 5), (0, 0), (4, 0)], &[1]);
        let found = with_plan_of(&part, &set);
        assert_eq!(
            (found.objective, found.used),
            (expected.objective, expected.used)
        );
    }
}
