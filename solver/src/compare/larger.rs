//! What the bounds of a larger set of hoops tell of a part of it: its plans are plans there, too, so none of them can be better.

use crate::compare::rows::Known;

/// Raises what is known of a part of a set's hoops to the bounds of the set; every plan for the part has to be one for the set.
///
/// Bounds hold for plans whose earlier terms have the same values, so those of the set hold up to the first value that differs, and for
/// that term itself.
pub fn raise_bounds(part: &mut Known, set: &Known) {
    if !part.takes_all() || !set.takes_all() {
        return;
    }
    for (entry, of_set) in part.objective.iter_mut().zip(&set.objective) {
        let higher = matches!((of_set.bound.exact(), entry.bound.exact()), (Ok(of_set), Ok(own)) if of_set > own);
        if higher {
            entry.bound = of_set.bound.clone();
            entry.proven = entry.value == entry.bound;
        }
        if entry.value != of_set.value {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::rows::known;

    /// The set proves that nothing has fewer than 12, and that nothing with 12 has fewer than 7; what it proves of plans with 12 and 9 is
    /// nothing to a plan with 12 and 8.
    #[test]
    fn bounds_of_the_set_hold_up_to_the_first_value_that_differs() {
        let set = known(&[(12, 12), (9, 7), (3, 3)], &[0, 1]);
        let mut part = known(&[(12, 10), (8, 5), (4, 0)], &[0]);
        raise_bounds(&mut part, &set);
        let expected = known(&[(12, 12), (8, 7), (4, 0)], &[0]);
        assert_eq!(part.objective, expected.objective);
    }

    #[test]
    fn a_higher_bound_of_its_own_stays() {
        let set = known(&[(12, 9)], &[0, 1]);
        let mut part = known(&[(12, 11)], &[0]);
        raise_bounds(&mut part, &set);
        assert_eq!(part.objective, known(&[(12, 11)], &[0]).objective);
    }

    /// A plan that leaves strips out is none for the set.
    #[test]
    fn nothing_is_told_of_a_part_that_does_not_take_all_strips() {
        use crate::compare::Refused;
        let set = known(&[(12, 12)], &[0, 1]);
        let mut part = known(&[(12, 10)], &[0]);
        part.refused = vec![Refused {
            count: 1,
            strips: vec!["sash".into()],
            reason: "too wide".into(),
        }];
        raise_bounds(&mut part, &set);
        assert_eq!(part.objective, known(&[(12, 10)], &[0]).objective);
    }
}
