//! The order of things in a row that takes the least room: runs along a lane, or lanes across a field.
//!
//! A row of things with margins m₁ … mᵣ and sizes z₁ … zᵣ takes m₁/2 + Σzᵢ + Σ max((mᵢ + mᵢ₊₁)/2, G) + mᵣ/2, where G is
//! the least distance between two fabrics. Everything here is doubled, so that halves stay whole.

use std::collections::{HashMap, VecDeque};

use crate::length::Length;

/// The order that takes the least room, and that room.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Arrangement {
    /// Indices of the things, from the low end.
    pub order: Vec<usize>,
    /// The room that they take, doubled.
    pub room_doubled: Length,
    /// Whether no order takes less. Only rows of very many things with several large margins go without.
    pub exact: bool,
}

/// The most states of the dynamic program; a row that would need more is arranged by margin alone.
const MOST_STATES: usize = 20_000;

/// Arranges things with the given sizes and margins, `between` being the least distance between two of them. The
/// things `ends` (at most two) have to be first or last.
pub fn arrange(
    sizes: &[Length],
    margins: &[Length],
    between: Length,
    ends: &[usize],
) -> Arrangement {
    let free: Vec<usize> = (0..sizes.len())
        .filter(|index| !ends.contains(index))
        .collect();
    let (order, exact) = order(margins, between, free, ends);
    Arrangement {
        room_doubled: room_doubled(sizes, margins, between, &order),
        order,
        exact,
    }
}

/// The room that things take in a given order, doubled.
pub fn room_doubled(
    sizes: &[Length],
    margins: &[Length],
    between: Length,
    order: &[usize],
) -> Length {
    let (Some(first), Some(last)) = (order.first(), order.last()) else {
        return Length::ZERO;
    };
    let stitched: Length = order.iter().map(|index| sizes[*index] * 2).sum();
    let gaps: Length = order
        .windows(2)
        .map(|pair| (margins[pair[0]] + margins[pair[1]]).max(between * 2))
        .sum();
    margins[*first] + stitched + gaps + margins[*last]
}

fn order(
    margins: &[Length],
    between: Length,
    mut free: Vec<usize>,
    ends: &[usize],
) -> (Vec<usize>, bool) {
    if margins.len() < 2 {
        return ((0..margins.len()).collect(), true);
    }
    free.sort_by_key(|index| (margins[*index], *index));
    let mut sorted: Vec<Length> = margins.to_vec();
    sorted.sort_unstable();
    let touch = |pair: &[Length]| pair.iter().copied().sum::<Length>() > between * 2;
    // Where no two margins reach beyond G, every gap is G, and only the two ends matter: the smallest margins go
    // there. Where any two do, every gap is their sum, and each order takes the same room.
    let simple = sorted.len() < 2 || !touch(&sorted[sorted.len() - 2..]) || touch(&sorted[..2]);
    if simple {
        return (smallest_outside(free, ends), true);
    }
    let mut groups: Vec<(Length, Vec<usize>)> = Vec::new();
    for index in free {
        match groups
            .last_mut()
            .filter(|(margin, _)| *margin == margins[index])
        {
            Some((_, group)) => group.push(index),
            None => groups.push((margins[index], vec![index])),
        }
    }
    let counts: Vec<usize> = groups.iter().map(|(_, group)| group.len()).collect();
    let states = counts.iter().try_fold(counts.len(), |product, count| {
        product.checked_mul(count + 1)
    });
    if states.is_none_or(|states| states > MOST_STATES) {
        let free = groups.into_iter().flat_map(|(_, group)| group).collect();
        return (smallest_outside(free, ends), false);
    }
    let mut table = Table {
        groups: groups.iter().map(|(margin, _)| *margin).collect(),
        between_doubled: between * 2,
        last: ends.get(1).map(|index| margins[*index]),
        best: HashMap::new(),
    };
    let mut order = Vec::new();
    let mut left = counts;
    let mut before = ends.first().map(|index| margins[*index]);
    order.extend(ends.first());
    while left.iter().any(|count| *count > 0) {
        let (_, next) = table.least(&left, before);
        left[next] -= 1;
        before = Some(table.groups[next]);
        order.extend(groups[next].1.pop());
    }
    order.extend(ends.get(1));
    (order, true)
}

