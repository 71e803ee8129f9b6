//! What plans say, in words: the same ones on a printed sheet and in a text for the screen.

mod alike;
mod corners;
mod cutting;
mod goal;
mod lie;
mod listed;
mod materials;
mod runs;
mod work;

pub use alike::{cut_alike, ids, parts};
pub use corners::{border_of, corners_met, missing};
pub use cutting::{cutting_verdict, stock_title, uses};
pub use goal::{Kind, known, shown, term, verdict};
pub use lie::{Book, Lie};
pub(crate) use listed::listed;
pub use listed::listed_numbers;
pub use materials::{material, own_name, price, purchase_name, purchase_unit, purchase_used};
pub use runs::{open_end, percent_of, reversed, scaling, stitching_of, stretch, way};
pub use work::work;

/// The usual cautions (common practice of the trade; no source is claimed).
pub const CAUTIONS: [&str; 5] = [
    "The manual of your machine comes first; where it says otherwise than this page, follow it.",
    "Take the hoop off the machine before you trim batting or fabric in it, and keep hands clear of the needle.",
    "Close the rotary cutter after every cut, and cut away from yourself.",
    "Let pressed pieces cool before you hoop them, and set the iron back on its stand.",
    "Use spray adhesive with fresh air, away from the machine, the iron and any flame.",
];
