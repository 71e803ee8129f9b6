//! Lanes of strips in one run without a list of them: which of them is worth most is a knapsack problem.
//!
//! Where no two margins reach beyond the distance between two fabrics, a lane of runs with the same margin m takes
//! Σ(t + G) − G + m, whatever their order: a sum. Dynamic programming over the room that is left tells for every item and
//! the items after it what they can be worth (Martello and Toth, Knapsack problems (1990), chapter 3, from memory).

use crate::exact::gcd;
use crate::hooping::kind::{Kind, Openness};
use crate::length::Length;

/// The most cells of the table.
const MOST_CELLS: usize = 6_000_000;

/// The lanes of a field that hold runs of some kinds, all closed and with one margin.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fill {
    /// Room in units.
    room: usize,
    items: Vec<Item>,
}

/// Runs of one kind.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Item {
    kind: usize,
    /// What a run takes, in units.
    size: usize,
    /// How many a lane can hold, as far as there are so many.
    most: usize,
}

/// What each item and those after it are worth by the room left.
pub struct Table<'f> {
    fill: &'f Fill,
    worth: Vec<i64>,
    /// How many of each item.
    most: Vec<usize>,
    /// By item, then by room.
    best: Vec<i64>,
}

impl Fill {
    /// The lanes of a field with this room along; `None` where they are not of this sort, or the table would be too large.
    pub fn of(
        along: Length,
        between: Length,
        kinds: &[Kind],
        usable: &[usize],
        most: &[usize],
    ) -> Option<Fill> {
        let first = &kinds[*usable.first()?];
        let alike = |kind: &usize| {
            kinds[*kind].openness == Openness::Closed
                && kinds[*kind].margin_along == first.margin_along
        };
        let margin = first.margin_along;
        if !usable.iter().all(alike) || margin > between {
            return None;
        }
        let room = (along + between - margin).nanometres();
        let sizes: Vec<i64> = usable
            .iter()
            .map(|kind| (kinds[*kind].length + between).nanometres())
            .collect();
        let unit = sizes
            .iter()
            .fold(0, |unit, size| gcd(unit, i128::from(*size)));
        let in_units = |length: i64| usize::try_from(i128::from(length) / unit.max(1)).ok();
        let room = in_units(room)?;
        let mut items = Vec::new();
        for (kind, size) in usable.iter().zip(sizes) {
            let size = in_units(size)?;
            let most = most[*kind].min(room / size.max(1));
            if size > 0 && most > 0 {
                items.push(Item {
                    kind: *kind,
                    size,
                    most,
                });
            }
        }
        items.sort_by_key(|item| (std::cmp::Reverse(item.size), item.kind));
        let cells = (items.len() + 1).checked_mul(room + 1)?;
        (cells <= MOST_CELLS).then_some(Fill { room, items })
    }

    /// What lanes are worth, where each kind has a worth and, where given, only so many runs `left`.
    pub fn table(&self, worth: &[i64], left: Option<&[usize]>) -> Table<'_> {
        let width = self.room + 1;
        let worth: Vec<i64> = self.items.iter().map(|item| worth[item.kind]).collect();
        let most = self.items.iter().map(|item| {
            let left = left.map_or(usize::MAX, |left| left[item.kind]);
            item.most.min(left)
        });
        let most: Vec<usize> = most.collect();
        let mut best = vec![0_i64; width * (self.items.len() + 1)];
        for (index, item) in self.items.iter().enumerate().rev() {
            let (now, after) = best[index * width..].split_at_mut(width);
            now.copy_from_slice(&after[..width]);
            let each = worth[index];
            if each <= 0 {
                continue;
            }
            // Binary pieces: 1, 2, 4, … and the rest of them, so that every number up to the most is a sum.
            let (mut more, mut piece) = (most[index], 1);
            while more > 0 {
                let count = piece.min(more);
                let (size, value) = (item.size * count, each.saturating_mul(count as i64));
                for room in (size..width).rev() {
                    now[room] = now[room].max(now[room - size] + value);
                }
                more -= count;
                piece *= 2;
            }
        }
        Table {
            fill: self,
            worth,
            most,
            best,
        }
    }
}

impl Table<'_> {
    /// The most that a lane is worth.
    pub fn most(&self) -> i64 {
        self.best[self.fill.room]
    }

    fn best(&self, item: usize, room: usize) -> i64 {
        self.best[item * (self.fill.room + 1) + room]
    }

    /// Lanes that are worth at least `least`, the fullest of large runs first, until `see` says that it is enough. Each is
    /// a list of kinds. Lanes to which a further run could be added are left out.
    pub fn worth_at_least(&self, least: i64, see: &mut dyn FnMut(i64, &[usize]) -> bool) {
        self.extend(0, self.fill.room, 0, least, &mut Vec::new(), see);
    }

    fn extend(
        &self,
        item: usize,
        room: usize,
        worth: i64,
        least: i64,
        chosen: &mut Vec<usize>,
        see: &mut dyn FnMut(i64, &[usize]) -> bool,
    ) -> bool {
        let Some(of) = self.fill.items.get(item) else {
            return worth < least || see(worth, chosen);
        };
        if worth + self.best(item, room) < least {
            return true;
        }
        let most = self.most[item].min(room / of.size);
        // The smallest runs fill what is left: fewer of them make a lane that could hold more.
        let fewest = if item + 1 == self.fill.items.len() {
            most
        } else {
            0
        };
        let before = chosen.len();
        chosen.extend(std::iter::repeat_n(of.kind, most));
        for count in (fewest..=most).rev() {
            chosen.truncate(before + count);
            let (size, value) = (of.size * count, self.worth[item] * count as i64);
            if !self.extend(item + 1, room - size, worth + value, least, chosen, see) {
                chosen.truncate(before);
                return false;
            }
        }
        chosen.truncate(before);
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn closed(length: i64) -> Kind {
        Kind {
            openness: Openness::Closed,
            class: None,
            length: Length::from_nanometres(length),
            width: Length::from_nanometres(1),
            margin_along: Length::ZERO,
            margin_across: Length::ZERO,
        }
    }

    /// By hand: room 10, runs of 6, 4 and 3 worth 7, 5 and 3; two of 4 are worth 10, 6 and 4 are worth 12.
    #[test]
    fn the_fullest_lane_is_not_always_the_most_of_one() {
        let kinds = [6, 4, 3].map(closed);
        let fill = Fill::of(
            Length::from_nanometres(10),
            Length::ZERO,
            &kinds,
            &[0, 1, 2],
            &[2, 2, 2],
        );
        let fill = fill.expect("additive");
        let table = fill.table(&[7, 5, 3], None);
        assert_eq!(table.most(), 12);
        let mut found = Vec::new();
        table.worth_at_least(10, &mut |worth, lane| {
            found.push((worth, lane.to_vec()));
            true
        });
        assert_eq!(
            found,
            [
                (12, vec![0, 1]),
                (10, vec![0, 2]),
                (10, vec![1, 1]),
                (11, vec![1, 2, 2])
            ]
        );
    }
}
