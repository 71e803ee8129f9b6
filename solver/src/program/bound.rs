//! A lower bound that holds in exact arithmetic, whatever the floating-point solver answers.
//!
//! The solver is given the dual of the linear relaxation. Its answer λ, rounded to a fixed number of binary places, need
//! not be feasible: for any multipliers of the rows (not negative for ≥, not positive for ≤), every point z of the
//! program has c·z ≥ λ·b + Σⱼ min over the bounds of (cⱼ − λ·Aⱼ)·zⱼ. That sum is worked out in integers. (Weak duality of
//! Lagrangian relaxation; Neumaier and Shcherbina, Safe bounds in linear and mixed-integer programming, Mathematical
//! Programming 99 (2004) 283–296, from memory.)

use good_lp::{
    Expression, Solution, SolverModel, Variable, WithTimeLimit, constraint, microlp, variable,
    variables,
};

use crate::deadline::Deadline;
use crate::program::{Linear, Program, Sense, seconds_for_solver};

/// Binary places to which the multipliers are rounded.
const PLACES: u32 = 30;
/// Larger multipliers than this are no use to a program with whole coefficients, and would overflow.
const LARGEST: f64 = 1e6;

/// A bound, and what each column adds to it.
#[derive(Clone, Debug)]
pub struct Bound {
    /// A value that no point of the program can go below, a multiple of the objective's divisor.
    pub value: i128,
    /// The bound before rounding up, in parts.
    pub total: i128,
    /// What one more of each column adds, in parts.
    pub reduced_costs: Vec<i128>,
    /// The multiplier of each row, in parts.
    pub multipliers: Vec<i128>,
    divisor: i128,
}

impl Bound {
    /// A value of the objective in parts.
    pub fn parts_of(&self, value: i128) -> i128 {
        (value / self.divisor) << PLACES
    }
}

/// The bound of the linear relaxation; `None` where time ran out or the solver failed.
pub fn bound(program: &Program, objective: &Linear, deadline: &Deadline) -> Option<Bound> {
    let divisor = objective.divisor();
    let steps = objective.divided(divisor);
    let multipliers = with_signs(program, multipliers(program, &steps, deadline)?);
    let (total, reduced_costs) = exact(program, &steps, &multipliers)?;
    // A whole objective at or above a fraction is at or above the next whole number.
    let value = -(-total).div_euclid(1 << PLACES) * i128::from(divisor);
    Some(Bound {
        value,
        total,
        reduced_costs,
        multipliers,
        divisor: i128::from(divisor),
    })
}

/// Near-optimal multipliers of the rows, rounded to [`PLACES`].
fn multipliers(program: &Program, objective: &Linear, deadline: &Deadline) -> Option<Vec<i128>> {
    if deadline.over() {
        return None;
    }
    let mut variables = variables!();
    let rows: Vec<Variable> = program
        .rows
        .iter()
        .map(|row| {
            variables.add(match row.sense {
                Sense::AtLeast => variable().min(0.0).max(LARGEST),
                Sense::AtMost => variable().min(-LARGEST).max(0.0),
                Sense::Equal => variable().min(-LARGEST).max(LARGEST),
            })
        })
        .collect();
    let mut columns: Vec<Vec<(usize, i64)>> = vec![Vec::new(); program.columns.len()];
    for (number, row) in program.rows.iter().enumerate() {
        for (column, coefficient) in &row.form.terms {
            columns[*column].push((number, *coefficient));
        }
    }
    let right: Expression = program
        .rows
        .iter()
        .zip(&rows)
        .map(|(row, variable)| row.right as f64 * *variable)
        .sum();
    let mut model = variables.maximise(right).using(microlp);
    let mut costs = vec![0.0; columns.len()];
    for (column, coefficient) in &objective.terms {
        costs[*column] = *coefficient as f64;
    }
    for (terms, cost) in columns.iter().zip(costs) {
        let form: Expression = terms
            .iter()
            .map(|(row, coefficient)| *coefficient as f64 * rows[*row])
            .sum();
        model.add_constraint(constraint!(form <= cost));
    }
    let limit = seconds_for_solver(deadline)?;
    let solution = model.with_time_limit(limit).solve().ok()?;
    let unit = f64::from(1_u32 << PLACES);
    let rounded = |variable: &Variable| {
        let value = solution.value(*variable);
        value
            .is_finite()
            .then(|| (value.clamp(-LARGEST, LARGEST) * unit).round() as i128)
    };
    rows.iter().map(rounded).collect()
}

