//! How cloths are cut, and the shopping list.

use sashwright_sheets::measure::Ruler;
use sashwright_sheets::words::{
    cutting_verdict, material, own_name, price, purchase_name, purchase_unit, purchase_used,
    stock_title, uses,
};
use sashwright_solver::job::{ClothCuts, CutLevel, Materials};
use sashwright_solver::length::Measure;

use super::section;
use super::table::{Table, wrap};

/// Writes the cutting of every cloth.
pub(super) fn cutting(text: &mut String, cloths: &[ClothCuts], ruler: Ruler) {
    if cloths.is_empty() {
        return;
    }
    section(text, "How cloths are cut");
    wrap(
        text,
        "",
        "Cut straight across into levels first, then each level into its pieces, from one edge on. \"Turned\" pieces lie with \
         their second side along the bolt.",
    );
    for cloth in cloths {
        text.push('\n');
        let kind = material(cloth.material);
        let name = match own_name(cloth) {
            None => format!("{kind}: "),
            Some(name) => format!("{kind} {name}: "),
        };
        wrap(text, &name, &cutting_verdict(ruler, cloth));
        let mut pieces = Table::new(2);
        let size = format!("size, {}", ruler.unit.symbol());
        pieces.row(["mark", "pieces", &size, "for"]);
        for piece in &cloth.pieces {
            pieces.row([
                piece.mark.clone(),
                piece.count.to_string(),
                ruler.bare_size(&piece.size),
                uses(&piece.uses),
            ]);
        }
        pieces.write(text);
        for stock in &cloth.stocks {
            let wide = ruler.length(&stock.width);
            wrap(
                text,
                "  ",
                &format!("{}, {wide} wide:", stock_title(ruler, stock)),
            );
            let mut levels = Table::new(4);
            for level in &stock.levels {
                levels.row([
                    times(level),
                    ruler.length(&level.length),
                    side_by_side(level),
                ]);
            }
            levels.write(text);
        }
    }
}

/// `1 level of`, `3 levels of`.
fn times(level: &CutLevel) -> String {
    match level.copies {
        1 => "1 level of".into(),
        copies => format!("{copies} levels of"),
    }
}

/// `2 A, 1 B turned`.
fn side_by_side(level: &CutLevel) -> String {
    let pieces = level.pieces.iter().map(|piece| {
        let turned = if piece.lengthwise { "" } else { " turned" };
        format!("{} {}{turned}", piece.count, piece.mark)
    });
    pieces.collect::<Vec<String>>().join(", ")
}

/// Writes the shopping list.
pub(super) fn shopping(text: &mut String, materials: &Materials, ruler: Ruler) {
    if materials.purchases.is_empty() {
        return;
    }
    section(text, "Shopping list");
    let priced = materials.purchases.iter().any(|of| of.price.is_some());
    let mut table = Table::new(2);
    let prices: &[&str] = if priced {
        &["price each", "price"]
    } else {
        &[]
    };
    let head = ["buy", "for", "used"].iter().chain(prices).chain(&["what"]);
    table.row(head.copied());
    for purchase in &materials.purchases {
        let mut row = vec![
            purchase_unit(&purchase.buy, purchase.unit),
            material(purchase.material).to_string(),
            purchase_used(ruler, purchase),
        ];
        if priced {
            row.push(price(purchase.price_each.as_ref()));
            row.push(price(purchase.price.as_ref()));
        }
        row.push(purchase_name(ruler, purchase));
        table.row(row);
    }
    table.write(text);
    if let Some(all) = &materials.price {
        let all: &Measure = all;
        wrap(text, "  ", &format!("All together: {}.", price(Some(all))));
    }
}
