//! Columns that hold more than the mean. Where it is known how many columns a point has, it is known how much more they hold in all.

use std::collections::BTreeSet;

use crate::partition::Entries;

/// How much more than the mean, rounded down, columns hold in all of a point.
pub struct Larger {
    /// At least, and at most.
    pub least: u32,
    pub most: u32,
    /// How much more each column holds: nothing, or more.
    pub over: Vec<u32>,
}

impl Larger {
    /// For points of so many columns, where that is known; otherwise no column is said to be larger.
    pub fn of(asked: &[u32], columns: &[Entries], count: Option<usize>) -> Larger {
        let counted = count.and_then(|count| Larger::counted(asked, columns, count));
        counted.unwrap_or_else(|| Larger {
            least: 0,
            most: 0,
            over: vec![0; columns.len()],
        })
    }

    /// What is left over where all hold the mean, and what smaller ones leave to the others.
    fn counted(asked: &[u32], columns: &[Entries], count: usize) -> Option<Larger> {
        let all = asked
            .iter()
            .try_fold(0_u32, |all, asked| all.checked_add(*asked))?;
        let count = u32::try_from(count).ok().filter(|count| *count > 0)?;
        let (mean, least) = (all / count, all % count);
        let size = |column: &Entries| column.iter().map(|(_, times)| *times).sum::<u32>();
        let mut most = least;
        for small in 1..mean {
            // No two of them share a place of a row.
            let of_size = columns.iter().filter(|column| size(column) == small);
            let rows: BTreeSet<u32> = of_size.flatten().map(|(row, _)| *row).collect();
            let held: u32 = rows.into_iter().map(|row| asked[row as usize]).sum();
            most = most.checked_add((mean - small).checked_mul(held / small)?)?;
        }
        let over = columns
            .iter()
            .map(|column| size(column).saturating_sub(mean));
        Some(Larger {
            least,
            most,
            over: over.collect(),
        })
    }
}
