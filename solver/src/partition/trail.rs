//! What is settled so far, in order, and why.

use crate::partition::literal::{Choice, Literal};

/// Why something is settled, or cannot be.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Reason {
    /// It was decided, or it holds whatever is decided.
    None,
    /// All other literals of a clause are false.
    Clause(u32),
    /// What is taken leaves a row no room for more.
    Full(u32),
    /// What is left out leaves a row no more than it asks for.
    Needed(u32),
}

/// Literals in the order in which they came true. What was decided begins a level; what follows from it is of the same level.
pub struct Trail {
    literals: Vec<Literal>,
    /// Where each level begins.
    begins: Vec<usize>,
    /// So many were looked at for what follows from them.
    seen: usize,
    /// By choice: whether it is taken, if that is settled; on which level, at which place, and why.
    taken: Vec<Option<bool>>,
    levels: Vec<u32>,
    places: Vec<u32>,
    reasons: Vec<Reason>,
}

impl Trail {
    /// Nothing is settled of so many choices.
    pub fn new(choices: usize) -> Trail {
        Trail {
            literals: Vec::new(),
            begins: Vec::new(),
            seen: 0,
            taken: vec![None; choices],
            levels: vec![0; choices],
            places: vec![0; choices],
            reasons: vec![Reason::None; choices],
        }
    }

    /// Whether a choice is taken, if that is settled.
    pub fn is_taken(&self, choice: Choice) -> Option<bool> {
        self.taken[choice as usize]
    }

    /// Whether a literal is true, if that is settled.
    pub fn is_true(&self, literal: Literal) -> Option<bool> {
        self.taken[literal.choice()].map(|taken| taken == literal.is_taken())
    }

    /// The level of a settled choice; 0 holds whatever is decided.
    pub fn level_of(&self, choice: usize) -> usize {
        self.levels[choice] as usize
    }

    /// Where a settled choice stands in the order.
    pub fn place_of(&self, choice: usize) -> usize {
        self.places[choice] as usize
    }

    /// Why a settled choice is what it is.
    pub fn reason_of(&self, choice: usize) -> Reason {
        self.reasons[choice]
    }

    /// All that is true, in order.
    pub fn literals(&self) -> &[Literal] {
        &self.literals
    }

    /// How many decisions stand.
    pub fn level(&self) -> usize {
        self.begins.len()
    }

    /// Settles an open choice.
    pub fn settle(&mut self, literal: Literal, reason: Reason) {
        let choice = literal.choice();
        self.taken[choice] = Some(literal.is_taken());
        self.levels[choice] = self.begins.len() as u32;
        self.places[choice] = self.literals.len() as u32;
        self.reasons[choice] = reason;
        self.literals.push(literal);
    }

    /// Decides an open choice.
    pub fn decide(&mut self, literal: Literal) {
        self.begins.push(self.literals.len());
        self.settle(literal, Reason::None);
    }

    /// The next literal that was not looked at.
    pub fn next(&mut self) -> Option<Literal> {
        let next = self.literals.get(self.seen).copied()?;
        self.seen += 1;
        Some(next)
    }

    /// Opens the last choice of a level above this one again: its literal, and whether it was looked at.
    pub fn take_back(&mut self, level: usize) -> Option<(Literal, bool)> {
        let begin = *self.begins.get(level)?;
        if self.literals.len() == begin {
            self.begins.truncate(level);
            return None;
        }
        let literal = self.literals.pop()?;
        self.taken[literal.choice()] = None;
        let was_seen = self.literals.len() < self.seen;
        self.seen = self.seen.min(self.literals.len());
        Some((literal, was_seen))
    }

    /// Clauses have new numbers.
    pub fn renumber(&mut self, number_of: impl Fn(u32) -> u32) {
        for literal in &self.literals {
            if let Reason::Clause(clause) = &mut self.reasons[literal.choice()] {
                *clause = number_of(*clause);
            }
        }
    }
}
