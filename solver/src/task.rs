//! The scenario taken apart: what every step of the search looks at.

use crate::classes::Class;
use crate::cover::{ClassCovers, Cover, Runs};
use crate::hooping::kind::{Kind, Openness};
use crate::scenario::Scenario;
use crate::strips::QuiltTop;

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
}

impl<'a> Task<'a> {
    /// A cover by class and index.
    pub fn cover(&self, (class, cover): (usize, usize)) -> &'a Cover {
        &self.covers[class].covers[cover]
    }

    /// The kind of each run of a cover: the start run, the inner ones, the end run. A single run stands alone.
    pub fn run_kinds(&self, choice: (usize, usize)) -> Vec<Kind> {
        let (of_class, cover) = (&self.covers[choice.0], self.cover(choice));
        let kind = |piece: usize, openness: Openness| {
            let piece = &of_class.pieces[piece];
            Kind {
                openness,
                class: (openness != Openness::Closed).then_some(choice.0),
                length: cover.settled.stitched(piece.sum),
                width: self.classes[choice.0].width,
                margin_along: piece.margin_along,
                margin_across: piece.margin_across,
            }
        };
        match &cover.runs {
            Runs::Single(piece) => vec![kind(*piece, Openness::Closed)],
            Runs::Several { outer, inner } => {
                let inner = inner.iter().map(|piece| kind(*piece, Openness::Inner));
                let start = std::iter::once(kind(outer[0], Openness::Outer));
                start.chain(inner).chain([kind(outer[1], Openness::Outer)]).collect()
            }
        }
    }

    /// The number of strips of a class.
    pub fn members(&self, class: usize) -> usize {
        self.classes[class].members.len()
    }

    /// The most runs, and so the most hoopings, that the listed covers can lead to.
    pub fn most_runs(&self) -> usize {
        let most = |class: usize| self.covers[class].covers.iter().map(Cover::count).max().unwrap_or(0);
        (0..self.classes.len()).map(|class| self.members(class) * most(class)).sum()
    }

    /// The fewest joints of any plan, as far as the lists of pieces tell.
    pub fn fewest_joints(&self) -> i128 {
        (0..self.classes.len()).map(|class| self.members(class) as i128 * (self.covers[class].fewest_runs() - 1)).sum()
    }

    /// Whether the lists hold every cover that a plan with at most so many joints can use (any plan, without a number).
    ///
    /// A plan that uses a cover that is not listed for one strip has at least the joints of that cover, and the fewest
    /// that all other strips can have.
    pub fn covers_suffice(&self, joints: Option<i128>) -> bool {
        let fewest = self.fewest_joints();
        self.covers.iter().all(|of_class| match (of_class.complete_to, joints) {
            (None, _) => true,
            (Some(_), None) => false,
            (Some(runs), Some(joints)) => {
                fewest - of_class.fewest_runs() + runs as i128 + 1 > joints && of_class.every_piece
            }
        })
    }
}
