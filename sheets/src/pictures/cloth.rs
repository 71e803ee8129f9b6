//! How a bolt, a sheet or a piece on hand is cut: straight across into levels, then each level into pieces. Of a sheet or a piece on
//! hand all is drawn, what stays whole too.

use sashwright_solver::job::{ClothCuts, CutStock, LevelPiece, StockKind};
use sashwright_solver::length::{Length, Unit};

use super::canvas::{Anchor, Area, Canvas, INK, Pen, Point, WHITE};
use super::palette::{TINTS, WASTE};
use super::scale::{BAR, Scale, bar, length};
use super::text::width;
use crate::content::Picture;
use crate::measure::Ruler;

/// The largest picture, in millimetres.
const ROOM: Point = [178.0, 215.0];
/// Left of the cloth, for its width; below each band of levels, for their lengths.
const LEFT: f64 = 8.0;
const BELOW: f64 = 11.0;
/// Up to so many levels that are alike are each drawn, more of them once.
const MOST_ALIKE: u32 = 3;

/// A level as it is drawn, or what stays whole after the last one.
struct Level<'a> {
    /// Its length along the cloth.
    length: Length,
    /// How much of that is drawn: all, or less of a long stretch that stays whole.
    drawn: Length,
    /// What is cut from it; nothing of what stays whole.
    pieces: &'a [LevelPiece],
    /// How many it stands for.
    stands_for: u32,
}

impl Level<'_> {
    fn stays_whole(&self) -> bool {
        self.pieces.is_empty()
    }
}

/// Draws how one stock is cut.
pub(crate) fn picture(
    cloth: &ClothCuts,
    stock: &CutStock,
    name: String,
    title: &str,
    unit: Unit,
) -> Picture {
    let ruler = Ruler { unit };
    let levels = drawn(stock, unit);
    let bands = Bands::of(&levels, length(&stock.width, unit));
    let mut canvas = Canvas::default();
    let high = bands.scale.measure(&stock.width, unit);
    for (row, band) in bands.rows.iter().enumerate() {
        let top = 2.0 + row as f64 * (high + BELOW);
        canvas.line(
            [LEFT - 3.0, top],
            [LEFT - 3.0, top + high],
            Pen::new(INK, 0.2),
        );
        let words = ruler.short(&stock.width);
        if width(&words) <= high {
            canvas.upward(
                [LEFT - 5.2, top + high / 2.0],
                Anchor::Middle,
                &words,
                false,
            );
        }
        let mut x = LEFT;
        for level in &levels[band.clone()] {
            let long = bands.scale.of(level.drawn);
            let area = Area::new(x, top, long, high);
            if level.stays_whole() {
                draw_rest(&mut canvas, level, area, &ruler.short(&stock.width), ruler);
            } else {
                draw_level(&mut canvas, cloth, level, area, bands.scale, ruler);
            }
            x += long;
        }
    }
    let rows = bands.rows.len() as f64;
    let height = 2.0 + rows * (high + BELOW) + BAR;
    let size = [ROOM[0], height];
    bar(&mut canvas, [LEFT, height - BAR / 2.0], bands.scale, unit);
    let rest = levels.iter().find(|level| level.stays_whole());
    let rest = rest.map(|rest| ruler.length(&rest.length.in_unit(unit)));
    let alt = alt(stock, title, rest.as_deref(), ruler);
    let mut caption = format!(
        "{title}, {} wide. Cut straight across along the thick lines, at the lengths below them; then cut each level into its pieces. \
         Crossed lines are what is left.",
        ruler.length(&stock.width)
    );
    if let Some(rest) = rest {
        caption.push_str(&format!(" The last {rest} stay whole."));
    }
    if levels.iter().any(|level| level.stands_for > 1) {
        caption.push_str(" A level that is cut many times is drawn once.");
    }
    if rows > 1.0 {
        caption.push_str(" The cloth goes on from row to row.");
    }
    Picture {
        drawing: canvas.finish(),
        name,
        title: title.to_string(),
        alt,
        caption,
        size,
    }
}

/// The levels to draw.
fn drawn(stock: &CutStock, unit: Unit) -> Vec<Level<'_>> {
    let each = stock.levels.iter().flat_map(|of| {
        let length = length(&of.length, unit);
        let (count, stands_for) = match of.copies {
            few @ 0..=MOST_ALIKE => (few.max(1), 1),
            many => (1, many),
        };
        (0..count).map(move |_| Level {
            length,
            drawn: length,
            pieces: &of.pieces,
            stands_for,
        })
    });
    let mut levels: Vec<Level<'_>> = each.collect();
    let used = stock.levels.iter().fold(0_i64, |used, of| {
        let each = length(&of.length, unit).nanometres();
        used.saturating_add(each.saturating_mul(i64::from(of.copies)))
    });
    let rest = length(&stock.length, unit) - Length::from_nanometres(used);
    // Printed lengths are exact to 0.005 mm: less than a tenth of a millimetre is nothing that stays.
    if stock.kind != StockKind::Bolt && rest.nanometres() > 100_000 {
        let shown = levels.iter().map(|level| level.drawn);
        let shown = shown.fold(Length::ZERO, |all, each| all + each);
        let most = shown.max(length(&stock.width, unit));
        levels.push(Level {
            length: rest,
            drawn: rest.min(most),
            pieces: &[],
            stands_for: 1,
        });
    }
    levels
}

/// The levels broken into bands that lie below each other.
struct Bands {
    scale: Scale,
    rows: Vec<std::ops::Range<usize>>,
}

