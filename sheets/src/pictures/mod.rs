//! Pictures to scale: the quilt top, hoopings, cloth that is cut, and rulers of strips.
//!
//! Coordinates are millimetres as printed. They are floating point: no plan depends on them, and a printer is coarser by far.

mod canvas;
mod cloth;
mod dimensions;
mod hoop;
mod hooping;
mod legend;
mod palette;
mod quilt;
mod ruler;
mod run;
mod scale;
mod text;

pub(crate) use cloth::picture as cloth;
pub(crate) use hooping::{key, picture as hooping};
pub(crate) use legend::picture as legend;
pub(crate) use quilt::{MOST_QUILTS, pictures as quilts};
pub(crate) use ruler::picture as ruler;
pub(crate) use text::plain;
