//! Lanes of strips in one run without a list of them: which of them is worth most is a knapsack problem.
//!
//! Where no two margins reach beyond the distance between two fabrics, a lane of runs with the same margin m takes
//! Σ(t + G) − G + m, whatever their order: a sum. Dynamic programming over the room that is left tells for every item and
//! the items after it what they can be worth (Martello and Toth, Knapsack problems (1990), chapter 3, from memory). The table
//! counts worth in units, rounded up, and where the room has very many units of length it is coarser, with sizes and rooms
//! rounded down: so it tells what lanes can be worth at most, and a search finds what they are.

use crate::exact::gcd;
use crate::hooping::kind::{Kind, Openness};
use crate::hooping::rooms::{Rooms, Spare, Stock};
use crate::length::Length;

/// A table with more cells is made coarser.
const MOST_CELLS: usize = 16_000_000;
/// No run may be smaller than so many units of a coarse table, which would tell too little.
const SMALLEST: usize = 16;
/// The worthiest lane is worth no more than about so many units: four bytes hold them, and such small numbers are quick to go through.
const MOST_UNITS: i128 = 1 << 30;
/// The most steps to find what a lane is worth; past them the table tells what it is worth at most.
const MOST_STEPS: usize = 300_000;
/// The same for a list of lanes.
const MOST_LISTING: usize = 1_000_000;

/// The lanes of a field that hold runs of some kinds, all closed and with one margin.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fill {
    /// Room in units.
    room: usize,
    items: Vec<Item>,
    /// Units in one of the table.
    coarse: usize,
    /// Where tables get their memory from.
    spare: Spare,
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
    /// What each item and those after it can be worth at most, in units of worth, by room in coarse units.
    best: Rooms<'f>,
    /// How much of worth one unit is.
    unit: i64,
    /// By item: what a run of it, or of one after it, is worth at most.
    top: Vec<i64>,
}

impl Fill {
    /// The lanes of a field with this room along; `None` where they are not of this sort, or so small that a
    /// table would tell too little.
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
        let coarse = cells.div_ceil(MOST_CELLS).max(1);
        let smallest = items.last().map_or(0, |item| item.size);
        let tells_enough = coarse == 1 || smallest / coarse >= SMALLEST;
        tells_enough.then_some(Fill {
            room,
            items,
            coarse,
            spare: Spare::default(),
        })
    }

    /// Each kind with what its runs take of the room, and the room, in units.
    pub fn shares(&self) -> impl Iterator<Item = (usize, usize, usize)> {
        let items = self.items.iter();
        items.map(|item| (item.kind, item.size, self.room))
    }

    /// What lanes are worth, where each kind has a worth and, where given, only so many runs `left`.
    pub fn table(&self, worth: &[i64], left: Option<&[usize]>) -> Table<'_> {
        let worth: Vec<i64> = self.items.iter().map(|item| worth[item.kind]).collect();
        let most = self.items.iter().map(|item| {
            let left = left.map_or(usize::MAX, |left| left[item.kind]);
            item.most.min(left)
        });
        let most: Vec<usize> = most.collect();
        // No lane is worth more than one filled with what is worth most for its size.
        let filled = self.items.iter().zip(&worth);
        let filled =
            filled.map(|(item, each)| i128::from(*each) * (self.room / item.size + 1) as i128);
        let unit = filled.max().unwrap_or(0).max(0) / MOST_UNITS + 1;
        let unit = i64::try_from(unit).unwrap_or(i64::MAX);
        let stocks = self.items.iter().zip(&worth).zip(&most);
        let stocks: Vec<Stock> = stocks
            .map(|((item, worth), most)| Stock {
                size: item.size / self.coarse,
                // Rounded up.
                worth: (-(-worth.max(&0)).div_euclid(unit)) as i32,
                most: *most,
            })
            .collect();
        let best = Rooms::of(&stocks, self.room / self.coarse, &self.spare);
        let mut top = worth.clone();
        for item in (1..top.len()).rev() {
            top[item - 1] = top[item - 1].max(top[item]);
        }
        Table {
            fill: self,
            top,
            worth,
            most,
            best,
            unit,
        }
    }
}

