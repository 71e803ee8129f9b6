//! The best sequence of hoopings for strips whose runs are chosen: every legal next hooping from every state.

use std::collections::{BTreeMap, BTreeSet};

use sashwright_solver::scenario::{Growth, Scenario, Term};

use super::choice::{Run, minutes};
use super::hooping::{between, fits};
use super::score::{Score, Terms, plus, score};
use super::wishes::Wishes;
use super::work::{TooMuchWork, Work};

/// The most runs whose sets are tabled.
const MOST_RUNS: usize = 12;

/// Finds best sequences of hoopings, and remembers which runs lie together in which hoop.
pub struct Sequencer<'a> {
    scenario: &'a Scenario,
    wishes: &'a Wishes<'a>,
    /// All strips that are stitched.
    strips: BTreeSet<usize>,
    /// For runs in ascending order: whether each hoop takes them together.
    together: BTreeMap<Vec<Run>, Vec<bool>>,
    /// The best score for strips, in ascending order: whether it is what is left of a begun one, and its runs.
    known: BTreeMap<Vec<(bool, Vec<Run>)>, Option<Score>>,
}

/// The runs of all strips in one row; a set of them is a bit mask.
struct Row {
    runs: Vec<Run>,
    /// First run and number of runs of each strip, and whether it is what is left of a begun one.
    strips: Vec<(usize, usize, bool)>,
}

impl<'a> Sequencer<'a> {
    /// A sequencer for the scenario's hoops, rules, wishes and goal.
    pub fn new(
        scenario: &'a Scenario,
        wishes: &'a Wishes<'a>,
        strips: BTreeSet<usize>,
    ) -> Sequencer<'a> {
        Sequencer {
            scenario,
            wishes,
            strips,
            together: BTreeMap::new(),
            known: BTreeMap::new(),
        }
    }

    /// The area of a hoop's piece of stabilizer, nm².
    pub fn piece(scenario: &Scenario, hoop: usize) -> i128 {
        let margin = i128::from(scenario.materials.stabilizer.margin.nanometres());
        let sides = scenario.hoops[hoop].frame;
        sides
            .map(|side| i128::from(side.nanometres()) + 2 * margin)
            .iter()
            .product()
    }

    /// The best score of hoopings, stabilizer and hoop changes for strips with these runs; those of what is left of a begun
    /// strip come in their order. Every run fits alone; `None`
    /// where wishes leave no sequence.
    pub fn best(
        &mut self,
        strips: &[(bool, &[Run])],
        work: &mut Work,
    ) -> Result<Option<Score>, TooMuchWork> {
        // Strips are told apart only by their runs, and each may be read from either end.
        let read = |(is_rest, runs): &(bool, &[Run])| {
            let backward: Vec<Run> = runs.iter().rev().copied().collect();
            let read = if *is_rest {
                runs.to_vec()
            } else {
                backward.min(runs.to_vec())
            };
            (*is_rest, read)
        };
        let mut key: Vec<(bool, Vec<Run>)> = strips.iter().map(read).collect();
        key.sort();
        if let Some(score) = self.known.get(&key) {
            return Ok(*score);
        }
        let best = self.search(&key, work)?;
        self.known.insert(key, best);
        Ok(best)
    }

    /// Dynamic programming over the set of stitched runs and the hoop used last: scores add up along the sequence, and
    /// what is still to come depends on nothing else.
    fn search(
        &mut self,
        strips: &[(bool, Vec<Run>)],
        work: &mut Work,
    ) -> Result<Option<Score>, TooMuchWork> {
        let row = Row::of(strips);
        if row.runs.len() > MOST_RUNS {
            return Err(TooMuchWork);
        }
        let hoops = self.scenario.hoops.len();
        let all: usize = (1 << row.runs.len()) - 1;
        // The last place of each entry stands for "no hooping yet".
        let mut best: Vec<Vec<Option<Score>>> = vec![vec![None; hoops + 1]; all + 1];
        best[0][hoops] = Some(Score::default());
        for stitched in 0..all {
            if best[stitched].iter().all(Option::is_none) {
                continue;
            }
            for set in row.next_sets(stitched, self.scenario, work)? {
                work.spend(1)?;
                let strips = |set: usize| row.members(set).map(|run| run.strip).collect();
                let later: BTreeSet<usize> = strips(all & !stitched & !set);
                if !self.wishes.may_come_before(&strips(set), &later) {
                    continue;
                }
                let takes = self.takes(&row, set, work)?;
                for hoop in (0..hoops).filter(|hoop| takes[*hoop]) {
                    for last in 0..=hoops {
                        let Some(before) = best[stitched][last] else {
                            continue;
                        };
                        let changed = last != hoops && last != hoop;
                        let after = plus(before, self.step(hoop, changed));
                        let place = &mut best[stitched | set][hoop];
                        *place = Some(place.map_or(after, |known| known.min(after)));
                    }
                }
            }
        }
        Ok(best[all].iter().flatten().min().copied())
    }

    /// The score of one more hooping.
    fn step(&self, hoop: usize, changed: bool) -> Score {
        let rates = &self.scenario.rates;
        let mut terms = Terms::default();
        terms[Term::Hoopings as usize] = 1;
        terms[Term::Stabilizer as usize] = Sequencer::piece(self.scenario, hoop);
        terms[Term::HoopChanges as usize] = i128::from(changed);
        terms[Term::Minutes as usize] =
            minutes(rates.hooping) + i128::from(changed) * minutes(rates.hoop_change);
        score(self.scenario, &terms)
    }

    /// Which hoops take a set of runs together.
    fn takes(&mut self, row: &Row, set: usize, work: &mut Work) -> Result<Vec<bool>, TooMuchWork> {
        let mut runs: Vec<Run> = row.members(set).collect();
        runs.sort();
        if let Some(takes) = self.together.get(&runs) {
            return Ok(takes.clone());
        }
        // Every order of the runs times every set of places to cut.
        let orders: u64 = (1..=runs.len() as u64).product();
        work.spend(orders << (runs.len() - 1))?;
        let between = between(self.scenario);
        let share = self.wishes.share(&runs, &self.strips);
        let may_lie = |hoop| {
            runs.iter()
                .all(|run| self.wishes.may_lie_in(run.strip, hoop))
        };
        let hoops = self.scenario.hoops.iter().enumerate();
        let takes: Vec<bool> = hoops
            .map(|(number, hoop)| share && may_lie(number) && fits(&runs, hoop, between))
            .collect();
        self.together.insert(runs, takes.clone());
        Ok(takes)
    }
}

