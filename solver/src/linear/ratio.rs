//! The ratio test: how far the entering variable can go, and which basic variable stops it.

/// Values nearer to a bound than this count as on it.
pub(super) const FEASIBLE: f64 = 1e-9;
/// Smaller pivots are not taken.
const PIVOT: f64 = 1e-9;

/// A basic variable: its value, its bounds, and how fast it changes.
#[derive(Clone, Copy)]
pub(super) struct Moving {
    pub position: usize,
    pub value: f64,
    pub least: f64,
    pub most: f64,
    pub rate: f64,
}

/// What stops the entering variable.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Stop {
    /// The basic variable at a position reaches its lower bound (`false`) or its upper bound (`true`).
    Basic(usize, bool),
    /// The entering variable reaches its own other bound.
    Own,
    /// Nothing does.
    Nothing,
}

/// The step and what stops it, where every basic variable is within its bounds (Harris's two passes).
pub(super) fn feasible(moving: &[Moving], own: f64) -> (f64, Stop) {
    let bound = |basic: &Moving| {
        if basic.rate > 0.0 {
            basic.most
        } else {
            basic.least
        }
    };
    let room = |basic: &Moving| (bound(basic) - basic.value).abs().max(0.0);
    let past = |basic: &Moving| {
        let over = if basic.rate > 0.0 {
            basic.value > basic.most
        } else {
            basic.value < basic.least
        };
        if over { 0.0 } else { room(basic) }
    };
    let mut furthest = own;
    for basic in moving.iter().filter(|basic| basic.rate.abs() > PIVOT) {
        if bound(basic).is_finite() {
            furthest = furthest.min((past(basic) + FEASIBLE) / basic.rate.abs());
        }
    }
    if furthest == f64::INFINITY {
        return (0.0, Stop::Nothing);
    }
    let mut best: Option<&Moving> = None;
    for basic in moving.iter().filter(|basic| basic.rate.abs() > PIVOT) {
        if bound(basic).is_finite()
            && past(basic) / basic.rate.abs() <= furthest
            && best.is_none_or(|best| basic.rate.abs() > best.rate.abs())
        {
            best = Some(basic);
        }
    }
    match best {
        Some(basic) if past(basic) / basic.rate.abs() < own => (
            past(basic) / basic.rate.abs(),
            Stop::Basic(basic.position, basic.rate > 0.0),
        ),
        _ => (own, Stop::Own),
    }
}

/// The step and what stops it while some basic variables are outside their bounds: the sum of what is outside falls at
/// first by `slope`, and the step goes on for as long as it falls.
pub(super) fn infeasible(moving: &[Moving], own: f64, slope: f64) -> (f64, Stop) {
    // Step, rate, and the variable's bound that is reached there.
    let mut breaks: Vec<(f64, f64, usize, bool)> = Vec::new();
    for basic in moving.iter().filter(|basic| basic.rate.abs() > PIVOT) {
        let rate = basic.rate.abs();
        let (near, far, up) = if basic.rate > 0.0 {
            (basic.least - basic.value, basic.most - basic.value, true)
        } else {
            (basic.value - basic.most, basic.value - basic.least, false)
        };
        if near > FEASIBLE {
            breaks.push((near / rate, rate, basic.position, !up));
        }
        if far.is_finite() && far >= -FEASIBLE {
            breaks.push((far.max(0.0) / rate, rate, basic.position, up));
        }
    }
    breaks.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.2.cmp(&other.2)));
    let mut falls = slope;
    let mut at = 0;
    while at < breaks.len() {
        if breaks[at].0 > own {
            return (own, Stop::Own);
        }
        falls -= breaks[at].1;
        if falls <= FEASIBLE {
            break;
        }
        at += 1;
    }
    if at == breaks.len() {
        return if own.is_finite() {
            (own, Stop::Own)
        } else {
            // Cannot be while something is outside: its own break would have come.
            (0.0, Stop::Nothing)
        };
    }
    // Of the breaks at nearly the same step the largest pivot is the safest.
    let step = breaks[at].0;
    let near = |other: &&(f64, f64, usize, bool)| (other.0 - step).abs() <= FEASIBLE;
    let chosen = breaks
        .iter()
        .filter(near)
        .max_by(|one, other| one.1.total_cmp(&other.1));
    match chosen {
        Some((_, _, position, bound)) => (step, Stop::Basic(*position, *bound)),
        None => (0.0, Stop::Nothing),
    }
}