impl Table<'_> {
    /// What no lane is worth more than, and the lane that is worth most, or nearly: what it is worth, and its kinds.
    pub fn best_lane(&self) -> (i64, (i64, Vec<usize>)) {
        let mut found = (0, Vec::new());
        let mut see = |worth: i64, lane: &[usize]| {
            found = (worth, lane.to_vec());
            Some(self.up_to(worth).saturating_add(1))
        };
        let whole = self.go_on(Place::of(self), &mut Walk::new(1, MOST_STEPS, &mut see));
        let most = if whole {
            self.up_to(found.0)
        } else {
            self.best(0, self.fill.room)
        };
        (most, found)
    }

    /// For each item the best lane of which it is the longest run, or nearly the best, if that is worth at least `least` and what rounding
    /// adds: what it is worth, and its kinds. The best lanes come first. Also what no lane is worth more than.
    pub fn best_of_each(&self, least: i64) -> (i64, Vec<(i64, Vec<usize>)>) {
        let mut lanes: Vec<(i64, Vec<usize>)> = Vec::new();
        // Many lanes are worth just less than what counts, and the table cannot tell them from those that are worth it.
        let least = self.up_to(least);
        let mut most = least.saturating_sub(1);
        let mut steps = MOST_STEPS;
        for (number, item) in self.fill.items.iter().enumerate() {
            // A lane is worth no less without a run that is worth nothing.
            if self.worth[number] <= 0 {
                continue;
            }
            let fits = self.most[number].min(self.fill.room / item.size);
            let mut found = None;
            let mut see = |worth: i64, lane: &[usize]| {
                found = Some((worth, lane.to_vec()));
                Some(self.up_to(worth).saturating_add(1))
            };
            let mut walk = Walk::new(least, steps, &mut see);
            for count in (1..=fits).rev() {
                let at = Place {
                    item: number + 1,
                    room: self.fill.room - item.size * count,
                    worth: self.worth[number] * count as i64,
                };
                walk.chosen = vec![item.kind; count];
                if !self.go_on(at, &mut walk) {
                    most = most.max(at.worth.saturating_add(self.best(at.item, at.room)));
                }
            }
            steps = walk.steps;
            lanes.extend(found);
        }
        lanes.sort_by_key(|(worth, _)| std::cmp::Reverse(*worth));
        most = lanes
            .first()
            .map_or(most, |(worth, _)| most.max(self.up_to(*worth)));
        (most, lanes)
    }

    /// The most that a lane can be worth that the table cannot tell from one worth so much.
    fn up_to(&self, worth: i64) -> i64 {
        worth.saturating_add(self.slack())
    }

    /// What rounding adds to the worth of a lane, at most.
    fn slack(&self) -> i64 {
        let smallest = self.fill.items.last().map_or(1, |item| item.size);
        (self.unit - 1).saturating_mul((self.fill.room / smallest) as i64)
    }

    fn best(&self, item: usize, room: usize) -> i64 {
        let coarse = self.fill.coarse;
        let units = self.best.worth(item, room / coarse);
        i64::from(units).saturating_mul(self.unit)
    }

    /// Lanes of at most `runs` runs that are worth at least `least`, the fullest of large runs first, until `see` says that it is
    /// enough. Each is a list of kinds. Lanes to which a further run could be added are left out.
    /// False where some may be missing.
    pub fn worth_at_least(
        &self,
        least: i64,
        runs: usize,
        see: &mut dyn FnMut(i64, &[usize]) -> bool,
    ) -> bool {
        let mut see = |worth: i64, lane: &[usize]| see(worth, lane).then_some(least);
        let mut walk = Walk {
            runs,
            ..Walk::new(least, MOST_LISTING, &mut see)
        };
        self.go_on(Place::of(self), &mut walk)
    }

    /// Goes on with an item and those after it. False where the search ended early.
    fn go_on(&self, at: Place, walk: &mut Walk<'_>) -> bool {
        let before = walk.chosen.len();
        let left = walk.runs.saturating_sub(before);
        // Items that are too long for the room come first.
        let fit = self.fill.items.partition_point(|item| item.size > at.room);
        let items = self.fill.items.iter().enumerate().skip(at.item.max(fit));
        for (item, of) in items.take_while(|_| left > 0) {
            let runs = i64::try_from(left).unwrap_or(i64::MAX);
            let most = self
                .best(item, at.room)
                .min(self.top[item].max(0).saturating_mul(runs));
            if at.worth.saturating_add(most) < walk.least {
                return true;
            }
            if walk.steps == 0 {
                return false;
            }
            walk.steps -= 1;
            let most = self.most[item].min(at.room / of.size).min(left);
            // The smallest runs fill what is left: fewer of them make a lane that could hold more.
            let is_last = item + 1 == self.fill.items.len();
            let fewest = if is_last { most.max(1) } else { 1 };
            walk.chosen.extend(std::iter::repeat_n(of.kind, most));
            for count in (fewest..=most).rev() {
                walk.chosen.truncate(before + count);
                let next = Place {
                    item: item + 1,
                    room: at.room - of.size * count,
                    worth: at.worth + self.worth[item] * count as i64,
                };
                if !self.go_on(next, walk) {
                    walk.chosen.truncate(before);
                    return false;
                }
            }
            walk.chosen.truncate(before);
            if is_last && most > 0 {
                return true;
            }
        }
        if at.worth >= walk.least {
            match (walk.see)(at.worth, &walk.chosen) {
                Some(least) => walk.least = least,
                None => return false,
            }
        }
        true
    }
}

