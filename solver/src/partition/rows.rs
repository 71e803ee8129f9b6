//! Rows, each of which is to be held exactly as often as it asks, and what follows for choices. How much larger columns than the mean
//! hold in all is a row like them, of which a little more or less may do.

use crate::partition::Entries;
use crate::partition::larger::Larger;
use crate::partition::literal::{Choice, Literal};
use crate::partition::trail::{Reason, Trail};

/// A row.
#[derive(Clone, Debug)]
struct Row {
    /// The choices that hold it, each with how often.
    choices: Vec<(Choice, u32)>,
    /// How often it is to be held, at least and at most.
    least: u32,
    most: u32,
    /// The choices that are taken, in order; how often they hold it, and how often they and what is still open do.
    taken: Vec<Choice>,
    held: u32,
    reach: u64,
    /// The most that one choice holds.
    widest: u32,
}

/// All rows, and the choices that hold them.
pub struct Rows {
    rows: Vec<Row>,
    /// So many of them ask for something; the one after them is that of larger columns.
    asking: usize,
    /// By choice: its rows, each with how often it is held.
    of_choice: Vec<Entries>,
}

impl Rows {
    /// Rows that ask for so much, what larger columns hold, and the columns, one for each choice.
    pub fn new(asked: &[u32], larger: &Larger, columns: &[Entries], column_of: &[usize]) -> Rows {
        let row = |least: u32, most: u32| Row {
            choices: Vec::new(),
            least,
            most,
            taken: Vec::new(),
            held: 0,
            reach: 0,
            widest: 0,
        };
        let mut rows: Vec<Row> = asked.iter().map(|asked| row(*asked, *asked)).collect();
        rows.push(row(larger.least, larger.most));
        let entries = |column: &usize| {
            let over = larger.over[*column];
            let mut entries = columns[*column].clone();
            entries.extend((over > 0).then_some((asked.len() as u32, over)));
            entries
        };
        let of_choice: Vec<Entries> = column_of.iter().map(entries).collect();
        for (choice, entries) in (0..).zip(&of_choice) {
            for (number, times) in entries {
                let row = &mut rows[*number as usize];
                row.choices.push((choice, *times));
                row.reach += u64::from(*times);
                row.widest = row.widest.max(*times);
            }
        }
        Rows {
            rows,
            asking: asked.len(),
            of_choice,
        }
    }

    /// Whether a choice is one of the larger ones, and more of them are wanted.
    pub fn is_wanted(&self, choice: Choice) -> bool {
        let last = self.of_choice[choice as usize].last();
        last.is_some_and(|(row, _)| {
            *row as usize >= self.asking && self.open(*row as usize).is_some()
        })
    }

    /// How many rows there are, with that of larger columns.
    pub fn count(&self) -> usize {
        self.rows.len()
    }

    /// The rows of a choice, each with how often it holds it.
    pub fn entries(&self, choice: Choice) -> &[(u32, u32)] {
        &self.of_choice[choice as usize]
    }

    /// The choices that hold a row, each with how often.
    pub fn choices(&self, row: usize) -> &[(Choice, u32)] {
        &self.rows[row].choices
    }

    /// How often a row could still be held by what is open; nothing where it is held often enough.
    pub fn open(&self, row: usize) -> Option<u32> {
        let row = &self.rows[row];
        let open = row.reach.saturating_sub(row.held.into());
        (row.held < row.least).then(|| open.try_into().unwrap_or(u32::MAX))
    }

    /// Settles what follows before anything is decided; otherwise says which row cannot be held.
    pub fn begin(&mut self, trail: &mut Trail) -> Result<(), Reason> {
        for number in 0..self.rows.len() {
            self.close_wide(number, trail)?;
            self.take_needed(number, trail)?;
        }
        Ok(())
    }

    /// Settles what follows from a literal; otherwise says which row cannot be held. All its rows know of it in either case.
    pub fn follow(&mut self, literal: Literal, trail: &mut Trail) -> Result<(), Reason> {
        let mut said = Ok(());
        for at in 0..self.of_choice[literal.choice()].len() {
            let (number, times) = self.of_choice[literal.choice()][at];
            let (number, row) = (number as usize, &mut self.rows[number as usize]);
            if literal.is_taken() {
                row.held += times;
                row.taken.push(literal.choice() as Choice);
                said = said.and_then(|()| self.close_wide(number, trail));
            } else {
                row.reach -= u64::from(times);
                said = said.and_then(|()| self.take_needed(number, trail));
            }
        }
        said
    }

    /// Takes back what rows know of a literal.
    pub fn take_back(&mut self, literal: Literal) {
        for (number, times) in &self.of_choice[literal.choice()] {
            let row = &mut self.rows[*number as usize];
            if literal.is_taken() {
                row.held -= times;
                row.taken.pop();
            } else {
                row.reach += u64::from(*times);
            }
        }
    }

    /// Leaves out what holds a row more often than it still may be.
    fn close_wide(&self, number: usize, trail: &mut Trail) -> Result<(), Reason> {
        let (row, reason) = (&self.rows[number], Reason::Full(number as u32));
        let room = row.most.checked_sub(row.held).ok_or(reason)?;
        if room < row.widest {
            for (choice, times) in &row.choices {
                if *times > room && trail.is_taken(*choice).is_none() {
                    trail.settle(Literal::of(*choice, false), reason);
                }
            }
        }
        Ok(())
    }

    /// Takes what a row cannot do without.
    fn take_needed(&self, number: usize, trail: &mut Trail) -> Result<(), Reason> {
        let (row, reason) = (&self.rows[number], Reason::Needed(number as u32));
        let spare = row.reach.checked_sub(row.least.into()).ok_or(reason)?;
        if spare < row.widest.into() && row.held < row.least {
            for (choice, times) in &row.choices {
                if u64::from(*times) > spare && trail.is_taken(*choice).is_none() {
                    trail.settle(Literal::of(*choice, true), reason);
                }
            }
        }
        Ok(())
    }

    /// What of a row was taken before a place in the order so that others are left out.
    pub fn taken<'r>(
        &'r self,
        row: u32,
        before: usize,
        trail: &'r Trail,
    ) -> impl Iterator<Item = Choice> + 'r {
        let taken = self.rows[row as usize].taken.iter().copied();
        taken.filter(move |choice| trail.place_of(*choice as usize) < before)
    }

    /// What of a row was left out before a place in the order so that others are taken.
    pub fn left_out<'r>(
        &'r self,
        row: u32,
        before: usize,
        trail: &'r Trail,
    ) -> impl Iterator<Item = Choice> + 'r {
        let choices = self.rows[row as usize].choices.iter();
        let choices = choices.map(|(choice, _)| *choice);
        choices.filter(move |choice| {
            trail.is_taken(*choice) == Some(false) && trail.place_of(*choice as usize) < before
        })
    }
}
