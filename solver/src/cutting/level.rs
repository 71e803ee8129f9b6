//! The filling of one level that is worth most: a knapsack over its width, by dynamic programming over undominated states.
//!
//! Source: Nemhauser & Ullmann, Discrete dynamic programming and capital allocation, Management Science 15 (1969) 494–505 (from
//! memory).

use crate::cutting::model::Spot;

/// What levels with a feature are worth beside their pieces: the least number of some kinds, and the worth.
#[derive(Clone, Debug)]
pub struct Extra {
    /// Kinds, and the least number of each; at least one.
    pub holds: Vec<(usize, u32)>,
    /// The worth, of either sign.
    pub worth: i128,
}

/// What a level can be worth.
#[derive(Clone, Debug)]
pub struct Best {
    /// No filling is worth more; nothing is said where this is not above the threshold.
    pub at_most: i128,
    /// The best filling that was found, where it is worth more than the threshold: kinds and counts by kind.
    pub pieces: Option<Vec<(usize, u32)>>,
}

/// More undominated states than this are cut; `at_most` says what that may miss.
const MOST_STATES: usize = 100_000;
/// So many steps at most; then what has been found is given, and `at_most` is what the width alone allows.
const MOST_STEPS: usize = 5_000_000;
/// At most so many extras with several kinds are told apart at once.
const MOST_JOINT: usize = 60;

#[derive(Clone, Copy)]
struct State {
    used: i64,
    value: i128,
    /// Which extras with several kinds are still possible.
    joint: u64,
    /// The last decision, in `decisions`.
    decision: usize,
}

/// One kind in the knapsack.
struct Item {
    kind: usize,
    width: i64,
    /// Worth of so many of it, from 0 on.
    values: Vec<i128>,
    /// Joint extras that this kind is part of, and the least count for them.
    joint: Vec<(usize, u32)>,
}

impl Item {
    /// The most that a nanometre of width is worth: numerator and denominator.
    fn rate(&self) -> (i128, i128) {
        let rates = (1_i128..).zip(&self.values[1..]);
        let rates = rates.map(|(count, value)| (*value, count * i128::from(self.width)));
        let best = rates.max_by(|a, b| (a.0 * b.1).cmp(&(b.0 * a.1)));
        best.filter(|(value, _)| *value > 0).unwrap_or((0, 1))
    }
}

/// The filling of a spot that is worth most, if that is more than the threshold. `wanted` is the most of each kind.
pub fn best(
    spot: &Spot,
    wanted: &[u32],
    worth: &[i128],
    extras: &[Extra],
    threshold: i128,
) -> Best {
    let (single, several): (Vec<&Extra>, Vec<&Extra>) =
        extras.iter().partition(|extra| extra.holds.len() == 1);
    let told = several.len().min(MOST_JOINT);
    // What is not told apart is granted where it is worth something.
    let granted: i128 = several[told..].iter().map(|extra| extra.worth.max(0)).sum();
    let several = &several[..told];
    let mut items: Vec<Item> = Vec::new();
    for (kind, wanted) in wanted.iter().enumerate().filter(|(_, wanted)| **wanted > 0) {
        let Some((width, _)) = spot.takes(kind) else {
            continue;
        };
        let fitting = u32::try_from(spot.width / width).unwrap_or(u32::MAX);
        let most = fitting.min(*wanted);
        if most == 0 {
            continue;
        }
        let value = |count: u32| {
            let own = single.iter().filter(|extra| {
                let (of, least) = extra.holds[0];
                of == kind && count >= least
            });
            worth[kind] * i128::from(count) + own.map(|extra| extra.worth).sum::<i128>()
        };
        let values: Vec<i128> = (0..=most).map(value).collect();
        let joint: Vec<(usize, u32)> = several
            .iter()
            .enumerate()
            .flat_map(|(bit, extra)| {
                let own = extra.holds.iter().filter(move |(of, _)| *of == kind);
                own.map(move |(_, least)| (bit, *least))
            })
            .collect();
        if values.iter().any(|value| *value > 0) || !joint.is_empty() {
            items.push(Item {
                kind,
                width,
                values,
                joint,
            });
        }
    }
    // An extra whose kinds cannot all be there is out of reach.
    let mut possible = 0_u64;
    for (bit, extra) in several.iter().enumerate() {
        let reach = |(kind, least): &(usize, u32)| {
            let item = items.iter().find(|item| item.kind == *kind);
            item.is_some_and(|item| item.values.len() > *least as usize)
        };
        if extra.holds.iter().all(reach) {
            possible |= 1 << bit;
        }
    }
    items.sort_by(|a, b| {
        let ((x, y), (z, w)) = (a.rate(), b.rate());
        (z * y).cmp(&(x * w)).then(a.kind.cmp(&b.kind))
    });
    fill(spot.width, &items, several, possible, threshold, granted)
}

