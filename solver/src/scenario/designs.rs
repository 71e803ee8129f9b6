//! Designs and the sizes that each comes in.

use crate::exact::Exact;
use crate::fault::FaultCode;
use crate::length::{Length, Measure, Unit};
use crate::scenario::hoops::two_sides;
use crate::scenario::node::{Node, Span, all};
use crate::scenario::{DesignIds, MOST_ENTRIES, MOST_LISTED, refuse_twins};

/// The most repeats that one size may have.
const MOST_REPEATS: u64 = 100_000;
/// The most stitches that one size may have.
const MOST_STITCHES: u64 = 100_000_000;

/// The most threads of a design.
const MOST_THREADS: usize = 20;

/// A design: a motif that runs along a strip, in several sizes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Design {
    /// Its id, unique among the designs.
    pub id: String,
    /// Its sizes, one per digitised file.
    pub sizes: Vec<Size>,
    /// The threads that it is stitched with, by name, in their order; none where it takes a single one without a name.
    pub threads: Vec<String>,
}

impl Design {
    /// How many times a run of it stops for another thread.
    pub fn thread_changes(&self) -> i64 {
        i64::try_from(self.threads.len()).map_or(0, |threads| (threads - 1).max(0))
    }
}

/// One digitised file of a design.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Size {
    /// Its id, unique within the design.
    pub id: String,
    /// The width of the strips that it is for.
    pub width: Length,
    /// p: the length of one repeat.
    pub repeat: Length,
    /// n: the number of repeats.
    pub repeats: u32,
    /// The smallest hoop field that the file asks for: along, across.
    pub field: [Length; 2],
    /// Stitches of the whole file, where known.
    pub stitches: Option<u64>,
    /// The stitches of each of the design's threads, in their order; none where only their sum is told.
    pub by_thread: Vec<u64>,
    /// The stitching may stop after any whole repeat.
    pub stop_early: bool,
    /// How far it may be stretched along the strip.
    pub scale: ScaleRange,
}

impl Size {
    /// n·p: the length of the whole file's stitching, unscaled.
    pub fn stitched(&self) -> Length {
        self.repeat * i64::from(self.repeats)
    }

    /// m: the margin along the strip, both ends together. A file that differs from its field by the rounding of its
    /// repeats alone counts as equal to it: shorter, it has no margin; longer, it has one of minus that rounding, so
    /// that it takes up exactly its field.
    pub fn margin_along(&self) -> Length {
        let margin = self.field[0] - self.stitched();
        let rounding = Length::from_nanometres(i64::from(self.repeats));
        if margin <= rounding {
            margin.min(Length::ZERO)
        } else {
            margin
        }
    }

    /// a: the margin across the strip, both sides together.
    pub fn margin_across(&self) -> Length {
        self.field[1] - self.width
    }
}

/// How far a size may be stretched: lo ≤ s ≤ hi, exact.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct ScaleRange {
    /// lo, above 0 and at most 1.
    pub least: Exact,
    /// hi, at least 1.
    pub most: Exact,
}

impl ScaleRange {
    /// No stretching.
    pub const FIXED: ScaleRange = ScaleRange {
        least: Exact::ONE,
        most: Exact::ONE,
    };
}

pub(super) fn read(node: &Node<'_>, unit: Unit) -> Option<Vec<Design>> {
    let items = node.items("design that you own", MOST_LISTED)?;
    let designs: Vec<Option<Design>> = items.iter().map(|item| read_design(item, unit)).collect();
    let named = designs.iter().zip(&items);
    refuse_twins(
        named.filter_map(|(design, node)| Some((design.as_ref()?.id.as_str(), node))),
        "design",
    );
    all(designs)
}

/// The ids of the designs in their order, read without a fault noted: also those of faulty designs, so that a
/// reference to one is not called unknown.
pub(super) fn ids(node: Option<Node<'_>>) -> DesignIds {
    let ids = node.map(|node| node.field_texts("id")).unwrap_or_default();
    let mut found = DesignIds::new();
    for (index, id) in ids {
        found.entry(id).or_insert(index);
    }
    found
}

fn read_design(node: &Node<'_>, unit: Unit) -> Option<Design> {
    let fields = node.fields(&["id", "sizes", "threads"])?;
    let id = fields
        .need("id", "a name for the design")
        .and_then(|node| node.text());
    let threads = fields.or("threads", Vec::new(), |node| {
        let items = node.items("thread", MOST_THREADS)?;
        all(items.iter().map(Node::text))
    });
    let count = threads.as_ref().map(Vec::len);
    let sizes = fields
        .need("sizes", "the sizes that the design comes in")
        .and_then(|node| {
            let items = node.items("size of the design", MOST_ENTRIES)?;
            let sizes: Vec<Option<Size>> = items.iter().map(|item| read_size(item, unit)).collect();
            let named = sizes.iter().zip(&items);
            refuse_twins(
                named.filter_map(|(size, node)| Some((size.as_ref()?.id.as_str(), node))),
                "size",
            );
            let sizes = all(sizes)?;
            if let Some(count) = count {
                check_threads(&sizes, count, &items);
            }
            Some(sizes)
        });
    Some(Design {
        threads: threads?,
        id: id?,
        sizes: sizes?,
    })
}

const SIZE_FIELDS: &[&str] = &[
    "id",
    "width",
    "repeat",
    "repeats",
    "field",
    "stitches",
    "stop_early",
    "scale",
];

