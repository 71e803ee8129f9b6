//! Which places go to which kinds of runs, when only their numbers matter: a maximum flow between kinds.

use std::collections::{BTreeMap, VecDeque};

use crate::deadline::Deadline;

/// For each kind of place the kinds of runs that get some, and how many.
pub(super) type Given = BTreeMap<usize, Vec<(usize, usize)>>;

/// Sends as much as possible from places to runs. `takes(place, run)` tells which pairs are allowed. Returns how many
/// places of each kind go to runs of each kind, or `None` where some run goes without, or the time is over.
pub(super) fn share_out(
    places: &[usize],
    runs: &[usize],
    takes: impl Fn(usize, usize) -> bool,
    deadline: &Deadline,
) -> Option<Given> {
    // Only kinds that occur matter; there may be many others.
    let active = |counts: &[usize]| -> Vec<usize> {
        (0..counts.len()).filter(|kind| counts[*kind] > 0).collect()
    };
    let (of_places, of_runs) = (active(places), active(runs));
    let few = |counts: &[usize], kinds: &[usize]| -> Vec<usize> {
        kinds.iter().map(|kind| counts[*kind]).collect()
    };
    let among = share_out_few(
        &few(places, &of_places),
        &few(runs, &of_runs),
        |place, run| of_places[place] == of_runs[run],
        |place, run| takes(of_places[place], of_runs[run]),
        deadline,
    )?;
    let mut given = Given::new();
    for (place, of_place) in of_places.iter().zip(among) {
        for (run, count) in of_runs.iter().zip(of_place) {
            if count > 0 {
                given.entry(*place).or_default().push((*run, count));
            }
        }
    }
    Some(given)
}

fn share_out_few(
    places: &[usize],
    runs: &[usize],
    same: impl Fn(usize, usize) -> bool,
    takes: impl Fn(usize, usize) -> bool,
    deadline: &Deadline,
) -> Option<Vec<Vec<usize>>> {
    let mut given = vec![vec![0_usize; runs.len()]; places.len()];
    let mut free = places.to_vec();
    let mut wanting = runs.to_vec();
    let allowed: Vec<Vec<usize>> = (0..places.len())
        .map(|place| {
            (0..runs.len())
                .filter(|run| runs[*run] > 0 && takes(place, *run))
                .collect()
        })
        .collect();
    // Places that fit exactly come first; most of the work is done here.
    for place in 0..places.len() {
        let exact = allowed[place]
            .iter()
            .copied()
            .filter(|run| same(place, *run));
        let others = allowed[place]
            .iter()
            .copied()
            .filter(|run| !same(place, *run));
        for run in exact.chain(others) {
            let amount = free[place].min(wanting[run]);
            given[place][run] += amount;
            free[place] -= amount;
            wanting[run] -= amount;
        }
    }
    while wanting.iter().any(|count| *count > 0) {
        if deadline.over() {
            return None;
        }
        let path = augmenting_path(&free, &wanting, &allowed, &given)?;
        let amount = path.amount(&free, &wanting, &given);
        path.send(amount, &mut free, &mut wanting, &mut given);
    }
    Some(given)
}

/// place → run, run ← place, …: pairs (place, run) to give more to, each but the last followed by one to give less to.
struct Path(Vec<(usize, usize)>);

impl Path {
    /// Pairs that give less: the run of one step taken back from the place of the next.
    fn back(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        self.0.windows(2).map(|steps| (steps[1].0, steps[0].1))
    }

    fn amount(&self, free: &[usize], wanting: &[usize], given: &[Vec<usize>]) -> usize {
        let ends = [
            self.0.first().map(|step| free[step.0]),
            self.0.last().map(|step| wanting[step.1]),
        ];
        let back = self.back().map(|(place, run)| given[place][run]);
        ends.into_iter().flatten().chain(back).min().unwrap_or(0)
    }

    fn send(
        &self,
        amount: usize,
        free: &mut [usize],
        wanting: &mut [usize],
        given: &mut [Vec<usize>],
    ) {
        for (place, run) in self.back() {
            given[place][run] -= amount;
        }
        for (place, run) in &self.0 {
            given[*place][*run] += amount;
        }
        if let (Some((place, _)), Some((_, run))) = (self.0.first(), self.0.last()) {
            free[*place] -= amount;
            wanting[*run] -= amount;
        }
    }
}

/// A path from a free place to a run that goes without (breadth first).
fn augmenting_path(
    free: &[usize],
    wanting: &[usize],
    allowed: &[Vec<usize>],
    given: &[Vec<usize>],
) -> Option<Path> {
    let mut reached_by: Vec<Option<usize>> = vec![None; wanting.len()];
    let mut came_from: Vec<Option<usize>> = vec![None; free.len()];
    let mut seen: Vec<bool> = free.iter().map(|count| *count > 0).collect();
    let mut queue: VecDeque<usize> = (0..free.len()).filter(|place| free[*place] > 0).collect();
    while let Some(place) = queue.pop_front() {
        for run in &allowed[place] {
            if reached_by[*run].is_some() {
                continue;
            }
            reached_by[*run] = Some(place);
            if wanting[*run] > 0 {
                let mut steps = vec![(place, *run)];
                let mut at = place;
                while let Some(before) = came_from[at] {
                    let by = reached_by[before].unwrap_or(at);
                    steps.push((by, before));
                    at = by;
                }
                steps.reverse();
                return Some(Path(steps));
            }
            for other in 0..free.len() {
                if !seen[other] && given[other][*run] > 0 {
                    seen[other] = true;
                    came_from[other] = Some(*run);
                    queue.push_back(other);
                }
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The greedy start gives both places of kind 0 to run 0; run 1 gets one back by way of place 1.
    #[test]
    fn earlier_gifts_are_taken_back() {
        let never = Deadline::never();
        let takes = |place: usize, run: usize| place == 0 || run == 0;
        let given = share_out(&[2, 1], &[2, 1], takes, &never).expect("it can be shared out");
        let count = |place: usize, run: usize| {
            let of_place = given.get(&place).into_iter().flatten();
            of_place
                .filter(|(other, _)| *other == run)
                .map(|(_, count)| count)
                .sum::<usize>()
        };
        assert_eq!(count(0, 1), 1);
        assert_eq!(count(0, 0) + count(1, 0), 2);
        assert_eq!(share_out(&[1, 1], &[1, 2], takes, &never), None);
    }
}
