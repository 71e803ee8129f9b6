//! Clauses: of each at least one literal is true.
//!
//! Two literals of each clause are watched: only when one of them is false something can follow (Moskewicz, Madigan, Zhao, Zhang and
//! Malik, Chaff: engineering an efficient SAT solver, DAC 2001, 530–535, from memory).

use std::cmp::Reverse;

use crate::partition::literal::Literal;
use crate::partition::trail::{Reason, Trail};

/// Clauses whose literals are of no more levels than this are never forgotten.
const CLOSE: u32 = 2;
/// When there are so many clauses, or so many literals in them, half are forgotten; each time so many more clauses are kept.
const MOST_KEPT: usize = 4_000;
const MOST_LITERALS: usize = 2_000_000;
const MORE_KEPT: usize = 300;

struct Clause {
    /// The first two are watched.
    literals: Vec<Literal>,
    /// Of how many levels its literals were when it was learnt (Audemard and Simon, Predicting learnt clauses quality in modern
    /// SAT solvers, IJCAI 2009, 399–404, from memory): the fewer, the more often something follows from it.
    levels: u32,
}

/// One of the two watched literals of a clause.
#[derive(Clone, Copy)]
struct Watch {
    clause: u32,
    /// Another literal of it: where that is true nothing follows.
    other: Literal,
}

/// All clauses that are kept.
pub struct Clauses {
    list: Vec<Clause>,
    /// By literal: the clauses that watch it.
    watches: Vec<Vec<Watch>>,
    literals: usize,
    most: usize,
}

impl Clauses {
    /// No clauses yet, of so many choices.
    pub fn new(choices: usize) -> Clauses {
        Clauses {
            list: Vec::new(),
            watches: vec![Vec::new(); 2 * choices],
            literals: 0,
            most: MOST_KEPT,
        }
    }

    /// Adds a clause of two literals or more, of so many levels: the first two are true, open, or the last of it that were settled.
    /// Returns its number.
    pub fn add(&mut self, literals: Vec<Literal>, levels: u32) -> u32 {
        let clause = self.list.len() as u32;
        for (watched, other) in [(0, 1), (1, 0)] {
            let watch = Watch {
                clause,
                other: literals[other],
            };
            self.watches[literals[watched].place()].push(watch);
        }
        self.literals += literals.len();
        self.list.push(Clause { literals, levels });
        clause
    }

    /// The other literals of a clause, which are all false where this one follows from it.
    pub fn others(&self, clause: u32, literal: Option<Literal>) -> impl Iterator<Item = Literal> {
        let literals = self.list[clause as usize].literals.iter().copied();
        literals.filter(move |other| Some(*other) != literal)
    }

    /// Settles what follows from a literal; otherwise says which clause cannot be fulfilled.
    pub fn follow(&mut self, literal: Literal, trail: &mut Trail) -> Result<(), Reason> {
        let now_false = literal.negated();
        let mut watches = std::mem::take(&mut self.watches[now_false.place()]);
        let mut said = Ok(());
        watches.retain_mut(|watch| {
            if said.is_err() || trail.is_true(watch.other) == Some(true) {
                return true;
            }
            let literals = &mut self.list[watch.clause as usize].literals;
            if literals[0] == now_false {
                literals.swap(0, 1);
            }
            watch.other = literals[0];
            if trail.is_true(watch.other) == Some(true) {
                return true;
            }
            let may_be = |at: &usize| trail.is_true(literals[*at]) != Some(false);
            if let Some(at) = (2..literals.len()).find(may_be) {
                literals.swap(1, at);
                self.watches[literals[1].place()].push(*watch);
                return false;
            }
            let reason = Reason::Clause(watch.clause);
            match trail.is_true(watch.other) {
                Some(_) => said = Err(reason),
                None => trail.settle(watch.other, reason),
            }
            true
        });
        self.watches[now_false.place()] = watches;
        said
    }

    /// Whether there have been so many that half were forgotten.
    #[cfg(test)]
    pub fn were_forgotten(&self) -> bool {
        self.most > MOST_KEPT
    }

