//! What a conflict teaches: a clause that every point fulfils and that forbids what led to it.
//!
//! Literals are traded for what they follow from until only one of the last level is left (Marques-Silva and Sakallah, GRASP: a search
//! algorithm for propositional satisfiability, IEEE Transactions on Computers 48 (1999) 506–521, from memory).

use crate::partition::clauses::Clauses;
use crate::partition::literal::Literal;
use crate::partition::rows::Rows;
use crate::partition::trail::{Reason, Trail};

/// A clause that was learnt.
pub struct Learnt {
    /// The first literal follows once the others are false; the second is of the level to go back to.
    pub literals: Vec<Literal>,
    /// The level to go back to.
    pub level: usize,
    /// Of how many levels its literals are.
    pub levels: u32,
    /// The choices that were looked at.
    pub met: Vec<usize>,
}

/// Who learns.
pub struct Learner {
    /// Choices that the conflict follows from.
    is_met: Vec<bool>,
}

impl Learner {
    /// One for so many choices.
    pub fn new(choices: usize) -> Learner {
        Learner {
            is_met: vec![false; choices],
        }
    }

    /// Learns from a conflict on a level above 0.
    pub fn learn(
        &mut self,
        conflict: Reason,
        rows: &Rows,
        clauses: &Clauses,
        trail: &Trail,
    ) -> Learnt {
        let mut met: Vec<usize> = Vec::new();
        let mut literals: Vec<Literal> = Vec::new();
        // How many literals of the last level have not been traded yet.
        let mut left = 0;
        let (mut reason, mut follows, mut place) = (conflict, None, trail.literals().len());
        let first = loop {
            causes(reason, follows, place, rows, clauses, trail, |cause| {
                let cause = taken_for(cause, rows, trail);
                let choice = cause.choice();
                let level = trail.level_of(choice);
                if level == 0 || std::mem::replace(&mut self.is_met[choice], true) {
                    return true;
                }
                met.push(choice);
                if level == trail.level() {
                    left += 1;
                } else {
                    literals.push(cause.negated());
                }
                true
            });
            let is_met = |at: &usize| self.is_met[trail.literals()[*at].choice()];
            place = (0..place).rev().find(is_met).unwrap_or_default();
            let literal = trail.literals()[place];
            left -= 1;
            if left == 0 {
                break literal.negated();
            }
            (reason, follows) = (trail.reason_of(literal.choice()), Some(literal));
        };
        // What follows from the others alone need not be said.
        literals.retain(|literal| {
            let (choice, cause) = (literal.choice(), literal.negated());
            let reason = trail.reason_of(choice);
            let place = trail.place_of(choice);
            let said = |cause: Literal| {
                let is_met = |of: Literal| self.is_met[of.choice()];
                trail.level_of(cause.choice()) == 0
                    || is_met(cause)
                    || is_met(taken_for(cause, rows, trail))
            };
            reason == Reason::None
                || !causes(reason, Some(cause), place, rows, clauses, trail, said)
        });
        for choice in &met {
            self.is_met[*choice] = false;
        }
        let level_of = |literal: &Literal| trail.level_of(literal.choice());
        let highest = (0..literals.len()).max_by_key(|at| level_of(&literals[*at]));
        if let Some(at) = highest {
            literals.swap(0, at);
        }
        let mut levels: Vec<usize> = literals.iter().map(level_of).collect();
        let level = levels.first().copied().unwrap_or(0);
        levels.sort_unstable();
        levels.dedup();
        literals.insert(0, first);
        Learnt {
            literals,
            level,
            levels: levels.len() as u32 + 1,
            met,
        }
    }
}

/// Goes through what a literal follows from, or a conflict, for as long as each of them is so; whether all are. `place` is where the
/// literal stands in the order.
fn causes(
    reason: Reason,
    follows: Option<Literal>,
    place: usize,
    rows: &Rows,
    clauses: &Clauses,
    trail: &Trail,
    mut is_so: impl FnMut(Literal) -> bool,
) -> bool {
    match reason {
        Reason::None => true,
        Reason::Clause(clause) => {
            let mut others = clauses.others(clause, follows);
            others.all(|other| is_so(other.negated()))
        }
        Reason::Full(row) => {
            let mut taken = rows.taken(row, place, trail);
            taken.all(|choice| is_so(Literal::of(choice, true)))
        }
        Reason::Needed(row) => {
            let mut left_out = rows.left_out(row, place, trail);
            left_out.all(|choice| is_so(Literal::of(choice, false)))
        }
    }
}

/// What was taken alone so that this is left out, on a level before the last, or else this. Many are left out for each that is taken, so that
/// clauses become much shorter.
fn taken_for(cause: Literal, rows: &Rows, trail: &Trail) -> Literal {
    let choice = cause.choice();
    if let Reason::Full(row) = trail.reason_of(choice)
        && trail.level_of(choice) < trail.level()
    {
        let mut taken = rows.taken(row, trail.place_of(choice), trail);
        if let (Some(alone), None) = (taken.next(), taken.next()) {
            return Literal::of(alone, true);
        }
    }
    cause
}
