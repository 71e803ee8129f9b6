//! What is bought and cut, by name.

use sashwright_solver::job::{ClothCuts, Material, Purchase, PurchaseUnit};
use sashwright_solver::length::Measure;

use crate::measure::{Ruler, number};

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

/// The name of a cloth where it says more than what the cloth is for.
pub fn own_name(cloth: &ClothCuts) -> Option<&str> {
    let name = cloth.cloth.as_str();
    (name != material(cloth.material)).then_some(name)
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

/// Its name, which bolt or sheet of it, and how wide or large that is.
pub fn purchase_name(ruler: Ruler, purchase: &Purchase) -> String {
    let mut text = purchase.name.clone();
    if let Some(stock) = &purchase.stock {
        text.push_str(&format!(", {stock}"));
    }
    match purchase.size.as_slice() {
        [] => {}
        [wide] => text.push_str(&format!(", {} wide", ruler.length(wide))),
        [one, other, ..] => {
            text.push_str(&format!(", {}", ruler.size(&[one.clone(), other.clone()])))
        }
    }
    text
}

/// What is used of it, before rounding: a length of what is bought by length or comes on spools and rolls, else a count.
pub fn purchase_used(ruler: Ruler, purchase: &Purchase) -> String {
    match (purchase.unit, purchase.material) {
        (PurchaseUnit::Yard | PurchaseUnit::Metre, _) => ruler.length(&purchase.needed),
        (PurchaseUnit::Piece, Material::Thread | Material::Tape) => ruler.long(&purchase.needed),
        (PurchaseUnit::Piece, _) => number(&purchase.needed, 2),
    }
}

/// A price to two decimals, where there is one.
pub fn price(measure: Option<&Measure>) -> String {
    measure.map_or("not known".into(), |measure| number(measure, 2))
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
