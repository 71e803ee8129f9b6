//! The quilt top as the document describes it: blocks or a centre, sashing, borders, and strips listed one by one.

use std::collections::HashMap;

use crate::fault::FaultCode;
use crate::length::{Length, Unit};
use crate::scenario::hoops::two_sides;
use crate::scenario::node::{Fields, Node, Span, all, shortened};
use crate::scenario::{DesignIds, MOST_ENTRIES, MOST_STRIPS, Scenario};
use crate::strips;

/// The most columns or rows of blocks.
const MOST_BLOCKS: u64 = 1000;

/// A quilt top: what is in the middle, and the borders around it from the centre outward.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Quilt {
    /// What is in the middle.
    pub centre: Centre,
    /// The borders, from the centre outward.
    pub borders: Vec<Border>,
}

/// The middle of a quilt top.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Centre {
    /// A pieced centre of any kind: width, height.
    Pieced([Length; 2]),
    /// Blocks in columns and rows.
    Blocks {
        /// Blocks side by side.
        columns: i64,
        /// Blocks one below the other.
        rows: i64,
        /// Finished width and height of a block.
        size: [Length; 2],
        /// The sashing between the blocks, where there is any.
        sashing: Option<Sashing>,
    },
}

/// Sashing between blocks.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Sashing {
    /// Finished width.
    pub width: Length,
    /// Squares fill the crossings.
    pub cornerstones: bool,
    /// Sashing also runs around the outside of the blocks.
    pub outer: bool,
    /// The design stitched on it (index into the scenario's designs); `None` for plain sashing.
    pub design: Option<usize>,
    /// The widths that it may be given to make patterns fit.
    pub cope: Option<Widths>,
}

/// Widths that would do: from the least to the most, a step apart, counted from the least.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Widths {
    /// The least width.
    pub least: Length,
    /// The most.
    pub most: Length,
    /// How far apart they are.
    pub step: Length,
}

impl Widths {
    /// How many they are.
    pub fn count(self) -> u64 {
        let steps = (self.most - self.least).nanometres() / self.step.nanometres().max(1);
        u64::try_from(steps).map_or(0, |steps| steps + 1)
    }

    /// All of them, the least first.
    pub fn each(self) -> impl Iterator<Item = Length> {
        let count = i64::try_from(self.count()).unwrap_or(0);
        (0..count).map(move |step| self.least + self.step * step)
    }
}

/// The widths that a plain border may be given to make patterns fit: a coping strip.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Cope {
    /// Of its left and right strips; `None` where they stay as they are.
    pub sides: Option<Widths>,
    /// Of its top and bottom strips.
    pub ends: Option<Widths>,
}

/// One border around the quilt top.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Border {
    /// Finished width.
    pub width: Length,
    /// Finished width of the top and bottom strips of a plain border, where it is another.
    pub width_of_ends: Option<Length>,
    /// The widths that a plain border may be given.
    pub cope: Cope,
    /// How its corners are made.
    pub corner: BorderCorner,
    /// The design stitched on it (index into the scenario's designs); `None` for a plain border.
    pub design: Option<usize>,
    /// Lengths read off the real quilt, in the order of [`Side::ALL`].
    pub measured: [Option<Length>; 4],
}

impl Quilt {
    /// Finished width and height of the whole top.
    pub fn size(&self) -> [Length; 2] {
        let borders = self.borders.iter();
        borders.fold(self.centre.size(), |size, border| border.around(size))
    }
}

impl Centre {
    /// Finished width and height.
    pub fn size(&self) -> [Length; 2] {
        let (columns, rows, [width, height], sashing) = match self {
            Centre::Pieced(size) => return *size,
            Centre::Blocks {
                columns,
                rows,
                size,
                sashing,
            } => (*columns, *rows, *size, sashing.as_ref()),
        };
        let sashed = |block: Length, count: i64| {
            let sashes = sashing.map(|sashing| sashing.width * sashing.beside(count));
            block * count + sashes.unwrap_or_default()
        };
        [sashed(width, columns), sashed(height, rows)]
    }
}

