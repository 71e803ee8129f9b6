//! A limit on counted steps, so that a scenario is too big on every machine or on none.

/// Steps that may still be taken.
#[derive(Debug)]
pub struct Work {
    left: u64,
}

/// The scenario is too big to try everything.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TooMuchWork;

impl Work {
    /// A limit of that many steps.
    pub fn of(steps: u64) -> Work {
        Work { left: steps }
    }

    /// Takes some steps.
    ///
    /// # Errors
    /// Where fewer are left.
    pub fn spend(&mut self, steps: u64) -> Result<(), TooMuchWork> {
        self.left = self.left.checked_sub(steps).ok_or(TooMuchWork)?;
        Ok(())
    }

    /// The steps that are left.
    pub fn left(&self) -> u64 {
        self.left
    }
}
