//! A program all of whose covers are at hand while its hoopings are priced: a search settles the covers, and each choice of
//! covers is judged by looking for its hoopings.

use std::collections::BTreeMap;

use crate::columns::atoms::Atom;
use crate::columns::crowd::Cut;
use crate::columns::dealer::{Covered, Hit};
use crate::columns::model::Model;
use crate::columns::rehoop::{Rehoop, counted};
use crate::columns::restricted::Restricted;
use crate::columns::tree::{Branch, Program, Verdict};
use crate::cover::Cover;

/// How many strips of each class get which cover, and what all of them count for.
type Choice = (Vec<(usize, Cover, usize)>, Vec<(Atom, i64)>);

/// The program, and who looks for hoopings.
pub struct ByCovers<'p, 't, 'a> {
    of: Restricted<'t, 'a>,
    rehoop: Rehoop<'p, 'a>,
    /// The stage that counts.
    aim: usize,
    /// What was said of covers so far: by how many strips of each class get which, and what they count for at corners and else.
    known: BTreeMap<Choice, Verdict>,
    /// The plan that was found.
    pub hit: Option<Hit>,
}

impl<'p, 't, 'a> ByCovers<'p, 't, 'a> {
    /// The program of these covers and no others. Without a list covers are priced as well: but those that a branch has
    /// closed do not come back, so that such a search proves nothing.
    pub fn new(
        mut of: Restricted<'t, 'a>,
        covers: Option<Vec<(usize, Cover)>>,
        rehoop: Rehoop<'p, 'a>,
    ) -> ByCovers<'p, 't, 'a> {
        if let Some(covers) = covers {
            of.narrow_covers(&covers);
            of.close_covers();
        }
        let aim = rehoop.target.hold(&mut of);
        ByCovers {
            of,
            rehoop,
            aim,
            known: BTreeMap::new(),
            hit: None,
        }
    }

    /// The program.
    pub fn restricted(&self) -> &Restricted<'t, 'a> {
        &self.of
    }

    /// What the stage that counts may have at most.
    pub fn most(&self) -> i64 {
        self.rehoop.target.most[self.aim]
    }
}

impl Program for ByCovers<'_, '_, '_> {
    fn model(&self) -> &Model {
        &self.of.model
    }

    fn model_mut(&mut self) -> &mut Model {
        &mut self.of.model
    }

    fn solve(&mut self, most: i64) -> Branch {
        let form = &self.rehoop.target.forms[self.aim];
        self.of.branch(form, most, self.rehoop.deadline)
    }

    fn count(&mut self, set: &[usize], most: i64) -> usize {
        self.of.add_count(set, most)
    }

    fn point(&self, _: i64) -> Option<Vec<i64>> {
        // Hoopings may be parts: they are looked for anew.
        Some(self.of.model.rounded())
    }

    fn judge(&mut self, point: &[i64]) -> Verdict {
        let Some(covered) = Covered::of(self.rehoop.task, &self.of, point) else {
            return Verdict::Doubtful;
        };
        let mut made_of = covered.made_of.clone();
        made_of.sort_unstable();
        let choice = (counted(&covered.covers), made_of);
        if let Some(verdict) = self.known.get(&choice) {
            return *verdict;
        }
        let (verdict, hit) = self.rehoop.look(&covered, &self.of);
        self.hit = hit.or(self.hit.take());
        self.known.insert(choice, verdict);
        verdict
    }

    fn proves(&self, _: i128) -> bool {
        false
    }

    fn cut(&mut self) -> Option<Cut> {
        None
    }
}