impl Sashing {
    /// How many sashes lie beside each other across so many blocks.
    pub fn beside(&self, blocks: i64) -> i64 {
        if self.outer { blocks + 1 } else { blocks - 1 }
    }
}

impl Border {
    /// How far it makes the quilt top grow on each side, and at the top and the bottom.
    pub fn widths(&self) -> [Length; 2] {
        [self.width, self.width_of_ends.unwrap_or(self.width)]
    }

    /// What a top of this width and height grows to.
    pub fn around(&self, [width, height]: [Length; 2]) -> [Length; 2] {
        let [of_sides, of_ends] = self.widths();
        [width + of_sides * 2, height + of_ends * 2]
    }
}

/// How the corners of a border are made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum BorderCorner {
    /// One pair of strips runs past the ends of the other.
    Butted(First),
    /// Squares fill the corners.
    Cornerstone,
    /// All strips run the full outer length and meet at 45 degrees.
    Mitred,
}

/// Which pair of strips of a butted border is sewn on first.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum First {
    /// Left and right.
    Sides,
    /// Top and bottom.
    Ends,
}

/// A side of the quilt top.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Side {
    /// The left side.
    Left,
    /// The right side.
    Right,
    /// The top.
    Top,
    /// The bottom.
    Bottom,
}

impl Side {
    /// All four, in the order in which a border's strips are numbered.
    pub const ALL: [Side; 4] = [Side::Left, Side::Right, Side::Top, Side::Bottom];

    /// The side's name in both documents.
    pub const fn name(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
            Side::Top => "top",
            Side::Bottom => "bottom",
        }
    }
}

/// A strip, or several alike, that the scenario lists.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StripEntry {
    /// Its id; of several alike, the stem of their ids.
    pub id: String,
    /// Finished length.
    pub length: Length,
    /// Finished width.
    pub width: Length,
    /// How many there are.
    pub count: usize,
    /// The design stitched on it (index into the scenario's designs).
    pub design: usize,
}

pub(super) fn read(node: &Node<'_>, unit: Unit, ids: &DesignIds) -> Option<Quilt> {
    let fields = node.fields(&["blocks", "centre", "sashing", "borders"])?;
    let sashing = fields.maybe("sashing", |node| read_sashing(node, unit, ids));
    let centre = read_centre(node, &fields, sashing, unit);
    let borders = fields.or("borders", Vec::new(), |node| {
        if node.is_empty_list() {
            return Some(Vec::new());
        }
        let items = node.items("border", MOST_ENTRIES)?;
        all(items.iter().map(|item| read_border(item, unit, ids)))
    });
    Some(Quilt {
        centre: centre?,
        borders: borders?,
    })
}

fn read_centre(
    node: &Node<'_>,
    fields: &Fields<'_>,
    sashing: Option<Option<Sashing>>,
    unit: Unit,
) -> Option<Centre> {
    match (fields.get("blocks"), fields.get("centre")) {
        (Some(_), Some(_)) => {
            node.fault(
                FaultCode::Conflict,
                "Both \"blocks\" and \"centre\" are given.",
                "Keep one: blocks in columns and rows, or the size of a pieced centre.",
            );
            None
        }
        (None, None) => {
            node.fault(
                FaultCode::MissingField,
                "The quilt has neither \"blocks\" nor a \"centre\".",
                "Add one: blocks in columns and rows, or the [width, height] of a pieced centre.",
            );
            None
        }
        (None, Some(centre)) => {
            if let Some(sashing) = fields.get("sashing") {
                sashing.fault(
                    FaultCode::Conflict,
                    "Sashing is given without \"blocks\".",
                    "Give the blocks that it lies between, or list its strips under \"strips\".",
                );
            }
            two_sides(&centre, unit, "width and height of the centre").map(Centre::Pieced)
        }
        (Some(blocks), None) => {
            let fields = blocks.fields(&["columns", "rows", "size"])?;
            let whole = |node: Node<'_>| node.whole(1, MOST_BLOCKS)?.try_into().ok();
            let columns = fields
                .need("columns", "how many blocks lie side by side")
                .and_then(whole);
            let rows = fields
                .need("rows", "how many blocks lie one below the other")
                .and_then(whole);
            let size = fields
                .need("size", "finished [width, height] of a block")
                .and_then(|node| two_sides(&node, unit, "width and height of a block"));
            Some(Centre::Blocks {
                columns: columns?,
                rows: rows?,
                size: size?,
                sashing: sashing?,
            })
        }
    }
}