/// Says what a lane has to be worth from then on, or that it is enough, by its worth and kinds.
type See<'s> = dyn FnMut(i64, &[usize]) -> Option<i64> + 's;

/// A search for lanes.
struct Walk<'w> {
    /// What a lane has to be worth.
    least: i64,
    /// How many steps are left.
    steps: usize,
    /// The most runs of a lane.
    runs: usize,
    chosen: Vec<usize>,
    see: &'w mut See<'w>,
}

impl<'w> Walk<'w> {
    fn new(least: i64, steps: usize, see: &'w mut See<'w>) -> Walk<'w> {
        Walk {
            least,
            steps,
            runs: usize::MAX,
            chosen: Vec::new(),
            see,
        }
    }
}

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
    use crate::drawn::Drawn;

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
        assert_eq!(table.best_lane(), (12, (12, vec![0, 1])));
        let mut found = Vec::new();
        table.worth_at_least(10, usize::MAX, &mut |worth, lane| {
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

    /// Every lane of a fill, by trying all counts: what it is worth.
    fn worths(fill: &Fill, table: &Table<'_>, item: usize, room: usize) -> Vec<i64> {
        let Some(of) = fill.items.get(item) else {
            return vec![0];
        };
        let counts = 0..=table.most[item].min(room / of.size);
        let with = |count: usize| {
            let rest = worths(fill, table, item + 1, room - count * of.size);
            rest.into_iter()
                .map(move |worth| worth + table.worth[item] * count as i64)
        };
        counts.flat_map(with).collect()
    }

    /// Where worth is counted in units, and room in coarse ones, what is said of lanes is what trying all of them says, but for rounding.
    #[test]
    fn a_rounded_table_says_no_less_than_there_is_and_hardly_more() {
        let mut drawn = Drawn(1);
        let mut below = |end: u64| drawn.below(end);
        for _ in 0..300 {
            let lengths: Vec<i64> = (0..6).map(|_| 20 + below(60) as i64).collect();
            let kinds: Vec<Kind> = lengths.iter().map(|length| closed(*length)).collect();
            let most: Vec<usize> = (0..6).map(|_| 1 + below(3) as usize).collect();
            let along = Length::from_nanometres(100 + below(100) as i64);
            let fill = Fill::of(along, Length::ZERO, &kinds, &[0, 1, 2, 3, 4, 5], &most);
            let mut fill = fill.expect("additive");
            fill.coarse = 1 + below(3) as usize;
            // As multipliers are: nearly in proportion to the lengths.
            let worth: Vec<i64> = lengths
                .iter()
                .map(|length| (length << 40) + below(1 << 36) as i64 - (1 << 38))
                .collect();
            let table = fill.table(&worth, None);
            assert!(table.unit > 1);
            let slack = table.slack();
            let mut all = worths(&fill, &table, 0, fill.room);
            all.sort_unstable();
            let best = *all.last().expect("an empty lane at least");

            let (said, (found, lane)) = table.best_lane();
            assert_eq!(lane.iter().map(|kind| worth[*kind]).sum::<i64>(), found);
            assert!(found <= best && best <= said && said <= found + slack);
            let (said, lanes) = table.best_of_each(1);
            let found = lanes.first().map_or(0, |(worth, _)| *worth);
            assert!(found <= best && best <= said && said <= found + slack);
            // All lanes that are worth so much, but for those that could hold more.
            let least = best - (1 << 38);
            let mut listed = 0;
            assert!(table.worth_at_least(least, usize::MAX, &mut |worth, _| {
                assert!(worth >= least);
                listed += 1;
                true
            }));
            let there = all.iter().filter(|worth| **worth >= least).count();
            assert!(0 < listed && listed <= there, "{listed} of {there}");
        }
    }
}
