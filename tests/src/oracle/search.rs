//! Every choice for every strip, each with its best sequence of hoopings.

use sashwright_solver::scenario::{Scenario, Term};
use sashwright_solver::strips::{Corner, End, QuiltTop, Strip};

use super::Choice;
use super::choice::{Run, minutes};
use super::corner::mismatch;
use super::order::Sequencer;
use super::score::{Score, Terms, plus, score};
use super::wishes::Wishes;
use super::work::{TooMuchWork, Work};

/// A strip with every way to stitch it.
struct Planned {
    strip: usize,
    choices: Vec<Choice>,
}

/// The search over the choices of all strips.
pub struct Search<'a> {
    scenario: &'a Scenario,
    corners: &'a [Corner],
    strips: &'a [Strip],
    planned: Vec<Planned>,
    wishes: &'a Wishes<'a>,
    sequencer: Sequencer<'a>,
    least_piece: i128,
    best: Option<Score>,
}

impl<'a> Search<'a> {
    /// A search over these strips, by index, each with at least one way to stitch it.
    pub fn new(
        scenario: &'a Scenario,
        top: &'a QuiltTop,
        wishes: &'a Wishes<'a>,
        planned: Vec<(usize, Vec<Choice>)>,
    ) -> Search<'a> {
        let pieces = (0..scenario.hoops.len()).map(|hoop| Sequencer::piece(scenario, hoop));
        let mut planned: Vec<Planned> = planned
            .into_iter()
            .map(|(strip, choices)| Planned { strip, choices })
            .collect();
        // Good choices first, so that the others are passed over early.
        for strip in &mut planned {
            let value = |choice: &Choice| (own_score(scenario, choice), choice.runs.len());
            strip.choices.sort_by_key(value);
        }
        let strips = planned.iter().map(|planned| planned.strip).collect();
        Search {
            scenario,
            corners: &top.corners,
            strips: &top.strips,
            planned,
            wishes,
            sequencer: Sequencer::new(scenario, wishes, strips),
            least_piece: pieces.min().unwrap_or(0),
            best: None,
        }
    }

    /// The best score of any plan; `None` where none keeps the wishes.
    pub fn best(mut self, work: &mut Work) -> Result<Option<Score>, TooMuchWork> {
        self.go_on(&mut Vec::new(), work)?;
        Ok(self.best)
    }

    /// Tries every choice for the strips that have none yet; `chosen` are the choices of the first ones.
    fn go_on(&mut self, chosen: &mut Vec<usize>, work: &mut Work) -> Result<(), TooMuchWork> {
        work.spend(1)?;
        if self.best.is_some_and(|best| self.at_least(chosen) >= best) {
            return Ok(());
        }
        let next = chosen.len();
        if next == self.planned.len() {
            let pairs = self.planned.iter().zip(&*chosen);
            let is_rest = |strip: usize| self.strips[strip].stage.butts().is_some();
            let runs: Vec<(bool, &[Run])> = pairs
                .map(|(of, choice)| (is_rest(of.strip), of.choices[*choice].runs.as_slice()))
                .collect();
            let Some(sequence) = self.sequencer.best(&runs, work)? else {
                return Ok(());
            };
            let total = plus(self.of_choices(chosen), sequence);
            self.best = Some(self.best.map_or(total, |best| best.min(total)));
            return Ok(());
        }
        // Among strips alike that meet no counted corner, exchanging choices changes nothing.
        let alike = next > 0
            && self.strips[self.planned[next].strip].stage.butts()
                == self.strips[self.planned[next - 1].strip].stage.butts()
            && self.planned[next].choices == self.planned[next - 1].choices
            && self.planned[next]
                .choices
                .iter()
                .all(|choice| choice.ends.is_none());
        let from = if alike { chosen[next - 1] } else { 0 };
        for choice in from..self.planned[next].choices.len() {
            if !self.is_alike(chosen, choice) {
                continue;
            }
            chosen.push(choice);
            self.go_on(chosen, work)?;
            chosen.pop();
        }
        Ok(())
    }

    /// Whether the next strip is stitched like those before that it is wished to be like.
    fn is_alike(&self, chosen: &[usize], choice: usize) -> bool {
        let next = &self.planned[chosen.len()];
        let of = &self.strips[next.strip];
        self.chosen(chosen).all(|(strip, before)| {
            let other = &self.strips[strip];
            let same = (other.length, other.width, other.design)
                == (of.length, of.width, of.design)
                && other.stage.of_any() == of.stage.of_any();
            let alike = same && self.wishes.are_alike(strip, next.strip);
            !alike || before.segments == next.choices[choice].segments
        })
    }

    fn chosen(&self, chosen: &[usize]) -> impl Iterator<Item = (usize, &Choice)> {
        let pairs = self.planned.iter().zip(chosen.to_vec());
        pairs.map(|(strip, choice)| (strip.strip, &strip.choices[choice]))
    }

    /// The score of what the choices alone decide: joints, corners and overhang.
    fn of_choices(&self, chosen: &[usize]) -> Score {
        let own = self
            .chosen(chosen)
            .map(|(_, choice)| own_score(self.scenario, choice));
        let total = own.fold(Score::default(), plus);
        let mut terms = Terms::default();
        terms[Term::CornerMismatch as usize] = self.mismatches(chosen);
        plus(total, score(self.scenario, &terms))
    }

    fn mismatches(&self, chosen: &[usize]) -> i128 {
        let pattern = |(strip, end): (usize, End)| {
            let mut all = self.chosen(chosen);
            let ends = all.find(|(index, _)| *index == strip)?.1.ends?;
            Some(ends[end as usize])
        };
        let at_corner = |corner: &Corner| {
            let [one, other] = corner.ends;
            Some(mismatch(pattern(one)?, pattern(other)?))
        };
        self.corners.iter().filter_map(at_corner).sum()
    }

    /// What every plan with these choices scores at least: each run of one strip needs a hooping of its own.
    fn at_least(&self, chosen: &[usize]) -> Score {
        let most = self
            .chosen(chosen)
            .map(|(_, choice)| choice.runs.len())
            .max();
        let hoopings = most.unwrap_or(0) as i128;
        let mut terms = Terms::default();
        terms[Term::Hoopings as usize] = hoopings;
        terms[Term::Stabilizer as usize] = hoopings * self.least_piece;
        terms[Term::Minutes as usize] = hoopings * minutes(self.scenario.rates.hooping);
        plus(self.of_choices(chosen), score(self.scenario, &terms))
    }
}

/// The score of one strip's joints, its overhang and the time of its runs.
fn own_score(scenario: &Scenario, choice: &Choice) -> Score {
    let mut terms = Terms::default();
    terms[Term::Joints as usize] = (choice.runs.len() as i128 - 1).max(0);
    terms[Term::Overhang as usize] = choice.overhang;
    terms[Term::Minutes as usize] = choice.time;
    score(scenario, &terms)
}
