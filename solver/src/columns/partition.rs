//! Set partitioning: columns that hold every row exactly as often as it asks.
//!
//! Where nothing may be wasted a linear program tells little: most of its values are parts, and what is rounded leaves rows over that no
//! columns fit together any more. Here the row that has the fewest columns left is settled first (Knuth, Dancing links, Millennial
//! Perspectives in Computer Science (2000) 187–214, from memory); of several the one that was left without any most often so far (Boussemart,
//! Hemery, Lecoutre and Sais, Boosting systematic search by weighting constraints, ECAI 2004, 146–150, from memory). The first column tried is
//! one whose other rows have few left too, so that rows with many choices come last. Where that leads nowhere soon, the search begins
//! anew with another order.

use std::cmp::Reverse;

use crate::deadline::Deadline;
use crate::random::SplitMix64;

/// A search that has come to so many nodes begins anew; some may take 2, 4, 8, … times as many (Luby, Sinclair and Zuckerman, Optimal
/// speedup of Las Vegas algorithms, Information Processing Letters 47 (1993) 173–180, from memory).
const BEGINS_ANEW: usize = 10_000;
/// With more columns than this in a point none is looked for: each is one level of the search.
pub const DEEPEST: usize = 1_000;
/// So many nodes go by until the clock is asked.
const ASKED_EVERY: usize = 256;
/// No more stocks than this are used up.
const MOST_STOCKS: usize = 2;
/// What one column left of a row is worth in the order of columns, and by how much of that chance may change it.
const RARE: u64 = 1 << 32;
const CHANCE: u64 = 10;

/// A column: rows in ascending order, each with how often it is held.
pub type Entries = Vec<(u32, u32)>;

/// Something that columns use up.
pub struct Stock {
    /// How much there is.
    pub whole: i128,
    /// Points take no less than this in all: columns that take something come first until then.
    pub wanted: i128,
    /// How much each column takes: nothing, or more.
    pub taken: Vec<i128>,
}

/// What a search says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Parted {
    /// These columns; the same one may be there several times.
    Found(Vec<usize>),
    /// There are none: all was tried.
    None,
    /// The search ended before that. These columns are the most that it had chosen.
    Unknown(Vec<usize>),
}

/// Chooses columns that hold each row as often as it asks and take no more of the stocks than there is, with so many nodes at most. `seed`
/// makes each search another one.
pub fn partition(
    asked: &[u32],
    columns: &[Entries],
    stocks: &[Stock],
    nodes: usize,
    seed: u64,
    deadline: &Deadline,
) -> Parted {
    let mut of_row: Vec<Vec<(u32, u32)>> = vec![Vec::new(); asked.len()];
    for (number, column) in (0..).zip(columns) {
        for (row, times) in column {
            of_row[*row as usize].push((number, *times));
        }
    }
    let lists = [
        Lists::of(columns.iter().cloned()),
        Lists::of(of_row.into_iter()),
    ];
    let random = SplitMix64::new(seed);
    let Some(mut search) = Search::begin(asked, lists.each_ref(), stocks, random) else {
        return Parted::None;
    };
    let mut left = nodes;
    let mut begun = 0;
    while left > 0 && !deadline.over() {
        begun += 1;
        let nodes = left.min(BEGINS_ANEW * luby(begun));
        search.left = nodes;
        match search.go_on(deadline) {
            Some(true) => return Parted::Found(numbers(&search.chosen)),
            Some(false) => return Parted::None,
            None => left -= nodes,
        }
    }
    Parted::Unknown(numbers(&search.deepest))
}

fn numbers(columns: &[u32]) -> Vec<usize> {
    columns.iter().map(|column| *column as usize).collect()
}

/// 1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8, …
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

/// Lists of pairs, one after the other.
struct Lists {
    pairs: Vec<(u32, u32)>,
    /// Where each list begins, and where the last one ends.
    begins: Vec<usize>,
}

impl Lists {
    fn of(lists: impl Iterator<Item = Vec<(u32, u32)>>) -> Lists {
        let (mut pairs, mut begins) = (Vec::new(), vec![0]);
        for list in lists {
            pairs.extend(list);
            begins.push(pairs.len());
        }
        Lists { pairs, begins }
    }