fn read_sashing(node: &Node<'_>, unit: Unit, ids: &DesignIds) -> Option<Sashing> {
    let fields = node.fields(&["width", "cornerstones", "outer", "design", "cope"])?;
    let width = fields
        .need("width", "the finished width of the sashing")
        .and_then(|node| node.length(unit, Span::Positive));
    let cornerstones = fields.or("cornerstones", false, Node::boolean);
    let outer = fields.or("outer", false, Node::boolean);
    let design = fields.maybe("design", |node| read_reference(node, ids));
    let cope = fields.maybe("cope", |node| {
        let fields = node.fields(&["width", "step"])?;
        let step = read_step(&fields, unit);
        let range = fields.need("width", "the [least, most] width that would do")?;
        read_widths(&range, unit, step?)
    });
    Some(Sashing {
        width: width?,
        cornerstones: cornerstones?,
        outer: outer?,
        design: design?,
        cope: cope?,
    })
}

fn read_border(node: &Node<'_>, unit: Unit, ids: &DesignIds) -> Option<Border> {
    #[derive(Clone, Copy)]
    enum Corner {
        Butted,
        Cornerstone,
        Mitred,
    }
    let fields = node.fields(&[
        "width",
        "width_of_ends",
        "corner",
        "first",
        "design",
        "measured",
        "cope",
    ])?;
    let width = fields
        .need("width", "the finished width of the border")
        .and_then(|node| node.length(unit, Span::Positive));
    let corner = fields.or("corner", Corner::Butted, |node| {
        node.word(&[
            ("butted", Corner::Butted),
            ("cornerstone", Corner::Cornerstone),
            ("mitred", Corner::Mitred),
        ])
    });
    let first = fields.or("first", First::Sides, |node| {
        node.word(&[("sides", First::Sides), ("ends", First::Ends)])
    });
    let design = fields.maybe("design", |node| read_reference(node, ids));
    let width_of_ends = fields.maybe("width_of_ends", |node| node.length(unit, Span::Positive));
    let cope = fields.or("cope", Cope::default(), |node| read_cope(node, unit));
    let mut fine = true;
    for name in ["width_of_ends", "cope"] {
        if let Some(field) = fields.get(name).filter(|_| fields.get("design").is_some()) {
            field.fault(
                FaultCode::Conflict,
                format!("A stitched border has no \"{name}\": its designs are for one width."),
                "Give it to a plain border, one without a design.",
            );
            fine = false;
        }
    }
    let measured = fields.or("measured", [None; 4], |node| {
        let fields = node.fields(&Side::ALL.map(Side::name))?;
        let length =
            |side: Side| fields.maybe(side.name(), |node| node.length(unit, Span::Positive));
        let lengths = all(Side::ALL.into_iter().map(length))?;
        lengths.try_into().ok()
    });
    let (corner, first) = (corner?, first?);
    Some(Border {
        width: width?,
        width_of_ends: width_of_ends?,
        cope: cope?,
        corner: match corner {
            Corner::Butted => BorderCorner::Butted(first),
            Corner::Cornerstone => BorderCorner::Cornerstone,
            Corner::Mitred => BorderCorner::Mitred,
        },
        design: design?,
        measured: measured?,
    })
    .filter(|_| fine)
}

fn read_cope(node: &Node<'_>, unit: Unit) -> Option<Cope> {
    let fields = node.fields(&["sides", "ends", "step"])?;
    let step = read_step(&fields, unit)?;
    let sides = fields.maybe("sides", |node| read_widths(node, unit, step));
    let ends = fields.maybe("ends", |node| read_widths(node, unit, step));
    let cope = Cope {
        sides: sides?,
        ends: ends?,
    };
    if cope == Cope::default() {
        node.fault(
            FaultCode::MissingField,
            "Neither \"sides\" nor \"ends\" is given.",
            "Give the [least, most] width of the left and right strips, of the top and bottom ones, or of both.",
        );
        return None;
    }
    Some(cope)
}

