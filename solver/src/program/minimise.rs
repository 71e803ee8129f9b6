//! Minimises a form over a program: an exact bound first, then only as much search as the gap above it needs.

use std::collections::BTreeSet;

use crate::deadline::Deadline;
use crate::program::bound::{Bound, bound};
use crate::program::solve::{Answer, solve};
use crate::program::{Linear, Program};

/// Up to this many steps between the bound and the target are climbed one by one from below.
const MOST_CLIMBED: i128 = 4;

/// What came of minimising.
#[derive(Clone, Debug)]
pub struct Minimum {
    /// A point at least as good as the one that was known; `None` where nothing better was found.
    pub point: Option<Vec<i64>>,
    /// No point of the program goes below this: by its root bound, in whole numbers. What the solver claims beyond that guides
    /// the search and proves nothing.
    pub least: Option<i128>,
    /// Whether the search came to its end.
    pub settled: bool,
}

/// Minimises `objective`. `known` is a point, `target` a value that some point is known to reach; nothing above it is
/// looked for. `values`, where given, are all values that the objective can have.
pub fn minimise(
    program: &Program,
    objective: &Linear,
    known: Option<&[i64]>,
    target: i128,
    values: Option<&BTreeSet<i128>>,
    deadline: &Deadline,
) -> Minimum {
    let step = i128::from(objective.divisor());
    let root = bound(program, objective, deadline);
    let least = root.as_ref().map(|root| root.value);
    let done = |point: Option<Vec<i64>>, least| Minimum {
        point,
        least,
        settled: true,
    };
    if known.is_some() && least == Some(target) {
        return done(None, least);
    }
    // A known point is only worth beating; without one the target itself is worth reaching.
    let mut worth = if known.is_some() {
        target - step
    } else {
        target
    };
    if let Some(values) = values {
        // Only values that can be had are worth reaching, and none below the bound can be.
        worth = values.range(..=worth).next_back().copied().unwrap_or(-1);
        if known.is_some() && least.is_some_and(|least| worth < least) {
            return done(None, Some(target));
        }
    }
    if let Some(root) = &root
        && worth - root.value <= MOST_CLIMBED * step
    {
        let mut at = root.value;
        while at <= worth {
            let mut narrowed = program.clone();
            root.narrow(&mut narrowed, at);
            match solve(&narrowed, objective, at, true, deadline) {
                Answer::Best(values) | Answer::Found(values) => return done(Some(values), least),
                Answer::NoneClaimed => {}
                Answer::Unknown => {
                    return Minimum {
                        point: None,
                        least,
                        settled: false,
                    };
                }
            }
            at += step;
        }
        return Minimum {
            point: None,
            least,
            settled: known.is_some(),
        };
    }
    let mut narrowed = program.clone();
    if let Some(root) = &root {
        root.narrow(&mut narrowed, worth);
    }
    match solve(&narrowed, objective, worth, false, deadline) {
        Answer::Best(values) => done(Some(values), least),
        Answer::Found(values) => Minimum {
            point: Some(values),
            least,
            settled: false,
        },
        Answer::NoneClaimed if known.is_some() => done(None, least),
        Answer::NoneClaimed | Answer::Unknown => Minimum {
            point: None,
            least,
            settled: false,
        },
    }
}

impl Bound {
    /// Lowers the upper bound of each column that a point with a value of at most `most` cannot reach: what a column's
    /// reduced cost adds to the bound must not lead beyond `most` (reduced cost fixing).
    fn narrow(&self, program: &mut Program, most: i128) {
        for (column, cost) in program.columns.iter_mut().zip(&self.reduced_costs) {
            if *cost <= 0 || column.most <= column.least {
                continue;
            }
            let room = (self.parts_of(most) - self.total).max(0) / cost;
            let room = i64::try_from(room).unwrap_or(i64::MAX);
            column.most = column.most.min(column.least.saturating_add(room));
        }
    }
}
