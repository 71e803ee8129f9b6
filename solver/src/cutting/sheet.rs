//! The cutting of a whole sheet that is worth most: the best filling of each of its levels, and a knapsack of levels over its
//! length. A sheet may hold more of a kind than is wanted, so that this is a bound on what it can be worth.
//!
//! Source: Gilmore & Gomory (1965), as in the parent module.

use crate::cutting::level;
use crate::cutting::model::Sheet;
use crate::deadline::Deadline;

/// The levels of a sheet, as positions in its list and their fillings.
pub type Filled = Vec<(usize, Vec<(usize, u32)>)>;

/// So many undominated sums at most; then what has been found is given, and the bound is what the length alone allows.
const MOST_SUMS: usize = 200_000;

/// A level of the sheet, filled at its best.
struct Worthy {
    /// Its position in the sheet's list.
    position: usize,
    length: i64,
    worth: i128,
    pieces: Vec<(usize, u32)>,
}

/// A sum of levels.
#[derive(Clone, Copy)]
struct Sum {
    /// The level that was added last, by position among those that are worth something.
    last: usize,
    used: i64,
    worth: i128,
    /// The sum before, by number.
    before: usize,
}

/// What no cutting is worth more than, and the levels of the best one that was found, the longest first; `None` where the time was over.
pub fn best(
    sheet: &Sheet,
    wanted: &[u32],
    worth: &[i128],
    deadline: &Deadline,
) -> Option<(i128, Filled)> {
    let levels = worthy(sheet, wanted, worth, deadline)?;
    let start = Sum {
        last: levels.len(),
        used: 0,
        worth: 0,
        before: 0,
    };
    let mut sums = vec![start];
    let mut growing = vec![0];
    let mut best = 0;
    while !growing.is_empty() && sums.len() < MOST_SUMS {
        let mut next: Vec<Sum> = Vec::new();
        for number in &growing {
            let sum = sums[*number];
            // Levels are added in falling order, so that each choice of them is built once.
            for (last, level) in levels.iter().enumerate().take(sum.last + 1) {
                if sum.used + level.length <= sheet.length {
                    next.push(Sum {
                        last,
                        used: sum.used + level.length,
                        worth: sum.worth + level.worth,
                        before: *number,
                    });
                }
            }
        }
        next.sort_unstable_by_key(|sum| (sum.last, sum.used, -sum.worth));
        growing.clear();
        let mut known: Option<Sum> = None;
        for sum in next {
            if known.is_some_and(|known| known.last == sum.last && known.worth >= sum.worth) {
                continue;
            }
            known = Some(sum);
            if sum.worth > sums[best].worth {
                best = sums.len();
            }
            growing.push(sums.len());
            sums.push(sum);
        }
    }
    let mut at_most = sums[best].worth;
    if !growing.is_empty() {
        let rates = levels
            .iter()
            .map(|level| level.worth * i128::from(sheet.length) / i128::from(level.length));
        at_most = rates.max().unwrap_or(0).max(at_most);
    }
    let mut filled = Vec::new();
    while best > 0 {
        let level = &levels[sums[best].last];
        if !level.pieces.is_empty() {
            filled.push((level.position, level.pieces.clone()));
        }
        best = sums[best].before;
    }
    filled.sort();
    Some((at_most, filled))
}

/// The levels that are worth more than every shorter one, the shortest first; `None` where the time was over.
fn worthy(
    sheet: &Sheet,
    wanted: &[u32],
    worth: &[i128],
    deadline: &Deadline,
) -> Option<Vec<Worthy>> {
    let mut levels = Vec::new();
    let mut most = 0;
    for (position, spot) in sheet.levels.iter().enumerate().rev() {
        if deadline.over() {
            return None;
        }
        let filled = level::best(spot, wanted, worth, &[], most);
        // A filling that was cut short may be worth more than the one that was found, if any was: that counts as well.
        if filled.at_most > most {
            most = filled.at_most;
            levels.push(Worthy {
                position,
                length: spot.length,
                worth: most,
                pieces: filled.pieces.unwrap_or_default(),
            });
        }
    }
    Some(levels)
}