impl Bands {
    /// The largest scale at which all bands fit on the page.
    fn of(levels: &[Level<'_>], wide: Length) -> Bands {
        let lengths: Vec<Length> = levels.iter().map(|level| level.drawn).collect();
        let longest = lengths.iter().copied().fold(Length::ZERO, Length::max);
        let room = ROOM[0] - LEFT - 2.0;
        let mut scale = Scale::fitting(longest, wide, [room, 90.0]);
        loop {
            let mut rows = Vec::new();
            let (mut first, mut used) = (0, 0.0);
            for (index, each) in lengths.iter().enumerate() {
                let long = scale.of(*each);
                if index > first && used + long > room {
                    rows.push(first..index);
                    (first, used) = (index, 0.0);
                }
                used += long;
            }
            rows.push(first..lengths.len());
            let height = rows.len() as f64 * (scale.of(wide) + BELOW) + BAR;
            // Ever more bands do not get lower than their labels: what is left then reaches past a page.
            if height <= ROOM[1] || scale.of(wide) < 12.0 {
                return Bands { scale, rows };
            }
            scale = scale.times(0.93);
        }
    }
}

fn draw_level(
    canvas: &mut Canvas,
    cloth: &ClothCuts,
    level: &Level<'_>,
    area: Area,
    scale: Scale,
    ruler: Ruler,
) {
    let unit = ruler.unit;
    canvas.area(area, WASTE, None);
    let mut y = area.at[1];
    for pieces in level.pieces {
        let size = [0, 1].map(|axis| scale.measure(&pieces.takes[axis], unit));
        let kind = cloth
            .pieces
            .iter()
            .position(|piece| piece.mark == pieces.mark);
        let fill = TINTS[kind.unwrap_or(0) % 4];
        for _ in 0..pieces.count {
            let piece = Area {
                at: [area.at[0], y],
                size,
            };
            canvas.area(piece, fill, Some(Pen::new(INK, 0.25)));
            mark(
                canvas,
                piece,
                &pieces.mark,
                &pieces.takes.each_ref().map(|side| ruler.short(side)),
            );
            y += size[1];
        }
    }
    let ([left, top], [right, bottom]) = (area.at, area.end());
    for edge in [top, bottom] {
        canvas.line([left, edge], [right, edge], Pen::new(INK, 0.3));
    }
    for x in [left, right] {
        canvas.line([x, top - 1.5], [x, bottom + 1.5], Pen::new(INK, 0.8));
    }
    let long = ruler.short(&level.length.in_unit(unit));
    let words = match level.stands_for {
        1 => long,
        more => format!("{more} × {long}"),
    };
    // Narrow levels have their length upright.
    if width(&words) + 1.0 <= area.size[0] {
        canvas.text([area.centre()[0], bottom + 4.0], Anchor::Middle, &words);
    } else if area.size[0] >= 4.2 && width(&words) <= BELOW - 2.0 {
        canvas.upward([area.centre()[0], bottom + 2.0], Anchor::End, &words, false);
    }
}

/// What stays whole: empty, with its size. Its far end is a dashed line where it goes on further than it is drawn.
fn draw_rest(canvas: &mut Canvas, level: &Level<'_>, area: Area, wide: &str, ruler: Ruler) {
    canvas.area(area, WHITE, None);
    let ([left, top], [right, bottom]) = (area.at, area.end());
    for edge in [top, bottom] {
        canvas.line([left, edge], [right, edge], Pen::new(INK, 0.3));
    }
    let end = match level.drawn == level.length {
        true => Pen::new(INK, 0.3),
        false => Pen::new(INK, 0.3).dashed(&[1.6, 1.0]),
    };
    canvas.line([right, top], [right, bottom], end);
    let long = ruler.short(&level.length.in_unit(ruler.unit));
    mark(canvas, area, "stays whole", &[long, wide.to_string()]);
}

/// Writes the mark, and the size where there is room: along the bolt × across it.
fn mark(canvas: &mut Canvas, piece: Area, mark: &str, [along, across]: &[String; 2]) {
    let [x, y] = piece.centre();
    let size = format!("{along} × {across}");
    let fits =
        |words: &str, high: f64| width(words) * 1.1 + 1.0 <= piece.size[0] && high <= piece.size[1];
    let stands =
        |words: &str, wide: f64| width(words) * 1.1 + 1.0 <= piece.size[1] && wide <= piece.size[0];
    let both = format!("{mark}  {size}");
    if fits(&size, 9.0) {
        canvas.bold([x, y - 2.1], Anchor::Middle, mark);
        canvas.text([x, y + 2.1], Anchor::Middle, &size);
    } else if fits(&both, 4.2) {
        canvas.text([x, y], Anchor::Middle, &both);
    } else if stands(&both, 4.2) {
        canvas.upward([x, y], Anchor::Middle, &both, false);
    } else if fits(mark, 3.4) {
        canvas.bold([x, y], Anchor::Middle, mark);
    } else if stands(mark, 3.4) {
        canvas.upward([x, y], Anchor::Middle, mark, true);
    }
}

fn alt(stock: &CutStock, title: &str, rest: Option<&str>, ruler: Ruler) -> String {
    let levels = stock.levels.iter().map(|level| {
        let pieces = level
            .pieces
            .iter()
            .map(|piece| format!("{} × {}", piece.count, piece.mark));
        let pieces: Vec<String> = pieces.collect();
        format!(
            "{} of {} with {}",
            level.copies,
            ruler.length(&level.length),
            pieces.join(", ")
        )
    });
    let levels: Vec<String> = levels.collect();
    let rest = rest.map_or(String::new(), |rest| {
        format!(" The last {rest} stay whole.")
    });
    format!(
        "{title}, {} wide, to scale, cut across into levels: {}.{rest}",
        ruler.length(&stock.width),
        levels.join("; ")
    )
}
