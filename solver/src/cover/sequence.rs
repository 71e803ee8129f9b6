//! The order of a cover's runs along the strip, where wishes have a say in it.
//!
//! Elsewhere that order is left open: the order of the work decides it. Here it decides where the joints lie and what
//! mirrors what, so that only some orders will do, and the order of the work has to allow one of them.

use std::collections::{BTreeMap, HashSet};

use crate::classes::Class;
use crate::cover::{Cover, Fit, Piece, Runs, Settled};
use crate::hooping::kind::Openness;
use crate::length::Length;
use crate::scenario::{Align, Growth, Scenario, Spot};
use crate::strips::{End, Stage};

/// The most orders of one cover that are listed.
const MOST_SEQUENCES: usize = 500;
/// The most steps that listing them may take: a count, so that the same scenario always gives the same orders.
const MOST_STEPS: usize = 50_000;
/// Covers of more runs than this are not put in order.
const MOST_RUNS: usize = 200;

/// What is wished of the order of the runs along the strips of a class.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SequenceRule {
    /// Spots by their distance from the strip's start, and how far every joint stays away; both doubled, so that half a
    /// strip stays whole.
    spots: Vec<(i128, i128)>,
    pub(super) symmetric: bool,
    align: Align,
    stage: Stage,
    /// Whether the pattern at the ends says which outer run lies at which end.
    cornered: bool,
}

/// A run as its order along the strip sees it: its piece (index), and which of its ends stay open.
pub type Part = (usize, Openness);

/// Orders of a cover's runs.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Sequences {
    /// Each along the strip from its start.
    pub list: Vec<Vec<Part>>,
    /// Whether none is missing.
    pub complete: bool,
}

impl SequenceRule {
    /// The rule for a class; `None` where nothing is wished of the order of its runs.
    pub fn of(scenario: &Scenario, class: &Class) -> Option<SequenceRule> {
        if !class.wishes.orders_runs() {
            return None;
        }
        let spot = |(spot, distance): &(Spot, Length)| {
            let doubled = match spot {
                Spot::Middle => class.length,
                Spot::At(at) => *at * 2,
            };
            (
                i128::from(doubled.nanometres()),
                i128::from((*distance * 2).nanometres()),
            )
        };
        Some(SequenceRule {
            spots: class.wishes.joints_away.iter().map(spot).collect(),
            symmetric: class.wishes.symmetric,
            align: scenario.rules.align,
            stage: class.stage,
            cornered: class.cornered,
        })
    }

    /// The rule for a class where something is wished of where its joints lie, so that not every cover has an order.
    pub fn of_joints(scenario: &Scenario, class: &Class) -> Option<SequenceRule> {
        SequenceRule::of(scenario, class).filter(|_| class.wishes.places_joints())
    }

    /// Whether some order of a cover's runs will do; `None` where that would take too long to tell. Adds the steps that this took
    /// to `steps`.
    pub fn allows(&self, pieces: &[Piece], cover: &Cover, steps: &mut usize) -> Option<bool> {
        let (first, taken) = self.listed(pieces, cover, 1);
        *steps += taken;
        (!first.list.is_empty() || first.complete).then_some(!first.list.is_empty())
    }

    /// The orders of a cover's runs that will do.
    pub fn sequences(&self, pieces: &[Piece], cover: &Cover) -> Sequences {
        self.listed(pieces, cover, MOST_SEQUENCES).0
    }

    /// Whether a joint may lie after runs with this sum, in nanometres, and where that is mirrored.
    pub(super) fn may_join(&self, settled: &Settled, at: i128) -> bool {
        let sum = i128::from(settled.sum.nanometres());
        // Before the first run and after the last one is no joint.
        let may = |at: i128| at == 0 || at == sum || self.is_away(settled, at);
        may(at) && (!self.symmetric || may(sum - at))
    }

    fn is_away(&self, settled: &Settled, at: i128) -> bool {
        let (doubled, parts) = position(self, settled, at);
        let mut spots = self.spots.iter();
        spots.all(|(spot, distance)| (doubled - spot * parts).abs() >= distance * parts)
    }

    /// One order that will do: the numbers of the runs along the strip from its start.
    pub fn one_order(&self, pieces: &[Piece], cover: &Cover) -> Option<Vec<usize>> {
        let sequence = self.listed(pieces, cover, 1).0.list.pop()?;
        let mut waiting: BTreeMap<Part, Vec<usize>> = BTreeMap::new();
        for (run, part) in cover.runs.each().into_iter().enumerate().rev() {
            waiting.entry(part).or_default().push(run);
        }
        let mut along = sequence.iter();
        along.try_fold(Vec::new(), |mut runs, part| {
            runs.push(waiting.get_mut(part)?.pop()?);
            Some(runs)
        })
    }

