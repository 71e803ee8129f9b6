//! A search that learns: where some row cannot be held any more a clause is learnt that forbids what led to it, so that the search never
//! fails for the same reason twice (lazy clause generation: Ohrimenko, Stuckey and Codish, Propagation via lazy clause generation,
//! Constraints 14 (2009) 357–391, from memory).
//!
//! A row with few columns left is settled first, and rows in which the search failed before the others (Boussemart, Hemery, Lecoutre and
//! Sais, Boosting systematic search by weighting constraints, ECAI 2004, 146–150, from memory). It begins anew time and again and keeps
//! what it has learnt.

use crate::deadline::Deadline;
use crate::partition::clauses::Clauses;
use crate::partition::larger::Larger;
use crate::partition::learn::{Learner, Learnt};
use crate::partition::literal::{Choice, Literal};
use crate::partition::rows::Rows;
use crate::partition::trail::{Reason, Trail};
use crate::partition::{Entries, luby, promise};
use crate::random::SplitMix64;

/// After so many conflicts a search begins anew; after some only 2, 4, 8, … times as many.
const BEGINS_ANEW: usize = 100;
/// With more choices than this none is looked for.
const MOST_CHOICES: usize = 100_000;
/// A conflict counts for a part of this more than the one before: one twentieth.
const GROWS: u64 = 20;
/// What the first conflict counts for. Where a later one would count for more than the last of these, all are counted anew in smaller units.
const COUNTS: [u64; 2] = [1 << 24, 1 << 50];

/// In which order rows and columns come. Each has its instances, and what a search learns in one of them serves in the others.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Order {
    /// Rows by how few columns are left for how often they failed; columns whose rows have few left.
    Failed,
    /// The same rows; columns that had part in many conflicts.
    Met,
    /// Rows with the fewest columns left; columns whose rows have few left.
    Fewest,
}

/// The search.
pub struct Learning {
    /// The column of each choice: the same one several times where it can be.
    column_of: Vec<usize>,
    rows: Rows,
    clauses: Clauses,
    trail: Trail,
    learner: Learner,
    /// What conflicts of each row count for in all, and those that each choice had part in; and what the next one counts for.
    failed: Vec<u64>,
    met: Vec<u64>,
    counts: u64,
    order: Order,
    /// How many choices are taken, and the most that were so far.
    chosen: usize,
    deepest: Vec<Choice>,
    random: SplitMix64,
    /// How often it has begun, and how many literals are left to settle.
    rounds: usize,
    left: usize,
}

impl Learning {
    /// A search, unless there are too many columns.
    pub fn begin(
        asked: &[u32],
        columns: &[Entries],
        larger: &Larger,
        seed: u64,
    ) -> Option<Learning> {
        let copies = |column: &Entries| {
            let each = column
                .iter()
                .map(|(row, times)| asked[*row as usize] / times);
            each.min().unwrap_or(0) as usize
        };
        let all = columns.iter().map(copies);
        if all.clone().fold(0, usize::saturating_add) > MOST_CHOICES {
            return None;
        }
        let numbered = (0..).zip(all);
        let column_of = numbered.flat_map(|(column, copies)| std::iter::repeat_n(column, copies));
        let column_of: Vec<usize> = column_of.collect();
        let rows = Rows::new(asked, larger, columns, &column_of);
        let choices = column_of.len();
        let mut clauses = Clauses::new(choices);
        // Of copies of a column the first ones are taken.
        for (choice, copies) in (1..).zip(column_of.windows(2)) {
            if copies[0] == copies[1] {
                let first = Literal::of(choice - 1, true);
                clauses.add(vec![Literal::of(choice, false), first], 0);
            }
        }
        Some(Learning {
            failed: vec![0; rows.count()],
            column_of,
            rows,
            clauses,
            trail: Trail::new(choices),
            learner: Learner::new(choices),
            met: vec![0; choices],
            counts: COUNTS[0],
            order: Order::Failed,
            rounds: 0,
            chosen: 0,
            deepest: Vec::new(),
            random: SplitMix64::new(seed),
            left: 0,
        })
    }

    /// Searches until so many literals more are settled: whether there is a point, where that is known.
    pub fn run(&mut self, literals: usize, deadline: &Deadline) -> Option<bool> {
        if self.rounds == 0 && self.rows.begin(&mut self.trail).is_err() {
            return Some(false);
        }
        self.left = literals;
        while self.left > 0 && !deadline.over() {
            self.rounds += 1;
            self.order = match self.rounds % 3 {
                1 => Order::Failed,
                2 => Order::Met,
                _ => Order::Fewest,
            };
            let conflicts = BEGINS_ANEW * luby(self.rounds.div_ceil(3));
            let said = self.go_on(conflicts, deadline);
            if said.is_some() {
                return said;
            }
            self.go_back(0);
        }
        None
    }

    /// The columns of the point that was found.
    pub fn chosen(&self) -> Vec<usize> {
        self.columns(&self.taken())
    }

    /// The most columns that were chosen so far.
    pub fn deepest(&self) -> Vec<usize> {
        self.columns(&self.deepest)
    }

    fn columns(&self, choices: &[Choice]) -> Vec<usize> {
        let columns = choices.iter();
        columns
            .map(|choice| self.column_of[*choice as usize])
            .collect()
    }

