//! Sums of steps, each taken as often as one likes.

use std::collections::BTreeSet;

use crate::length::Length;

/// Every sum of steps from nothing on that is at most `most`, in ascending order; `None` where they are more than `many`. Steps are longer than
/// nothing.
pub fn sums_of_steps(steps: &[Length], most: Length, many: usize) -> Option<Vec<Length>> {
    let mut sums = Vec::new();
    let mut waiting = BTreeSet::from([Length::ZERO]);
    while let Some(sum) = waiting.pop_first() {
        sums.push(sum);
        let further = steps.iter().map(|step| sum + *step);
        waiting.extend(further.filter(|sum| *sum <= most));
        if sums.len() + waiting.len() > many {
            return None;
        }
    }
    Some(sums)
}
