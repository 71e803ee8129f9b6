//! Finished sizes of the quilt top.

use crate::length::Length;
use crate::scenario::{Centre, Quilt};

/// Finished width and height of what is in the middle.
pub fn centre_size(centre: &Centre) -> [Length; 2] {
    let (columns, rows, [width, height], sashing) = match centre {
        Centre::Pieced(size) => return *size,
        Centre::Blocks {
            columns,
            rows,
            size,
            sashing,
        } => (*columns, *rows, *size, sashing.as_ref()),
    };
    let (of_sashing, more) = sashing.map_or((Length::ZERO, 0), |sashing| {
        (sashing.width, if sashing.outer { 1 } else { -1 })
    });
    [
        width * columns + of_sashing * (columns + more),
        height * rows + of_sashing * (rows + more),
    ]
}

/// Finished width and height of the whole top.
pub fn top_size(quilt: &Quilt) -> [Length; 2] {
    let centre = centre_size(&quilt.centre);
    let borders = quilt.borders.iter();
    borders.fold(centre, |[width, height], border| {
        let [of_sides, of_ends] = border.widths();
        [width + of_sides * 2, height + of_ends * 2]
    })
}
