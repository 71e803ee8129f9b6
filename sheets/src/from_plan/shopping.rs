//! The shopping list.

use super::{Source, table};
use crate::content::{Block, Section, Table};
use crate::measure::number;
use crate::words::{material, price, purchase_name, purchase_unit, purchase_used};

/// Everything to buy, each with a box to tick; none where the plan does not say.
pub(super) fn section(source: &Source<'_>) -> Option<Section> {
    let materials = source.plan.materials.as_ref()?;
    let ruler = source.ruler;
    let priced = materials.purchases.iter().any(|of| of.price.is_some());
    let rows = materials.purchases.iter().map(|purchase| {
        let mut row = vec![
            purchase_unit(&purchase.buy, purchase.unit),
            material(purchase.material).to_string(),
            purchase_name(ruler, purchase),
            purchase_used(ruler, purchase),
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
