//! What is bought and cut, by name.

use sashwright_solver::job::{Material, PurchaseUnit};
use sashwright_solver::length::Measure;

use crate::measure::number;

/// What a cloth is for.
pub fn material(of: Material) -> &'static str {
    match of {
        Material::Stabilizer => "stabilizer",
        Material::Fabric => "fabric",
        Material::Batting => "batting",
        Material::Backing => "backing",
        Material::Tape => "tape",
        Material::Thread => "thread",
    }
}

/// What is bought, with its unit: `1 3/8 yd`, `2.4 m`, `3 pieces`.
pub fn purchase_unit(buy: &Measure, unit: PurchaseUnit) -> String {
    match unit {
        PurchaseUnit::Yard => format!("{} yd", eighths(buy)),
        PurchaseUnit::Metre => format!("{} m", number(buy, 1)),
        PurchaseUnit::Piece if *buy == Measure::whole(1) => "1 piece".into(),
        PurchaseUnit::Piece => format!("{} pieces", number(buy, 0)),
    }
}

/// A number of eighths as a fraction; as a decimal where it is none.
fn eighths(measure: &Measure) -> String {
    let exact = measure
        .exact()
        .ok()
        .filter(|exact| 8 % exact.denominator() == 0);
    let Some(exact) = exact else {
        return number(measure, 3);
    };
    let (parts, each) = (exact.numerator(), exact.denominator());
    match (parts / each, parts % each) {
        (whole, 0) => whole.to_string(),
        (0, part) => format!("{part}/{each}"),
        (whole, part) => format!("{whole} {part}/{each}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn yards_are_bought_by_the_eighth() {
        let measure = |eighths| Measure::from_ratio(eighths, 8);
        let written =
            [1, 8, 11, 12].map(|count| purchase_unit(&measure(count), PurchaseUnit::Yard));
        assert_eq!(written, ["1/8 yd", "1 yd", "1 3/8 yd", "1 1/2 yd"]);
        assert_eq!(
            purchase_unit(&Measure::from_ratio(24, 10), PurchaseUnit::Metre),
            "2.4 m"
        );
        assert_eq!(
            purchase_unit(&Measure::whole(1), PurchaseUnit::Piece),
            "1 piece"
        );
    }
}