    /// Forgets half of the clauses if they are many: those of most levels that nothing settled follows from.
    pub fn forget(&mut self, trail: &mut Trail) {
        if self.list.len() < self.most && self.literals < MOST_LITERALS {
            return;
        }
        self.most += MORE_KEPT;
        let mut is_kept: Vec<bool> = self.list.iter().map(|of| of.levels <= CLOSE).collect();
        for literal in trail.literals() {
            if let Reason::Clause(clause) = trail.reason_of(literal.choice()) {
                is_kept[clause as usize] = true;
            }
        }
        let mut others: Vec<usize> = (0..is_kept.len()).filter(|at| !is_kept[*at]).collect();
        // Of clauses that are equally good the latest.
        others.sort_by_key(|at| (self.list[*at].levels, Reverse(*at)));
        for at in &others[..others.len() / 2] {
            is_kept[*at] = true;
        }
        let mut numbers = vec![0; is_kept.len()];
        let old = std::mem::take(&mut self.list);
        self.watches.iter_mut().for_each(Vec::clear);
        self.literals = 0;
        for (at, clause) in old.into_iter().enumerate() {
            if is_kept[at] {
                numbers[at] = self.add(clause.literals, clause.levels);
            }
        }
        trail.renumber(|clause| numbers[clause as usize]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn clause(choices: [u32; 3]) -> Vec<Literal> {
        choices.map(|choice| Literal::of(choice, true)).to_vec()
    }

    /// A hand-worked case: of the clause "0, 1 or 2" the last literal follows once the others are false, and no sooner; and where all are
    /// false that is said.
    #[test]
    fn the_last_literal_of_a_clause_follows() {
        let mut clauses = Clauses::new(3);
        let number = clauses.add(clause([0, 1, 2]), 3);
        let mut trail = Trail::new(3);
        trail.decide(Literal::of(0, false));
        assert_eq!(clauses.follow(Literal::of(0, false), &mut trail), Ok(()));
        assert_eq!(trail.is_taken(2), None);
        trail.decide(Literal::of(2, false));
        assert_eq!(clauses.follow(Literal::of(2, false), &mut trail), Ok(()));
        assert_eq!(trail.is_taken(1), Some(true));
        assert_eq!(trail.reason_of(1), Reason::Clause(number));
        let others: Vec<Literal> = clauses.others(number, Some(Literal::of(1, true))).collect();
        assert_eq!(others.len(), 2);

        let mut trail = Trail::new(3);
        for choice in 0..3 {
            trail.decide(Literal::of(choice, false));
        }
        let said = (0..3).map(|choice| clauses.follow(Literal::of(choice, false), &mut trail));
        assert!(
            said.into_iter()
                .any(|said| said == Err(Reason::Clause(number)))
        );
    }

    /// Half of many clauses are forgotten: not those of few levels, and not one that something follows from.
    #[test]
    fn half_of_many_clauses_are_forgotten_but_not_what_is_needed() {
        let choices = MOST_KEPT as u32 + 10;
        let mut clauses = Clauses::new(choices as usize);
        let mut trail = Trail::new(choices as usize);
        for choice in 0..MOST_KEPT as u32 {
            // The first is close; of the others those that came last are of the most levels.
            clauses.add(clause([choice, choice + 1, choice + 2]), 2 + choice);
        }
        let last = MOST_KEPT as u32 - 1;
        trail.settle(Literal::of(last, true), Reason::Clause(last));
        clauses.forget(&mut trail);
        // One close one, one that is needed, and half of the rest.
        assert_eq!(clauses.list.len(), 2 + (MOST_KEPT - 2) / 2);
        assert_eq!(clauses.list[0].levels, 2);
        let Reason::Clause(kept) = trail.reason_of(last as usize) else {
            panic!("it follows from a clause");
        };
        assert_eq!(clauses.list[kept as usize].levels, 2 + last);
        assert_eq!(clauses.literals, 3 * clauses.list.len());
        // With fewer none is forgotten.
        let before = clauses.list.len();
        clauses.forget(&mut trail);
        assert_eq!(clauses.list.len(), before);
    }
}