/// The multipliers with those of a wrong sign replaced by 0.
fn with_signs(program: &Program, mut multipliers: Vec<i128>) -> Vec<i128> {
    for (row, multiplier) in program.rows.iter().zip(&mut multipliers) {
        *multiplier = match row.sense {
            Sense::AtLeast => (*multiplier).max(0),
            Sense::AtMost => (*multiplier).min(0),
            Sense::Equal => *multiplier,
        };
    }
    multipliers
}

/// The bound that the multipliers prove, and the reduced cost of each column, both in parts.
fn exact(program: &Program, objective: &Linear, multipliers: &[i128]) -> Option<(i128, Vec<i128>)> {
    let mut reduced = vec![0_i128; program.columns.len()];
    for (column, coefficient) in &objective.terms {
        reduced[*column] = i128::from(*coefficient) << PLACES;
    }
    let mut total = 0_i128;
    for (row, multiplier) in program.rows.iter().zip(multipliers) {
        total = total.checked_add(multiplier.checked_mul(i128::from(row.right))?)?;
        for (column, coefficient) in &row.form.terms {
            reduced[*column] =
                reduced[*column].checked_sub(multiplier.checked_mul(i128::from(*coefficient))?)?;
        }
    }
    for (column, cost) in program.columns.iter().zip(&reduced) {
        let at = if *cost >= 0 {
            column.least
        } else {
            column.most
        };
        total = total.checked_add(cost.checked_mul(i128::from(at))?)?;
    }
    Some((total, reduced))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deadline::StopSignal;
    use crate::program::solve::{Answer, solve};
    use std::time::Duration;

    fn deadline() -> Deadline {
        Deadline::after(Duration::from_secs(10), StopSignal::new())
    }

    /// Three pairs out of three things, each thing once: half of each pair, 1.5, so 2 are needed.
    #[test]
    fn a_fractional_optimum_is_rounded_up() {
        let mut program = Program::default();
        let pairs: Vec<usize> = (0..3).map(|_| program.whole(0, 3)).collect();
        for thing in 0..3 {
            program.row(
                [(pairs[thing], 1), (pairs[(thing + 1) % 3], 1)],
                Sense::AtLeast,
                1,
            );
        }
        let objective = Linear::of(pairs.iter().map(|pair| (*pair, 7)));
        assert_eq!(
            bound(&program, &objective, &deadline()).map(|bound| bound.value),
            Some(14)
        );
        let Answer::Best(values) = solve(&program, &objective, 21, false, &deadline()) else {
            panic!("a program this small is solved");
        };
        assert_eq!(objective.at(&values), 14);
    }

    /// Any multipliers give a valid bound, wild ones a useless but valid one.
    #[test]
    fn wild_multipliers_never_claim_too_much() {
        let mut program = Program::default();
        let column = program.whole(0, 10);
        program.row([(column, 3)], Sense::AtLeast, 10);
        let objective = Linear::of([(column, 1)]);
        for multiplier in [-5, 0, 1 << 28, 1 << 30, 1 << 40] {
            assert!(
                exact(
                    &program,
                    &objective,
                    &with_signs(&program, vec![multiplier])
                )
                .is_some_and(|(total, _)| total <= 4 << PLACES)
            );
        }
    }
}