    fn of_number(&self, number: usize) -> &[(u32, u32)] {
        &self.pairs[self.begins[number]..self.begins[number + 1]]
    }
}

struct Search<'p> {
    /// By column: its rows, each with how often it is held.
    rows: &'p Lists,
    /// By row: its columns, each with how often it holds the row.
    columns: &'p Lists,
    stocks: Vec<Supply<'p>>,
    /// How often each row is still to be held.
    asks: Vec<u32>,
    /// How many columns are left for each row; `SETTLED` where it asks for none.
    fits: Vec<u32>,
    /// How often each row was left without columns so far.
    failed: Vec<u32>,
    /// Whether each column may still be chosen.
    is_open: Vec<bool>,
    /// The columns that were closed, in order.
    closed: Vec<u32>,
    chosen: Vec<u32>,
    /// The most that were chosen so far.
    deepest: Vec<u32>,
    /// The columns to try at every level, one level after the other: the most promising last.
    choices: Vec<(u64, u32)>,
    random: SplitMix64,
    /// How many nodes are left.
    left: usize,
}

const SETTLED: u32 = u32::MAX;

/// A stock as it is used up.
struct Supply<'p> {
    left: i128,
    /// Above this more is wanted.
    enough: i128,
    taken: &'p [i128],
    /// The columns that take something, those that take most first; so many of them are closed.
    dearest: Vec<u32>,
    shut: usize,
}

