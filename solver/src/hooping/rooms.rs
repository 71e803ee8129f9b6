//! What can be worth most in a room, by dynamic programming: for every item and those after it, and every size of the room.
//!
//! The bounded knapsack problem, with the copies of an item in binary pieces (Martello and Toth, Knapsack problems (1990), chapters 2 and
//! 3, from memory). Many tables are filled one after the other, each some megabytes large: they hand their memory on, as
//! new pages from the system take longer than what is written to them.

use std::sync::{Arc, Mutex, PoisonError};

/// Some of one item.
#[derive(Clone, Copy)]
pub struct Stock {
    /// What each takes of the room; more than 0.
    pub size: usize,
    /// What each is worth. All that fit a room together are worth less than 2^31.
    pub worth: i32,
    /// How many there are.
    pub most: usize,
}

/// The worth of rooms from 0 to the largest.
pub struct Rooms<'s> {
    width: usize,
    /// By item, and after the last: the row of what it and those after it are worth. Items that add nothing share one.
    row: Vec<usize>,
    cells: Vec<i32>,
    spare: &'s Spare,
}

impl<'s> Rooms<'s> {
    /// The table of these items.
    pub fn of(stocks: &[Stock], largest: usize, spare: &'s Spare) -> Rooms<'s> {
        let width = largest + 1;
        let adds = |stock: &Stock| stock.worth > 0 && stock.most > 0 && stock.size < width;
        let rows = 1 + stocks.iter().filter(|stock| adds(stock)).count();
        let mut cells = spare.cells(width * rows);
        cells[..width].fill(0);
        let mut row = vec![0; stocks.len() + 1];
        let mut filled = 0;
        for (item, stock) in stocks.iter().enumerate().rev() {
            if adds(stock) {
                let (before, now) = cells[filled * width..].split_at_mut(width);
                stock.add_to(before, &mut now[..width]);
                filled += 1;
            }
            row[item] = filled;
        }
        Rooms {
            width,
            row,
            cells,
            spare,
        }
    }

    /// What this item and those after it are worth at most in so much room.
    pub fn worth(&self, item: usize, room: usize) -> i32 {
        self.cells[self.row[item] * self.width + room]
    }
}

impl Stock {
    /// What rooms are worth with it, where `without` says what they are worth without.
    fn add_to(&self, without: &[i32], with: &mut [i32]) {
        // The first one by itself, where nothing stands in the way of several rooms at once.
        let (small, large) = with.split_at_mut(self.size);
        small.copy_from_slice(&without[..self.size]);
        let none = &without[self.size..];
        for ((with, none), one) in large.iter_mut().zip(none).zip(without) {
            *with = (*none).max(one + self.worth);
        }
        // Then 2, 4, … and the rest of them, so that every number up to the most is a sum.
        let (mut more, mut piece) = (self.most.min(with.len() / self.size) - 1, 2);
        while more > 0 {
            let count = piece.min(more);
            let (size, worth) = (self.size * count, self.worth * count as i32);
            for room in (size..with.len()).rev() {
                with[room] = with[room].max(with[room - size] + worth);
            }
            more -= count;
            piece *= 2;
        }
    }
}

impl Drop for Rooms<'_> {
    fn drop(&mut self) {
        self.spare.keep(std::mem::take(&mut self.cells));
    }
}

/// Memory that one table leaves to the next; copies share it. It says nothing about what it belongs to: all are equal.
#[derive(Clone, Default, Debug)]
pub struct Spare(Arc<Mutex<Vec<i32>>>);

impl Spare {
    /// At least so many cells, of any content.
    fn cells(&self, count: usize) -> Vec<i32> {
        let cells = std::mem::take(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner));
        if cells.len() < count {
            drop(cells);
            vec![0; count]
        } else {
            cells
        }
    }

    fn keep(&self, cells: Vec<i32>) {
        let mut kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() < cells.len() {
            *kept = cells;
        }
    }
}

impl PartialEq for Spare {
    fn eq(&self, _: &Spare) -> bool {
        true
    }
}

impl Eq for Spare {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::Drawn;

    /// What items are worth in a room, by trying every count of each.
    fn tried(stocks: &[Stock], room: usize) -> i32 {
        let Some((first, rest)) = stocks.split_first() else {
            return 0;
        };
        let counts = 0..=first.most.min(room / first.size);
        let with =
            |count: usize| first.worth * count as i32 + tried(rest, room - count * first.size);
        counts.map(with).max().unwrap_or(0)
    }

    /// One table after the other in the same memory, larger and smaller ones: what each says is what trying everything says.
    #[test]
    fn every_room_is_worth_what_trying_everything_says() {
        let mut drawn = Drawn(3);
        let spare = Spare::default();
        for _ in 0..200 {
            let largest = 5 + drawn.below(40) as usize;
            let stocks: Vec<Stock> = (0..drawn.below(6))
                .map(|_| Stock {
                    size: 1 + drawn.below(50) as usize,
                    worth: drawn.below(30) as i32 - 5,
                    most: drawn.below(8) as usize,
                })
                .collect();
            let rooms = Rooms::of(&stocks, largest, &spare);
            for item in 0..=stocks.len() {
                for room in 0..=largest {
                    assert_eq!(rooms.worth(item, room), tried(&stocks[item..], room));
                }
            }
        }
        assert!(!spare.cells(1).is_empty());
    }
}
