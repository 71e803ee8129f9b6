//! Numbers that look like chance and are the same each time.
//!
//! SplitMix64: Steele, Lea and Flood, Fast splittable pseudorandom number generators, OOPSLA 2014; constants from memory.

/// What the state grows by.
pub const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

/// Spreads a number over all bits.
pub fn spread(number: u64) -> u64 {
    let mut bits = number;
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^ (bits >> 31)
}

/// A number between 0 and 1 from 64 bits.
pub fn part(bits: u64) -> f64 {
    (bits >> 11) as f64 / (1_u64 << 53) as f64
}

/// A sequence of numbers.
pub struct SplitMix64(u64);

impl SplitMix64 {
    /// The sequence that belongs to a seed.
    pub fn new(seed: u64) -> SplitMix64 {
        SplitMix64(seed)
    }

    /// The next number below `end`, which is more than 0. The bias of the remainder is of no matter here.
    pub fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_add(STEP);
        spread(self.0) % end
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first number for seed 1234567 as Rosetta Code's task "Pseudo-random numbers/Splitmix64" lists it (from memory).
    #[test]
    fn the_sequence_is_splitmix64() {
        let mut random = SplitMix64::new(1_234_567);
        assert_eq!(random.below(u64::MAX), 6_457_827_717_110_365_317);
    }
}
