//! What is settled: whether a choice is taken or left out.

/// A choice: one copy of a column, by its number.
pub type Choice = u32;

/// That a choice is taken, or that it is left out.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Literal(u32);

impl Literal {
    /// The choice is taken, or it is left out.
    pub fn of(choice: Choice, is_taken: bool) -> Literal {
        Literal(choice * 2 + u32::from(is_taken))
    }

    /// The choice that is settled.
    pub fn choice(self) -> usize {
        (self.0 / 2) as usize
    }

    /// Whether it is taken.
    pub fn is_taken(self) -> bool {
        self.0 % 2 == 1
    }

    /// The contrary.
    pub fn negated(self) -> Literal {
        Literal(self.0 ^ 1)
    }

    /// Its place in a list of all literals: two for each choice.
    pub fn place(self) -> usize {
        self.0 as usize
    }
}
