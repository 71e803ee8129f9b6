//! Set partitioning: columns that hold every row exactly as often as it asks.
//!
//! Where nothing may be wasted a linear program tells little: most of its values are parts, and what is rounded leaves rows over that no
//! columns fit together any more. Two searches take turns: a quick one, and one that learns from where it failed. Where points are rare but
//! little forbids them the first finds one sooner; where a few rows can be held in a few ways only, and the others hide it, the second. Of
//! that `learning` decides, `rows` and `clauses` say what follows, `trail` keeps what is settled and why, and `learn` makes a clause of a
//! conflict.

mod clauses;
mod larger;
mod learn;
mod learning;
mod literal;
mod quick;
mod rows;
mod trail;

use crate::deadline::Deadline;
use crate::partition::larger::Larger;
use crate::partition::learning::Learning;
use crate::partition::quick::{Quick, Table};
use crate::random::SplitMix64;

/// What one column left of a row is worth in the order of columns, and by how much of that, in per cent, chance may change it.
const RARE: u64 = 1 << 32;
const CHANCE: u64 = 10;
/// The first turns: so many nodes of the quick search, and so many literals that the other one settles. Each later turn is twice as long.
const NODES: usize = 100_000;
const LITERALS: usize = 250_000;

/// A column: rows in ascending order, each with how often it is held.
pub type Entries = Vec<(u32, u32)>;

/// What a search says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Parted {
    /// These columns; the same one may be there several times.
    Found(Vec<usize>),
    /// There are none: that was proven.
    None,
    /// The search ended before that. These columns are the most that it had chosen.
    Unknown(Vec<usize>),
}

/// Chooses columns that hold each row as often as it asks, with so many turns of each search at most; `count` is how many columns a point
/// has, where that is known. `seed` makes each search another one.
pub fn partition(
    asked: &[u32],
    columns: &[Entries],
    count: Option<usize>,
    turns: u32,
    seed: u64,
    deadline: &Deadline,
) -> Parted {
    let larger = Larger::of(asked, columns, count);
    let table = Table::of(asked.len(), columns);
    let Some(mut quick) = Quick::begin(asked, &table, &larger, seed) else {
        return Parted::None;
    };
    let mut learning = Learning::begin(asked, columns, &larger, seed);
    for turn in 0..turns {
        match quick.run(NODES << turn, deadline) {
            Some(true) => return Parted::Found(quick.chosen()),
            Some(false) => return Parted::None,
            None => {}
        }
        if let Some(learning) = &mut learning {
            match learning.run(LITERALS << turn, deadline) {
                Some(true) => return Parted::Found(learning.chosen()),
                Some(false) => return Parted::None,
                None => {}
            }
        }
        if deadline.over() {
            break;
        }
    }
    let other = learning.map(|learning| learning.deepest());
    let deepest = [quick.deepest(), other.unwrap_or_default()];
    let longest = deepest.into_iter().max_by_key(Vec::len);
    Parted::Unknown(longest.unwrap_or_default())
}

/// How promising a column is: how few columns its rows have left, at the mean, so that rows with many come last; with some chance.
fn promise(column: &[(u32, u32)], left: impl Fn(u32) -> u32, random: &mut SplitMix64) -> u64 {
    let (mut rare, mut size) = (0, 0);
    for (row, times) in column {
        rare += RARE / u64::from(left(*row));
        size += u64::from(*times);
    }
    rare / size / 100 * (100 + random.below(CHANCE + 1))
}

