//! Runs are put into a given number of lanes, one lane after the other.
//!
//! Each lane takes the longest run that is left, and with it runs that fill it, or leave no more of it empty than they may: longer ones
//! rather than short ones, which still fit where others do not. (One bin after the other with the least slack: Gupta and Ho, A new heuristic
//! algorithm for the one-dimensional bin-packing problem, Production Planning & Control 10 (1999) 598–603, from memory.) What runs can add
//! up to is a set of bits, one for each unit of room: adding a run shifts it.

use crate::deadline::Deadline;
use crate::random::SplitMix64;

/// So often at most the lanes are filled anew.
const ATTEMPTS: usize = 40;
/// Words of bits that are shifted in all.
const MOST_SHIFTED: usize = 50_000_000;
/// More runs are not looked at.
const MOST_RUNS: usize = 4_000;
/// Words of bits that are kept at once.
const MOST_KEPT: usize = 4_000_000;
/// The most parts of a lane that runs are counted in.
const MOST_PARTS: u128 = 20;
/// What a lane may leave empty, in halves of an even share of what all may: by attempt. Later ones do the same again, and leave out a run in
/// ten, two or three, by chance.
const EMPTY: [usize; 4] = [0, 2, 1, 3];

/// No way to put runs of these sizes into lanes with so much room has fewer lanes: for k from 1 on a run of size s counts as
/// ⌊(k + 1) s / room⌋ / k of a lane, or as s / room where that is whole (Fekete and Schepers, New classes of fast lower bounds for bin
/// packing problems, Mathematical Programming 91 (2001) 11–31, from memory).
pub fn fewest_lanes(sizes: &[usize], room: usize) -> u128 {
    let room = room.max(1) as u128;
    let counts_as = |size: &usize, parts: u128| {
        let grown = (parts + 1) * *size as u128;
        if grown.is_multiple_of(room) {
            *size as u128 * parts
        } else {
            grown / room * room
        }
    };
    let of_parts = |parts: u128| {
        let all = sizes.iter().map(|size| counts_as(size, parts));
        all.sum::<u128>().div_ceil(parts * room)
    };
    (1..=MOST_PARTS).map(of_parts).max().unwrap_or(0)
}

/// What is to be put into lanes.
pub struct Packing {
    /// What each run takes of a lane, the longest first.
    pub sizes: Vec<usize>,
    /// What each lane has.
    pub room: usize,
    /// How many lanes there are.
    pub lanes: usize,
}

impl Packing {
    /// The runs (indices) of each lane, where a way is found for all of them.
    pub fn find(&self, deadline: &Deadline) -> Option<Vec<Vec<usize>>> {
        let mut sizes = self.sizes.iter();
        let needed = sizes.try_fold(0_usize, |sum, size| sum.checked_add(*size))?;
        let empty = self.room.checked_mul(self.lanes)?.checked_sub(needed)?;
        let kept = (self.room / BITS + 1).checked_mul(self.sizes.len() + 1)?;
        let too_long = self.sizes.first().is_some_and(|size| *size > self.room);
        if kept > MOST_KEPT || self.sizes.len() > MOST_RUNS || too_long {
            return None;
        }
        let mut sums = Sums::new();
        let mut attempts = (0..ATTEMPTS).map_while(|attempt| {
            let may_go_on = !sums.is_used_up && !deadline.over();
            may_go_on.then(|| self.attempt(attempt, empty, &mut sums, deadline))
        });
        attempts.find_map(|found| found)
    }

    /// One try, in which all lanes together leave so much empty.
    fn attempt(
        &self,
        number: usize,
        empty: usize,
        sums: &mut Sums,
        deadline: &Deadline,
    ) -> Option<Vec<Vec<usize>>> {
        let mut random = SplitMix64::new(number as u64);
        let by_chance = number >= EMPTY.len();
        let out_of_ten = 1 + number as u64 % 3;
        let (mut lanes, mut empty) = (Vec::new(), empty);
        let mut left: Vec<usize> = (0..self.sizes.len()).collect();
        while let Some((longest, others)) = left.split_first() {
            if deadline.over() {
                return None;
            }
            let lanes_left = self.lanes - lanes.len();
            let share = empty.checked_div(lanes_left)? * EMPTY[number % EMPTY.len()] / 2;
            let may_be = empty.min(share);
            let room = self.room - self.sizes[*longest];
            let run = |other: &usize| (*other, self.sizes[*other]);
            let is_in = |_: &&usize| !by_chance || random.below(10) >= out_of_ten;
            let some = others.iter().filter(is_in).map(run);
            let mut filled = sums.fill(some, room, may_be)?;
            // What chance left out is taken again where the lane would stay emptier without than all may be.
            if by_chance && room - filled > empty {
                filled = sums.fill(others.iter().map(run), room, may_be)?;
            }
            empty = empty.checked_sub(room - filled)?;
            let mut lane = vec![*longest];
            lane.extend(sums.runs(filled));
            left.retain(|run| !lane.contains(run));
            lanes.push(lane);
        }
        Some(lanes)
    }
}