impl<'p> Search<'p> {
    /// A search, unless it is clear that there is no point.
    fn begin(
        asked: &[u32],
        [rows, columns]: [&'p Lists; 2],
        stocks: &'p [Stock],
        random: SplitMix64,
    ) -> Option<Search<'p>> {
        let count = rows.begins.len() - 1;
        let supply = |stock: &'p Stock| {
            let takes = |column: &u32| stock.taken[*column as usize] > 0;
            let mut dearest: Vec<u32> = (0..count as u32).filter(takes).collect();
            dearest.sort_by_key(|column| (Reverse(stock.taken[*column as usize]), *column));
            Supply {
                left: stock.whole,
                enough: stock.whole - stock.wanted,
                taken: &stock.taken,
                dearest,
                shut: 0,
            }
        };
        let fits = (0..asked.len()).map(|row| columns.of_number(row).len() as u32);
        let mut search = Search {
            rows,
            columns,
            stocks: stocks.iter().map(supply).collect(),
            asks: asked.to_vec(),
            fits: fits.collect(),
            failed: vec![0; asked.len()],
            is_open: vec![true; count],
            closed: Vec::new(),
            chosen: Vec::new(),
            deepest: Vec::new(),
            choices: Vec::new(),
            random,
            left: 0,
        };
        let mut all = (0..asked.len()).all(|row| search.close_columns_of(row));
        all = all && search.close_dear();
        all.then_some(search)
    }

    /// Goes on from here: whether there is a point, where that is known. Leaves all as it was, unless a point is found.
    fn go_on(&mut self, deadline: &Deadline) -> Option<bool> {
        if self.left == 0 || self.left.is_multiple_of(ASKED_EVERY) && deadline.over() {
            return None;
        }
        self.left -= 1;
        // Not with `min_by_key`: this is much of the work, and several rows are compared at once so.
        let fewest = self.fits.iter().copied().fold(SETTLED, u32::min);
        if fewest == SETTLED {
            return Some(true);
        }
        if self.chosen.len() >= DEEPEST {
            return None;
        }
        if self.chosen.len() > self.deepest.len() {
            self.deepest.clone_from(&self.chosen);
        }
        let rows = (0..self.fits.len()).filter(|row| self.fits[*row] == fewest);
        let row = rows.max_by_key(|row| (self.failed[*row], Reverse(*row)))?;
        let (first, closed, shut) = (self.choices.len(), self.closed.len(), self.shut());
        self.list_choices(row);
        let mut found = Some(false);
        while self.choices.len() > first && found == Some(false) {
            let Some((_, column)) = self.choices.pop() else {
                break;
            };
            found = self.with(column, deadline);
            // What was tried with this column is not tried again beside others.
            if found == Some(false) && !self.close(column) {
                break;
            }
        }
        if found != Some(true) {
            self.choices.truncate(first);
            self.reopen(closed, shut);
        }
        found
    }

    /// Goes on with a column chosen.
    fn with(&mut self, column: u32, deadline: &Deadline) -> Option<bool> {
        let (closed, shut) = (self.closed.len(), self.shut());
        self.chosen.push(column);
        for (row, times) in self.rows.of_number(column as usize) {
            self.asks[*row as usize] -= times;
        }
        for stock in &mut self.stocks {
            stock.left -= stock.taken[column as usize];
        }
        let rows = self.rows.of_number(column as usize).iter();
        let mut can_be = rows
            .copied()
            .all(|(row, _)| self.close_columns_of(row as usize));
        can_be = can_be && self.close_dear();
        let found = if can_be {
            self.go_on(deadline)
        } else {
            Some(false)
        };
        if found == Some(true) {
            return found;
        }
        self.chosen.pop();
        for (row, times) in self.rows.of_number(column as usize) {
            let row = *row as usize;
            if self.fits[row] == SETTLED {
                // All its columns were closed by then.
                self.fits[row] = 0;
            }
            self.asks[row] += times;
        }
        for stock in &mut self.stocks {
            stock.left += stock.taken[column as usize];
        }
        self.reopen(closed, shut);
        found
    }

    /// The open columns of a row, the most promising last.
    fn list_choices(&mut self, row: usize) {
        let first = self.choices.len();
        for (column, _) in self.columns.of_number(row) {
            if self.is_open[*column as usize] {
                let (mut rare, mut size) = (0, 0);
                for (row, times) in self.rows.of_number(*column as usize) {
                    rare += RARE / u64::from(self.fits[*row as usize]);
                    size += u64::from(*times);
                }
                let wanted = |stock: &Supply<'_>| {
                    stock.left > stock.enough && stock.taken[*column as usize] > 0
                };
                let first = u64::from(self.stocks.iter().any(wanted));
                let rare = rare / size / 100 * (100 + self.random.below(CHANCE + 1));
                let promise = first << 63 | rare;
                self.choices.push((promise, *column));
            }
        }
        self.choices[first..].sort_unstable();
    }

    /// Closes the columns that hold a row more often than it asks. False where that leaves none to some row: then not all are closed.
    fn close_columns_of(&mut self, row: usize) -> bool {
        let asks = self.asks[row];
        for (column, times) in self.columns.of_number(row) {
            if *times > asks && !self.close(*column) {
                return false;
            }
        }
        if asks == 0 {
            self.fits[row] = SETTLED;
        }
        true
    }

    /// Closes the columns that take more of a stock than is left. False as above.
    fn close_dear(&mut self) -> bool {
        for at in 0..self.stocks.len() {
            loop {
                let stock = &mut self.stocks[at];
                let dearest = stock.dearest.get(stock.shut).copied();
                let Some(column) =
                    dearest.filter(|column| stock.taken[*column as usize] > stock.left)
                else {
                    break;
                };
                stock.shut += 1;
                if !self.close(column) {
                    return false;
                }
            }
        }
        true
    }

    /// How many of the dearest columns of each stock are closed.
    fn shut(&self) -> [usize; MOST_STOCKS] {
        std::array::from_fn(|at| self.stocks.get(at).map_or(0, |stock| stock.shut))
    }

    /// Closes a column. False where that leaves none to some row.
    fn close(&mut self, column: u32) -> bool {
        let mut all = true;
        if std::mem::replace(&mut self.is_open[column as usize], false) {
            self.closed.push(column);
            for (row, _) in self.rows.of_number(column as usize) {
                let fits = &mut self.fits[*row as usize];
                *fits -= 1;
                if *fits == 0 && self.asks[*row as usize] > 0 {
                    self.failed[*row as usize] += 1;
                    all = false;
                }
            }
        }
        all
    }

    /// Opens all columns again that were closed since.
    fn reopen(&mut self, closed: usize, shut: [usize; MOST_STOCKS]) {
        for column in self.closed.drain(closed..) {
            self.is_open[column as usize] = true;
            for (row, _) in self.rows.of_number(column as usize) {
                self.fits[*row as usize] += 1;
            }
        }
        for (stock, shut) in self.stocks.iter_mut().zip(shut) {
            stock.shut = shut;
        }
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
        let found = partition(&[1; 7], &columns, &[], 1_000, 1, &deadline());
        let Parted::Found(mut chosen) = found else {
            panic!("{found:?}");
        };
        chosen.sort_unstable();
        assert_eq!(chosen, [0, 3, 4]);
        // Without one of them there is none.
        let fewer = &columns[1..];
        let found = partition(&[1; 7], fewer, &[], 1_000, 1, &deadline());
        assert_eq!(found, Parted::None);
    }

    /// 1, 1, 2, 1, 1, 2, 4: the sequence as Luby, Sinclair and Zuckerman give it (from memory).
    #[test]
    fn searches_begin_anew_by_the_sequence_of_luby() {
        let first: Vec<usize> = (1..=15).map(luby).collect();
        assert_eq!(first, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
    }

    /// Whether some choice of columns holds what is asked and takes no more than there is: by trying every number of each.
    fn exists(asked: &mut [u32], columns: &[Entries], stocks: &mut [(i128, Vec<i128>)]) -> bool {
        if asked.iter().all(|asked| *asked == 0) {
            return true;
        }
        let Some((column, rest)) = columns.split_last() else {
            return false;
        };
        let number = rest.len();
        if exists(asked, rest, stocks) {
            return true;
        }
        let fits = column
            .iter()
            .all(|(row, times)| asked[*row as usize] >= *times)
            && stocks.iter().all(|(left, taken)| *left >= taken[number]);
        if !fits {
            return false;
        }
        for (row, times) in column {
            asked[*row as usize] -= times;
        }
        for (left, taken) in stocks.iter_mut() {
            *left -= taken[number];
        }
        let found = exists(asked, columns, stocks);
        for (row, times) in column {
            asked[*row as usize] += times;
        }
        for (left, taken) in stocks.iter_mut() {
            *left += taken[number];
        }
        found
    }

    /// Columns that hold rows more than once, rows that ask for more than one, and stocks: there is a point where trying all says so, and
    /// it holds what is asked.
    #[test]
    fn it_finds_a_point_where_there_is_one_and_else_says_that_there_is_none() {
        let mut drawn = Drawn(7);
        let mut found_some = [0, 0];
        for case in 0..2_000 {
            let rows = 2 + drawn.index(4);
            let asked: Vec<u32> = (0..rows).map(|_| drawn.below(4) as u32).collect();
            let columns: Vec<Entries> = (0..2 + drawn.index(7))
                .map(|_| {
                    let times: Vec<u32> = (0..rows)
                        .map(|_| (drawn.below(5) as u32).saturating_sub(2))
                        .collect();
                    let entries = (0..).zip(times).filter(|(_, times)| *times > 0);
                    entries.collect()
                })
                .filter(|column: &Entries| !column.is_empty())
                .collect();
            let stocks: Vec<Stock> = (0..drawn.index(3))
                .map(|_| Stock {
                    whole: drawn.below(6).into(),
                    wanted: 0,
                    taken: columns.iter().map(|_| drawn.below(3).into()).collect(),
                })
                .collect();
            let mut all: Vec<(i128, Vec<i128>)> = stocks
                .iter()
                .map(|stock| (stock.whole, stock.taken.clone()))
                .collect();
            let expected = exists(&mut asked.clone(), &columns, &mut all);
            found_some[usize::from(expected)] += 1;
            match partition(&asked, &columns, &stocks, 100_000, case, &deadline()) {
                Parted::Found(chosen) => {
                    assert!(expected, "case {case}");
                    let mut held = vec![0; rows];
                    for (row, times) in chosen.iter().flat_map(|column| &columns[*column]) {
                        held[*row as usize] += times;
                    }
                    assert_eq!(held, asked, "case {case}");
                    for stock in &stocks {
                        let taken: i128 = chosen.iter().map(|column| stock.taken[*column]).sum();
                        assert!(taken <= stock.whole, "case {case}");
                    }
                }
                Parted::None => assert!(!expected, "case {case}"),
                Parted::Unknown(_) => panic!("case {case} is small"),
            }
        }
        assert!(
            found_some.iter().all(|count| *count > 100),
            "{found_some:?}"
        );
    }
}