/// 1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8, …: how long searches that begin anew last (Luby, Sinclair and Zuckerman, Optimal speedup of
/// Las Vegas algorithms, Information Processing Letters 47 (1993) 173–180, from memory).
fn luby(number: usize) -> usize {
    let mut number = number;
    loop {
        // The first number above of the form 2^k − 1.
        let next = (number + 1).next_power_of_two();
        if number + 1 == next {
            return next / 2;
        }
        number -= next / 2 - 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deadline::StopSignal;
    use crate::drawn::Drawn;
    use std::time::Duration;

    fn deadline() -> Deadline {
        Deadline::after(Duration::from_secs(60), StopSignal::new())
    }

    fn at_once(rows: &[u32]) -> Entries {
        rows.iter().map(|row| (*row, 1)).collect()
    }

    /// Knuth, Dancing links, page 2 (from memory): seven rows, six columns, one exact cover.
    #[test]
    fn the_example_of_dancing_links() {
        let columns = [
            at_once(&[2, 4, 5]),
            at_once(&[0, 3, 6]),
            at_once(&[1, 2, 5]),
            at_once(&[0, 3]),
            at_once(&[1, 6]),
            at_once(&[3, 4, 6]),
        ];
        for way in [Way::Quick, Way::Learning, Way::Both] {
            let found = said(way, &[1; 7], &columns, None, 1);
            let Parted::Found(mut chosen) = found else {
                panic!("{found:?}");
            };
            chosen.sort_unstable();
            assert_eq!(chosen, [0, 3, 4]);
            // Without one of them there is none.
            assert_eq!(said(way, &[1; 7], &columns[1..], None, 1), Parted::None);
        }
    }

    /// 1, 1, 2, 1, 1, 2, 4: the sequence as Luby, Sinclair and Zuckerman give it (from memory).
    #[test]
    fn searches_begin_anew_by_the_sequence_of_luby() {
        let first: Vec<usize> = (1..=15).map(luby).collect();
        assert_eq!(first, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
    }

    /// Which of the searches.
    #[derive(Clone, Copy, Debug)]
    enum Way {
        Quick,
        Learning,
        Both,
    }

    /// What a search says that has as long as it needs.
    fn said(
        way: Way,
        asked: &[u32],
        columns: &[Entries],
        count: Option<usize>,
        seed: u64,
    ) -> Parted {
        let larger = Larger::of(asked, columns, count);
        let parted = |said: Option<bool>, chosen: &dyn Fn() -> Vec<usize>| match said {
            Some(true) => Parted::Found(chosen()),
            Some(false) => Parted::None,
            None => Parted::Unknown(Vec::new()),
        };
        match way {
            Way::Quick => {
                let table = Table::of(asked.len(), columns);
                let Some(mut quick) = Quick::begin(asked, &table, &larger, seed) else {
                    return Parted::None;
                };
                let said = quick.run(10_000_000, &deadline());
                parted(said, &|| quick.chosen())
            }
            Way::Learning => {
                let search = Learning::begin(asked, columns, &larger, seed);
                let Some(mut learning) = search else {
                    return Parted::Unknown(Vec::new());
                };
                let said = learning.run(100_000_000, &deadline());
                parted(said, &|| learning.chosen())
            }
            Way::Both => partition(asked, columns, count, 5, seed, &deadline()),
        }
    }

    /// Whether some choice of columns holds what is asked, and is of so many where that is known: by trying every number of each.
    fn exists(asked: &mut [u32], columns: &[Entries], count: Option<usize>) -> bool {
        if asked.iter().all(|asked| *asked == 0) {
            return count.is_none_or(|count| count == 0);
        }
        let Some((column, rest)) = columns.split_last() else {
            return false;
        };
        if exists(asked, rest, count) {
            return true;
        }
        let mut rows = column.iter();
        if count == Some(0) || !rows.all(|(row, times)| asked[*row as usize] >= *times) {
            return false;
        }
        for (row, times) in column {
            asked[*row as usize] -= times;
        }
        let found = exists(asked, columns, count.map(|count| count - 1));
        for (row, times) in column {
            asked[*row as usize] += times;
        }
        found
    }

    /// Rows that ask for at most so much, and columns that hold some of them, some more than once.
    fn draw(drawn: &mut Drawn, rows: usize, columns: usize, most: u32) -> (Vec<u32>, Vec<Entries>) {
        let asked = (0..rows).map(|_| drawn.below(most.into()) as u32);
        let asked: Vec<u32> = asked.collect();
        let columns = (0..columns).map(|_| {
            let times = (0..rows).map(|_| (drawn.below(5) as u32).saturating_sub(2));
            let entries = (0..).zip(times).filter(|(_, times)| *times > 0);
            entries.collect()
        });
        let columns: Vec<Entries> = columns.collect();
        let columns = columns.into_iter().filter(|column| !column.is_empty());
        (asked, columns.collect())
    }

    /// Fails unless columns hold what is asked.
    fn assert_held(chosen: &[usize], columns: &[Entries], asked: &[u32], case: u64) {
        let mut held = vec![0; asked.len()];
        for (row, times) in chosen.iter().flat_map(|column| &columns[*column]) {
            held[*row as usize] += times;
        }
        assert_eq!(held, asked, "case {case}");
    }

    /// Columns that hold rows more than once, and rows that ask for more than one: each search finds a point where trying all says that
    /// there is one, and it holds what is asked.
    #[test]
    fn each_finds_a_point_where_there_is_one_and_else_says_that_there_is_none() {
        let mut drawn = Drawn(7);
        let mut found_some = [0, 0];
        for case in 0..3_000 {
            let (rows, columns) = (2 + drawn.index(5), 2 + drawn.index(10));
            let (asked, columns) = draw(&mut drawn, rows, columns, 4);
            // Whether or not it is known how many columns a point has.
            let count = Some(1 + drawn.index(4)).filter(|_| case % 2 == 0);
            let expected = exists(&mut asked.clone(), &columns, count);
            // With a number that is not that of any point nothing is promised but that what is found is one.
            let other = exists(&mut asked.clone(), &columns, None);
            found_some[usize::from(expected)] += 1;
            for way in [Way::Quick, Way::Learning, Way::Both] {
                match said(way, &asked, &columns, count, case) {
                    Parted::Found(chosen) => {
                        assert!(other, "case {case} {way:?}");
                        assert_held(&chosen, &columns, &asked, case);
                    }
                    Parted::None => assert!(!expected, "case {case} {way:?}"),
                    Parted::Unknown(_) => panic!("case {case} is small"),
                }
            }
        }
        assert!(
            found_some.iter().all(|count| *count > 100),
            "{found_some:?}"
        );
    }

    /// Where trying all takes too long the two searches say the same.
    #[test]
    fn both_say_the_same() {
        let mut drawn = Drawn(11);
        let mut found_some = [0, 0];
        for case in 0..300 {
            let (asked, mut columns) = draw(&mut drawn, 24, 0, 3);
            // Three or four rows each, so that points are of several columns.
            for _ in 0..130 {
                let mut rows: Vec<u32> = (0..3 + drawn.index(2))
                    .map(|_| drawn.index(24) as u32)
                    .collect();
                rows.sort_unstable();
                rows.dedup();
                columns.push(at_once(&rows));
            }
            let quick = said(Way::Quick, &asked, &columns, None, case);
            let learning = said(Way::Learning, &asked, &columns, None, case);
            match (&quick, &learning) {
                (Parted::Found(one), Parted::Found(other)) => {
                    assert_held(one, &columns, &asked, case);
                    assert_held(other, &columns, &asked, case);
                    found_some[1] += 1;
                }
                (Parted::None, Parted::None) => found_some[0] += 1,
                _ => panic!("case {case}: {quick:?}, {learning:?}"),
            }
        }
        assert!(found_some.iter().all(|count| *count > 20), "{found_some:?}");
    }
}