/// How far apart widths are: an eighth of an inch or 2 mm unless something else is said.
fn read_step(fields: &Fields<'_>, unit: Unit) -> Option<Length> {
    let usual = Length::from_nanometres(match unit {
        Unit::Inch => 3_175_000,
        Unit::Millimetre => 2_000_000,
    });
    fields.or("step", usual, |node| node.length(unit, Span::Positive))
}

fn read_widths(node: &Node<'_>, unit: Unit, step: Length) -> Option<Widths> {
    let [least, most] = node.pair("least and most width")?;
    let (least, most) = (
        least.length(unit, Span::Positive),
        most.length(unit, Span::Positive),
    );
    let widths = Widths {
        least: least?,
        most: most?,
        step,
    };
    if widths.least > widths.most {
        node.fault(
            FaultCode::OutOfRange,
            "The least width is above the most.",
            "Give the smaller one first.",
        );
        return None;
    }
    Some(widths)
}

pub(super) fn read_entry(node: &Node<'_>, unit: Unit, ids: &DesignIds) -> Option<StripEntry> {
    let fields = node.fields(&["id", "length", "width", "count", "design"])?;
    let id = fields
        .need("id", "a name for the strip")
        .and_then(|node| node.text());
    let length = fields
        .need("length", "its finished length")
        .and_then(|node| node.length(unit, Span::Positive));
    let width = fields
        .need("width", "its finished width")
        .and_then(|node| node.length(unit, Span::Positive));
    let count = fields.or("count", 1, |node| node.whole(1, MOST_STRIPS as u64));
    let design = fields
        .need("design", "the id of the design that is stitched on it")
        .and_then(|node| read_reference(&node, ids));
    Some(StripEntry {
        id: id?,
        length: length?,
        width: width?,
        count: usize::try_from(count?).ok()?,
        design: design?,
    })
}

fn read_reference(node: &Node<'_>, ids: &DesignIds) -> Option<usize> {
    let id = node.text()?;
    let found = ids.get(&id).copied();
    if found.is_none() {
        let mut known: Vec<&str> = ids.keys().map(String::as_str).collect();
        known.sort_unstable();
        known.truncate(8);
        node.fault(
            FaultCode::UnknownId,
            format!("There is no design {:?}.", shortened(&id)),
            if known.is_empty() {
                "Add it to \"designs\", which has none that can be read.".to_string()
            } else {
                format!(
                    "Give the id of a design in \"designs\", such as {}.",
                    known.join(", ")
                )
            },
        );
    }
    found
}

/// Faults that show only on the strips as a whole: none, too many, too long, or two with one id.
pub(super) fn check_strips(scenario: &Scenario, root: &Node<'_>) {
    let count = strips::count(scenario);
    if count == 0 {
        root.fault(
            FaultCode::NothingToStitch,
            "No strip of this scenario has a design.",
            "Give a \"design\" to the sashing or to a border, or list \"strips\".",
        );
        return;
    }
    if count > MOST_STRIPS {
        root.fault(
            FaultCode::OutOfRange,
            format!("The scenario has {count} strips."),
            format!("Plan at most {MOST_STRIPS} strips at once."),
        );
        return;
    }
    let strips = strips::of(scenario).strips;
    let mut places: HashMap<&str, &str> = HashMap::with_capacity(strips.len());
    for strip in &strips {
        if strip.length > Length::LONGEST {
            root.fault_at(
                &strip.pointer,
                FaultCode::OutOfRange,
                format!(
                    "The strip {} would be {} {} long.",
                    strip.id,
                    strip.length.in_unit(scenario.unit),
                    scenario.unit.symbol()
                ),
                "Keep each strip at most 100 m long.",
            );
        }
        if let Some(first) = places.insert(&strip.id, &strip.pointer) {
            root.fault_at(
                &strip.pointer,
                FaultCode::DuplicateId,
                format!("The strip id {:?} is already used at {first}.", strip.id),
                "Give each strip an id of its own.",
            );
        }
    }
}