fn read_size(node: &Node<'_>, unit: Unit) -> Option<Size> {
    let fields = node.fields(SIZE_FIELDS)?;
    let id = fields
        .need("id", "a name for the size")
        .and_then(|node| node.text());
    let width = fields
        .need("width", "the finished width of the strips that it is for")
        .and_then(|node| node.length(unit, Span::Positive));
    let repeat = fields
        .need("repeat", "the length of one repeat")
        .and_then(|node| {
            let rounded = node.length(unit, Span::Positive)?;
            Some((rounded, node.exact("a length")?))
        });
    let repeats = fields
        .need("repeats", "the number of repeats in the file")
        .and_then(|node| node.whole(1, MOST_REPEATS));
    let field = fields.maybe("field", |node| {
        two_sides(node, unit, "along and across the strip")
    });
    let stitches = fields.maybe("stitches", read_stitches);
    let stop_early = fields.or("stop_early", false, Node::boolean);
    let scale = fields.or("scale", ScaleRange::FIXED, read_scale);

    let (width, (repeat, exact)) = (width?, repeat?);
    let repeats = u32::try_from(repeats?).ok()?;
    let stitched = repeat * i64::from(repeats);
    if stitched > Length::LONGEST {
        node.fault(
            FaultCode::OutOfRange,
            format!(
                "{repeats} repeats of {} are beyond 100 m.",
                repeat.in_unit(unit)
            ),
            "Give the length of one repeat, and how many of them the file holds.",
        );
        return None;
    }
    // Rounded once, as a field is that is told: 30 repeats of 1/3 in are 10 in.
    let of_file = || Exact::new(exact.numerator() * i128::from(repeats), exact.denominator());
    let along = || of_file().and_then(|length| Length::from_exact(length, unit));
    let field = field?.unwrap_or_else(|| [along().unwrap_or(stitched), width]);
    // Each repeat may carry half a nanometre of rounding; n nanometres in all count as equal.
    if field[0] + Length::from_nanometres(i64::from(repeats)) < stitched || field[1] < width {
        node.fault(
            FaultCode::TooSmall,
            format!(
                "The field of {} × {} is smaller than the stitching of {} × {} in it.",
                field[0].in_unit(unit),
                field[1].in_unit(unit),
                stitched.in_unit(unit),
                width.in_unit(unit)
            ),
            "Give [along, across] of the smallest hoop field that the file asks for.",
        );
        return None;
    }
    let (stitches, by_thread) = match stitches? {
        Some((all, by_thread)) => (Some(all), by_thread),
        None => (None, Vec::new()),
    };
    Some(Size {
        id: id?,
        width,
        repeat,
        repeats,
        field,
        stitches,
        by_thread,
        stop_early: stop_early?,
        scale: scale?,
    })
}

/// The stitches of a file: a number, or one for each thread. Returns their sum, and those of each thread.
fn read_stitches(node: &Node<'_>) -> Option<(u64, Vec<u64>)> {
    if !node.is_list() {
        return node.whole(1, MOST_STITCHES).map(|all| (all, Vec::new()));
    }
    let items = node.items("number of stitches of a thread", MOST_THREADS)?;
    let each = all(items.iter().map(|item| item.whole(0, MOST_STITCHES)))?;
    let sum: u64 = each.iter().sum();
    if !(1..=MOST_STITCHES).contains(&sum) {
        node.fault(
            FaultCode::OutOfRange,
            format!("The threads have {sum} stitches together."),
            format!("Give the stitches of each thread, together from 1 to {MOST_STITCHES}."),
        );
        return None;
    }
    Some((sum, each))
}

/// Notes each size that tells the stitches of more or fewer threads than its design has.
fn check_threads(sizes: &[Size], threads: usize, nodes: &[Node<'_>]) {
    let has = threads.max(1);
    for (size, node) in sizes.iter().zip(nodes) {
        if !size.by_thread.is_empty() && size.by_thread.len() != has {
            node.fault(
                FaultCode::Conflict,
                format!(
                    "The stitches are told of {} threads, and the design has {has}.",
                    size.by_thread.len()
                ),
                "Give a number for each of the \"threads\", in their order, or one number for all of them together.",
            );
        }
    }
}

/// A number as people write it, to 8 decimals.
fn decimal(number: Exact) -> Measure {
    Measure::from_ratio(number.numerator(), number.denominator())
}

/// No design is stretched to more than so many times its length, or to less than its length divided by that.
const LARGEST_SCALE: i128 = 10;

fn read_scale(node: &Node<'_>) -> Option<ScaleRange> {
    let wanted = "a decimal or fraction";
    let [least, most] = node.pair("the smallest and the largest scale, such as [0.97, 1.03]")?;
    let least = least.exact(wanted);
    let most = most.exact(wanted);
    let (least, most) = (least?, most?);
    let small = |part: i128| part <= 1_000_000_000;
    let fine = [least, most]
        .iter()
        .all(|bound| small(bound.numerator()) && small(bound.denominator()));
    // Nobody stretches a design that far: its stitches would lie bare, or on top of each other.
    let tenth = Exact::new(1, LARGEST_SCALE);
    let sane = tenth.is_some_and(|tenth| (tenth..=Exact::ONE).contains(&least))
        && Exact::new(LARGEST_SCALE, 1).is_some_and(|ten| (Exact::ONE..=ten).contains(&most));
    if !fine || !sane {
        node.fault(
            FaultCode::OutOfRange,
            format!(
                "The scale may range from {} to {}.",
                decimal(least),
                decimal(most)
            ),
            "Give a smallest scale from 0.1 to 1 and a largest from 1 to 10, with at most 9 digits.",
        );
        return None;
    }
    Some(ScaleRange { least, most })
}
