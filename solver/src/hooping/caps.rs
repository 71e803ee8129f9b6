//! How many runs may share a hooping, and which of them only together.

use std::collections::{BTreeMap, BTreeSet};

use crate::classes::Class;
use crate::wishes::StripWishes;

/// The limits of one hooping. Classes are numbers as kinds of runs carry them.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Caps {
    /// The most runs of each class whose runs are told apart: one for each strip.
    pub of_class: BTreeMap<usize, usize>,
    /// What wishes say.
    pub bonds: Bonds,
}

/// What wishes say of one hooping.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Bonds {
    /// The most runs of all classes of a set.
    sets: Vec<(BTreeSet<usize>, usize)>,
    /// Classes of one strip each that are in a hooping together or not at all.
    bundles: Vec<BTreeSet<usize>>,
}

/// The number of each class that its runs carry: that of its group, or one of its own where wishes bind its strips.
pub fn told_apart(classes: &[Class], groups: Vec<usize>) -> Vec<usize> {
    let own = |(number, group): (usize, usize)| {
        if classes[number].wishes.bound {
            classes.len() + number
        } else {
            group
        }
    };
    groups.into_iter().enumerate().map(own).collect()
}

impl Bonds {
    /// What the wishes of classes say, which carry these numbers.
    pub fn of(classes: &[Class], numbers: &[usize]) -> Bonds {
        let mut apart: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        let mut bundles: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
        let mut every = None;
        for (class, number) in classes.iter().zip(numbers) {
            for wish in &class.wishes.apart {
                apart.entry(*wish).or_default().insert(*number);
            }
            if let Some((bundle, _)) = class.wishes.bundle {
                bundles.entry(bundle).or_default().insert(*number);
            }
            every = every.or(class.wishes.at_most);
        }
        let mut sets: Vec<(BTreeSet<usize>, usize)> =
            apart.into_values().map(|set| (set, 1)).collect();
        sets.extend(every.map(|most| (numbers.iter().copied().collect(), most)));
        Bonds {
            sets,
            bundles: bundles.into_values().collect(),
        }
    }

    /// Whether a hooping may hold runs of strips of which this is wished, bundles aside.
    pub fn allow_all(held: &[StripWishes]) -> bool {
        let mut apart = BTreeSet::new();
        let kept_apart = held
            .iter()
            .flat_map(|wishes| &wishes.apart)
            .all(|wish| apart.insert(*wish));
        kept_apart
            && held
                .iter()
                .all(|wishes| wishes.at_most.is_none_or(|most| held.len() <= most))
    }

    /// Whether no set has too many runs.
    pub fn allow(&self, used: &BTreeMap<usize, usize>) -> bool {
        self.sets.iter().all(|(set, most)| {
            let of_set = used.iter().filter(|(class, _)| set.contains(class));
            of_set.map(|(_, count)| count).sum::<usize>() <= *most
        })
    }

    /// Whether each bundle is there as a whole or not at all.
    pub fn keep_bundles(&self, used: &BTreeMap<usize, usize>) -> bool {
        let there = |class: &usize| used.get(class).is_some_and(|count| *count > 0);
        self.bundles.iter().all(|bundle| {
            let count = bundle.iter().filter(|class| there(class)).count();
            count == 0 || count == bundle.len()
        })
    }
}

impl Caps {
    /// Whether a hooping may hold so many runs of each class.
    pub fn allow(&self, used: &BTreeMap<usize, usize>) -> bool {
        let within = |(class, count): (&usize, &usize)| {
            self.of_class.get(class).is_none_or(|most| count <= most)
        };
        used.iter().all(within) && self.bonds.allow(used)
    }
}
