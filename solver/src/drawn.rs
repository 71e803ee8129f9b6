//! Numbers that tests draw: they look like chance and are the same each time.

/// A linear congruential generator (constants of Knuth's MMIX, The Art of Computer Programming vol. 2, 3.3.4, from memory).
pub struct Drawn(pub u64);

impl Drawn {
    /// A number below `end`, which is more than 0.
    pub fn below(&mut self, end: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }

    /// One of `count` indices, which are more than 0.
    pub fn index(&mut self, count: usize) -> usize {
        self.below(count as u64) as usize
    }

    /// A number from `least` to `most`.
    pub fn between(&mut self, least: u64, most: u64) -> u64 {
        least + self.below(most - least + 1)
    }
}
