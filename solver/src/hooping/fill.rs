//! Lanes of strips in one run without a list of them: which of them is worth most is a knapsack problem.
//!
//! Where no two margins reach beyond the distance between two fabrics, a lane of runs with the same margin m takes
//! Σ(t + G) − G + m, whatever their order: a sum. Dynamic programming over the room that is left tells for every item and
//! the items after it what they can be worth (Martello and Toth, Knapsack problems (1990), chapter 3, from memory). Where a
//! lane holds few runs and the room has many units, the table is coarser: sizes and rooms rounded down to larger units tell
//! what lanes can be worth at most, and a search finds what they are.

use crate::exact::gcd;
use crate::hooping::kind::{Kind, Openness};
use crate::length::Length;

/// The most cells of the table.
const MOST_CELLS: usize = 6_000_000;
/// A table with more cells is made coarser where lanes hold few runs.
const MANY_CELLS: usize = 600_000;
/// So many runs are few.
const FEW_RUNS: usize = 8;
/// The most steps to find what a lane is worth; past them the coarse table tells what it is worth at most.
const MOST_STEPS: usize = 300_000;

/// The lanes of a field that hold runs of some kinds, all closed and with one margin.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fill {
    /// Room in units.
    room: usize,
    items: Vec<Item>,
    /// Units in one of the table.
    coarse: usize,
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
    /// By item, then by room in coarse units: what they can be worth at most.
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
                && kinds[*kind].class.is_none()
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
        let smallest = items.last().map_or(1, |item| item.size);
        let coarse = if room / smallest <= FEW_RUNS {
            cells.div_ceil(MANY_CELLS).max(1)
        } else {
            1
        };
        (cells / coarse <= MOST_CELLS).then_some(Fill {
            room,
            items,
            coarse,
        })
    }

    /// What lanes are worth, where each kind has a worth and, where given, only so many runs `left`.
    pub fn table(&self, worth: &[i64], left: Option<&[usize]>) -> Table<'_> {
        let width = self.room / self.coarse + 1;
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
                let size = item.size / self.coarse * count;
                let value = each.saturating_mul(count as i64);
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
    /// The most that a lane is worth; or, where that took too long to find, what none is worth more than.
    pub fn most(&self) -> i64 {
        let at_most = self.best(0, self.fill.room);
        if self.fill.coarse == 1 {
            return at_most;
        }
        let mut found = 0;
        let mut steps = 0;
        let mut see = |worth: i64, _: &[usize]| {
            found = worth;
            Some(worth + 1)
        };
        let whole = self.extend(
            Place::of(self),
            &mut 1,
            &mut steps,
            &mut Vec::new(),
            &mut see,
        );
        if whole { found } else { at_most }
    }

    /// For each item the best lane of which it is the longest run, if that is worth at least `least`: what it is worth, and its
    /// kinds. The best lanes come first. Also what no lane is worth more than.
    pub fn best_of_each(&self, least: i64) -> (i64, Vec<(i64, Vec<usize>)>) {
        let mut lanes: Vec<(i64, Vec<usize>)> = Vec::new();
        let mut most = least.saturating_sub(1);
        let mut steps = 0;
        for (number, item) in self.fill.items.iter().enumerate() {
            // A lane is worth no less without a run that is worth nothing.
            if self.worth[number] <= 0 {
                continue;
            }
            let fits = self.most[number].min(self.fill.room / item.size);
            let mut least = least;
            let mut found = None;
            for count in (1..=fits).rev() {
                let at = Place {
                    item: number + 1,
                    room: self.fill.room - item.size * count,
                    worth: self.worth[number] * count as i64,
                };
                let mut see = |worth: i64, lane: &[usize]| {
                    found = Some((worth, lane.to_vec()));
                    Some(worth + 1)
                };
                let mut chosen = vec![item.kind; count];
                if !self.extend(at, &mut least, &mut steps, &mut chosen, &mut see) {
                    most = most.max(at.worth + self.best(at.item, at.room));
                }
            }
            lanes.extend(found);
        }
        lanes.sort_by_key(|(worth, _)| std::cmp::Reverse(*worth));
        most = lanes.first().map_or(most, |(worth, _)| most.max(*worth));
        (most, lanes)
    }

    fn best(&self, item: usize, room: usize) -> i64 {
        let coarse = self.fill.coarse;
        self.best[item * (self.fill.room / coarse + 1) + room / coarse]
    }

    /// Lanes that are worth at least `least`, the fullest of large runs first, until `see` says that it is enough. Each is
    /// a list of kinds. Lanes to which a further run could be added are left out.
    /// False where some may be missing.
    pub fn worth_at_least(&self, least: i64, see: &mut dyn FnMut(i64, &[usize]) -> bool) -> bool {
        let mut see = |worth: i64, lane: &[usize]| see(worth, lane).then_some(least);
        let begin = Place::of(self);
        self.extend(begin, &mut { least }, &mut 0, &mut Vec::new(), &mut see)
    }

    /// Goes on with an item and those after it. `see` says what a lane has to be worth from then on, or that it is enough.
    /// False where the search ended early.
    fn extend(
        &self,
        at: Place,
        least: &mut i64,
        steps: &mut usize,
        chosen: &mut Vec<usize>,
        see: &mut See<'_>,
    ) -> bool {
        let Some(of) = self.fill.items.get(at.item) else {
            if at.worth >= *least {
                match see(at.worth, chosen) {
                    Some(now) => *least = now,
                    None => return false,
                }
            }
            return true;
        };
        if at.worth + self.best(at.item, at.room) < *least {
            return true;
        }
        *steps += 1;
        if *steps > MOST_STEPS {
            return false;
        }
        let most = self.most[at.item].min(at.room / of.size);
        // The smallest runs fill what is left: fewer of them make a lane that could hold more.
        let fewest = if at.item + 1 == self.fill.items.len() {
            most
        } else {
            0
        };
        let before = chosen.len();
        chosen.extend(std::iter::repeat_n(of.kind, most));
        for count in (fewest..=most).rev() {
            chosen.truncate(before + count);
            let next = Place {
                item: at.item + 1,
                room: at.room - of.size * count,
                worth: at.worth + self.worth[at.item] * count as i64,
            };
            if !self.extend(next, least, steps, chosen, see) {
                chosen.truncate(before);
                return false;
            }
        }
        chosen.truncate(before);
        true
    }
}

/// Takes the worth of a lane and its kinds.
type See<'s> = dyn FnMut(i64, &[usize]) -> Option<i64> + 's;

/// Where a search is: the next item, the room that is left, and what is chosen so far is worth.
#[derive(Clone, Copy)]
struct Place {
    item: usize,
    room: usize,
    worth: i64,
}

impl Place {
    fn of(table: &Table<'_>) -> Place {
        Place {
            item: 0,
            room: table.fill.room,
            worth: 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn closed(length: i64) -> Kind {
        Kind {
            openness: Openness::Closed,
            class: None,
            hoops: crate::wishes::EVERY_HOOP,
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

        let best = [(12, vec![0, 1]), (11, vec![1, 2, 2]), (6, vec![2, 2])];
        assert_eq!(table.best_of_each(1), (12, best.to_vec()));
        // What is worth less need not be found, and none is worth more than what is not enough.
        assert_eq!(table.best_of_each(11), (12, best[..2].to_vec()));
        assert_eq!(table.best_of_each(20), (19, Vec::new()));
    }
}
