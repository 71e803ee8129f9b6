//! Solves an integer program with good_lp.

use good_lp::solvers::SolutionStatus;
use good_lp::{
    Expression, ResolutionError, Solution, SolverModel, Variable, WithMipGap, WithTimeLimit,
    constraint, microlp, variable, variables,
};

use crate::deadline::Deadline;
use crate::program::{Linear, Program, Sense, seconds_for_solver};

/// What the solver answered, its point rounded to whole numbers and verified exactly.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Answer {
    /// A point, and the solver's claim that none is better.
    Best(Vec<i64>),
    /// A point; the search ended before it was known whether it is the best.
    Found(Vec<i64>),
    /// The solver's claim that there is no point. It is a claim in floating point, and no more than that.
    NoneClaimed,
    /// The search ended without a point that stands up to verification.
    Unknown,
}

/// Minimises `objective` over the program; nothing above `most` is looked for. With `any`, the first point is enough.
pub fn solve(
    program: &Program,
    objective: &Linear,
    most: i128,
    any: bool,
    deadline: &Deadline,
) -> Answer {
    if deadline.over() {
        return Answer::Unknown;
    }
    // Values of the objective are multiples of its divisor; divided by it they are small, and 1 apart.
    let divisor = objective.divisor();
    let steps = objective.divided(divisor);
    let mut variables = variables!();
    // A column that can have one value only is no variable.
    let columns: Vec<Option<Variable>> = program
        .columns
        .iter()
        .map(|column| {
            (column.least < column.most).then(|| {
                let bounded = variable().min(column.least as f64);
                // An upper bound of a flow follows from the rows; each one given costs the solver time.
                let bounded = if column.whole {
                    bounded.max(column.most as f64).integer()
                } else {
                    bounded
                };
                variables.add(bounded)
            })
        })
        .collect();
    let expression = |form: &Linear| -> Expression {
        let mut sum = Expression::default();
        for (column, coefficient) in &form.terms {
            match columns[*column] {
                Some(variable) => sum.add_mul(*coefficient as f64, variable),
                None => sum += *coefficient as f64 * program.columns[*column].least as f64,
            }
        }
        sum
    };
    let mut model = variables.minimise(expression(&steps)).using(microlp);
    for row in &program.rows {
        let (form, right) = (expression(&row.form), row.right as f64);
        model.add_constraint(match row.sense {
            Sense::AtMost => constraint!(form <= right),
            Sense::AtLeast => constraint!(form >= right),
            Sense::Equal => constraint!(form == right),
        });
    }
    let most = most.div_euclid(i128::from(divisor));
    model.add_constraint(constraint!(expression(&steps) <= most as f64));
    // The relative gap that is just short of one whole step ends the search as soon as nothing better can be left.
    let gap = if any {
        1e9
    } else {
        (0.999 / most.max(1) as f64) as f32
    };
    model = match model.with_mip_gap(gap) {
        Ok(model) => model,
        Err(_) => return Answer::Unknown,
    };
    let Some(limit) = seconds_for_solver(deadline) else {
        return Answer::Unknown;
    };
    match model.with_time_limit(limit).solve() {
        Ok(solution) => {
            let columns = program.columns.iter().zip(&columns);
            let whole = |variable: &Variable| solution.value(*variable).round() as i64;
            let values =
                columns.map(|(column, variable)| variable.as_ref().map_or(column.least, whole));
            let values: Vec<i64> = values.collect();
            if !program.fulfilled_by(&values) {
                return Answer::Unknown;
            }
            match solution.status() {
                SolutionStatus::TimeLimit => Answer::Found(values),
                SolutionStatus::Optimal | SolutionStatus::GapLimit => Answer::Best(values),
            }
        }
        Err(ResolutionError::Infeasible) => Answer::NoneClaimed,
        Err(_) => Answer::Unknown,
    }
}
