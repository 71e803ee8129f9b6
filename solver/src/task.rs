//! The scenario taken apart: what every step of the search looks at.

use crate::bounds::runs_by_length;
use crate::classes::Class;
use crate::cover::{ClassCovers, Cover, Settled};
use crate::hooping::kind::{Kind, Openness};
use crate::roll::Roll;
use crate::scenario::Scenario;
use crate::strips::QuiltTop;
use crate::wishes::Bound;

/// The scenario, its strips, and how they can be covered.
#[derive(Clone, Copy)]
pub struct Task<'a> {
    /// The scenario.
    pub scenario: &'a Scenario,
    /// Its strips and corners.
    pub top: &'a QuiltTop,
    /// The classes of strips that can be stitched.
    pub classes: &'a [Class],
    /// The covers of each class.
    pub covers: &'a [ClassCovers<'a>],
    /// What wishes say of single strips.
    pub bound: &'a Bound,
    /// The roll of stabilizer, where the goal counts its length.
    pub roll: Option<&'a Roll>,
}

impl<'a> Task<'a> {
    /// A cover by class and index.
    pub fn cover(&self, (class, cover): (usize, usize)) -> &'a Cover {
        &self.covers[class].covers[cover]
    }

    /// The kind of each run of a cover: the start run, the inner ones, the end run. A single run stands alone.
    pub fn run_kinds(&self, choice: (usize, usize)) -> Vec<Kind> {
        let cover = self.cover(choice);
        let runs = cover.runs.each().into_iter();
        let kind = |(piece, openness)| self.kind(choice.0, &cover.settled, piece, openness);
        runs.map(kind).collect()
    }

    /// The kind of a run of a class's strip that is stitched with a piece.
    pub fn kind(&self, class: usize, settled: &Settled, piece: usize, openness: Openness) -> Kind {
        let of_class = &self.classes[class];
        self.covers[class].pieces[piece].kind(class, of_class, settled, openness)
    }

    /// How long the runs of a cover take, in parts of a minute; nothing where the goal does not count minutes.
    pub fn time(&self, choice: (usize, usize)) -> i128 {
        let time = self.cover(choice).time(&self.covers[choice.0].pieces);
        i128::from(time.parts())
    }

    /// The fewest joints of a plan that uses some cover that is not listed; `None` where all are.
    pub fn fewest_joints_unlisted(&self) -> Option<i128> {
        let fewest = self.fewest_joints();
        let with = |(class, of_class): (usize, &ClassCovers<'_>)| {
            // Nothing is known of unlisted covers where pieces are missing.
            let runs = of_class.complete_to.filter(|_| of_class.every_piece);
            let least = (self.fewest_runs(class) - 1).max(0);
            let joints = runs.map_or(0, |runs| fewest - least + least.max(runs as i128));
            of_class.complete_to.map(|_| joints)
        };
        self.covers.iter().enumerate().filter_map(with).min()
    }

    /// The number of strips of a class.
    pub fn members(&self, class: usize) -> usize {
        self.classes[class].members.len()
    }

    /// The most runs, and so the most hoopings, that the listed covers can lead to.
    pub fn most_runs(&self) -> usize {
        let most = |class: usize| {
            self.covers[class]
                .covers
                .iter()
                .map(Cover::count)
                .max()
                .unwrap_or(0)
        };
        (0..self.classes.len())
            .map(|class| self.members(class) * most(class))
            .sum()
    }

    /// The fewest joints of any plan, as far as the lists of pieces tell.
    pub fn fewest_joints(&self) -> i128 {
        (0..self.classes.len())
            .map(|class| self.members(class) as i128 * (self.fewest_runs(class) - 1).max(0))
            .sum()
    }

    /// The fewest runs of a strip of a class, or fewer where they are not known: by its covers, and by length.
    pub fn fewest_runs(&self, class: usize) -> i128 {
        let by_length = runs_by_length(self.scenario, &self.classes[class]);
        self.covers[class].fewest_runs().max(by_length)
    }

    /// Whether the lists hold every cover that a plan with at most so many joints can use (any plan, without a number).
    pub fn covers_suffice(&self, joints: Option<i128>) -> bool {
        match self.fewest_joints_unlisted() {
            None => true,
            Some(unlisted) => joints.is_some_and(|joints| joints < unlisted),
        }
    }
}
