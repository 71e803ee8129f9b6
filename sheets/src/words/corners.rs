//! The corners where the pattern should meet itself.

use sashwright_solver::length::Measure;
use sashwright_solver::plan::{CornerEntry, Plan};

/// The corners at which the pattern misses itself.
pub fn missing(plan: &Plan) -> impl Iterator<Item = &CornerEntry> {
    let missed = |corner: &&CornerEntry| corner.mismatch != Measure::whole(0);
    plan.corners.iter().filter(missed)
}

/// Which border a corner is of: its number, and the quilt's name where there are several.
pub fn border_of(corner: &CornerEntry) -> String {
    match &corner.quilt {
        Some(quilt) => format!("border {} of {quilt}", corner.border),
        None => format!("border {}", corner.border),
    }
}

/// At how many of the counted corners the pattern meets.
pub fn corners_met(plan: &Plan) -> String {
    match (plan.corners.len(), missing(plan).count()) {
        (all, 0) => format!("The pattern meets at all counted corners ({all})."),
        (all, count) => format!(
            "The pattern meets at {} of {all} counted corners.",
            all - count
        ),
    }
}