    /// Goes on until there is a point, or it is clear that there is none, or for so many conflicts. Leaves the choices at the point that
    /// was found.
    fn go_on(&mut self, conflicts: usize, deadline: &Deadline) -> Option<bool> {
        let mut left = conflicts;
        while !deadline.over() {
            if let Err(conflict) = self.follow() {
                if self.trail.level() == 0 {
                    return Some(false);
                }
                self.learn(conflict);
                left = left.saturating_sub(1);
                continue;
            }
            if left == 0 || self.left == 0 {
                return None;
            }
            self.clauses.forget(&mut self.trail);
            if self.chosen > self.deepest.len() {
                self.deepest = self.taken();
            }
            let Some(choice) = self.next() else {
                return Some(true);
            };
            self.trail.decide(Literal::of(choice, true));
        }
        None
    }

    /// Settles all that follows from what is settled; otherwise says what cannot be.
    fn follow(&mut self) -> Result<(), Reason> {
        while let Some(literal) = self.trail.next() {
            self.left = self.left.saturating_sub(1);
            self.chosen += usize::from(literal.is_taken());
            let said = self.rows.follow(literal, &mut self.trail);
            if let Err(Reason::Full(row) | Reason::Needed(row)) = said {
                self.failed[row as usize] += self.counts;
            }
            said?;
            self.clauses.follow(literal, &mut self.trail)?;
        }
        Ok(())
    }

    /// Learns from a conflict and goes back to where what was learnt says something.
    fn learn(&mut self, conflict: Reason) {
        let learnt = self
            .learner
            .learn(conflict, &self.rows, &self.clauses, &self.trail);
        let Learnt {
            literals,
            level,
            levels,
            met,
        } = learnt;
        for choice in met {
            self.met[choice] += self.counts;
        }
        self.count_more();
        self.go_back(level);
        let first = literals[0];
        let reason = if literals.len() == 1 {
            Reason::None
        } else {
            Reason::Clause(self.clauses.add(literals, levels))
        };
        self.trail.settle(first, reason);
    }

    /// The next conflict counts for more: what was long ago counts for less and less.
    fn count_more(&mut self) {
        self.counts += self.counts / GROWS;
        if self.counts > COUNTS[1] {
            let unit = COUNTS[1] / COUNTS[0];
            for count in self.failed.iter_mut().chain(&mut self.met) {
                *count /= unit;
            }
            self.counts /= unit;
        }
    }

    /// Takes back all decisions above a level.
    fn go_back(&mut self, level: usize) {
        while let Some((literal, was_seen)) = self.trail.take_back(level) {
            if was_seen {
                self.rows.take_back(literal);
                self.chosen -= usize::from(literal.is_taken());
            }
        }
    }

    /// The choice to take next; nothing where all rows are held.
    fn next(&mut self) -> Option<Choice> {
        let row = self.next_row()?;
        let mut best: Option<((bool, u64), Choice)> = None;
        for (choice, _) in self.rows.choices(row) {
            if self.trail.is_taken(*choice).is_some() {
                continue;
            }
            let promise = if self.order == Order::Met {
                (false, self.met[*choice as usize])
            } else {
                // Larger columns first: what is left can be parted among the others in more ways.
                let left = |row: u32| self.rows.open(row as usize).unwrap_or(1).max(1);
                let column = self.rows.entries(*choice);
                let promise = promise(column, left, &mut self.random);
                (self.rows.is_wanted(*choice), promise)
            };
            if best.is_none_or(|(most, _)| promise > most) {
                best = Some((promise, *choice));
            }
        }
        best.map(|(_, choice)| choice)
    }

    /// The row to hold next.
    fn next_row(&self) -> Option<usize> {
        let mut best: Option<((u64, u64), usize)> = None;
        for row in 0..self.rows.count() {
            let Some(open) = self.rows.open(row) else {
                continue;
            };
            let (open, failed) = (u64::from(open.max(1)), self.failed[row]);
            let urgency = match self.order {
                Order::Failed | Order::Met => ((self.counts + failed) / open, 0),
                Order::Fewest => (u64::MAX - open, failed),
            };
            if best.is_none_or(|(most, _)| urgency > most) {
                best = Some((urgency, row));
            }
        }
        best.map(|(_, row)| row)
    }

    /// The choices that are taken.
    fn taken(&self) -> Vec<Choice> {
        let literals = self.trail.literals().iter();
        let taken = literals.filter(|literal| literal.is_taken());
        taken.map(|literal| literal.choice() as Choice).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deadline::StopSignal;
    use std::time::Duration;

    /// Ten things for nine places, one each: what is learnt helps little, so that thousands of clauses are learnt and most of them
    /// forgotten again; that there is no way is clear by counting.
    #[test]
    fn what_is_forgotten_is_not_needed_for_the_proof() {
        let columns: Vec<Entries> = (0..10)
            .flat_map(|thing| (10..19).map(move |place| vec![(thing, 1), (place, 1)]))
            .collect();
        let asked = [1; 19];
        let larger = Larger::of(&asked, &columns, None);
        let mut search = Learning::begin(&asked, &columns, &larger, 1).expect("few columns");
        let deadline = Deadline::after(Duration::from_secs(60), StopSignal::new());
        assert_eq!(search.run(1_000_000_000, &deadline), Some(false));
        assert!(search.clauses.were_forgotten());
    }
}
