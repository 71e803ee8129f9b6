//! How a cloth is cut, in words.

use sashwright_solver::job::{ClothCuts, CutStock, StockKind};
use sashwright_solver::length::Measure;

use crate::measure::{Ruler, number};

/// What a cutting takes, and what is known of it: `This cutting takes 24 1/2 in (24.5). Proven: no cutting in levels takes less.`
pub fn cutting_verdict(ruler: Ruler, cloth: &ClothCuts) -> String {
    let value = |measure: &Measure| match cloth.counts.as_str() {
        "price" => format!("a price of {}", number(measure, 2)),
        _ => ruler.length(measure),
    };
    let proven = match cloth.proven {
        true => "Proven: no cutting in levels takes less.".to_string(),
        false => format!(
            "Best found; no cutting in levels takes less than {}.",
            value(&cloth.bound)
        ),
    };
    format!("This cutting takes {}. {proven}", value(&cloth.value))
}

/// What is cut up, where it follows its cloth: `24 1/2 in (24.5) off bolt`, `on hand 1, 16 in long`, `2 of white, all cut alike, 20 in long`.
pub fn stock_title(ruler: Ruler, stock: &CutStock) -> String {
    let long = ruler.length(&stock.length);
    let name = &stock.stock;
    match (stock.kind, stock.copies) {
        (StockKind::Bolt, _) => format!("{long} off {name}"),
        (StockKind::Sheet, 1) => format!("one of {name}, {long} long"),
        (StockKind::OnHand, 1) => format!("{name}, {long} long"),
        (StockKind::Sheet | StockKind::OnHand, copies) => {
            format!("{copies} of {name}, all cut alike, {long} long")
        }
    }
}

/// The most uses that are named one by one.
const MOST_USES: usize = 8;

/// What pieces are for, those for the same once with their number; of many the first ones and how many pieces more there are.
pub fn uses(uses: &[String]) -> String {
    let mut counted: Vec<(&str, usize)> = Vec::new();
    for usage in uses {
        match counted.last_mut() {
            Some((last, count)) if last == usage => *count += 1,
            _ => counted.push((usage, 1)),
        }
    }
    let named = if counted.len() <= MOST_USES {
        counted.len()
    } else {
        MOST_USES - 1
    };
    let mut parts: Vec<String> = counted[..named]
        .iter()
        .map(|(usage, count)| match count {
            1 => (*usage).to_string(),
            _ => format!("{usage} ({count})"),
        })
        .collect();
    let more: usize = counted[named..].iter().map(|(_, count)| count).sum();
    if more > 0 {
        let last = parts.pop().unwrap_or_default();
        parts.push(format!("{last} and {more} more"));
    }
    parts.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_for_the_same_are_counted() {
        let told = |of: &[&str]| uses(&of.iter().map(ToString::to_string).collect::<Vec<_>>());
        assert_eq!(told(&["a", "a", "b"]), "a (2), b");
        assert_eq!(told(&[]), "");
        let many: Vec<String> = (1..=12).map(|number| format!("hooping {number}")).collect();
        let first: Vec<&str> = many[..7].iter().map(String::as_str).collect();
        assert_eq!(uses(&many), format!("{} and 5 more", first.join(", ")));
    }
}