const BITS: usize = u64::BITS as usize;

/// What runs can add up to, up to some room.
struct Sums {
    /// Words of each row.
    width: usize,
    /// One row for each run, and one before them: which sums the runs up to it have.
    rows: Vec<u64>,
    /// Each run and its size.
    runs: Vec<(usize, usize)>,
    /// Words that may still be shifted, and whether there were too few.
    left: usize,
    is_used_up: bool,
}

impl Sums {
    fn new() -> Sums {
        Sums {
            width: 0,
            rows: Vec::new(),
            runs: Vec::new(),
            left: MOST_SHIFTED,
            is_used_up: false,
        }
    }

    /// Takes one run after the other until some leave no more than `may_be` of the room: what they add up to then. `None` where that is
    /// too much work.
    fn fill(
        &mut self,
        runs: impl Iterator<Item = (usize, usize)>,
        room: usize,
        may_be: usize,
    ) -> Option<usize> {
        self.width = room / BITS + 1;
        self.runs.clear();
        self.rows.clear();
        self.rows.resize(self.width, 0);
        self.rows[0] = 1;
        let mut filled = 0;
        for (run, size) in runs.filter(|(_, size)| *size <= room) {
            if filled + may_be >= room {
                break;
            }
            let left = self.left.checked_sub(self.width);
            self.is_used_up = left.is_none();
            self.left = left?;
            self.add(size, room);
            self.runs.push((run, size));
            filled = self.largest();
        }
        Some(filled)
    }

    /// A row more: the sums without and with a run of this size.
    fn add(&mut self, size: usize, room: usize) {
        let (words, bits) = (size / BITS, size % BITS);
        let last = self.rows.len() - self.width;
        for word in 0..self.width {
            let mut sums = self.rows[last + word];
            if let Some(from) = word.checked_sub(words) {
                sums |= self.rows[last + from] << bits;
                if bits > 0 && from > 0 {
                    sums |= self.rows[last + from - 1] >> (BITS - bits);
                }
            }
            self.rows.push(sums);
        }
        // Nothing adds up to more than the room.
        if let Some(word) = self.rows.last_mut() {
            *word &= u64::MAX >> (BITS - 1 - room % BITS);
        }
    }

    /// The largest sum of the last row.
    fn largest(&self) -> usize {
        let row = self.rows.chunks_exact(self.width).last().unwrap_or(&[]);
        let word = row.iter().rposition(|word| *word != 0).unwrap_or(0);
        word * BITS + row[word].checked_ilog2().unwrap_or(0) as usize
    }

    /// Whether the first runs have this sum.
    fn has(&self, runs: usize, sum: usize) -> bool {
        self.rows[runs * self.width + sum / BITS] >> (sum % BITS) & 1 == 1
    }

