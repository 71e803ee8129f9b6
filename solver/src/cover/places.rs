//! A set of places among sums, a bit each.

const BITS: usize = u64::BITS as usize;

/// A set of numbers below a limit.
pub(super) struct Places(Vec<u64>);

impl Places {
    /// Room for so many, and none yet.
    pub fn of(limit: usize) -> Places {
        Places(vec![0; limit.div_ceil(BITS)])
    }

    /// Adds a place, which is below the limit.
    pub fn insert(&mut self, place: usize) {
        self.0[place / BITS] |= 1 << (place % BITS);
    }

    /// Whether a place is among them.
    pub fn contains(&self, place: usize) -> bool {
        let word = self.0.get(place / BITS);
        word.is_some_and(|word| word >> (place % BITS) & 1 == 1)
    }

    /// All of them, in ascending order.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        let words = self.0.iter().enumerate();
        words.flat_map(|(at, word)| {
            let mut left = *word;
            std::iter::from_fn(move || {
                let lowest = left.trailing_zeros() as usize;
                left &= left.wrapping_sub(1);
                (lowest < BITS).then_some(at * BITS + lowest)
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_come_back_in_order() {
        let mut places = Places::of(200);
        for place in [199, 0, 63, 64, 130, 64] {
            places.insert(place);
        }
        assert_eq!(places.iter().collect::<Vec<_>>(), [0, 63, 64, 130, 199]);
        assert!(places.contains(63) && !places.contains(62) && !places.contains(1_000));
    }
}
