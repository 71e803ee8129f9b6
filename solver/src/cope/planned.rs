//! Plans a choice of widths: corners first, and with no more scaling than the widths need.

use std::collections::BTreeMap;

use crate::cope::Fit;
use crate::cope::choices::{Choice, Free};
use crate::cope::judge::{Followers, Quality};
use crate::deadline::Deadline;
use crate::exact::Exact;
use crate::length::Measure;
use crate::plan::{Plan, Status};
use crate::planner::{self, NoPlan};
use crate::scenario::{Centre, Goal, Quilt, ScaleRange, Scenario, Term};

/// A choice of widths, and how well the patterns fit it.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The choice.
    pub choice: Choice,
    /// `None` where some strip cannot be stitched.
    pub quality: Option<Quality>,
}

/// Plans a choice.
///
/// # Errors
/// The solve was told to stop, or the plan broke a rule. That strips cannot be stitched is no error: the fit says so.
pub fn fit(
    judged: &Judged,
    free: &[Free],
    followers: &Followers,
    scenario: &Scenario,
    deadline: &Deadline,
) -> Result<Fit, NoPlan> {
    let mut planned = scenario.clone();
    if let Some(quilt) = &mut planned.quilt {
        judged.choice.write(free, quilt);
    }
    let finished = planned.quilt.as_ref().map(Quilt::size);
    planned.candidates.clear();
    planned.goal = goal(&scenario.goal);
    if let Some(quality) = judged.quality.filter(|quality| quality.ends_at_seams()) {
        hold_to(&mut planned, followers, quality.scaling);
    }
    let mut fit = Fit {
        widths: judged.choice.told(free, scenario),
        set: judged.choice.settings(free, scenario),
        finished: finished.map(|sides| sides.map(|side| side.in_unit(scenario.unit))),
        closes: judged.quality.is_some_and(Quality::closes),
        mixing: judged.quality.map_or(0, |quality| quality.mixing),
        scale: [Measure::whole(1), Measure::whole(1)],
        status: Status::Feasible,
        objective: Vec::new(),
        trouble: String::new(),
    };
    match planner::plan(&planned, deadline) {
        Ok(plan) => {
            fit.scale = scales(&plan);
            fit.status = plan.status;
            fit.objective = plan.objective;
        }
        Err(NoPlan::CannotBeStitched(faults)) => {
            fit.trouble = faults
                .first()
                .map_or_else(String::new, |fault| fault.message.clone());
        }
        Err(error) => return Err(error),
    }
    Ok(fit)
}

/// Corners and overhang before everything else, then hoopings and joints, then the other terms of the goal.
fn goal(goal: &Goal) -> Goal {
    let mut terms = vec![
        Term::CornerMismatch,
        Term::Overhang,
        Term::Hoopings,
        Term::Joints,
    ];
    let more: Vec<Term> = match goal {
        Goal::Priorities(terms) => terms.clone(),
        Goal::Prices(prices) => prices.iter().map(|price| price.term).collect(),
    };
    for term in more {
        if !terms.contains(&term) {
            terms.push(term);
        }
    }
    Goal::Priorities(terms)
}

/// Lets the strips that follow be scaled by no more than this on either side of 1. They get copies of their designs, since
/// other strips with the same ones may need more.
fn hold_to(planned: &mut Scenario, followers: &Followers, scaling: Exact) {
    let designs = &mut planned.designs;
    let mut copies: BTreeMap<usize, usize> = BTreeMap::new();
    let mut copy_of = |design: usize| {
        *copies.entry(design).or_insert_with(|| {
            let mut copy = designs[design].clone();
            // No id that was read has a line end, so that this one is new.
            copy.id.push('\n');
            for size in &mut copy.sizes {
                size.scale = narrowed(size.scale, scaling);
            }
            designs.push(copy);
            designs.len() - 1
        })
    };
    if let Some(quilt) = &mut planned.quilt {
        if let Centre::Blocks {
            sashing: Some(sashing),
            ..
        } = &mut quilt.centre
            && followers.sashing
        {
            sashing.design = sashing.design.map(&mut copy_of);
        }
        for index in &followers.borders {
            let border = &mut quilt.borders[*index];
            border.design = border.design.map(&mut copy_of);
        }
    }
    if followers.loose {
        for entry in &mut planned.strips {
            entry.design = copy_of(entry.design);
        }
    }
}

/// A range of scales with no more than this on either side of 1.
fn narrowed(range: ScaleRange, scaling: Exact) -> ScaleRange {
    let beside = |sign: i128| {
        let upper = scaling.denominator() + sign * scaling.numerator();
        Exact::new(upper, scaling.denominator()).unwrap_or(Exact::ONE)
    };
    ScaleRange {
        least: range.least.max(beside(-1)),
        most: range.most.min(beside(1)),
    }
}

/// The smallest and the largest scale of a plan's strips.
fn scales(plan: &Plan) -> [Measure; 2] {
    let each = || {
        plan.strips
            .iter()
            .filter_map(|strip| Some((strip.scale.exact().ok()?, &strip.scale)))
    };
    let least = each().min_by_key(|(scale, _)| *scale);
    let most = each().max_by_key(|(scale, _)| *scale);
    [least, most].map(|found| found.map_or(Measure::whole(1), |(_, scale)| scale.clone()))
}
