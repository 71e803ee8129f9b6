//! Hoopings: what fits in one, lane by lane.

pub mod alike;
pub mod arrange;
pub mod caps;
pub mod fill;
pub mod kind;
pub mod lane;
pub mod one_by_one;
pub mod pattern;
mod places;
pub mod price;
mod rooms;
pub mod way;
