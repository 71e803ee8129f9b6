//! A program all of whose columns are at hand, as a search goes through it.

use crate::columns::crowd::Cut;
use crate::columns::dealer::{Dealer, Hit};
use crate::columns::features;
use crate::columns::model::Model;
use crate::columns::split::WHOLE;
use crate::columns::tree::{self, Branch, Effort, Found, Program, Verdict};
use crate::linear::Outcome;

/// Looks in a dealer's program, all of whose columns are at hand, for a point that costs at most `most` and that it can deal out.
pub fn search(dealer: &mut Dealer<'_, '_>, most: i64, effort: Effort) -> Found {
    let (of, deadline) = (dealer.of, dealer.deadline);
    let branching = features::of_all(of);
    let mut listed = Listed {
        model: of.model.clone(),
        dealer,
    };
    tree::search(&mut listed, &branching, most, effort, deadline)
}

/// The same, as what is said of a choice whose program it is, with the plan that was found.
pub fn judge(mut dealer: Dealer<'_, '_>, most: i64, effort: Effort) -> (Verdict, Option<Hit>) {
    match search(&mut dealer, most, effort) {
        Found::Point(_) => (Verdict::Accepted, dealer.hit),
        Found::None => (Verdict::Rejected, None),
        Found::Better(_) | Found::Unknown => (Verdict::Doubtful, None),
    }
}

/// A program and who deals its points out.
struct Listed<'l, 'd, 'a> {
    model: Model,
    dealer: &'l mut Dealer<'d, 'a>,
}

impl Program for Listed<'_, '_, '_> {
    fn model(&self) -> &Model {
        &self.model
    }

    fn model_mut(&mut self) -> &mut Model {
        &mut self.model
    }

    fn solve(&mut self, most: i64) -> Branch {
        let model = &mut self.model;
        match model.solve(self.dealer.deadline) {
            Outcome::Unfinished => Branch::Doubtful,
            Outcome::Infeasible => {
                let multipliers = model.multipliers(model.places(false), false);
                if model.proves(&multipliers, None, true) > 0 {
                    Branch::Closed
                } else {
                    Branch::Doubtful
                }
            }
            Outcome::Optimal => {
                if model.objective() <= most as f64 + WHOLE {
                    return Branch::Open;
                }
                let places = model.places(true);
                let multipliers = model.multipliers(places, true);
                let proven = model.proves(&multipliers, Some(places), true);
                if proven > i128::from(most) << places {
                    Branch::Closed
                } else {
                    Branch::Open
                }
            }
        }
    }

    fn count(&mut self, set: &[usize], most: i64) -> usize {
        self.model.add_count(set, most)
    }

    fn point(&self, most: i64) -> Option<Vec<i64>> {
        // The solver may believe that a point costs less than it does.
        let point = self.model.whole_point();
        point.filter(|point| self.model.cost_at(point) <= i128::from(most))
    }

    fn judge(&mut self, point: &[i64]) -> Verdict {
        self.dealer.judge(point)
    }

    fn proves(&self, cost: i128) -> bool {
        let places = self.model.places(true);
        let multipliers = self.model.multipliers(places, true);
        self.model.proves(&multipliers, Some(places), true) > (cost - 1) << places
    }

    fn cut(&mut self) -> Option<Cut> {
        let model = &self.model;
        self.dealer.cut(&|column| model.value(column))
    }
}