/// The bound things at the ends, or the first of the others where fewer than two are bound.
fn smallest_outside(free: Vec<usize>, ends: &[usize]) -> Vec<usize> {
    let mut ends = ends.iter().copied();
    let mut free = VecDeque::from(free);
    let first = ends.next().or_else(|| free.pop_front());
    let last = ends.next().or_else(|| free.pop_front());
    first.into_iter().chain(free).chain(last).collect()
}

/// Dynamic program over how many things of each margin are left and which margin stands before them.
struct Table {
    groups: Vec<Length>,
    between_doubled: Length,
    last: Option<Length>,
    best: HashMap<(Vec<usize>, Option<Length>), (Length, usize)>,
}

impl Table {
    /// The least that the gaps and the far end still cost, and the group to take next.
    fn least(&mut self, left: &[usize], before: Option<Length>) -> (Length, usize) {
        if left.iter().all(|count| *count == 0) {
            let end = match (before, self.last) {
                (Some(before), Some(last)) => self.gap(before, last) + last,
                (Some(before), None) => before,
                (None, _) => Length::ZERO,
            };
            return (end, 0);
        }
        let key = (left.to_vec(), before);
        if let Some(known) = self.best.get(&key) {
            return *known;
        }
        let mut best: Option<(Length, usize)> = None;
        for next in 0..left.len() {
            if left[next] == 0 {
                continue;
            }
            let margin = self.groups[next];
            let step = before.map_or(margin, |before| self.gap(before, margin));
            let mut rest = left.to_vec();
            rest[next] -= 1;
            let cost = step + self.least(&rest, Some(margin)).0;
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, next));
            }
        }
        let best = best.unwrap_or((Length::ZERO, 0));
        self.best.insert(key, best);
        best
    }

    fn gap(&self, one: Length, other: Length) -> Length {
        (one + other).max(self.between_doubled)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawn::Drawn;

    fn nm(values: &[i64]) -> Vec<Length> {
        values
            .iter()
            .map(|value| Length::from_nanometres(*value))
            .collect()
    }

    /// All orders of up to six things, with none, one or two of them bound to the ends.
    #[test]
    fn no_order_takes_less_room() {
        let mut drawn = Drawn(7);
        let mut next = |most: u64| drawn.below(most);
        for _ in 0..400 {
            let count = 1 + next(6) as usize;
            let sizes: Vec<i64> = (0..count).map(|_| 1 + next(9) as i64).collect();
            let margins: Vec<i64> = (0..count).map(|_| next(7) as i64 * 2).collect();
            let (sizes, margins) = (nm(&sizes), nm(&margins));
            let between = Length::from_nanometres(next(8) as i64);
            let bound = (next(3) as usize).min(count);
            let ends: Vec<usize> = (0..bound).collect();
            let found = arrange(&sizes, &margins, between, &ends);
            let mut least = None;
            permute(&mut (0..count).collect(), 0, &mut |order: &[usize]| {
                let outer = [order[0], order[count - 1]];
                if ends.iter().all(|end| outer.contains(end)) {
                    let room = room_doubled(&sizes, &margins, between, order);
                    least = Some(least.map_or(room, |least: Length| least.min(room)));
                }
            });
            assert_eq!(
                Some(found.room_doubled),
                least,
                "{sizes:?} {margins:?} {between:?} {ends:?}"
            );
        }
    }

    fn permute(items: &mut Vec<usize>, at: usize, see: &mut impl FnMut(&[usize])) {
        if at == items.len() {
            see(items);
            return;
        }
        for other in at..items.len() {
            items.swap(at, other);
            permute(items, at + 1, see);
            items.swap(at, other);
        }
    }
}
