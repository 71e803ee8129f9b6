//! The shopping list.

use sashwright_solver::job::{Purchase, PurchaseUnit};
use sashwright_solver::length::Measure;

use super::{Source, table};
use crate::content::{Block, Section, Table};
use crate::measure::number;
use crate::words::{material, purchase_unit};

/// Everything to buy, each with a box to tick; none where the plan does not say.
pub(super) fn section(source: &Source<'_>) -> Option<Section> {
    let materials = source.plan.materials.as_ref()?;
    let priced = materials.purchases.iter().any(|of| of.price.is_some());
    let rows = materials.purchases.iter().map(|purchase| {
        let mut row = vec![
            purchase_unit(&purchase.buy, purchase.unit),
            material(purchase.material).to_string(),
            what(source, purchase),
            needed(source, purchase),
        ];
        if priced {
            row.push(price(purchase.price_each.as_ref()));
            row.push(price(purchase.price.as_ref()));
        }
        row
    });
    let mut head = vec!["buy", "for", "what", "used"];
    if priced {
        head.extend(["price each", "price"]);
    }
    let mut blocks = vec![Block::Table(Table {
        ticks: true,
        ..table(
            "What to buy, in the order in which it is used",
            &head,
            rows.collect(),
        )
    })];
    if let Some(all) = &materials.price {
        blocks.push(Block::Text(format!("All together: {}.", number(all, 2))));
    }
    Some(super::section("shopping", "Shopping list", blocks))
}

fn price(measure: Option<&Measure>) -> String {
    measure.map_or("not known".into(), |measure| number(measure, 2))
}

/// Its name, which bolt or sheet of it, and how wide or large that is.
fn what(source: &Source<'_>, purchase: &Purchase) -> String {
    let ruler = source.ruler;
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

/// What is used of it, before rounding: a length of what is bought by length, else a count.
fn needed(source: &Source<'_>, purchase: &Purchase) -> String {
    match purchase.unit {
        PurchaseUnit::Yard | PurchaseUnit::Metre => source.ruler.length(&purchase.needed),
        PurchaseUnit::Piece => number(&purchase.needed, 2),
    }
}