fn fill(
    width: i64,
    items: &[Item],
    several: &[&Extra],
    possible: u64,
    threshold: i128,
    granted: i128,
) -> Best {
    let hoped = |joint: u64| -> i128 {
        let set = several.iter().enumerate();
        let set = set.filter(|(bit, _)| joint >> bit & 1 == 1);
        set.map(|(_, extra)| extra.worth.max(0)).sum()
    };
    let mut decisions: Vec<(usize, usize, u32)> = vec![(0, 0, 0)];
    let mut states = vec![State {
        used: 0,
        value: 0,
        joint: possible,
        decision: 0,
    }];
    let (numerator, denominator) = items.first().map_or((0, 1), Item::rate);
    let ceiling = i128::from(width) * numerator / denominator + hoped(possible) + granted;
    let mut missed = i128::MIN;
    let mut steps = 0;
    for (position, item) in items.iter().enumerate() {
        // The items are in falling order of rate: none of those left brings more for its width than the next one.
        let (numerator, denominator) = items.get(position + 1).map_or((0, 1), Item::rate);
        let hope = |state: &State| {
            let rest = i128::from(width - state.used) * numerator / denominator;
            state.value + rest + hoped(state.joint) + granted
        };
        let mut next: Vec<(State, usize, u32)> = Vec::with_capacity(states.len() * 2);
        for state in &states {
            for (count, value) in (0_u32..).zip(&item.values) {
                let used = state.used + i64::from(count) * item.width;
                if used > width || steps > MOST_STEPS {
                    break;
                }
                steps += 1;
                let lost = item.joint.iter().filter(|(_, least)| count < *least);
                let joint = lost.fold(state.joint, |joint, (bit, _)| joint & !(1 << bit));
                let made = State {
                    used,
                    value: state.value + value,
                    joint,
                    decision: state.decision,
                };
                if hope(&made) > threshold {
                    next.push((made, position, count));
                }
            }
        }
        next.sort_unstable_by(|(a, _, x), (b, _, y)| {
            (a.joint, a.used, b.value, x).cmp(&(b.joint, b.used, a.value, y))
        });
        states.clear();
        let mut best: Option<(u64, i128)> = None;
        for (state, position, count) in next {
            let dominated =
                best.is_some_and(|(joint, value)| joint == state.joint && value >= state.value);
            if dominated {
                continue;
            }
            best = Some((state.joint, state.value));
            if states.len() == MOST_STATES {
                missed = missed.max(hope(&state));
                continue;
            }
            decisions.push((state.decision, position, count));
            states.push(State {
                decision: decisions.len() - 1,
                ..state
            });
        }
    }
    if steps > MOST_STEPS {
        missed = missed.max(ceiling);
    }
    let total = |state: &State| {
        let set = several.iter().enumerate();
        let set = set.filter(|(bit, _)| state.joint >> bit & 1 == 1);
        state.value + set.map(|(_, extra)| extra.worth).sum::<i128>()
    };
    let found = states
        .iter()
        .max_by(|a, b| (total(a), b.used).cmp(&(total(b), a.used)));
    let Some(found) = found else {
        return Best {
            at_most: missed.max(threshold),
            pieces: None,
        };
    };
    let worth = total(found);
    let mut pieces = Vec::new();
    let mut decision = found.decision;
    while decision > 0 {
        let (before, position, count) = decisions[decision];
        if count > 0 {
            pieces.push((items[position].kind, count));
        }
        decision = before;
    }
    pieces.sort_unstable();
    Best {
        at_most: (worth + granted).max(missed).max(threshold),
        pieces: (worth > threshold && !pieces.is_empty()).then_some(pieces),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cutting::model::Way;
    use crate::drawn::Drawn;

    fn spot(width: i64, takes: &[i64]) -> Spot {
        let way = |across: i64| Way {
            along: 1,
            across,
            lengthwise: true,
        };
        Spot {
            stock: 0,
            origin: 0,
            length: 1,
            cost: 0,
            container: None,
            width,
            ways: takes.iter().map(|width| vec![way(*width)]).collect(),
            most: 100,
        }
    }

    /// Every filling, tried out.
    fn by_trying(
        width: i64,
        takes: &[i64],
        wanted: &[u32],
        worth: &[i128],
        extras: &[Extra],
    ) -> i128 {
        fn go(
            at: usize,
            left: i64,
            counts: &mut Vec<u32>,
            case: (&[i64], &[u32], &[i128], &[Extra]),
        ) -> i128 {
            let (takes, wanted, worth, extras) = case;
            if at == takes.len() {
                let own = counts
                    .iter()
                    .zip(worth)
                    .map(|(count, worth)| i128::from(*count) * worth);
                let has = |extra: &&Extra| {
                    extra
                        .holds
                        .iter()
                        .all(|(kind, least)| counts[*kind] >= *least)
                };
                let more = extras.iter().filter(has).map(|extra| extra.worth);
                return own.sum::<i128>() + more.sum::<i128>();
            }
            let mut best = i128::MIN;
            for count in 0..=wanted[at] {
                let left = left - i64::from(count) * takes[at];
                if left >= 0 {
                    counts.push(count);
                    best = best.max(go(at + 1, left, counts, case));
                    counts.pop();
                }
            }
            best
        }
        go(0, width, &mut Vec::new(), (takes, wanted, worth, extras))
    }

    #[test]
    fn the_best_filling_is_found_among_all() {
        let mut drawn = Drawn(7);
        let mut draw = |below: u64| drawn.below(below);
        for _ in 0..3000 {
            let kinds = 1 + draw(4) as usize;
            let width = 5 + draw(20) as i64;
            let takes: Vec<i64> = (0..kinds).map(|_| 1 + draw(9) as i64).collect();
            let wanted: Vec<u32> = (0..kinds).map(|_| draw(4) as u32).collect();
            let worth: Vec<i128> = (0..kinds).map(|_| i128::from(draw(12))).collect();
            let extras: Vec<Extra> = (0..draw(4))
                .map(|_| {
                    let first = draw(kinds as u64) as usize;
                    let second = draw(kinds as u64) as usize;
                    let mut holds = vec![(first, 1 + draw(3) as u32)];
                    if second != first {
                        holds.push((second, 1 + draw(2) as u32));
                    }
                    Extra {
                        holds,
                        worth: i128::from(draw(21)) - 10,
                    }
                })
                .collect();
            let truth = by_trying(width, &takes, &wanted, &worth, &extras);
            let found = best(&spot(width, &takes), &wanted, &worth, &extras, -1000);
            assert_eq!(
                found.at_most, truth,
                "{takes:?} {wanted:?} {worth:?} {extras:?} in {width}"
            );
            // A threshold that is met leaves nothing to find; one just below leaves it all.
            let none = best(&spot(width, &takes), &wanted, &worth, &extras, truth);
            assert!(none.pieces.is_none() && none.at_most == truth);
            let below = best(&spot(width, &takes), &wanted, &worth, &extras, truth - 1);
            assert_eq!(below.at_most, truth);
        }
    }
}