    fn listed(&self, pieces: &[Piece], cover: &Cover, most: usize) -> (Sequences, usize) {
        let mut search = Search {
            rule: self,
            settled: &cover.settled,
            pieces,
            left: Vec::new(),
            chosen: Vec::new(),
            hopeless: HashSet::new(),
            steps: 0,
            most,
            found: Vec::new(),
            complete: cover.count() <= MOST_RUNS,
        };
        if search.complete {
            search.run(&cover.runs);
        }
        let mut list = Vec::with_capacity(search.found.len());
        for pieces in search.found {
            list.push(self.parts(&cover.runs, pieces));
        }
        let sequences = Sequences {
            list,
            complete: search.complete,
        };
        (sequences, search.steps)
    }

    /// Pieces along the strip, with the ends that stay open.
    fn parts(&self, runs: &Runs, pieces: Vec<usize>) -> Vec<Part> {
        let last = pieces.len().saturating_sub(1);
        let openness = |at: usize| match (runs, self.stage.butts()) {
            (Runs::Single(_) | Runs::Nothing, _) => Openness::Closed,
            (_, Some(End::Start)) if at < last => Openness::Inner,
            (_, Some(End::End)) if at > 0 => Openness::Inner,
            (_, None) if at > 0 && at < last => Openness::Inner,
            _ => Openness::Outer,
        };
        let numbered = pieces.into_iter().enumerate();
        numbered.map(|(at, piece)| (piece, openness(at))).collect()
    }
}

struct Search<'a> {
    rule: &'a SequenceRule,
    settled: &'a Settled,
    pieces: &'a [Piece],
    /// Pieces whose place is still open, and how many there are.
    left: Vec<(usize, usize)>,
    chosen: Vec<usize>,
    /// What was left where it turned out that nothing can follow.
    hopeless: HashSet<Vec<(usize, usize)>>,
    steps: usize,
    most: usize,
    /// Orders as pieces along the strip.
    found: Vec<Vec<usize>>,
    complete: bool,
}

impl Search<'_> {
    fn run(&mut self, runs: &Runs) {
        match runs {
            Runs::Nothing => self.found.push(Vec::new()),
            Runs::Single(piece) => self.found.push(vec![*piece]),
            Runs::Rest { inner, outer } => match self.rule.stage.butts() {
                Some(End::End) => self.between(Some(*outer), inner, None),
                _ => self.between(None, inner, Some(*outer)),
            },
            Runs::Several { outer, inner } => {
                self.between(Some(outer[0]), inner, Some(outer[1]));
                if !self.rule.cornered && outer[0] != outer[1] {
                    self.between(Some(outer[1]), inner, Some(outer[0]));
                }
            }
        }
    }

    /// Orders with these pieces at the start and at the end, where they are told.
    fn between(&mut self, first: Option<usize>, inner: &[usize], last: Option<usize>) {
        let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
        for piece in inner {
            *counts.entry(*piece).or_default() += 1;
        }
        self.hopeless.clear();
        self.chosen.clear();
        if !self.rule.symmetric {
            self.left = counts.into_iter().collect();
            self.chosen.extend(first);
            self.extend(first.map_or(0, |first| self.sum(first)), &Tail::Last(last));
            return;
        }
        // The first half decides, and one piece is in the middle where their number is odd.
        for piece in first.into_iter().chain(last) {
            *counts.entry(piece).or_default() += 1;
        }
        let mut odd = counts.iter().filter(|(_, count)| *count % 2 == 1);
        let middle = odd.next().map(|(piece, _)| *piece);
        if odd.next().is_some() {
            return;
        }
        for count in counts.values_mut() {
            *count /= 2;
        }
        let fixed = first.or(last);
        let total: usize = counts.values().sum();
        if let Some(fixed) = fixed.filter(|_| total > 0) {
            // Both outer runs have to be the same piece.
            if [first, last].iter().flatten().any(|end| *end != fixed) {
                return;
            }
            match counts.get_mut(&fixed).filter(|count| **count > 0) {
                Some(count) => *count -= 1,
                None => return,
            }
            self.chosen.push(fixed);
        }
        self.left = counts.into_iter().filter(|(_, count)| *count > 0).collect();
        let at = self.chosen.first().map_or(0, |first| self.sum(*first));
        self.extend(at, &Tail::Mirrored(middle));
    }

    fn sum(&self, piece: usize) -> i128 {
        i128::from(self.pieces[piece].sum.nanometres())
    }

    /// Adds pieces until none is left. `at` is the sum of those chosen. Returns whether some order could be finished.
    fn extend(&mut self, at: i128, tail: &Tail) -> bool {
        self.steps += 1;
        if self.found.len() >= self.most || self.steps > MOST_STEPS {
            self.complete = false;
            return true;
        }
        if self.left.iter().all(|(_, count)| *count == 0) {
            return self.finish(at, tail);
        }
        if !self.rule.may_join(self.settled, at) || self.hopeless.contains(&self.left) {
            return false;
        }
        let mut finished = false;
        for number in 0..self.left.len() {
            let (piece, count) = self.left[number];
            if count == 0 {
                continue;
            }
            self.left[number].1 -= 1;
            self.chosen.push(piece);
            finished |= self.extend(at + self.sum(piece), tail);
            self.chosen.pop();
            self.left[number].1 += 1;
        }
        if !finished {
            self.hopeless.insert(self.left.clone());
        }
        finished
    }

    fn finish(&mut self, at: i128, tail: &Tail) -> bool {
        let mut whole = self.chosen.clone();
        match tail {
            Tail::Last(last) => {
                if last.is_some() && !self.rule.may_join(self.settled, at) {
                    return false;
                }
                whole.extend(last);
            }
            Tail::Mirrored(middle) => {
                if !self.rule.may_join(self.settled, at) {
                    return false;
                }
                whole.extend(middle);
                whole.extend(self.chosen.iter().rev());
            }
        }
        self.found.push(whole);
        true
    }
}