    /// Runs that add up to this sum: those whose shortest one is longest.
    fn runs(&self, sum: usize) -> Vec<usize> {
        let (mut found, mut sum, mut first) = (Vec::new(), sum, self.runs.len());
        while sum > 0 {
            while self.has(first - 1, sum) {
                first -= 1;
            }
            first -= 1;
            let (run, size) = self.runs[first];
            found.push(run);
            sum -= size;
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::Drawn;
    use std::collections::BTreeSet;

    fn find(sizes: &[usize], room: usize, lanes: usize) -> Option<Vec<Vec<usize>>> {
        let sizes = sizes.to_vec();
        Packing { sizes, room, lanes }.find(&Deadline::never())
    }

    /// By hand: with 6 goes 4, though 5 comes first.
    #[test]
    fn a_lane_is_filled_by_what_fills_it() {
        assert_eq!(
            find(&[6, 5, 5, 4], 10, 2),
            Some(vec![vec![0, 3], vec![1, 2]])
        );
        // More than there is room for in all, or in one lane; and two that have room only together with what is too large.
        assert_eq!(find(&[6, 5, 5, 5], 10, 2), None);
        assert_eq!(find(&[11, 5], 10, 2), None);
        assert_eq!(
            find(&[6, 6, 4, 2, 2], 10, 2),
            Some(vec![vec![0, 2], vec![1, 4, 3]])
        );
        assert_eq!(find(&[7, 7, 6], 10, 2), None);
        assert_eq!(find(&[], 10, 0), Some(Vec::new()));
    }

    /// Sums and the runs that make them, against trying all: rooms at the borders of words too.
    #[test]
    fn sums_are_those_that_runs_have() {
        let mut drawn = Drawn(2);
        for case in 0..500 {
            let room = [62, 63, 64, 65, 127, 128, 191][drawn.index(7)];
            let sizes: Vec<usize> = (0..7).map(|_| 1 + drawn.index(80)).collect();
            let mut all = BTreeSet::from([0]);
            for size in sizes.iter().filter(|size| **size <= room) {
                let more = all.iter().map(|sum| sum + size);
                let more: Vec<usize> = more.filter(|sum| *sum <= room).collect();
                all.extend(more);
            }
            let mut sums = Sums::new();
            let filled = sums.fill(sizes.iter().copied().enumerate(), room, 0);
            assert_eq!(filled, all.last().copied(), "case {case}");
            let runs = sums.runs.len();
            let found: BTreeSet<usize> = (0..=room).filter(|sum| sums.has(runs, *sum)).collect();
            // Once the room is full nothing more is looked for.
            assert!(
                found == all || filled == Some(room) && found.is_subset(&all),
                "case {case}"
            );
            for sum in found {
                let chosen = sums.runs(sum);
                let distinct: BTreeSet<&usize> = chosen.iter().collect();
                assert_eq!(distinct.len(), chosen.len(), "case {case}");
                assert_eq!(chosen.iter().map(|run| sizes[*run]).sum::<usize>(), sum);
            }
        }
    }

    /// Runs of a twentieth to a half of the room, in as few lanes as they can have: nearly always found, and each run is in one lane.
    #[test]
    fn hundreds_of_runs_have_as_few_lanes_as_their_lengths_ask_for() {
        let mut drawn = Drawn(9);
        let mut found = 0;
        for case in 0..50 {
            let mut sizes: Vec<usize> = (0..200).map(|_| 50 + drawn.index(451)).collect();
            sizes.sort_unstable_by(|one, other| other.cmp(one));
            let lanes = sizes.iter().sum::<usize>().div_ceil(1_000);
            let Some(packed) = find(&sizes, 1_000, lanes) else {
                continue;
            };
            found += 1;
            assert!(packed.len() <= lanes, "case {case}");
            let taken = |lane: &Vec<usize>| lane.iter().map(|run| sizes[*run]).sum::<usize>();
            assert!(
                packed.iter().all(|lane| taken(lane) <= 1_000),
                "case {case}"
            );
            let mut runs: Vec<usize> = packed.concat();
            runs.sort_unstable();
            assert_eq!(runs, (0..200).collect::<Vec<usize>>(), "case {case}");
        }
        assert!(found >= 45, "{found}");
    }

    /// By hand: two of 51 are more than 100, and so are three of 34, which count as halves; of halves and quarters there are as many as their
    /// lengths say. Against trying all: no way has fewer lanes.
    #[test]
    fn no_way_has_fewer_lanes_than_is_said() {
        assert_eq!(fewest_lanes(&[51, 51, 51], 100), 3);
        assert_eq!(fewest_lanes(&[34, 34, 34, 34, 34], 100), 3);
        assert_eq!(fewest_lanes(&[50, 50, 25, 25, 25, 25], 100), 2);
        assert_eq!(fewest_lanes(&[26; 8], 100), 3);
        /// Whether the runs fit into what lanes have left.
        fn fit(sizes: &[usize], left: &mut [usize]) -> bool {
            let Some((size, rest)) = sizes.split_first() else {
                return true;
            };
            (0..left.len()).any(|lane| {
                let has_room = left[lane] >= *size;
                if has_room {
                    left[lane] -= size;
                }
                let fits = has_room && fit(rest, left);
                left[lane] += if has_room { *size } else { 0 };
                fits
            })
        }
        let (mut drawn, mut more) = (Drawn(4), 0);
        for case in 0..500 {
            let sizes: Vec<usize> = (0..7).map(|_| 1 + drawn.index(24)).collect();
            let lanes = (1..).find(|lanes| fit(&sizes, &mut vec![24; *lanes]));
            let said = fewest_lanes(&sizes, 24);
            assert!(said <= lanes.unwrap_or(0) as u128, "case {case}");
            more += usize::from(said > sizes.iter().sum::<usize>().div_ceil(24) as u128);
        }
        assert!(more > 50, "{more}");
    }

    /// So many runs that it would take long, or much memory, are not looked at.
    #[test]
    fn what_takes_too_long_is_left() {
        assert_eq!(find(&vec![1; MOST_RUNS + 1], 10, MOST_RUNS), None);
        assert_eq!(find(&[1 << 40, 1 << 39], 1 << 41, 1), None);
        assert_eq!(find(&[usize::MAX, usize::MAX], usize::MAX, 2), None);
    }
}
