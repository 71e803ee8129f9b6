//! Which sets of hoops are compared.

use crate::compare::Reason;
use crate::scenario::{Hoop, Scenario};

/// With more hoops than this, owned ones and candidates together, not every set of them is compared: there are 255 of 8.
pub const MOST_FOR_EVERY_SET: usize = 8;

/// A set of hoops, by place among the owned ones and then the candidates, ascending.
pub type HoopSet = Vec<usize>;

/// The owned hoops and then the candidates.
pub fn all_hoops(scenario: &Scenario) -> impl Iterator<Item = &Hoop> {
    scenario.hoops.iter().chain(&scenario.candidates)
}

/// Every set that is asked for, each once, with the first reason for it.
pub fn asked(scenario: &Scenario, every_set: bool) -> Vec<(Reason, HoopSet)> {
    let owned = scenario.hoops.len();
    let all: HoopSet = (0..owned).collect();
    let count = owned + scenario.candidates.len();
    let mut asked = vec![(Reason::AllOwned, all.clone())];
    let mut ask = |reason, set: HoopSet| {
        if !set.is_empty() && asked.iter().all(|(_, other)| *other != set) {
            asked.push((reason, set));
        }
    };
    for hoop in 0..owned {
        ask(Reason::OneAlone, vec![hoop]);
    }
    for hoop in 0..owned {
        let others = all.iter().copied().filter(|other| *other != hoop);
        ask(Reason::AllButOne, others.collect());
    }
    for candidate in owned..count {
        ask(
            Reason::WithCandidate,
            all.iter().copied().chain([candidate]).collect(),
        );
    }
    if every_set && count <= MOST_FOR_EVERY_SET {
        for size in 1..=count {
            for set in of_size(count, size) {
                ask(Reason::EverySet, set);
            }
        }
    }
    asked
}

/// Every set of so many of `count` things, in lexicographic order.
pub fn of_size(count: usize, size: usize) -> Vec<HoopSet> {
    let masks = 0_u32..1 << count.min(MOST_FOR_EVERY_SET);
    let members =
        |mask: u32| -> HoopSet { (0..count).filter(|hoop| mask >> hoop & 1 == 1).collect() };
    let mut sets: Vec<HoopSet> = masks
        .filter(|mask| mask.count_ones() as usize == size)
        .map(members)
        .collect();
    sets.sort_unstable();
    sets
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 4! / (2! · 2!) = 6.
    #[test]
    fn pairs_of_four_are_six() {
        let pairs = of_size(4, 2);
        assert_eq!(pairs.len(), 6);
        assert_eq!((&pairs[0], &pairs[5]), (&vec![0, 1], &vec![2, 3]));
    }
}