/// How an order ends.
enum Tail {
    /// With this piece, if any.
    Last(Option<usize>),
    /// With what was chosen, the other way round, after the piece in the middle, if any.
    Mirrored(Option<usize>),
}

/// Where along the strip runs with this sum end, doubled, in so many parts of a nanometre.
fn position(rule: &SequenceRule, settled: &Settled, at: i128) -> (i128, i128) {
    match settled.fit {
        Fit::Over => {
            let before = rule
                .stage
                .overhang_doubled(rule.align, settled.overhang(), End::Start);
            (2 * at - i128::from(before.nanometres()), 1)
        }
        Fit::Exact | Fit::Scaled => (
            2 * at * i128::from(settled.length.nanometres()),
            i128::from(settled.sum.nanometres()),
        ),
    }
}

/// Which end of what is stitched so far the next run may butt up to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Sides {
    /// Where a strip grows to one side only.
    one_way: bool,
    /// The end at which the strip butts up to what is stitched already.
    butts: Option<End>,
}

impl Sides {
    /// The rule for strips that are so far.
    pub fn of(growth: Growth, stage: Stage) -> Sides {
        Sides {
            one_way: growth == Growth::OneWay,
            butts: stage.butts(),
        }
    }

    /// What has to come later than what where runs lie along the strip as told, in these hoopings: each with those of which one does. Several
    /// rules where one of them will do.
    pub fn later(self, along: &[usize]) -> Vec<Vec<(usize, Vec<usize>)>> {
        let onward = || along.windows(2).map(|two| (two[0], vec![two[1]])).collect();
        let backward = || along.windows(2).map(|two| (two[1], vec![two[0]])).collect();
        match self.butts {
            Some(End::Start) => vec![onward()],
            Some(End::End) => vec![backward()],
            None if self.one_way && along.len() > 2 => vec![onward(), backward()],
            None if self.one_way => vec![Vec::new()],
            // Of two neighbours one is stitched later; so all on that side are, since the same holds for it.
            None => vec![
                along
                    .windows(3)
                    .map(|three| (three[1], vec![three[0], three[2]]))
                    .collect(),
            ],
        }
    }

    /// Looked at from the last run backwards: whether the run at the start, and the one at the end of what is left, may be
    /// taken off, with so many taken off at the start and at the end before.
    pub fn open(self, start: usize, end: usize) -> [bool; 2] {
        match self.butts {
            Some(End::Start) => [false, true],
            Some(End::End) => [true, false],
            None if self.one_way => [end == 0, start == 0],
            None => [true, true],
        }
    }
}

/// Where each run lies, where an order along the strip lets the work go on without gaps: for each place along the strip the
/// run. `worked` are the runs in the order of the work.
pub fn placed(sequence: &[Part], worked: &[(usize, Part)], sides: Sides) -> Option<Vec<usize>> {
    let count = sequence.len();
    if worked.len() != count || count > MOST_RUNS {
        return None;
    }
    // After so many runs taken off, from the last one backwards: for each number of them at the start the side of the last.
    let mut reached: Vec<Vec<Option<End>>> = vec![vec![None; count + 1]; count + 1];
    reached[0][0] = Some(End::Start);
    for (taken, (_, part)) in worked.iter().rev().enumerate() {
        for start in 0..=taken {
            if reached[taken][start].is_none() {
                continue;
            }
            let end = taken - start;
            let [at_start, at_end] = sides.open(start, end);
            if at_end && sequence[count - 1 - end] == *part {
                reached[taken + 1][start].get_or_insert(End::End);
            }
            if at_start && sequence[start] == *part {
                reached[taken + 1][start + 1].get_or_insert(End::Start);
            }
        }
    }
    let mut start = (0..=count).find(|start| reached[count][*start].is_some())?;
    let mut runs = vec![0; count];
    for taken in (1..=count).rev() {
        let run = worked[count - taken].0;
        match reached[taken][start]? {
            End::Start => {
                start -= 1;
                runs[start] = run;
            }
            End::End => runs[count - (taken - start)] = run,
        }
    }
    Some(runs)
}
