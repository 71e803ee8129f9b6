//! A small pseudorandom generator, so that every drawn case can be named by its seed.

/// SplitMix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014.
#[derive(Clone, Debug)]
pub struct SplitMix64 {
    state: u64,
}

impl SplitMix64 {
    /// The sequence that belongs to `seed`.
    pub fn new(seed: u64) -> SplitMix64 {
        SplitMix64 { state: seed }
    }

    /// The next 64 bits.
    pub fn next_bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A whole number from `least` to `most`, both included. The bias of the remainder is of no matter here.
    pub fn between(&mut self, least: i64, most: i64) -> i64 {
        let count = most.abs_diff(least) + 1;
        least + i64::try_from(self.next_bits() % count).unwrap_or(0)
    }

    /// True in `percent` of a hundred draws.
    pub fn chance(&mut self, percent: i64) -> bool {
        self.between(1, 100) <= percent
    }

    /// One of the items; the list is not empty.
    pub fn pick<T: Clone>(&mut self, items: &[T]) -> T {
        let last = i64::try_from(items.len()).unwrap_or(1) - 1;
        items[usize::try_from(self.between(0, last)).unwrap_or(0)].clone()
    }

    /// Puts the items in a random order (Fisher and Yates).
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            let other = self.between(0, i64::try_from(last).unwrap_or(0));
            items.swap(last, usize::try_from(other).unwrap_or(0));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers for seed 1234567 as Rosetta Code's task "Pseudo-random numbers/Splitmix64" lists them (from
    /// memory).
    #[test]
    fn the_sequence_is_splitmix64() {
        let mut random = SplitMix64::new(1_234_567);
        let first: Vec<u64> = (0..3).map(|_| random.next_bits()).collect();
        let listed = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
        ];
        assert_eq!(first, listed);
    }
}