impl Row {
    fn of(strips: &[(bool, Vec<Run>)]) -> Row {
        let mut row = Row {
            runs: Vec::new(),
            strips: Vec::new(),
        };
        for (is_rest, runs) in strips {
            row.strips.push((row.runs.len(), runs.len(), *is_rest));
            row.runs.extend(runs);
        }
        row
    }

    fn members(&self, set: usize) -> impl Iterator<Item = Run> {
        let runs = self.runs.iter().enumerate();
        runs.filter(move |(index, _)| set >> index & 1 == 1)
            .map(|(_, run)| *run)
    }

    /// Every set of runs that may be stitched next in one hooping, as far as the order is concerned: at most one run
    /// of each strip, and its stitched part stays one stretch.
    fn next_sets(
        &self,
        stitched: usize,
        scenario: &Scenario,
        work: &mut Work,
    ) -> Result<Vec<usize>, TooMuchWork> {
        let mut sets: Vec<usize> = vec![0];
        for (first, count, is_rest) in &self.strips {
            let next = if *is_rest {
                (0..*count)
                    .find(|run| stitched >> (first + run) & 1 == 0)
                    .into_iter()
                    .collect()
            } else {
                next_runs(stitched >> first, *count, scenario.rules.growth)
            };
            let before = sets.clone();
            for run in next {
                work.spend(before.len() as u64)?;
                sets.extend(before.iter().map(|set| set | 1 << (first + run)));
            }
        }
        let shared = scenario.rules.share_hoopings;
        sets.retain(|set| *set != 0 && (shared || set.count_ones() == 1));
        Ok(sets)
    }
}

/// Which runs of a strip of `count` runs may come next; the low bits of `stitched` say which are done.
fn next_runs(stitched: usize, count: usize, growth: Growth) -> Vec<usize> {
    let done = |run: usize| stitched >> run & 1 == 1;
    let none_done = !(0..count).any(done);
    let may_start = |run: usize| growth == Growth::EitherWay || run == 0 || run == count - 1;
    // A strip that was begun at one end has only one end left to grow from, so both ways of growth go on alike.
    let butts_up = |run: usize| run > 0 && done(run - 1) || run + 1 < count && done(run + 1);
    (0..count)
        .filter(|run| !done(*run) && (none_done && may_start(*run) || butts_up(*run)))
        .collect()
}
