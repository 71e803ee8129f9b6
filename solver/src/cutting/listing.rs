//! All cuttings of a whole sheet that no other one can stand in for, where they are few.

use std::collections::BTreeMap;

use crate::cutting::model::{Sheet, Spot};
use crate::cutting::sheet::Filled;

/// Cuttings of more kinds than this are not listed.
const MOST_KINDS: usize = 30;
/// More contents than this are not listed.
const MOST_CONTENTS: usize = 3_000;
/// More fillings of a level than this are not listed.
const MOST_FILLINGS: usize = 500;

/// The cuttings by what they hold, or `None` where they are too many. What is wanted is the most of each kind.
pub fn list(sheet: &Sheet, wanted: &[u32]) -> Option<Vec<Filled>> {
    if wanted.len() > MOST_KINDS {
        return None;
    }
    // By content: the least length that holds it, and its levels.
    let mut known: BTreeMap<Vec<u32>, (i64, Filled)> = BTreeMap::new();
    let empty = vec![0; wanted.len()];
    known.insert(empty.clone(), (0, Vec::new()));
    let mut growing = vec![empty];
    let mut full: Vec<Vec<u32>> = Vec::new();
    while let Some(content) = growing.pop() {
        let (used, levels) = known.get(&content).cloned()?;
        let left: Vec<u32> = wanted
            .iter()
            .zip(&content)
            .map(|(all, held)| all - held)
            .collect();
        let mut grown = false;
        for (position, spot) in sheet.levels.iter().enumerate() {
            if used + spot.length > sheet.length {
                continue;
            }
            for filling in fillings(spot, &left)? {
                grown = true;
                let mut more = content.clone();
                for (kind, count) in &filling {
                    more[*kind] += count;
                }
                let length = used + spot.length;
                if known.get(&more).is_some_and(|(known, _)| *known <= length) {
                    continue;
                }
                let mut levels = levels.clone();
                levels.push((position, filling));
                known.insert(more.clone(), (length, levels));
                growing.push(more);
            }
        }
        if !grown && !full.contains(&content) {
            full.push(content);
        }
        if known.len() > MOST_CONTENTS {
            return None;
        }
    }
    let stands_in = |of: &Vec<u32>, other: &Vec<u32>| {
        of != other && of.iter().zip(other).all(|(own, more)| own <= more)
    };
    let best: Vec<&Vec<u32>> = full
        .iter()
        .filter(|content| !full.iter().any(|other| stands_in(content, other)))
        .collect();
    let mut listed: Vec<Filled> = best
        .into_iter()
        .filter_map(|content| known.get(content))
        .map(|(_, levels)| levels.clone())
        .filter(|levels| !levels.is_empty())
        .collect();
    for levels in &mut listed {
        levels.sort();
    }
    listed.sort();
    Some(listed)
}

/// Every filling of a level to which nothing can be added, `None` where they are too many.
fn fillings(spot: &Spot, left: &[u32]) -> Option<Vec<Vec<(usize, u32)>>> {
    let kinds: Vec<(usize, i64, u32)> = left
        .iter()
        .enumerate()
        .filter_map(|(kind, left)| {
            let (width, _) = spot.takes(kind)?;
            let fitting = u32::try_from(spot.width / width).unwrap_or(u32::MAX);
            let most = fitting.min(*left);
            (most > 0).then_some((kind, width, most))
        })
        .collect();
    // Each with what is left of the width, the narrowest kind that was left with some over, and its pieces.
    let none: Vec<(usize, u32)> = Vec::new();
    let mut partial = vec![(spot.width, i64::MAX, none)];
    for (kind, width, most) in kinds {
        let mut next = Vec::new();
        for (room, narrowest, pieces) in partial {
            let fitting = u32::try_from(room / width).unwrap_or(u32::MAX);
            for count in 0..=most.min(fitting) {
                let mut pieces = pieces.clone();
                if count > 0 {
                    pieces.push((kind, count));
                }
                let over = if count < most {
                    narrowest.min(width)
                } else {
                    narrowest
                };
                next.push((room - i64::from(count) * width, over, pieces));
            }
            if next.len() > MOST_FILLINGS * 20 {
                return None;
            }
        }
        partial = next;
    }
    let maximal = partial
        .into_iter()
        .filter(|(room, over, pieces)| room < over && !pieces.is_empty());
    let maximal: Vec<Vec<(usize, u32)>> = maximal.map(|(_, _, pieces)| pieces).collect();
    (maximal.len() <= MOST_FILLINGS).then_some(maximal)
}
